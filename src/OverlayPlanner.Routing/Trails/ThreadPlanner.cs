using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Memory;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing.Trails;

/// <summary>What is asked of the threads over one set of lines.</summary>
/// <param name="Thread">Starts against backtracking.</param>
/// <param name="InchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
/// <param name="Style">How runs pass through points.</param>
/// <param name="OutlineLast">Frame lines come after all others.</param>
/// <param name="Start">Junction where the first run starts, or null.</param>
/// <param name="End">Junction where the last run ends, or null.</param>
/// <param name="Ease">What the quilter finds easy, or null for the usual.</param>
internal sealed record ThreadWishes(
    ThreadChoice Thread,
    double InchesPerStart,
    TrailStyle Style = TrailStyle.NoCrossing,
    bool OutlineLast = false,
    int? Start = null,
    int? End = null,
    EaseTaste? Ease = null
);

/// <summary>Ordered runs over one set of lines.</summary>
/// <param name="Trails">What each thread stitches, in order.</param>
/// <param name="IsLeastTime">For a mixed thread: no route over these lines takes less time.</param>
/// <param name="EndKept">False where the wished end could not be the last run's.</param>
internal sealed record ThreadPlan(IReadOnlyList<Trail> Trails, bool IsLeastTime, bool EndKept);

/// <summary>Makes ordered runs of a set of lines: what to double, how to pass the points, which run first.</summary>
internal sealed class ThreadPlanner
{
    private readonly StitchGraph graph;
    private readonly ThreadWishes wishes;
    private readonly PointTaste taste;
    private readonly CancellationToken cancellation;

    // While places to lead over are tried, what a trail costs matters and not how it is said.
    private bool isTrying;

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
        bool parts = graph.Lines.Any(l => l.Kind == MoveKind.Frame) && graph.Lines.Any(l => l.Kind != MoveKind.Frame);
        List<Trail> trails = wishes.OutlineLast && parts ? planner.OutlineLast() : planner.Together();
        bool endKept = wishes.End is not { } end || trails.Count == 0 || NodeAfter(trails[^1].Legs[^1], graph) == end;
        return new(trails, planner.IsLeastTime(trails), endKept);
    }

    private Doubling DoublingOf(StitchGraph g, int? start, int? end) =>
        new LeastDoubling(g.Network, taste.Of, cancellation).For(wishes.Thread, start, end, wishes.InchesPerStart);

    private IReadOnlyList<Trail> Trace(StitchGraph g, Doubling doubling, TrailWishes asked) =>
        isTrying
            ? TrailSystem.Trace(g, doubling.Doubled, doubling.Loose, asked, cancellation)
            : MemorableTrails.Trace(
                g,
                doubling.Doubled,
                doubling.Loose,
                asked,
                wishes.Ease ?? new EaseTaste(),
                taste.Of,
                cancellation
            );

    private List<Trail> Together()
    {
        Doubling doubling = DoublingOf(graph, wishes.Start, wishes.End);
        IReadOnlyList<Trail> trails = Trace(graph, doubling, new(wishes.Style, [], wishes.Start, wishes.End));
        if (trails is [var only] && wishes.Start is null && wishes.End is null)
        {
            return [only];
        }

        return Order(graph, trails, wishes.Start, wishes.End, null);
    }

    /// <summary>
    /// The outline after everything else. One run may lead from the inner lines on to the outline where the two meet; it
    /// must leave the inner lines next to the outline's own line, so that it crosses nothing.
    /// </summary>
    private List<Trail> OutlineLast()
    {
        int[] innerLines =
        [
            .. Enumerable.Range(0, graph.Lines.Count).Where(e => graph.Lines[e].Kind != MoveKind.Frame),
        ];
        int[] frameLines =
        [
            .. Enumerable.Range(0, graph.Lines.Count).Where(e => graph.Lines[e].Kind == MoveKind.Frame),
        ];
        StitchGraph inner = new(graph.Map, [.. innerLines.Select(e => graph.Lines[e])]);
        StitchGraph frame = new(graph.Map, [.. frameLines.Select(e => graph.Lines[e])]);
        int? innerStart = wishes.Start is { } s && inner.PieceOf(s) >= 0 ? s : null;
        int? frameEnd = wishes.End is { } e && frame.PieceOf(e) >= 0 ? e : null;

        List<Trail>? best = null;
        (int Runs, double Inches) bestCost = (int.MaxValue, double.PositiveInfinity);

        // No order of the two parts does better than each on its own, led over once.
        (int Runs, double Inches) bound = Apart(inner, frame, innerStart);
        int? at = null;
        isTrying = true;
        foreach (int? bridge in Bridges(inner, frame, innerStart, frameEnd))
        {
            cancellation.ThrowIfCancellationRequested();
            List<Trail>? trails = LeadOver(inner, frame, innerLines, frameLines, innerStart, frameEnd, bridge);
            if (trails is null)
            {
                continue;
            }

            (int Runs, double Inches) cost = (trails.Count, DoubledInches(trails));
            if (IsLess(cost, bestCost))
            {
                (best, bestCost, at) = (trails, cost, bridge);
            }

            if (bestCost.Runs <= bound.Runs && bestCost.Inches <= bound.Inches + 1e-9)
            {
                break;
            }
        }

        isTrying = false;
        List<Trail>? told = LeadOver(inner, frame, innerLines, frameLines, innerStart, frameEnd, at);
        bool asGood =
            told is not null
            && !IsLess(bestCost, (told.Count, DoubledInches(told)))
            && (wishes.End is null || NodeAfter(told[^1].Legs[^1], graph) == NodeAfter(best![^1].Legs[^1], graph));
        return asGood ? told! : best!;
    }

    private (int Runs, double Inches) Apart(StitchGraph inner, StitchGraph frame, int? start)
    {
        Doubling a = DoublingOf(inner, start, null);
        Doubling b = DoublingOf(frame, null, null);
        return (RunsOf(inner, a) + RunsOf(frame, b) - 1, a.Inches + b.Inches);
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

    private bool IsLess((int Runs, double Inches) a, (int Runs, double Inches) b)
    {
        if (b.Runs == int.MaxValue)
        {
            return true;
        }

        double time = (a.Runs - b.Runs) * wishes.InchesPerStart + (a.Inches - b.Inches);
        return wishes.Thread == ThreadChoice.Mixed
            ? time < -1e-9
            : a.Runs < b.Runs || (a.Runs == b.Runs && a.Inches < b.Inches - 1e-9);
    }

    private double DoubledInches(List<Trail> trails)
    {
        HashSet<int> seen = [];
        return trails.SelectMany(t => t.Legs).Where(l => !seen.Add(l.Line)).Sum(l => graph.Lines[l.Line].Inches);
    }

    // Places to lead over, the promising ones first, and none at all.
    private List<int?> Bridges(StitchGraph inner, StitchGraph frame, int? start, int? end)
    {
        const int Most = 12;
        int[] shared =
        [
            .. Enumerable.Range(0, graph.Plane.Nodes.Count).Where(v => inner.PieceOf(v) >= 0 && frame.PieceOf(v) >= 0),
        ];
        if (shared.Length == 0)
        {
            return [null];
        }

        Doubling free = DoublingOf(inner, start, null);
        HashSet<int> odd = [.. inner.Odd];
        HashSet<int> frameOdd = [.. frame.Odd];
        HashSet<int> frameOddPieces = [.. frame.Odd.Select(frame.PieceOf)];
        return
        [
            .. shared
                .OrderBy(v => v == end ? 0 : 1)
                .ThenBy(v => free.Loose[v] > (v == start ? 1 : 0) ? 0 : 1)
                .ThenBy(v => frameOdd.Contains(v) || !frameOddPieces.Contains(frame.PieceOf(v)) ? 0 : 1)
                .ThenBy(v => odd.Contains(v) ? 0 : 1)
                .ThenBy(v => taste.Of(v))
                .Take(shared.Length <= 24 ? 24 : Most)
                .Select(v => (int?)v),
            null,
        ];
    }

    private List<Trail>? LeadOver(
        StitchGraph inner,
        StitchGraph frame,
        int[] innerLines,
        int[] frameLines,
        int? start,
        int? end,
        int? bridge
    )
    {
        LooseEnd? innerEnd = null;
        LooseEnd? frameStart = null;
        if (bridge is { } at && !FindNeighbours(at, innerLines, frameLines, out innerEnd, out frameStart))
        {
            return null;
        }

        Doubling innerDoubling = DoublingOf(inner, start, bridge);
        Doubling frameDoubling = DoublingOf(frame, bridge, end);
        List<Trail> innerTrails =
        [
            .. Trace(inner, innerDoubling, new(wishes.Style, innerEnd is null ? [] : [innerEnd.Value], start, bridge))
                .Select(t => Renumbered(t, innerLines)),
        ];
        List<Trail> frameTrails =
        [
            .. Trace(
                    frame,
                    frameDoubling,
                    new(TrailStyle.NoCrossing, frameStart is null ? [] : [frameStart.Value], bridge, end)
                )
                .Select(t => Renumbered(t, frameLines)),
        ];
        if (bridge is not { } v)
        {
            List<Trail> first = Order(graph, innerTrails, start, null, null);
            return [.. first, .. Order(graph, frameTrails, null, end, EndOf(first))];
        }

        // The inner run that ends on the loose end chosen, and the outline's run that begins beside it.
        TrailLeg last = new(innerLines[innerEnd!.Value.HalfEdge >> 1], (innerEnd.Value.HalfEdge & 1) == 1);
        TrailLeg next = new(frameLines[frameStart!.Value.HalfEdge >> 1], (frameStart.Value.HalfEdge & 1) == 0);
        Trail? before = TakeEnding(innerTrails, last);
        Trail? after = TakeBeginning(frameTrails, next);
        if (before is null || after is null)
        {
            return null;
        }

        Trail joined = new([.. before.Legs, .. after.Legs], false);
        List<Trail> inOrder = Order(graph, innerTrails, start, null, null);
        if (start is { } s && innerTrails.Count > 0 && NodeBefore(inOrder[0].Legs[0], graph) != s)
        {
            return null;
        }

        List<Trail> all =
        [
            .. inOrder,
            joined,
            .. Order(graph, frameTrails, null, frameTrails.Count > 0 ? end : null, [joined]),
        ];

        // The outline need not run round the outside of everything; where leading over would cross, it is not done.
        return CrossesAt(v, all) ? null : all;
    }

    private bool CrossesAt(int v, List<Trail> trails)
    {
        List<(Edge<ClothSpace> In, Edge<ClothSpace> Out)> passes = [];
        HashSet<int> seen = [];
        foreach (Trail t in trails)
        {
            bool wasAgain = true;
            for (int i = 0; i < t.Legs.Count; i++)
            {
                bool again = !seen.Add(t.Legs[i].Line);
                if (i > 0 && !again && !wasAgain && NodeBefore(t.Legs[i], graph) == v)
                {
                    passes.Add((PathOf(t.Legs[i - 1]).Reversed, PathOf(t.Legs[i])));
                }

                wasAgain = again;
            }
        }

        for (int i = 0; i < passes.Count; i++)
        {
            for (int j = i + 1; j < passes.Count; j++)
            {
                if (CrossingCounter.Alternate(passes[i].In, passes[i].Out, passes[j].In, passes[j].Out))
                {
                    return wishes.Style == TrailStyle.NoCrossing;
                }
            }
        }

        return false;
    }

    private Edge<ClothSpace> PathOf(TrailLeg leg) =>
        leg.Forward ? graph.Lines[leg.Line].Path : graph.Lines[leg.Line].Path.Reversed;

    private bool FindNeighbours(
        int v,
        int[] innerLines,
        int[] frameLines,
        out LooseEnd? innerEnd,
        out LooseEnd? frameStart
    )
    {
        innerEnd = null;
        frameStart = null;
        IReadOnlyList<int> around = graph.Plane.Around(v);
        for (int i = 0; i < around.Count; i++)
        {
            int a = around[i];
            int b = around[(i + 1) % around.Count];
            bool aFrame = graph.Lines[a >> 1].Kind == MoveKind.Frame;
            bool bFrame = graph.Lines[b >> 1].Kind == MoveKind.Frame;
            if (aFrame == bFrame)
            {
                continue;
            }

            // Of a doubled line's two strands the one next to the neighbour counts: the later one of a, the earlier of b.
            LooseEnd first = new(Inside(a, aFrame), true);
            LooseEnd second = new(Inside(b, bFrame), false);
            (innerEnd, frameStart) = aFrame ? (second, first) : (first, second);
            return true;
        }

        return false;

        int Inside(int h, bool isFrame) => 2 * Array.IndexOf(isFrame ? frameLines : innerLines, h >> 1) + (h & 1);
    }

    private static Trail Renumbered(Trail t, int[] lines) =>
        t with
        {
            Legs = [.. t.Legs.Select(l => l with { Line = lines[l.Line] })],
        };

    private static Trail Reversed(Trail t) => t with { Legs = [.. t.Legs.Reverse().Select(l => l.Reversed)] };

    private static Trail? TakeEnding(List<Trail> trails, TrailLeg last)
    {
        int i = trails.FindIndex(t => !t.IsClosed && t.Legs[^1] == last);
        if (i >= 0)
        {
            return Taken(trails, i);
        }

        i = trails.FindIndex(t => !t.IsClosed && t.Legs[0].Reversed == last);
        return i >= 0 ? Reversed(Taken(trails, i)) : null;
    }

    private static Trail? TakeBeginning(List<Trail> trails, TrailLeg first) =>
        TakeEnding(trails, first.Reversed) is { } t ? Reversed(t) : null;

    private static Trail Taken(List<Trail> trails, int i)
    {
        Trail t = trails[i];
        trails.RemoveAt(i);
        return t;
    }

    private static IReadOnlyList<Trail>? EndOf(List<Trail> trails) => trails.Count == 0 ? null : [trails[^1]];

    private static int NodeBefore(TrailLeg leg, StitchGraph g) =>
        leg.Forward ? g.Lines[leg.Line].From : g.Lines[leg.Line].To;

    private static int NodeAfter(TrailLeg leg, StitchGraph g) =>
        leg.Forward ? g.Lines[leg.Line].To : g.Lines[leg.Line].From;

    /// <summary>
    /// Puts runs in order, each starting near where the last one ended, and turns closed ones so that their tails hide well.
    /// </summary>
    private List<Trail> Order(
        StitchGraph g,
        IReadOnlyList<Trail> trails,
        int? start,
        int? end,
        IReadOnlyList<Trail>? after
    )
    {
        List<Trail> left = [.. trails];
        Trail? last = null;
        if (end is { } e && left.Count > 0)
        {
            int i = left.FindIndex(t =>
                !t.IsClosed && NodeAfter(t.Legs[^1], g) == e && (left.Count == 1 || !StartsAt(t, start))
            );
            if (i >= 0)
            {
                last = Taken(left, i);
            }
            else
            {
                i = left.FindIndex(t =>
                    !t.IsClosed && NodeBefore(t.Legs[0], g) == e && (left.Count == 1 || !StartsAt(Reversed(t), start))
                );
                last = i >= 0 ? Reversed(Taken(left, i)) : null;
            }
        }

        List<Trail> ordered = [];
        if (start is { } s && left.Count > 0)
        {
            int i = left.FindIndex(t => !t.IsClosed && NodeBefore(t.Legs[0], g) == s);
            if (i >= 0)
            {
                ordered.Add(Taken(left, i));
            }
            else
            {
                i = left.FindIndex(t => !t.IsClosed && NodeAfter(t.Legs[^1], g) == s);
                if (i >= 0)
                {
                    ordered.Add(Reversed(Taken(left, i)));
                }
            }
        }
        else if (
            start is { } only
            && last is not null
            && !StartsAt(last, only)
            && StartsAt(Reversed(last), only)
            && end == only
        )
        {
            last = Reversed(last);
        }

        Point<ClothSpace>? at =
            ordered.Count > 0 ? g.Plane.Nodes[NodeAfter(ordered[^1].Legs[^1], g)]
            : after is { Count: > 0 } ? g.Plane.Nodes[NodeAfter(after[^1].Legs[^1], g)]
            : null;
        while (left.Count > 0)
        {
            int best = 0;
            Trail? bestTrail = null;
            (double, double) bestKey = (double.PositiveInfinity, 0);
            for (int i = 0; i < left.Count; i++)
            {
                foreach (Trail t in WaysToStitch(left[i], at, g))
                {
                    int first = NodeBefore(t.Legs[0], g);
                    int final = NodeAfter(t.Legs[^1], g);
                    Point<ClothSpace> p = g.Plane.Nodes[first];

                    // Without a place to come from: the best hidden tails, then reading order.
                    (double, double) key = at is { } from
                        ? (p.DistanceTo(from), taste.Of(first))
                        : (2 * taste.Of(first) + taste.Of(final), p.Y * 1.001 + p.X);
                    if (key.CompareTo(bestKey) < 0)
                    {
                        (best, bestTrail, bestKey) = (i, t, key);
                    }
                }
            }

            left.RemoveAt(best);
            ordered.Add(bestTrail!);
            at = g.Plane.Nodes[NodeAfter(bestTrail!.Legs[^1], g)];
        }

        if (last is not null)
        {
            ordered.Add(last);
        }

        return ordered;

        bool StartsAt(Trail t, int? v) => v is { } x && NodeBefore(t.Legs[0], g) == x;
    }

    private IEnumerable<Trail> WaysToStitch(Trail t, Point<ClothSpace>? from, StitchGraph g)
    {
        if (!t.IsClosed)
        {
            yield return t;
            yield return Reversed(t);
            yield break;
        }

        // A closed run may be cut anywhere: where tails hide, near, and where the hand must place the ruler anew anyway.
        int n = t.Legs.Count;
        int best = 0;
        (double, double, double) bestKey = (double.PositiveInfinity, 0, 0);
        for (int i = 0; i < n; i++)
        {
            int v = NodeBefore(t.Legs[i], g);
            Edge<ClothSpace> before = PathIn(t.Legs[(i + n - 1) % n]).Reversed;
            double saved = PassCost.Of(before, PathIn(t.Legs[i]));
            Point<ClothSpace> p = g.Plane.Nodes[v];
            double near = from is { } f ? Math.Round(p.DistanceTo(f), 3) : p.Y * 1.001 + p.X;
            (double, double, double) key = (taste.Of(v) - (saved > 0 ? 20 : 0), near, -saved);
            if (key.CompareTo(bestKey) < 0)
            {
                (best, bestKey) = (i, key);
            }
        }

        Trail turned = new([.. t.Legs.Skip(best), .. t.Legs.Take(best)], true);
        yield return turned;
        yield return Reversed(turned);

        Edge<ClothSpace> PathIn(TrailLeg leg) => leg.Forward ? g.Lines[leg.Line].Path : g.Lines[leg.Line].Path.Reversed;
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
