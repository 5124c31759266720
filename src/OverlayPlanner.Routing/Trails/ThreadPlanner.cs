using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
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
internal sealed record ThreadWishes(
    ThreadChoice Thread,
    double InchesPerStart,
    TrailStyle Style = TrailStyle.NoCrossing,
    int? Start = null,
    int? End = null,
    Func<StitchLine, int>? StageOf = null,
    double DragInches = 0
);

/// <summary>Ordered runs over one set of lines.</summary>
/// <param name="Trails">What each thread stitches, in order.</param>
/// <param name="IsLeastTime">For a mixed thread: no route over these lines takes less time.</param>
/// <param name="StartKept">False where the first run could not start at the wished start.</param>
/// <param name="EndKept">False where the wished end could not be the last run's.</param>
/// <param name="Bound">What no route in the order of stages does better than; null where any order is allowed.</param>
internal sealed record ThreadPlan(
    IReadOnlyList<Trail> Trails,
    bool IsLeastTime,
    bool StartKept,
    bool EndKept,
    StageBound? Bound
);

/// <summary>Makes ordered runs of a set of lines: what to double, how to pass the points, which run first.</summary>
internal sealed class ThreadPlanner
{
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
        int[] stages = [.. graph.Lines.Select(wishes.StageOf ?? (_ => 0))];
        StagedRuns? staged =
            stages.Distinct().Count() > 1 ? StagedThreads.Plan(graph, stages, wishes, taste, cancellation) : null;
        List<Trail> trails = staged?.Trails ?? planner.Together();
        bool startKept =
            wishes.Start is not { } start || trails.Count == 0 || RunOrder.FirstOf(trails[0], graph) == start;
        bool endKept = wishes.End is not { } end || trails.Count == 0 || RunOrder.LastOf(trails[^1], graph) == end;
        return new(trails, planner.IsLeastTime(trails), startKept, endKept, staged?.Bound);
    }

    private Doubling DoublingOf(StitchGraph g, int? start, int? end) =>
        new LeastDoubling(g.Network, taste.Of, cancellation).For(wishes.Thread, start, end, wishes.InchesPerStart);

    private List<Trail> Together()
    {
        Doubling doubling = DoublingOf(graph, wishes.Start, wishes.End);
        IReadOnlyList<Trail> trails = TrailSystem.Trace(
            graph,
            doubling.Doubled,
            doubling.Loose,
            new(wishes.Style, [], wishes.Start, wishes.End),
            cancellation
        );
        RunOrder order = new(graph, taste, wishes.DragInches, cancellation);
        return [.. order.Put(trails, wishes.Start, wishes.End).Trails];
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
    // Handbook: bulky points need slowing down; eight or more seams is the usual mark (common practice, no source).
    private const int BulkyFrom = 8;
    private readonly int[] taste;

    public PointTaste(QuiltMap map)
    {
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
                .Select(v => (outside[v] ? 0 : 100) + (seams[v] >= BulkyFrom ? 120 : 0)),
        ];
    }

    /// <summary>The junction's figure.</summary>
    public int Of(int junction) => taste[junction];
}
