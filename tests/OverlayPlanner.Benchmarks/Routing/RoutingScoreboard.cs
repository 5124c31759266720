using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>How good the routes are, against the handbook, proven bounds and what a person does.</summary>
public static class RoutingScoreboard
{
    private const int Seed = 20_250_117;

    // Trade handbook, table 1.4, 12 in blocks: lines and open retrace without and with the outline; −1 where it gives none.
    private static readonly (string Id, int Lines, double Open, int LinesAll, double OpenAll)[] Handbook =
    [
        ("four-patch", 2, 12.00, 2, 12.00),
        ("nine-patch", 4, 24.00, 4, 12.00),
        ("puss-in-the-corner", 4, 18.00, 4, 18.00),
        ("shoofly", 1, 0.00, 1, 0.00),
        ("friendship-star", 4, 12.00, 4, 12.00),
        ("ohio-star", 1, 0.00, 1, 0.00),
        ("churn-dash", 4, 12.00, 4, 12.00),
        ("card-trick", 6, 16.97, 6, 16.97),
        ("sawtooth-star", 1, 0.00, 1, 0.00),
        ("pinwheel", 4, 40.97, 4, 18.00),
        ("broken-dishes", 8, 49.46, 8, 21.00),
        ("hourglass", 2, 16.97, 2, 12.00),
        ("dutchmans-puzzle", 2, 18.73, 2, 12.00),
        ("bears-paw", 8, 34.29, 8, 29.14),
        ("log-cabin", 12, 18.86, 12, 18.86),
        ("courthouse-steps", 12, 18.86, 12, 18.86),
        ("rail-fence", 10, 52.00, 10, 20.00),
        ("snowball", 4, -1, 4, 12.00),
        ("square-in-a-square", 1, 0.00, 1, 0.00),
        ("economy", 1, 0.00, 1, 0.00),
        ("jacobs-ladder", 12, 36.00, 12, 36.00),
        ("snails-trail", 2, 3.00, 2, 3.00),
        ("sisters-choice", 8, 16.80, 8, 16.80),
        ("spool", 4, 15.31, 4, 15.31),
        ("attic-windows", 2, 5.66, 2, 5.66),
        ("lemoyne-star", 4, 21.09, 4, 21.09),
        ("kaleidoscope", 1, 0.00, 1, 0.00),
    ];

    /// <summary>Runs all of it; <paramref name="quick"/> takes fewer random graphs and repeats.</summary>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        List<(string, string, string, bool)> rows = [];
        AddHandbook(rows);
        AddArcs(rows);
        AddRandomGraphs(rows, quick ? 100 : 1000);
        AddSpeed(rows, quick ? 5 : 21);
        AddWholeQuilt(rows);
        OrderScoreboard.Add(rows, quick ? 200 : 1000);
        LineScoreboard.Add(rows, quick);
        rows.AddRange(MemoryScoreboard.Run(quick));
        rows.AddRange(ProofScoreboard.Run(quick));
        return rows;
    }

    private static void AddHandbook(List<(string, string, string, bool)> rows)
    {
        int equal = 0;
        int all = 0;
        int crossings = 0;
        double greedy = 0;
        double ours = 0;
        foreach ((string id, int lines, double open, int linesAll, double openAll) in Handbook)
        {
            QuiltMap map = Draft(id);
            foreach (
                (OutlineChoice outline, int starts, double doubled) in new[]
                {
                    (OutlineChoice.None, lines, open),
                    (OutlineChoice.Any, linesAll, openAll),
                }
            )
            {
                RouteWishes wishes = new() { Lines = LineChoice.Seams, Outline = outline };
                RouteCandidate free = Plan(map, wishes);
                RouteCandidate one = Plan(map, wishes with { Thread = ThreadChoice.One });
                crossings += free.Measures.Crossings + one.Measures.Crossings;
                all += doubled < 0 ? 1 : 2;
                equal += free.Measures.Starts == starts && free.Measures.Doubled == Length.Zero ? 1 : 0;
                equal += doubled >= 0 && Math.Abs(one.Measures.Doubled.Inches - doubled) <= 0.01 ? 1 : 0;
                if (doubled >= 0)
                {
                    ours += one.Measures.Doubled.Inches;
                    greedy += WalkGreedily(map, s => outline != OutlineChoice.None || s.Role != SeamRole.Edge);
                }
            }
        }

        rows.Add(("handbook 1.4: starts and backtracking equal", Text($"{equal} of {all}"), "all", equal == all));
        rows.Add(("handbook blocks, seams alone: crossings", Text($"{crossings}"), "0", crossings == 0));
        rows.Add(
            (
                "backtracking, one thread, all blocks: ours, a walk that takes what is left and turns back when stuck",
                Text($"{ours:0} in, {greedy:0} in"),
                "ours no more",
                ours <= greedy
            )
        );
    }

    private static void AddArcs(List<(string, string, string, bool)> rows)
    {
        int one = 0;
        int whole = 0;
        int three = 0;
        int crossings = 0;
        List<string> others = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            IReadOnlyList<RouteCandidate> found = RoutePlanner.Plan(Draft(block.Id), new()).Route.Candidates;
            RouteCandidate best = found[0];
            bool done = best.Measures is { Starts: 1 } && best.Measures.Doubled == Length.Zero;
            one += done ? 1 : 0;
            whole +=
                done
                && !best.Design!.Contains(" only", StringComparison.Ordinal)
                && !best.Design.Contains("not alike", StringComparison.Ordinal)
                    ? 1
                    : 0;
            three += found.Count >= 3 ? 1 : 0;
            crossings += found.Sum(c => c.Measures.Crossings);
            if (!done)
            {
                others.Add(block.Id);
            }
        }

        int n = BlockLibrary.All.Count;
        string rest = others.Count == 0 ? "" : $"; not {string.Join(", ", others)}";
        rows.Add(
            ("library with arcs: one thread, nothing twice", Text($"{one} of {n}{rest}"), ">= 90 %", one >= 0.9 * n)
        );
        rows.Add(
            ("of these, more than a half turn or one mirror kept", Text($"{whole} of {one}"), "all", whole == one)
        );
        rows.Add(
            ("library with arcs: three designs that differ", Text($"{three} of {n}"), ">= 90 %", three >= 0.9 * n)
        );
        rows.Add(("library with arcs: crossings in any choice", Text($"{crossings}"), "0", crossings == 0));
    }

    private static void AddRandomGraphs(List<(string, string, string, bool)> rows, int count)
    {
        Random random = new(Seed);
        int proven = 0;
        int crossing = 0;
        double ours = 0;
        double greedy = 0;
        for (int i = 0; i < count; i++)
        {
            QuiltMap map = RandomMap(random);
            foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
            {
                RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Thread = thread });
                proven += c.Proof.Optimal ? 1 : 0;
                crossing += c.Measures.Crossings > 0 ? 1 : 0;
                ours += thread == ThreadChoice.One ? c.Measures.Doubled.Inches : 0;
            }

            greedy += WalkGreedily(map, _ => true);
        }

        rows.Add(
            (
                Text($"random plane graphs (seed {Seed}), three threads each: bound met"),
                Text($"{proven} of {3 * count}"),
                "all",
                proven == 3 * count
            )
        );
        rows.Add(("random plane graphs: routes that cross", Text($"{crossing}"), "0", crossing == 0));
        rows.Add(
            (
                "random plane graphs, one thread, backtracking: ours, the greedy walk",
                Text($"{ours:0} in, {greedy:0} in"),
                "ours no more",
                ours <= greedy
            )
        );
    }

    private static void AddSpeed(List<(string, string, string, bool)> rows, int repeats)
    {
        List<(double Median, string Id)> blocks = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = Draft(block.Id);
            RoutePlanner.Plan(map, new());
            double[] times = new double[repeats];
            for (int i = 0; i < repeats; i++)
            {
                Stopwatch watch = Stopwatch.StartNew();
                RoutePlanner.Plan(map, new());
                times[i] = watch.Elapsed.TotalMilliseconds;
            }

            Array.Sort(times);
            blocks.Add((times[repeats / 2], block.Id));
        }

        blocks.Sort();
        (double slowest, string id) = blocks[^1];
        double median = blocks[blocks.Count / 2].Median;
        rows.Add(
            (
                "one block with arcs, three choices: median of the library",
                Text($"{median:0.0} ms"),
                "< 50 ms",
                median < 50
            )
        );
        rows.Add(("the slowest block", Text($"{slowest:0} ms ({id})"), "< 200 ms", slowest < 200));
    }

    private static void AddWholeQuilt(List<(string, string, string, bool)> rows)
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("nine-patch"),
            Length.FromInches(12),
            12,
            15,
            Length.FromInches(2)
        );
        Stopwatch watch = Stopwatch.StartNew();
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One });
        double seconds = watch.Elapsed.TotalSeconds;
        rows.Add(
            (
                Text($"a quilt of {map.Seams.Count} seams, {c.Proof.OddJunctions.Count} odd points, one thread"),
                Text($"{seconds:0.0} s, proven {(c.Proof.Optimal ? "yes" : "no")}"),
                "< 5 s, yes",
                seconds < 5 && c.Proof.Optimal
            )
        );
    }

    /// <summary>
    /// What a person does: go on along a line not stitched yet, the straightest; when stuck, back by the shortest way to the
    /// nearest point that has one. Returns the length gone over again.
    /// </summary>
    private static double WalkGreedily(QuiltMap map, Func<Seam, bool> asked)
    {
        PlaneGraph<ClothSpace> plane = map.ToPlaneGraph();
        bool[] open = [.. map.Seams.Select(asked)];
        bool[] mine = [.. open];
        double doubled = 0;
        int left = open.Count(o => o);
        while (left > 0)
        {
            // A piece of its own is begun at an odd point, where there is one.
            int at = Enumerable
                .Range(0, plane.Nodes.Count)
                .Where(v => OpenAt(v) > 0)
                .OrderByDescending(v => OpenAt(v) % 2)
                .First();
            Vector<ClothSpace>? way = null;
            while (true)
            {
                int next = plane
                    .Around(at)
                    .Where(h => open[h >> 1])
                    .OrderBy(h => way is { } w ? Math.Abs(w.AngleTo(plane.Along(h).StartDirection)) : 0)
                    .FirstOrDefault(-1);
                if (next < 0)
                {
                    (int target, double distance) = Nearest(at);
                    if (target < 0)
                    {
                        break;
                    }

                    doubled += distance;
                    (at, way) = (target, null);
                    continue;
                }

                open[next >> 1] = false;
                left--;
                way = plane.Along(next).EndDirection;
                at = plane.NodeOf(next ^ 1);
            }
        }

        return doubled;

        int OpenAt(int v) => plane.Around(v).Count(h => open[h >> 1]);

        (int, double) Nearest(int from)
        {
            Dictionary<int, double> reached = new() { [from] = 0 };
            PriorityQueue<int, double> queue = new();
            queue.Enqueue(from, 0);
            while (queue.TryDequeue(out int v, out double d))
            {
                if (d > reached[v])
                {
                    continue;
                }

                if (OpenAt(v) > 0)
                {
                    return (v, d);
                }

                foreach (int h in plane.Around(v).Where(h => mine[h >> 1]))
                {
                    int w = plane.NodeOf(h ^ 1);
                    double dw = d + plane[h >> 1].Length;
                    if (!reached.TryGetValue(w, out double old) || dw < old)
                    {
                        reached[w] = dw;
                        queue.Enqueue(w, dw);
                    }
                }
            }

            return (-1, 0);
        }
    }

    // A jittered lattice with some of its sides and one diagonal in some of its cells.
    private static QuiltMap RandomMap(Random random)
    {
        int columns = random.Next(2, 9);
        int rows = random.Next(2, 9);
        double share = 0.4 + 0.6 * random.NextDouble();
        List<Junction> junctions = [];
        for (int i = 0; i < rows * columns; i++)
        {
            Point<ClothSpace> p = new(
                2 * (i % columns + 0.5) + 0.5 * (random.NextDouble() - 0.5),
                2 * (i / columns + 0.5) + 0.5 * (random.NextDouble() - 0.5)
            );
            junctions.Add(new("j" + i.ToString(CultureInfo.InvariantCulture), Estimate<Point<ClothSpace>>.Exact(p)));
        }

        List<Seam> seams = [new("s0", "j0", "j1")];
        for (int v = 0; v < junctions.Count; v++)
        {
            bool right = v % columns + 1 < columns;
            bool down = v / columns + 1 < rows;
            Add(right && v > 0, v, v + 1);
            Add(down, v, v + columns);
            Add(right && down, v, v + columns + 1);
        }

        return new(Length.FromInches(2 * columns), Length.FromInches(2 * rows), junctions, seams);

        void Add(bool fits, int a, int b)
        {
            if (fits && random.NextDouble() < share)
            {
                seams.Add(
                    new("s" + seams.Count.ToString(CultureInfo.InvariantCulture), junctions[a].Id, junctions[b].Id)
                );
            }
        }
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes).Route.Candidates[0];

    private static string Text(FormattableString s) => FormattableString.Invariant(s);
}
