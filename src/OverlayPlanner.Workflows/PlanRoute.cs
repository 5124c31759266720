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

    /// <summary>The words for <see cref="Hand"/>.</summary>
    public static IReadOnlyList<string> HandWords { get; } = ["left", "right"];

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

    /// <summary>The hand that guides the machine, one of <see cref="HandWords"/>.</summary>
    public string Hand { get; init; } = "right";

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
            Ease = plain.Ease with
            {
                Hand = Hand switch
                {
                    "left" => Routing.Memory.Hand.Left,
                    "right" => Routing.Memory.Hand.Right,
                    _ => throw Unknown(Hand, HandWords),
                },
            },
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
