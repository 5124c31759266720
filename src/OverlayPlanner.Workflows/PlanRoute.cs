using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows;

/// <summary>What a user wishes of a route, in the words of the command line.</summary>
public sealed record PlanWishes
{
    /// <summary>The words for <see cref="Lines"/>.</summary>
    public static IReadOnlyList<string> LineWords { get; } = ["seams", "seams+arcs", "curves"];

    /// <summary>The words for <see cref="Outline"/>.</summary>
    public static IReadOnlyList<string> OutlineWords { get; } = ["none", "any", "last"];

    /// <summary>The words for <see cref="Thread"/>.</summary>
    public static IReadOnlyList<string> ThreadWords { get; } = ["free", "one", "mixed"];

    /// <summary>The word for the outline among what comes last.</summary>
    public const string OutlineWord = "outline";

    /// <summary>Id of the one block to plan, or null for the whole map.</summary>
    public string? Block { get; init; }

    /// <summary>Where the needle starts, or null.</summary>
    public Point<ClothSpace>? Start { get; init; }

    /// <summary>Where it ends, or null.</summary>
    public Point<ClothSpace>? End { get; init; }

    /// <summary>One of <see cref="LineWords"/>.</summary>
    public string Lines { get; init; } = "seams+arcs";

    /// <summary>One of <see cref="OutlineWords"/>.</summary>
    public string Outline { get; init; } = "none";

    /// <summary>One of <see cref="ThreadWords"/>.</summary>
    public string Thread { get; init; } = "free";

    /// <summary>How many choices to offer, at least one.</summary>
    public int Choices { get; init; } = 3;

    /// <summary>Seconds that a start and its end cost; null for the usual.</summary>
    public double? StartCostSeconds { get; init; }

    /// <summary>Seconds that an inch of backtracking costs; null for the usual.</summary>
    public double? InchCostSeconds { get; init; }

    /// <summary>True where long seams may go straight through four-way points.</summary>
    public bool Through { get; init; }

    /// <summary>What comes last: ids of seams, and the word outline.</summary>
    public IReadOnlyList<string> Last { get; init; } = [];

    /// <summary>True where block, sashing and border ditches come before all else.</summary>
    public bool AnchorFirst { get; init; }

    /// <summary>True where the ditch round a block comes after its inside.</summary>
    public bool RoundLast { get; init; }

    /// <summary>True where each block is finished before the next.</summary>
    public bool FinishBlocks { get; init; }

    /// <summary>Ids of seams that are not stitched.</summary>
    public IReadOnlyList<string> Skip { get; init; } = [];

    /// <summary>Ids of the only seams to stitch; empty for all.</summary>
    public IReadOnlyList<string> Only { get; init; } = [];

    /// <summary>True where the middles of sides become points.</summary>
    public bool Midpoints { get; init; }

    /// <summary>From how many seams on a point is bulky; null for the usual.</summary>
    public int? BulkyFrom { get; init; }

    /// <summary>How far before a crowded point arcs meet the ditch; null for at the point.</summary>
    public Length? Clear { get; init; }

    /// <summary>How far the thread may be dragged from an end to the next start; null for never.</summary>
    public Length? Drag { get; init; }

    /// <summary>Seconds that such a hop costs; null for the usual.</summary>
    public double? HopCostSeconds { get; init; }

    internal RouteWishes ToRouteWishes()
    {
        RouteWishes plain = new();
        return plain with
        {
            Block = Block,
            Start = Start,
            End = End,
            Lines = Lines switch
            {
                "seams" => LineChoice.Seams,
                "seams+arcs" => LineChoice.SeamsAndArcs,
                "curves" => LineChoice.Curves,
                _ => throw Unknown(Lines, LineWords),
            },
            Outline = Outline switch
            {
                "none" => OutlineChoice.None,
                "any" => OutlineChoice.Any,
                "last" => OutlineChoice.Last,
                _ => throw Unknown(Outline, OutlineWords),
            },
            Thread = Thread switch
            {
                "free" => ThreadChoice.Free,
                "one" => ThreadChoice.One,
                "mixed" => ThreadChoice.Mixed,
                _ => throw Unknown(Thread, ThreadWords),
            },
            Candidates = Choices,
            StartCostSeconds = StartCostSeconds ?? plain.StartCostSeconds,
            InchCostSeconds = InchCostSeconds ?? plain.InchCostSeconds,
            Through = Through,
            LastOutline = Last.Contains(OutlineWord),
            LastSeams = [.. Last.Where(id => id != OutlineWord)],
            AnchorFirst = AnchorFirst,
            RoundLast = RoundLast,
            FinishBlocks = FinishBlocks,
            Skip = Skip,
            Only = Only,
            Midpoints = Midpoints,
            BulkyFrom = BulkyFrom ?? plain.BulkyFrom,
            Clear = Clear ?? plain.Clear,
            Drag = Drag ?? plain.Drag,
            HopCostSeconds = HopCostSeconds ?? plain.HopCostSeconds,
        };
    }

    private static InputException Unknown(string word, IReadOnlyList<string> known) =>
        new($"\"{word}\" is no wish that the planner knows", "the wishes", $"Give one of: {string.Join(", ", known)}.");
}

/// <summary>From a quilt map to candidate routes.</summary>
public static class PlanRoute
{
    /// <summary>Plans and writes.</summary>
    /// <exception cref="InputException">The map, a wish or the target can't be used.</exception>
    public static (Written Written, Route Route) Run(
        string quilt,
        PlanWishes wishes,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        ArgumentNullException.ThrowIfNull(files);
        (QuiltMap map, IReadOnlyList<Finding> findings) = InputFiles.ReadPlaneMap(quilt);
        files.Claim(output);
        progress?.Report("Planning the route");
        RoutePlan plan = RoutePlanner.Plan(map, wishes.ToRouteWishes(), cancellation);
        files.Add(output, RouteFile.Write(plan.Route));
        files.Commit(cancellation);
        return (new(files.Paths, [.. findings, .. plan.Findings]), plan.Route);
    }
}
