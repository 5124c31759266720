using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Memory;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing.Trails;

/// <summary>What is asked of the threads over one set of lines.</summary>
/// <param name="Thread">Starts against backtracking.</param>
/// <param name="InchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
/// <param name="Style">How runs pass through points.</param>
/// <param name="Start">Junction where the first run starts, or null.</param>
/// <param name="End">Junction where the last run ends, or null.</param>
/// <param name="StageOf">The stage of each line, the lower ones stitched first; null for any order.</param>
/// <param name="DragInches">How far the thread may be dragged from one run to the next; 0 for never.</param>
/// <param name="InchesPerHop">For a mixed thread: how many doubled inches such a hop is worth.</param>
/// <param name="Ease">What the quilter finds easy, or null for the usual.</param>
/// <param name="Search">How long a trail that is short to say is looked for.</param>
internal sealed record ThreadWishes(
    ThreadChoice Thread,
    double InchesPerStart,
    TrailStyle Style = TrailStyle.NoCrossing,
    int? Start = null,
    int? End = null,
    Func<StitchLine, int>? StageOf = null,
    double DragInches = 0,
    double InchesPerHop = 0,
    EaseTaste? Ease = null,
    CallSearch Search = CallSearch.Thorough
)
{
    /// <summary>For a mixed thread: how many doubled inches an end off the top is worth; null where it counts like any other.</summary>
    public double? InchesPerRawEnd { get; init; }
}

/// <summary>Ordered runs over one set of lines.</summary>
/// <param name="Trails">What each thread stitches, in order.</param>
/// <param name="IsLeastTime">For a mixed thread: no route over these lines takes less time.</param>
/// <param name="StartKept">False where the first run could not start at the wished start.</param>
/// <param name="EndKept">False where the wished end could not be the last run's.</param>
/// <param name="Bound">What no route in the order of stages does better than; null where any order is allowed.</param>
/// <param name="IsLeastCarry">
/// True where no order of these runs has fewer restarts, or as few and less carrying between them.
/// </param>
internal sealed record ThreadPlan(
    IReadOnlyList<Trail> Trails,
    bool IsLeastTime,
    bool StartKept,
    bool EndKept,
    StageBound? Bound,
    bool IsLeastCarry
);

/// <summary>Makes ordered runs of a set of lines: what to double, how to pass the points, which run first.</summary>
internal sealed class ThreadPlanner
{
    // Up to so many runs may exchange their tails for the sake of hops.
    private const int MostRunsExchanged = 24;

    private readonly StitchGraph graph;
    private readonly ThreadWishes wishes;
    private readonly PointTaste taste;
    private readonly CancellationToken cancellation;

    private ThreadPlanner(StitchGraph graph, ThreadWishes wishes, PointTaste taste, CancellationToken cancellation)
    {
        this.graph = graph;
        this.wishes = wishes;
        this.taste = taste;
        this.cancellation = cancellation;
    }

    /// <summary>Plans the runs.</summary>
    public static ThreadPlan Plan(
        StitchGraph graph,
        ThreadWishes wishes,
        PointTaste taste,
        CancellationToken cancellation = default
    )
    {
        ThreadPlanner planner = new(graph, wishes, taste, cancellation);
        if (wishes.Thread == ThreadChoice.Mixed && wishes.DragInches > 0 && wishes.InchesPerHop < wishes.InchesPerStart)
        {
            return planner.WithHops();
        }

        return planner.Once();
    }

    private ThreadPlan Once()
    {
        int[] stages = [.. graph.Lines.Select(wishes.StageOf ?? (_ => 0))];
        StagedRuns? staged =
            stages.Distinct().Count() > 1 ? StagedThreads.Plan(graph, stages, wishes, taste, cancellation) : null;
        OrderedRuns? together = staged is null ? Together() : null;
        List<Trail> trails = staged?.Trails ?? [.. together!.Trails];
        bool startKept =
            wishes.Start is not { } start || trails.Count == 0 || RunOrder.FirstOf(trails[0], graph) == start;
        bool endKept = wishes.End is not { } end || trails.Count == 0 || RunOrder.LastOf(trails[^1], graph) == end;
        return new(
            trails,
            IsLeastTime(trails),
            startKept,
            endKept,
            staged?.Bound,
            together?.IsLeast ?? trails.Count == 1
        );
    }

    // The price of an end off the top, where some point lets threads off and ends are priced.
    private double? OffTop =>
        wishes is { Thread: ThreadChoice.Mixed, InchesPerRawEnd: { } price } && taste.HasOffTop ? price : null;

    /// <summary>
    /// A hop is cheaper than a start, so runs that lie within reach of each other need less backtracking to join them: plans
    /// at a start's price and at a hop's, and takes the one of less time.
    /// </summary>
    /// <remarks>
    /// No route takes less than one start and, for the rest, the least at a hop's price for every further run; a plan that
    /// takes no more is proven.
    /// </remarks>
    private ThreadPlan WithHops()
    {
        ThreadPlan plain = Once();
        ThreadPlan cheap = new ThreadPlanner(
            graph,
            wishes with
            {
                InchesPerStart = wishes.InchesPerHop,
            },
            taste,
            cancellation
        ).Once();
        ThreadPlan best = TimeOf(cheap) < TimeOf(plain) - 1e-9 ? cheap : plain;
        Doubling least = new LeastDoubling(graph.Network, taste.Of, cancellation).For(
            ThreadChoice.Mixed,
            null,
            null,
            wishes.InchesPerHop
        );
        double bound = wishes.InchesPerStart + (RunsOf(graph, least) - 1) * wishes.InchesPerHop + least.Inches;
        return best with { IsLeastTime = TimeOf(best) <= bound + 1e-6 };
    }

    private double TimeOf(ThreadPlan plan)
    {
        int hops = Hops.Between(graph, plan.Trails, wishes.DragInches).Count(h => h is not null);
        return (plan.Trails.Count - hops) * wishes.InchesPerStart
            + hops * wishes.InchesPerHop
            + DoubledInches([.. plan.Trails]);
    }

    private Doubling DoublingOf(StitchGraph g, int? start, int? end) =>
        OffTop is { } price
            ? new LeastDoubling(g.Network, taste.Of, cancellation)
                .WithEndsOffTop(start, end, wishes.InchesPerStart, price, taste.IsOffTop)
                .Doubling
            : new LeastDoubling(g.Network, taste.Of, cancellation).For(
                wishes.Thread,
                start,
                end,
                wishes.InchesPerStart
            );

    private OrderedRuns Together()
    {
        Doubling doubling = DoublingOf(graph, wishes.Start, wishes.End);
        RunOrder order = new(graph, taste, wishes.DragInches, cancellation);
        bool mayHop = wishes.DragInches > 0 && RunsOf(graph, doubling) is > 1 and <= MostRunsExchanged;
        TrailWishes asked = new(wishes.Style, [], wishes.Start, wishes.End, null, mayHop ? Restarts : null);
        IReadOnlyList<Trail> trails = mayHop
            ? TrailSystem.Trace(graph, doubling.Doubled, doubling.Loose, asked, cancellation)
            : MemorableTrails.Trace(
                graph,
                doubling.Doubled,
                doubling.Loose,
                asked,
                wishes.Ease ?? new EaseTaste(),
                taste.Of,
                wishes.Search,
                cancellation
            );

        // A single thread begins where it is shortest to say, as long as its tails hide no worse there than elsewhere.
        if (
            trails is [{ Legs.Count: > 0 } only]
            && wishes.Start is null
            && wishes.End is null
            && (
                !only.IsClosed
                || taste.Of(RunOrder.FirstOf(only, graph)) <= only.Legs.Min(l => taste.Of(graph.Lines[l.Line].From))
            )
        )
        {
            return new(trails, true, true);
        }

        return order.Put(trails, wishes.Start, wishes.End);

        int Restarts(IReadOnlyList<Trail> runs) =>
            Hops.Between(graph, order.Put(runs, wishes.Start, wishes.End).Trails, wishes.DragInches)
                .Count(h => h is null);
    }

    private static int RunsOf(StitchGraph g, Doubling d)
    {
        int[] ends = new int[g.PieceCount];
        for (int v = 0; v < d.Loose.Length; v++)
        {
            if (d.Loose[v] > 0)
            {
                ends[g.PieceOf(v)] += d.Loose[v];
            }
        }

        return ends.Sum(e => Math.Max(1, e / 2));
    }

    private double DoubledInches(List<Trail> trails)
    {
        HashSet<int> seen = [];
        return trails.SelectMany(t => t.Legs).Where(l => !seen.Add(l.Line)).Sum(l => graph.Lines[l.Line].Inches);
    }

    /// <summary>True where no route over these lines takes less time than these runs, at a start's price.</summary>
    public static bool IsLeastTime(
        StitchGraph graph,
        IReadOnlyList<Trail> trails,
        double inchesPerStart,
        PointTaste taste,
        CancellationToken cancellation
    ) =>
        new ThreadPlanner(graph, new(ThreadChoice.Mixed, inchesPerStart), taste, cancellation).IsLeastTime([.. trails]);

    private bool IsLeastTime(List<Trail> trails)
    {
        if (wishes.Thread != ThreadChoice.Mixed)
        {
            return true;
        }

        Doubling least = new LeastDoubling(graph.Network, taste.Of, cancellation).For(
            ThreadChoice.Mixed,
            null,
            null,
            wishes.InchesPerStart
        );
        int runs = RunsOf(graph, least);
        double bound = runs * wishes.InchesPerStart + least.Inches;
        return trails.Count * wishes.InchesPerStart + DoubledInches(trails) <= bound + 1e-6;
    }
}

/// <summary>How well a thread's tail hides at a junction: 0 best, 255 worst.</summary>
internal sealed class PointTaste
{
    private const int Bulky = 120;
    private readonly int[] taste;
    private readonly RawEdge? edge;

    /// <summary>Judges every junction of a map.</summary>
    /// <param name="map">The map.</param>
    /// <param name="bulkyFrom">
    /// From how many seams on a point is bulky. Handbook 2: many seams need slowing down; eight is the usual mark (common
    /// practice, no source).
    /// </param>
    /// <param name="raw">Where threads may run off the top, which hides their ends best of all; null for nowhere.</param>
    public PointTaste(QuiltMap map, int bulkyFrom = 8, RawEdge? raw = null)
    {
        edge = raw is { IsEmpty: false } ? raw : null;
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        int[] seams = new int[map.Junctions.Count];
        bool[] outside = new bool[map.Junctions.Count];
        foreach (Seam s in map.Seams)
        {
            seams[index[s.From]]++;
            seams[index[s.To]]++;
            outside[index[s.From]] |= s.Role == SeamRole.Edge;
            outside[index[s.To]] |= s.Role == SeamRole.Edge;
        }

        // Tails go best under the binding or the next border; never where much cloth lies already.
        taste =
        [
            .. Enumerable
                .Range(0, seams.Length)
                .Select(v =>
                    IsOffTop(v) ? 0 : (outside[v] ? (edge is null ? 0 : 1) : 100) + (seams[v] >= bulkyFrom ? Bulky : 0)
                ),
        ];
    }

    /// <summary>The junction's figure.</summary>
    public int Of(int junction) => taste[junction];

    /// <summary>True where some point lets a thread off the top.</summary>
    public bool HasOffTop => edge is not null;

    /// <summary>True where a thread may run off the top.</summary>
    public bool IsOffTop(int junction) => edge?.Frees(junction) == true;

    /// <summary>True where so many seams meet that no tail hides well.</summary>
    public bool IsBulky(int junction) => taste[junction] >= Bulky;
}
