using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering.Pictures;
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

    /// <summary>The words for <see cref="Match"/>.</summary>
    public static IReadOnlyList<string> MatchWords { get; } = ["seams", "colors"];

    /// <summary>The batting names that <see cref="Fill"/> knows, with the widest open circle each allows, inches.</summary>
    public static IReadOnlyList<(string Name, double Inches)> Battings { get; } =
    [.. Batting.All.Select(b => (b.Name, b.WidestGap.Inches))];

    /// <summary>Path of the list of rulers, <c>none</c> for straight lines only, or null for the usual set.</summary>
    public string? Rulers { get; init; }

    /// <summary>The foot's diameter; null for 1/2 in.</summary>
    public Length? Foot { get; init; }

    /// <summary>How far added arcs stand off their seam in the middle; null for 1/4 in.</summary>
    public Length? StandOff { get; init; }

    /// <summary>How far the hand on the ruler guides before it moves; null for 8 in.</summary>
    public Length? Reach { get; init; }

    /// <summary>One of <see cref="MatchWords"/>.</summary>
    public string Match { get; init; } = "seams";

    /// <summary>Widest open circle in inches, or one of <see cref="Battings"/>; null where nobody asked.</summary>
    public string? Fill { get; init; }

    /// <summary>True where the centres of squares become points for straight lines.</summary>
    public bool Centers { get; init; }

    /// <summary>Seams that are pressed open: ids with commas, <c>unknown</c> (those without a low side), <c>all</c>, or null.</summary>
    public string? Open { get; init; }

    internal RouteWishes ToRouteWishes(QuiltMap map)
    {
        RouteWishes plain = new();
        RulerList? rulers = Rulers switch
        {
            null => null,
            "none" => new([], []),
            _ => RulerList.Read(InputFiles.ReadAll(Rulers), Rulers),
        };
        return plain with
        {
            Rulers = rulers?.Curved,
            StraightRulers = rulers?.Straight is { Count: > 0 } straight ? straight : null,
            FootOffset = (Foot / 2) ?? plain.FootOffset,
            StandOff = StandOff ?? plain.StandOff,
            Reach = Reach ?? plain.Reach,
            Match = Match switch
            {
                "seams" => PatternMatch.Seams,
                "colors" => PatternMatch.Colors,
                _ => throw Unknown(Match, MatchWords),
            },
            Fill = Fill is null ? null : Batting.WidestGapOf(Fill),
            Centers = Centers,
            PressedOpen = PressedOpenOf(map),
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
        };
    }

    /// <summary>Path of a picture of all choices side by side to write too (PNG), or null.</summary>
    public string? Picture { get; init; }

    private string[] PressedOpenOf(QuiltMap map)
    {
        if (Open is not { } words)
        {
            return [];
        }

        if (words is "all" or "unknown")
        {
            return
            [
                .. map
                    .Seams.Where(s => s.Role != SeamRole.Edge && (words == "all" || s.Ditch is null))
                    .Select(s => s.Id),
            ];
        }

        string[] ids = words.Split([',', ' '], StringSplitOptions.RemoveEmptyEntries);
        string? missing = ids.FirstOrDefault(i => map.FindSeam(i) is null);
        return missing is null && ids.Length > 0
            ? ids
            : throw new InputException(
                ids.Length == 0 ? "No seam is named" : $"The map has no seam \"{missing}\"",
                "--open",
                "Give seam ids with commas between them, unknown (seams without a low side), or all."
            );
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
        if (wishes.Picture is not null)
        {
            files.Claim(wishes.Picture);
        }

        progress?.Report("Planning the route");
        RoutePlan plan = RoutePlanner.Plan(map, wishes.ToRouteWishes(map), cancellation);
        files.Add(output, RouteFile.Write(plan.Route));
        if (wishes.Picture is { } picture)
        {
            files.Add(picture, ChoiceSheet.Render(plan.Route, cancellation).Bytes);
        }

        files.Commit(cancellation);
        return (new(files.Paths, [.. findings, .. plan.Findings]), plan.Route);
    }
}
