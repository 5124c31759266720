using System.Diagnostics;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>Orders of stages, last lines and hops: kept, proven, and fast enough on whole quilts.</summary>
internal static class OrderScoreboard
{
    /// <summary>Adds the rows; <paramref name="graphs"/> random plane graphs are planned.</summary>
    public static void Add(List<(string, string, string, bool)> rows, int graphs)
    {
        AddLastLines(rows, graphs);
        AddLibrary(rows);
        AddQuilt(rows);
        AddLargeBlock(rows);
    }

    private static void AddLastLines(List<(string, string, string, bool)> rows, int graphs)
    {
        int kept = 0;
        int crossings = 0;
        int met = 0;
        int all = 0;
        int starts = 0;
        int least = 0;
        for (int seed = 0; seed < graphs; seed++)
        {
            QuiltMap map = RandomMap(seed);
            Random random = new(seed);
            HashSet<string> last = [.. map.Seams.Select(s => s.Id).Where(_ => random.Next(3) == 0)];
            if (last.Count == 0 || last.Count == map.Seams.Count)
            {
                continue;
            }

            RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, LastSeams = [.. last] });
            bool reached = false;
            bool inOrder = true;
            foreach (Move m in c.AllMoves)
            {
                inOrder &= last.Contains(m.Seam!) || !reached;
                reached |= last.Contains(m.Seam!);
            }

            all++;
            kept += inOrder ? 1 : 0;
            crossings += CrossingCounter.Find(c.Runs).Count;
            System.Text.Json.JsonElement order = c.Unknown.In("proof").Values["inOrder"];
            met += order.GetProperty("optimal").GetBoolean() ? 1 : 0;
            starts += c.Measures.Starts;
            least += order.GetProperty("leastStarts").GetInt32();
        }

        rows.Add(("random plane graphs with last lines: order kept", Text($"{kept} of {all}"), "all", kept == all));
        rows.Add(("random plane graphs with last lines: crossings", Text($"{crossings}"), "0", crossings == 0));
        rows.Add(
            (
                "random plane graphs with last lines: starts proven the least in this order",
                Text($"{met} of {all}; {starts} starts, bound {least}"),
                "≥ 90 %",
                met >= 0.9 * all
            )
        );
    }

    private static void AddLibrary(List<(string, string, string, bool)> rows)
    {
        int proven = 0;
        int all = 0;
        int more = 0;
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = BlockDrafting.Draft(block, Length.FromInches(12), 1, 1, Length.Zero);
            RouteWishes wishes = new() { Lines = LineChoice.Seams, Outline = OutlineChoice.Last };
            RouteCandidate last = Plan(map, wishes);
            RouteCandidate any = Plan(map, wishes with { Outline = OutlineChoice.Any });
            all++;
            proven += last.Unknown.In("proof").Values["inOrder"].GetProperty("optimal").GetBoolean() ? 1 : 0;
            more += last.Measures.Starts - any.Measures.Starts;
        }

        rows.Add(
            (
                "library, seams alone, outline last: starts proven the least in this order",
                Text($"{proven} of {all}; {more} starts more than in any order, all blocks"),
                "all",
                proven == all
            )
        );
    }

    private static void AddQuilt(List<(string, string, string, bool)> rows)
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("nine-patch"),
            Length.FromInches(12),
            12,
            15,
            Length.FromInches(2)
        );
        foreach (
            (string name, RouteWishes wishes) in new (string, RouteWishes)[]
            {
                ("finish blocks, one thread", new() { FinishBlocks = true, Thread = ThreadChoice.One }),
                ("anchor first, one thread", new() { AnchorFirst = true, Thread = ThreadChoice.One }),
                ("finish blocks, nothing twice", new() { FinishBlocks = true }),
            }
        )
        {
            Stopwatch watch = Stopwatch.StartNew();
            RouteCandidate c = Plan(map, wishes with { Lines = LineChoice.Seams });
            double seconds = watch.Elapsed.TotalSeconds;
            rows.Add(
                (
                    Text($"quilt of {map.Seams.Count} seams: {name}, with what it costs"),
                    Text($"{seconds:0.0} s, {c.Measures.Starts} starts, {c.Measures.Doubled.Inches:0} in twice"),
                    "≤ 10 s",
                    seconds <= 10 && c.Measures.Crossings == 0
                )
            );
        }
    }

    private static void AddLargeBlock(List<(string, string, string, bool)> rows)
    {
        // One block of 31 × 31 squares with a diagonal in every second one: 2,000 seams or so that no block boundary parts.
        QuiltMap map = Lattice(31, 31, (r, c) => (r + c) % 9 == 0 ? 1 : 0, 1);
        Stopwatch watch = Stopwatch.StartNew();
        RouteCandidate one = Plan(map, new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One });
        double seconds = watch.Elapsed.TotalSeconds;
        rows.Add(
            (
                Text($"one block of {map.Seams.Count} seams, one thread"),
                Text($"{seconds:0.0} s, {one.Measures.Starts} starts"),
                "≤ 10 s",
                seconds <= 10 && one.Proof.Optimal
            )
        );
    }

    private static QuiltMap RandomMap(int seed)
    {
        Random random = new(seed);
        int rows = random.Next(2, 9);
        int columns = random.Next(2, 9);
        return Lattice(rows, columns, (_, _) => random.Next(3), 0.5 + 0.5 * random.NextDouble(), random);
    }

    // A lattice with some of its sides, and in a cell none (0) or one of its diagonals.
    private static QuiltMap Lattice(
        int rows,
        int columns,
        Func<int, int, int> diagonal,
        double share,
        Random? random = null
    )
    {
        List<Junction> junctions = [];
        List<Seam> seams = [];
        for (int r = 0; r <= rows; r++)
        {
            for (int c = 0; c <= columns; c++)
            {
                junctions.Add(new(Text($"j{junctions.Count}"), new(new Point<ClothSpace>(c, r), Length.Zero)));
            }
        }

        for (int r = 0; r <= rows; r++)
        {
            for (int c = 0; c <= columns; c++)
            {
                int v = r * (columns + 1) + c;
                Add(c < columns, v, v + 1);
                Add(r < rows, v, v + columns + 1);
                int which = r < rows && c < columns ? diagonal(r, c) : 0;
                Add(which == 1, v, v + columns + 2);
                Add(which == 2, v + 1, v + columns + 1);
            }
        }

        return new(Length.FromInches(columns), Length.FromInches(rows), junctions, seams);

        void Add(bool has, int a, int b)
        {
            if (has && (random is null || random.NextDouble() < share))
            {
                seams.Add(new(Text($"s{seams.Count}"), junctions[a].Id, junctions[b].Id));
            }
        }
    }

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes).Route.Candidates[0];

    private static string Text(FormattableString s) => FormattableString.Invariant(s);
}
