using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;
using OverlayPlanner.Routing.Rows;

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

    /// <summary>The words for the thread in the needle of a begun route.</summary>
    public static IReadOnlyList<string> NeedleWords { get; } = ["whole", "broken"];

    /// <summary>The word for the outline among what comes last.</summary>
    public const string OutlineWord = "outline";

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

    /// <summary>The words for <see cref="Threads"/>.</summary>
    public static IReadOnlyList<string> ThreadsWords { get; } = ["same", "two"];

    /// <summary>The words for <see cref="DesignTravel"/>.</summary>
    public static IReadOnlyList<string> DesignTravelWords { get; } = ["own", "ditch"];

    /// <summary>Whether seams and added lines are stitched in the same thread or in two.</summary>
    public string Threads { get; init; } = "same";

    /// <summary>With two threads: whether the design's may go again over its own lines alone or in a ditch too.</summary>
    public string DesignTravel { get; init; } = "own";

    /// <summary>The words for <see cref="Sides"/>.</summary>
    public static IReadOnlyList<string> SideWords { get; } = ["first", "stitched", "last"];

    /// <summary>Row by row: whether the blocks' sides are stitched first, are stitched already, or come last on a basted quilt.</summary>
    public string Sides { get; init; } = "first";

    /// <summary>Row by row: depth that the machine stitches before the quilt is advanced; null where it reaches all.</summary>
    public Length? Reach { get; init; }

    /// <summary>How far a thread may run off the top at a raw edge, where its end needs no tail; null for the usual, zero for never.</summary>
    public Length? RawEnds { get; init; }

    /// <summary>How far from the left and the right side no thread does, for the clamps; null for the usual.</summary>
    public Length? Clamps { get; init; }

    /// <summary>Row by row: line that one bobbin gives; null for no limit.</summary>
    public Length? Bobbin { get; init; }

    internal RowWishes ToRowWishes(QuiltMap map) =>
        new(ToRouteWishes(map))
        {
            Anchor = Sides switch
            {
                "stitched" => RowAnchor.SidesStitched,
                "last" => RowAnchor.Basted,
                _ => RowAnchor.SidesFirst,
            },
            Reach = Reach,
            LinePerBobbin = Bobbin,
        };

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
    public Length? HandReach { get; init; }

    /// <summary>One of <see cref="MatchWords"/>.</summary>
    public string Match { get; init; } = "seams";

    /// <summary>Widest open circle in inches, or one of <see cref="Battings"/>; null where nobody asked.</summary>
    public string? Fill { get; init; }

    /// <summary>True where the centres of squares become points for straight lines.</summary>
    public bool Centers { get; init; }

    /// <summary>Seams that are pressed open: ids with commas, <c>unknown</c> (those without a low side), <c>all</c>, or null.</summary>
    public string? Open { get; init; }

    /// <summary>The hand that guides the machine, one of <see cref="HandWords"/>.</summary>
    public string Hand { get; init; } = "right";

    /// <summary>What an inch costs up, up right, right and so on clockwise, eight numbers; null for the usual table.</summary>
    public IReadOnlyList<double>? Directions { get; init; }

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
            Reach = HandReach ?? plain.Reach,
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
            RawEnds = RawEnds ?? plain.RawEnds,
            ClampClearance = Clamps ?? plain.ClampClearance,
            Drag = Drag ?? plain.Drag,
            HopCostSeconds = HopCostSeconds ?? plain.HopCostSeconds,
            Ease = plain.Ease with
            {
                Hand = Hand switch
                {
                    "left" => Routing.Memory.Hand.Left,
                    "right" => Routing.Memory.Hand.Right,
                    _ => throw Unknown(Hand, HandWords),
                },
                Reach = HandReach ?? plain.Ease.Reach,
                Directions = Directions ?? plain.Ease.Directions,
            },
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

/// <summary>One row of a quilt as planned.</summary>
/// <param name="Row">Its number in the map.</param>
/// <param name="Pass">Number of the pass, from 1.</param>
/// <param name="Blocks">How many blocks.</param>
/// <param name="Starts">Starts that it takes.</param>
/// <param name="LeastStarts">Fewest that its lines take with nothing stitched twice, in any order.</param>
/// <param name="InHalves">True where each block is stitched half on the way out and half on the way home.</param>
/// <param name="Alike">True where all blocks of a kind are stitched alike, in halves or one after another.</param>
public sealed record StitchedRow(int Row, int Pass, int Blocks, int Starts, int LeastStarts, bool InHalves, bool Alike);

/// <summary>How every block of a kind is stitched in its row, said once.</summary>
/// <param name="Block">Id of the block that the call is said on.</param>
/// <param name="Blocks">How many blocks go alike.</param>
/// <param name="Call">Two threads: the way out and the way home.</param>
public sealed record BlockCall(string Block, int Blocks, RouteCall Call);

/// <summary>From a quilt map to candidate routes.</summary>
public static class PlanRoute
{
    /// <summary>Plans the whole quilt row by row, in passes, and writes.</summary>
    /// <exception cref="InputException">The map, a wish or the target can't be used.</exception>
    public static (Written Written, Route Route, IReadOnlyList<StitchedRow> Rows, IReadOnlyList<BlockCall> Calls) Rows(
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
        Claim(wishes, output, files);
        progress?.Report("Planning the rows");
        Refuse(wishes, "--rows");
        RowPlan plan = RowPlanner.Plan(map, wishes.ToRowWishes(map), cancellation);
        Add(plan.Route, wishes, output, files, cancellation);
        files.Commit(cancellation);
        return (
            new(files.Paths, [.. findings, .. plan.Findings]),
            plan.Route,
            [
                .. plan.Rows.Select(r => new StitchedRow(
                    r.Row,
                    r.Pass,
                    r.Blocks,
                    r.Starts,
                    r.LeastStarts,
                    r.InHalves,
                    r.Alike != BlocksAlike.No
                )),
            ],
            [.. plan.Calls.Select(c => new BlockCall(c.Block, c.Blocks, c.Call))]
        );
    }

    /// <summary>Finishes a route that was begun by hand, and writes.</summary>
    /// <param name="quilt">A quilt map's file.</param>
    /// <param name="drawn">What is stitched so far: a drawing's file, JSON strokes or SVG, inches.</param>
    /// <param name="needle">One of <see cref="PlanWishes.NeedleWords"/>.</param>
    /// <exception cref="InputException">A file, a wish or the target can't be used.</exception>
    public static (Written Written, Route Route) Finish(
        string quilt,
        string drawn,
        string needle,
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
        DrawnPath path = DrawnRoute.Follow(map, DrawnStrokes.Read(InputFiles.ReadAll(drawn), drawn), cancellation);
        Claim(wishes, output, files);
        progress?.Report("Finishing the route");
        Refuse(wishes, "--from");
        FinishPlan plan = RouteFinisher.Finish(
            map,
            path,
            new(wishes.ToRouteWishes(map)) { Needle = needle == "broken" ? NeedleThread.Broken : NeedleThread.Whole },
            cancellation
        );
        Add(plan.Route, wishes, output, files, cancellation);
        files.Commit(cancellation);
        return (new(files.Paths, [.. findings, .. plan.Findings]), plan.Route);
    }

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
        Claim(wishes, output, files);
        progress?.Report("Planning the route");
        RouteWishes asked = wishes.ToRouteWishes(map);
        RoutePlan plan =
            wishes.Threads == "two"
                ? TwoThreads.Plan(
                    map,
                    asked,
                    wishes.DesignTravel == "ditch" ? Routing.DesignTravel.Ditch : Routing.DesignTravel.OwnLines,
                    cancellation
                )
                : RoutePlanner.Plan(map, asked, cancellation);
        Add(plan.Route, wishes, output, files, cancellation);
        files.Commit(cancellation);
        return (new(files.Paths, [.. findings, .. plan.Findings]), plan.Route);
    }

    // A wish that would be passed over in silence is refused.
    private static void Refuse(PlanWishes wishes, string with)
    {
        (string Option, bool Asked)[] others =
        [
            ("--threads two", wishes.Threads == "two"),
            ("--last", wishes.Last.Count > 0),
            ("--skip", wishes.Skip.Count > 0),
            ("--only", wishes.Only.Count > 0),
            ("--anchor-first", wishes.AnchorFirst),
            ("--round-last", wishes.RoundLast),
            ("--finish-blocks", wishes.FinishBlocks),
            ("--midpoints", wishes.Midpoints),
            ("--clear", wishes.Clear is not null),
            ("--drag", wishes.Drag is not null),
            ("--through", wishes.Through),
        ];
        string[] asked = [.. others.Where(o => o.Asked).Select(o => o.Option)];
        if (asked.Length > 0)
        {
            throw new InputException(
                $"{with} does not go together with {string.Join(", ", asked)}",
                with,
                "Leave one of them out, or plan twice."
            );
        }
    }

    private static void Claim(PlanWishes wishes, string output, OutputFiles files)
    {
        files.Claim(output);
        if (wishes.Picture is { } picture)
        {
            files.Claim(picture);
        }
    }

    private static void Add(
        Route route,
        PlanWishes wishes,
        string output,
        OutputFiles files,
        CancellationToken cancellation
    )
    {
        files.Add(output, RouteFile.Write(route));
        if (wishes.Picture is { } picture)
        {
            files.Add(picture, ChoiceSheet.Render(route, cancellation).Bytes);
        }
    }
}
