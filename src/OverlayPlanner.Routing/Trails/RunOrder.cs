using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Trails;

/// <summary>Runs in the order in which they are stitched.</summary>
/// <param name="Trails">The runs, each in its direction of travel.</param>
/// <param name="IsLeast">
/// True where no order of these runs has fewer restarts, or as few and less carrying; false where the search is not exhaustive.
/// </param>
/// <param name="EndKept">False where no run could be the last one at the wished end.</param>
internal sealed record OrderedRuns(IReadOnlyList<Trail> Trails, bool IsLeast, bool EndKept);

/// <summary>
/// Puts separate runs one after another: fewest restarts first (a hop within the drag limit is none), then the least distance
/// that the head is carried with the needle up.
/// </summary>
/// <remarks>
/// Up to twelve runs the order is exact, by dynamic programming over subsets (Held and Karp, "A dynamic programming approach
/// to sequencing problems", 1962), each run in either direction, closed ones cut where their tails hide best. More runs start
/// from the nearest neighbour and are improved by turning stretches round (2-opt, Croes 1958) and moving up to three runs
/// (Or 1976) until nothing helps or the effort is spent; that is not proven. O(2ⁿ v²) for n runs that may be stitched in v ways
/// in all, else O(n²) for each sweep.
/// </remarks>
internal sealed class RunOrder
{
    // 2^12 subsets of up to 48 ways: ten million steps at most, some hundredths of a second.
    private const int MostExactRuns = 12;
    private const long MostExactSteps = 12_000_000;
    private const long MostImproving = 30_000_000;
    private const int MostCuts = 8;

    // One restart outweighs any carrying on a quilt.
    private const double Restart = 1e6;

    private readonly StitchGraph graph;
    private readonly PointTaste taste;
    private readonly double drag;
    private readonly CancellationToken cancellation;

    /// <summary>Prepares the order of runs over one graph.</summary>
    /// <param name="graph">The lines that the runs are made of.</param>
    /// <param name="taste">Where closed runs are best cut.</param>
    /// <param name="dragInches">How far the thread may be dragged from a run's end to the next one's start; 0 for never.</param>
    /// <param name="cancellation">Looked at once for each subset or sweep.</param>
    public RunOrder(
        StitchGraph graph,
        PointTaste taste,
        double dragInches = 0,
        CancellationToken cancellation = default
    )
    {
        this.graph = graph;
        this.taste = taste;
        drag = dragInches;
        this.cancellation = cancellation;
    }

    /// <summary>The junction where a run begins.</summary>
    public static int FirstOf(Trail t, StitchGraph g) =>
        t.Legs[0].Forward ? g.Lines[t.Legs[0].Line].From : g.Lines[t.Legs[0].Line].To;

    /// <summary>The junction where a run ends.</summary>
    public static int LastOf(Trail t, StitchGraph g) =>
        t.Legs[^1].Forward ? g.Lines[t.Legs[^1].Line].To : g.Lines[t.Legs[^1].Line].From;

    /// <summary>The run stitched the other way.</summary>
    public static Trail Reversed(Trail t) => t with { Legs = [.. t.Legs.Reverse().Select(l => l.Reversed)] };

    /// <summary>Orders the runs.</summary>
    /// <param name="trails">The runs.</param>
    /// <param name="start">Junction where the first one starts, if one can; or null.</param>
    /// <param name="end">Junction where the last one ends, if one can; or null.</param>
    /// <param name="from">Where the needle is before, or null.</param>
    /// <param name="to">Where it goes afterwards, or null.</param>
    public OrderedRuns Put(
        IReadOnlyList<Trail> trails,
        int? start,
        int? end,
        Point<ClothSpace>? from = null,
        Point<ClothSpace>? to = null
    )
    {
        if (trails.Count == 0)
        {
            return new([], true, true);
        }

        List<Way> ways = [];
        for (int i = 0; i < trails.Count; i++)
        {
            ways.AddRange(WaysOf(trails[i], i));
        }

        bool[] mayStart = Marks(ways, w => start is { } s && w.First == s);
        bool[] mayEnd = Marks(ways, w => end is { } e && w.Last == e);
        bool endKept = end is null || ways.Where((_, i) => mayEnd[i]).Any();
        if (trails.Count == 1)
        {
            bool both = ways.Where((_, i) => mayStart[i] && mayEnd[i]).Any();
            endKept = endKept && (start is null || both || !ways.Where((_, i) => mayStart[i]).Any());
        }
        else if (start is not null && end is not null && endKept)
        {
            // The first run and the last one are two different runs.
            endKept =
                ways.Where((_, i) => mayStart[i]).Any(a => ways.Where((_, i) => mayEnd[i]).Any(b => a.Run != b.Run))
                || !ways.Where((_, i) => mayStart[i]).Any();
        }

        bool anyStart = ways.Where((_, i) => mayStart[i]).Any();
        if (!anyStart)
        {
            Array.Fill(mayStart, true);
        }

        if (!endKept || end is null)
        {
            Array.Fill(mayEnd, true);
        }

        long steps = trails.Count > MostExactRuns ? long.MaxValue : (1L << trails.Count) * ways.Count * ways.Count;
        bool exact = steps <= MostExactSteps;
        int[] order = exact
            ? PutExactly(ways, trails.Count, mayStart, mayEnd, from, to)
            : PutByImproving(ways, trails.Count, mayStart, mayEnd, from, to);
        return new([.. order.Select(w => ways[w].Trail)], exact, endKept);
    }

    /// <summary>One way of stitching one run.</summary>
    private sealed record Way(int Run, Trail Trail, int First, int Last, double Reading);

    private static bool[] Marks(List<Way> ways, Func<Way, bool> has) => [.. ways.Select(has)];

    private IEnumerable<Way> WaysOf(Trail t, int run)
    {
        if (!t.IsClosed)
        {
            yield return MakeWay(t, run);
            yield return MakeWay(Reversed(t), run);
            yield break;
        }

        // A closed run may be cut anywhere: where tails hide best, and where the hand must place the ruler anew anyway.
        int n = t.Legs.Count;
        List<(double Key, double Reading, int At)> cuts = [];
        HashSet<int> seen = [];
        for (int i = 0; i < n; i++)
        {
            int v = NodeBefore(t.Legs[i]);
            double saved = PassCost.Of(PathOf(t.Legs[(i + n - 1) % n]).Reversed, PathOf(t.Legs[i]));
            Point<ClothSpace> p = graph.Plane.Nodes[v];
            cuts.Add((taste.Of(v) - (saved > 0 ? 20 : 0), p.Y * 1.001 + p.X, i));
        }

        double best = cuts.Min(c => c.Key);
        foreach ((_, _, int at) in cuts.Where(c => c.Key == best).OrderBy(c => c.Reading).ThenBy(c => c.At))
        {
            if (seen.Count < MostCuts && seen.Add(NodeBefore(t.Legs[at])))
            {
                Trail turned = new([.. t.Legs.Skip(at), .. t.Legs.Take(at)], true);
                yield return MakeWay(turned, run);
                yield return MakeWay(Reversed(turned), run);
            }
        }
    }

    private Way MakeWay(Trail t, int run)
    {
        int first = FirstOf(t, graph);
        Point<ClothSpace> p = graph.Plane.Nodes[first];
        return new(run, t, first, LastOf(t, graph), p.Y * 1.001 + p.X);
    }

    private int NodeBefore(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].From : graph.Lines[leg.Line].To;

    private Edge<ClothSpace> PathOf(TrailLeg leg) =>
        leg.Forward ? graph.Lines[leg.Line].Path : graph.Lines[leg.Line].Path.Reversed;

    private double Between(Point<ClothSpace> a, Point<ClothSpace> b)
    {
        double d = a.DistanceTo(b);
        return d <= drag + 1e-9 && drag > 0 ? d : d + Restart;
    }

    private double Between(Way a, Way b) => Between(graph.Plane.Nodes[a.Last], graph.Plane.Nodes[b.First]);

    // Without a place to come from: where tails hide well, then as a page is read; worth less than any carrying that shows.
    private double Opening(Way w, Point<ClothSpace>? from) =>
        (from is { } f ? Between(f, graph.Plane.Nodes[w.First]) : 0)
        + 1e-7 * (taste.Of(w.First) + 1e-3 * Math.Clamp(w.Reading, 0, 1e4));

    private double Closing(Way w, Point<ClothSpace>? to) => to is { } t ? graph.Plane.Nodes[w.Last].DistanceTo(t) : 0;

    private int[] PutExactly(
        List<Way> ways,
        int runs,
        bool[] mayStart,
        bool[] mayEnd,
        Point<ClothSpace>? from,
        Point<ClothSpace>? to
    )
    {
        int n = ways.Count;
        double[,] best = new double[1 << runs, n];
        int[,] before = new int[1 << runs, n];
        for (int set = 1; set < 1 << runs; set++)
        {
            if ((set & 255) == 0)
            {
                cancellation.ThrowIfCancellationRequested();
            }

            for (int w = 0; w < n; w++)
            {
                best[set, w] = double.PositiveInfinity;
                before[set, w] = -1;
                int bit = 1 << ways[w].Run;
                if ((set & bit) == 0)
                {
                    continue;
                }

                if (set == bit)
                {
                    best[set, w] = mayStart[w] ? Opening(ways[w], from) : double.PositiveInfinity;
                    continue;
                }

                for (int u = 0; u < n; u++)
                {
                    if (best[set ^ bit, u] < best[set, w] && ways[u].Run != ways[w].Run)
                    {
                        double cost = best[set ^ bit, u] + Between(ways[u], ways[w]);
                        if (cost < best[set, w])
                        {
                            (best[set, w], before[set, w]) = (cost, u);
                        }
                    }
                }
            }
        }

        int all = (1 << runs) - 1;
        int last = -1;
        double least = double.PositiveInfinity;
        for (int w = 0; w < n; w++)
        {
            double cost = mayEnd[w] ? best[all, w] + Closing(ways[w], to) : double.PositiveInfinity;
            if (cost < least)
            {
                (least, last) = (cost, w);
            }
        }

        int[] order = new int[runs];
        for (int i = runs - 1; i >= 0; i--)
        {
            order[i] = last;
            int rest = all ^ (1 << ways[last].Run);
            int next = before[all, last];
            (all, last) = (rest, next);
        }

        return order;
    }

    private int[] PutByImproving(
        List<Way> ways,
        int runs,
        bool[] mayStart,
        bool[] mayEnd,
        Point<ClothSpace>? from,
        Point<ClothSpace>? to
    )
    {
        int[] reverse = new int[ways.Count];
        for (int w = 0; w < ways.Count; w++)
        {
            // Ways come in pairs, one each way.
            reverse[w] = w ^ 1;
        }

        int last = -1;
        if (mayEnd.Contains(false))
        {
            // Of the ways that may end, one whose run is not the only one that may start.
            last = Enumerable
                .Range(0, ways.Count)
                .Where(w => mayEnd[w])
                .OrderBy(w =>
                    mayStart.Contains(false) && mayStart.Where((m, u) => m && ways[u].Run == ways[w].Run).Any()
                )
                .First();
        }

        bool[] used = new bool[runs];
        if (last >= 0)
        {
            used[ways[last].Run] = true;
        }

        List<int> order = [];
        int first = Enumerable
            .Range(0, ways.Count)
            .Where(w => mayStart[w] && !used[ways[w].Run])
            .MinBy(w => (Opening(ways[w], from), w));
        order.Add(first);
        used[ways[first].Run] = true;
        while (order.Count < runs - (last >= 0 ? 1 : 0))
        {
            cancellation.ThrowIfCancellationRequested();
            int next = -1;
            double least = double.PositiveInfinity;
            for (int w = 0; w < ways.Count; w++)
            {
                if (!used[ways[w].Run] && Between(ways[order[^1]], ways[w]) is var d && d < least)
                {
                    (next, least) = (w, d);
                }
            }

            order.Add(next);
            used[ways[next].Run] = true;
        }

        if (last >= 0)
        {
            order.Add(last);
        }

        Improve(order);
        return [.. order];

        // Given ends stay; between them stretches turn round or move.
        void Improve(List<int> o)
        {
            int low = mayStart.Contains(false) ? 1 : 0;
            int high = o.Count - (last >= 0 ? 1 : 0);
            long left = MostImproving;
            for (bool changed = true; changed && left > 0; )
            {
                cancellation.ThrowIfCancellationRequested();
                changed = false;
                for (int i = low; i < high; i++)
                {
                    for (int k = i; k < high && left > 0; k++)
                    {
                        left--;
                        double now = Gap(i - 1, o[i]) + GapAfter(o[k], k + 1);
                        double turned = Gap(i - 1, reverse[o[k]]) + GapAfter(reverse[o[i]], k + 1);
                        if (turned < now - 1e-9)
                        {
                            List<int> part = [.. o.GetRange(i, k - i + 1).Select(w => reverse[w])];
                            part.Reverse();
                            for (int j = 0; j < part.Count; j++)
                            {
                                o[i + j] = part[j];
                            }

                            changed = true;
                        }
                    }
                }

                for (int size = 1; size <= 3; size++)
                {
                    for (int i = low; i + size <= high; i++)
                    {
                        for (int at = low; at <= high && left > 0; at++)
                        {
                            if (at >= i && at <= i + size)
                            {
                                continue;
                            }

                            left--;
                            double freed =
                                Gap(i - 1, o[i]) + GapAfter(o[i + size - 1], i + size) - Joined(i - 1, i + size);
                            double was = Joined(at - 1, at);
                            double plain = Gap(at - 1, o[i]) + GapAfter(o[i + size - 1], at);
                            double turned = Gap(at - 1, reverse[o[i + size - 1]]) + GapAfter(reverse[o[i]], at);
                            if (Math.Min(plain, turned) - was < freed - 1e-9)
                            {
                                List<int> part = o.GetRange(i, size);
                                if (turned < plain)
                                {
                                    part = [.. part.Select(w => reverse[w])];
                                    part.Reverse();
                                }

                                o.RemoveRange(i, size);
                                o.InsertRange(at > i ? at - size : at, part);
                                changed = true;
                                break;
                            }
                        }
                    }
                }
            }

            double Gap(int before, int w) => before < 0 ? Opening(ways[w], from) : Between(ways[o[before]], ways[w]);

            double GapAfter(int w, int after) =>
                after >= o.Count ? Closing(ways[w], to) : Between(ways[w], ways[o[after]]);

            double Joined(int before, int after) =>
                after >= o.Count ? (before < 0 ? 0 : Closing(ways[o[before]], to)) : Gap(before, o[after]);
        }
    }
}
