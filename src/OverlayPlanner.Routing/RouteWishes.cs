using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Memory;

namespace OverlayPlanner.Routing;

/// <summary>Which lines are stitched.</summary>
public enum LineChoice
{
    /// <summary>The seams alone; nothing is added.</summary>
    Seams,

    /// <summary>The seams, and lines added inside patches where they help.</summary>
    SeamsAndArcs,

    /// <summary>Not the seams: an arc along each side of each (continuous curve).</summary>
    Curves,
}

/// <summary>What happens to seams of the role edge; those that are cut are never stitched.</summary>
public enum OutlineChoice
{
    /// <summary>Left alone.</summary>
    None,

    /// <summary>Stitched too, in any order.</summary>
    Any,

    /// <summary>Stitched after everything else.</summary>
    Last,
}

/// <summary>What is bought with what: starts with backtracking.</summary>
public enum ThreadChoice
{
    /// <summary>Nothing stitched twice, fewest starts.</summary>
    Free,

    /// <summary>One thread for each connected piece, least backtracking.</summary>
    One,

    /// <summary>Least time at the user's price of a start and of an inch of backtracking.</summary>
    Mixed,
}

/// <summary>By what patches are called alike.</summary>
public enum PatternMatch
{
    /// <summary>By their shape, size and place among the seams.</summary>
    Seams,

    /// <summary>By their colour too.</summary>
    Colors,
}

/// <summary>What the quilter asks of a route. The defaults are the command line's.</summary>
public sealed record RouteWishes
{
    /// <summary>Which lines are stitched.</summary>
    public LineChoice Lines { get; init; } = LineChoice.SeamsAndArcs;

    /// <summary>What happens to the outline.</summary>
    public OutlineChoice Outline { get; init; } = OutlineChoice.None;

    /// <summary>Starts against backtracking.</summary>
    public ThreadChoice Thread { get; init; } = ThreadChoice.Free;

    /// <summary>How many choices are wanted, 1 to 26; they differ in the design where lines may be added.</summary>
    public int Candidates { get; init; } = 3;

    /// <summary>Id of the one block to plan, or null for the whole map.</summary>
    public string? Block { get; init; }

    /// <summary>Where the first thread starts, inches; null leaves it free.</summary>
    /// <remarks>
    /// Within 1/8 in of a point it is that point; on a seam the seam is split there; off every line it is refused.
    /// </remarks>
    public Point<ClothSpace>? Start { get; init; }

    /// <summary>Where the last thread ends, inches; null leaves it free. Read as <see cref="Start"/> is.</summary>
    public Point<ClothSpace>? End { get; init; }

    /// <summary>Price of a start, seconds, at least 0. Handbook 3.5: 20 to 60 s (common practice, no source).</summary>
    public double StartCostSeconds { get; init; } = 40;

    /// <summary>
    /// Price of an inch of backtracking, seconds, above 0. The head runs 1 in/s at 600 stitches a minute and 10 to the inch
    /// (handbook 3.2); exactly along a ditch that is stitched already a ruler allows about half of that, hence 2.
    /// </summary>
    public double InchCostSeconds { get; init; } = 2;

    /// <summary>The user's rulers; null for the generic set, which is then named in a finding.</summary>
    public IReadOnlyList<Ruler>? Rulers { get; init; }

    /// <summary>
    /// True where long seams shall go straight through four-way points: the two stitched lines then cross there, and are
    /// counted.
    /// </summary>
    public bool Through { get; init; }

    /// <summary>Least distance of an added arc from its seam in the middle.</summary>
    public Length StandOff { get; init; } = Length.FromInches(0.25);

    /// <summary>Distance from the ruler's edge to the stitched line: half the foot's diameter.</summary>
    public Length FootOffset { get; init; } = Length.FromInches(0.25);

    /// <summary>Ids of seams to be stitched after all others, before an outline that is last too; empty for none.</summary>
    public IReadOnlyList<string> LastSeams { get; init; } = [];

    /// <summary>True where the outline shall come last; contradicts an outline that is left alone.</summary>
    public bool LastOutline { get; init; }

    /// <summary>
    /// True where the anchoring ditches (round the blocks, along sashing and border) come before seams inside blocks and added
    /// lines (handbook 2: anchor first).
    /// </summary>
    public bool AnchorFirst { get; init; }

    /// <summary>True where the ditch round a block comes after its inside; contradicts <see cref="AnchorFirst"/>.</summary>
    public bool RoundLast { get; init; }

    /// <summary>
    /// True where each block is finished before the next: blocks row by row, there and back; a seam between two blocks belongs
    /// to the earlier, one of the sashing to the first block that it touches.
    /// </summary>
    public bool FinishBlocks { get; init; }

    /// <summary>Ids of seams that are not stitched.</summary>
    public IReadOnlyList<string> Skip { get; init; } = [];

    /// <summary>
    /// Ids of the only seams that must be stitched, empty for all. Nothing is added then; with one thread or a mixed one the
    /// thread may stitch other seams on its way from one of them to the next.
    /// </summary>
    public IReadOnlyList<string> Only { get; init; } = [];

    /// <summary>True where the middle of every side becomes a point.</summary>
    public bool Midpoints { get; init; }

    /// <summary>From how many seams on a point is bulky, at least 3. Eight is usual (common practice, no source).</summary>
    public int BulkyFrom { get; init; } = 8;

    /// <summary>
    /// Where lines pile up at a point: how far before it arcs along its seams meet the ditch, at most 3 in; zero for at the
    /// point itself.
    /// </summary>
    public Length Clear { get; init; } = Length.Zero;

    /// <summary>How far the thread may be dragged from the end of one run to the next start; zero for never. At most 12 in.</summary>
    public Length Drag { get; init; } = Length.Zero;

    /// <summary>
    /// Price of a hop with the thread dragged, seconds, at least 0; for a mixed thread. A stop and a clip, but no tails to
    /// bury: a third of a start (common practice, no source).
    /// </summary>
    public double HopCostSeconds { get; init; } = 13;

    /// <summary>The user's straight rulers; null where none are listed, which sets no limit but the hand's.</summary>
    public IReadOnlyList<StraightRuler>? StraightRulers { get; init; }

    /// <summary>
    /// How far the hand that holds the ruler guides before it must move. Handbook 3.5: 4 to 6 in, 6 to 8 with walking fingers
    /// (common practice, no source).
    /// </summary>
    public Length Reach { get; init; } = Length.FromInches(8);

    /// <summary>By what patches are alike: their seams, or their colours too.</summary>
    public PatternMatch Match { get; init; } = PatternMatch.Seams;

    /// <summary>
    /// Widest circle without a stitch in it that the batting allows, its diameter; null where nobody asked (handbook 5).
    /// </summary>
    public Length? Fill { get; init; }

    /// <summary>True where the centres of squares shall become points, so that straight lines may run into them.</summary>
    public bool Centers { get; init; }

    /// <summary>Ids of seams that are pressed open: not ditched; arcs along them are offered instead.</summary>
    public IReadOnlyCollection<string> PressedOpen { get; init; } = [];

    /// <summary>
    /// How hard a route is on hands and head, the less the easier; null for its number of steps. It weighs choices that cost
    /// the same otherwise.
    /// </summary>
    public Func<QuiltMap, RouteCandidate, double>? Effort { get; init; }

    /// <summary>
    /// How far a thread that starts or ends at a raw outer edge runs off the top, into what the binding or the trimming takes:
    /// such an end needs no tail. Zero for never; at most 4 in. 1/2 in is usual (common practice, no source).
    /// </summary>
    public Length RawEnds { get; init; } = Length.FromInches(0.5);

    /// <summary>
    /// No thread runs off the top nearer than this to the left or the right side, where the clamps are; zero where none are
    /// on. Handbook 3.1: 3 in or more from the grippers.
    /// </summary>
    public Length ClampClearance { get; init; } = Length.FromInches(3);

    /// <summary>Price of an end off the top, seconds, at least 0: half an inch out and no tail (common practice, no source).</summary>
    public double RawEndSeconds { get; init; } = 2;

    /// <summary>What the quilter finds easy; it decides among routes that are equal in cost and as short to say.</summary>
    public EaseTaste Ease { get; init; } = new();
}

/// <summary>The planned route, the recommended choice first, and what the quilter should know about it.</summary>
/// <param name="Route">The candidates, with the map they were planned on.</param>
/// <param name="Findings">What was assumed, what a wish costs, what could not be done.</param>
public sealed record RoutePlan(Route Route, IReadOnlyList<Finding> Findings);
