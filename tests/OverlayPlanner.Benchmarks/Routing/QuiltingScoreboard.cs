using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;
using OverlayPlanner.Routing.Rows;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>Paths drawn by hand, broken threads, rows and whole quilts.</summary>
public static class QuiltingScoreboard
{
    private const int Seed = 20_250_117;

    /// <summary>Runs all of it; <paramref name="quick"/> takes fewer cases.</summary>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        List<(string, string, string, bool)> rows = [];
        AddSnapping(rows, quick ? 10 : int.MaxValue);
        AddInterruptions(rows, quick ? 3 : 10);
        AddRows(rows, quick ? 10 : int.MaxValue);
        AddQuilt(rows);
        rows.AddRange(PhotographedRows.Run(quick));
        return rows;
    }

    // A hand's shake: Gaussian, 3 mm on each axis, wandering over about half an inch.
    private static List<Point<ClothSpace>> Shaken(IEnumerable<Edge<ClothSpace>> path, Random random)
    {
        const double Sigma = 3 / 25.4;
        const double Step = 0.08;
        const double Memory = 0.5;
        double keep = Math.Exp(-Step / Memory);
        double x = Sigma * Normal(random);
        double y = Sigma * Normal(random);
        List<Point<ClothSpace>> points = [];
        foreach (Edge<ClothSpace> e in path)
        {
            int n = Math.Max(2, (int)Math.Ceiling(e.Length / Step));
            for (int i = 0; i <= n; i++)
            {
                x = keep * x + Sigma * Math.Sqrt(1 - keep * keep) * Normal(random);
                y = keep * y + Sigma * Math.Sqrt(1 - keep * keep) * Normal(random);
                Point<ClothSpace> p = e.PointAt((double)i / n);
                points.Add(new(p.X + x, p.Y + y));
            }
        }

        return points;
    }

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    private static void AddSnapping(List<(string, string, string, bool)> rows, int blocks)
    {
        AddSnapping(rows, blocks, LineChoice.Seams);
        AddSnapping(rows, blocks, LineChoice.SeamsAndArcs);
    }

    private static void AddSnapping(List<(string, string, string, bool)> rows, int blocks, LineChoice lines)
    {
        double right = 0;
        double rightNearest = 0;
        double all = 0;
        double slowest = 0;
        List<double> times = [];
        List<(string Id, double Share)> worst = [];
        foreach (BlockDraft b in BlockLibrary.All.Take(blocks))
        {
            QuiltMap map = Draft(b.Id, 1, 1);
            Random random = new(Seed);
            List<Move> moves = [.. Plan(map, new() { Lines = lines, Thread = ThreadChoice.One }).Runs[0].Moves];

            // One move in twenty is gone back over and stitched again.
            List<Move> drawn = [];
            foreach (Move m in moves)
            {
                drawn.Add(m);
                if (random.NextDouble() < 0.05)
                {
                    drawn.Add(m with { Path = m.Path.Reversed });
                    drawn.Add(m);
                }
            }

            List<Point<ClothSpace>> stroke = Shaken(drawn.Select(m => m.Path), random);
            DrawnPath path = DrawnRoute.Follow(map, [stroke]);

            // Without what the first run of a program costs, and without what else the machine does.
            times.Add(1000 * Seconds(() => DrawnRoute.Follow(map, [stroke])));
            slowest = Math.Max(slowest, times[^1]);
            string[] truth = [.. drawn.Select(m => m.Seam ?? Own(m.Path))];
            int found = Common(
                truth,
                [
                    .. path
                        .Threads.SelectMany(t => t)
                        .Where(s => Math.Abs(s.To - s.From) > 0.5)
                        .Select(s => s.Seam ?? Own(s.Path)),
                ]
            );
            right += found;
            rightNearest += Common(truth, NearestLines(map, stroke));
            all += truth.Length;
            worst.Add((b.Id, (double)found / truth.Length));
        }

        (string id, double share) = worst.MinBy(w => w.Share);
        if (lines == LineChoice.SeamsAndArcs)
        {
            rows.Add(
                (
                    "the same with added arcs, which stand off a seam by as little as two of the hand's deviations",
                    Text($"{100 * right / all:0.0} % ({100 * rightNearest / all:0.0} %); worst {id} {100 * share:0} %"),
                    "-",
                    true
                )
            );
            return;
        }

        rows.Add(
            (
                "drawn strokes, shaking by 3 mm on 12 in blocks, 1 move in 20 gone back over: lines right (a nearest-line snap)",
                Text($"{100 * right / all:0.0} % ({100 * rightNearest / all:0.0} %); worst {id} {100 * share:0} %"),
                ">= 98 %",
                right / all >= 0.98
            )
        );
        times.Sort();
        rows.Add(
            (
                "time to lay one stroke of a whole block, the best of three: median, worst",
                Text($"{times[times.Count / 2]:0.0} ms, {slowest:0} ms"),
                "< 10 ms",
                slowest < 10
            )
        );
    }

    // A line of its own: its ends and which way it bows.
    private static string Own(Edge<ClothSpace> e)
    {
        const double Flat = 0.12;
        int bow = Math.Abs(e.Bulge * e.Chord / 2) < Flat ? 0 : Math.Sign(e.Bulge);
        return Text($"{e.From.X:0.0},{e.From.Y:0.0} {e.To.X:0.0},{e.To.Y:0.0} {bow}");
    }

    // Longest common subsequence.
    private static int Common(string[] a, string[] b)
    {
        int[,] best = new int[a.Length + 1, b.Length + 1];
        for (int i = 1; i <= a.Length; i++)
        {
            for (int j = 1; j <= b.Length; j++)
            {
                best[i, j] = a[i - 1] == b[j - 1] ? best[i - 1, j - 1] + 1 : Math.Max(best[i - 1, j], best[i, j - 1]);
            }
        }

        return best[a.Length, b.Length];
    }

    // The peer: each sample to its nearest line; a line counts once it holds half of its own length of samples in a row.
    private static string[] NearestLines(QuiltMap map, List<Point<ClothSpace>> stroke)
    {
        List<string> found = [];
        string? now = null;
        double length = 0;
        for (int i = 1; i < stroke.Count; i++)
        {
            Seam nearest = map.Seams.MinBy(s => map.EdgeOf(s).Nearest(stroke[i]).Distance)!;
            if (nearest.Id != now)
            {
                now = nearest.Id;
                length = 0;
            }

            double before = length;
            length += stroke[i - 1].DistanceTo(stroke[i]);
            double half = map.EdgeOf(nearest).Length / 2;
            if (before < half && length >= half)
            {
                found.Add(nearest.Id);
            }
        }

        return [.. found];
    }

    private static void AddInterruptions(List<(string, string, string, bool)> rows, int each)
    {
        string[] blocks =
        [
            "nine-patch",
            "shoofly",
            "ohio-star",
            "churn-dash",
            "card-trick",
            "sawtooth-star",
            "pinwheel",
            "bears-paw",
            "log-cabin",
            "lemoyne-star",
        ];
        int cases = 0;
        int whole = 0;
        int twice = 0;
        int least = 0;
        List<double> times = [];
        foreach (string id in blocks)
        {
            QuiltMap map = Draft(id, 1, 1);
            Random random = new(Seed);
            for (int k = 0; k < each; k++)
            {
                // By turns: a thread that broke, a wrong turn taken by chance, a path left half-way.
                RouteWishes wishes = new() { Lines = LineChoice.Seams };
                List<Move> begun = k % 3 == 1 ? Wander(map, random) : [.. Plan(map, wishes).Runs[0].Moves];
                begun = [.. begun.Take(1 + random.Next(begun.Count))];
                DrawnPath path = new(
                    [
                        [.. begun.Select(m => Stretch(map, m))],
                    ],
                    Length.Zero
                );
                Stopwatch watch = Stopwatch.StartNew();
                FinishPlan plan = RouteFinisher.Finish(
                    map,
                    path,
                    new(wishes) { Needle = k % 3 == 0 ? NeedleThread.Broken : NeedleThread.Whole }
                );
                times.Add(watch.Elapsed.TotalMilliseconds);
                RouteCandidate c = plan.Route.Candidates[0];
                string[] once = [.. c.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Seam!)];
                cases++;
                whole +=
                    once.Distinct().Count() == once.Length
                    && map.Seams.Where(s => s.Role != SeamRole.Edge).All(s => once.Contains(s.Id))
                        ? 1
                        : 0;
                twice += c.Measures.Doubled.Inches > 1e-9 ? 1 : 0;
                least += c.Finish!.IsLeast ? 1 : 0;
            }
        }

        rows.Add(
            (
                "interruptions and wrong turns on ten blocks: the rest planned, nothing missed, nothing twice",
                Text($"{whole - twice} of {cases}"),
                "all",
                whole == cases && twice == 0
            )
        );
        rows.Add(
            ("of these, the rest proven the least from there", Text($"{least} of {cases}"), "all", least == cases)
        );
        times.Sort();
        rows.Add(
            (
                "time to finish one, with where the best was lost: median, worst",
                Text($"{times[times.Count / 2]:0.0} ms, {times[^1]:0} ms"),
                "-",
                true
            )
        );
    }

    private static DrawnStretch Stretch(QuiltMap map, Move m) =>
        map.EdgeOf(map.SeamOf(m.Seam!)).From == m.Path.From ? new(m.Seam, 0, 1, m.Path) : new(m.Seam, 1, 0, m.Path);

    private static List<Move> Wander(QuiltMap map, Random random)
    {
        List<Seam> seams = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        HashSet<string> used = [];
        List<Move> walk = [];
        string at = seams[random.Next(seams.Count)].From;
        while (true)
        {
            Seam[] next = [.. seams.Where(s => (s.From == at || s.To == at) && !used.Contains(s.Id))];
            if (next.Length == 0)
            {
                return walk;
            }

            Seam s = next[random.Next(next.Length)];
            used.Add(s.Id);
            walk.Add(new(MoveKind.Ditch, s.From == at ? map.EdgeOf(s) : map.EdgeOf(s).Reversed, s.Id, null));
            at = s.From == at ? s.To : s.From;
        }
    }

    // Followed move by move: the same places of each block in the same order. What the plan says of itself is not looked at.
    private static bool AreStitchedAlike(QuiltMap map, RouteCandidate route) =>
        map.Blocks.Select(b =>
                string.Join(
                    ' ',
                    route
                        .Runs.SelectMany(r => r.Moves)
                        .Where(m => m.Block == b.Id && m.Kind != MoveKind.Retrace)
                        .Select(m => m.Path.PointAt(0.5) - b.Corners[0])
                        .Select(v => Text($"{Math.Round(v.X, 3) + 0.0},{Math.Round(v.Y, 3) + 0.0}"))
                )
            )
            .Distinct(StringComparer.Ordinal)
            .Count() == 1;

    private static void AddRows(List<(string, string, string, bool)> rows, int blocks)
    {
        const int Across = 6;
        int all = 0;
        int halves = 0;
        int one = 0;
        int least = 0;
        int together = 0;
        int shown = 0;
        int alike = 0;
        List<string> others = [];
        List<string> open = [];
        List<string> unlike = [];
        foreach (BlockDraft b in BlockLibrary.All.Take(blocks))
        {
            QuiltMap map = Draft(b.Id, Across, 1);
            RowPlan plan = RowPlanner.Plan(map, new(new()) { Anchor = RowAnchor.SidesStitched });
            PlannedRow row = plan.Rows[0];
            all++;
            together += RowPlanner
                .Plan(
                    map,
                    new(new() { Thread = ThreadChoice.One, Outline = OutlineChoice.Any })
                    {
                        Anchor = RowAnchor.SidesStitched,
                    }
                )
                .Rows[0]
                is { InHalves: true, Starts: 1 }
                ? 1
                : 0;
            halves += row.InHalves ? 1 : 0;
            one += row.Starts == 1 ? 1 : 0;
            least += row.Starts == row.LeastStarts ? 1 : 0;
            bool same = AreStitchedAlike(map, plan.Route.Candidates[0]);
            alike += same ? 1 : 0;
            unlike.AddRange(same ? [] : [Text($"{b.Id} {row.Starts} ({row.LeastStarts})")]);
            if (row.Starts != row.LeastStarts)
            {
                others.Add(Text($"{b.Id} {row.Starts} ({row.LeastStarts})"));
            }

            if (!row.InHalves)
            {
                bool more = HalvesByParity.LeastStarts(Draft(b.Id, 1, 1), Across) > row.LeastStarts;
                shown += more ? 1 : 0;
                open.AddRange(more ? [] : [b.Id]);
            }
        }

        rows.Add(
            (
                "a row of six of each library block, sides stitched, nothing twice: in halves; shown by parity to take more starts in halves than in any order",
                Text($"{halves}; {shown} of {all}{Named(open)}"),
                "all",
                halves + shown == all
            )
        );
        rows.Add(
            (
                "the same rows: every block stitched alike, in halves or one after another",
                Text($"{alike} of {all}{Named(unlike)}"),
                "all",
                alike == all
            )
        );
        rows.Add(
            (
                "the same rows with backtracking allowed (--thread one): one thread, in halves",
                Text($"{together} of {all}"),
                "all",
                together == all
            )
        );
        rows.Add(
            (
                "starts with nothing twice: rows that take one thread; the least that their lines allow (Listing's bound)",
                Text($"{one}; {least} of {all}{Named(others)}"),
                "all the least",
                least == all
            )
        );

        static string Named(List<string> some) =>
            some.Count > 0 ? "; not " + string.Join(", ", some.Take(4)) + (some.Count > 4 ? " …" : "") : "";
    }

    private static void AddQuilt(List<(string, string, string, bool)> rows)
    {
        QuiltMap small = Draft("sawtooth-star", 6, 8);
        QuiltMap large = Draft("sawtooth-star", 12, 15);
        RowWishes wishes = new(new() { Candidates = 1 }) { Reach = Length.FromInches(24) };
        RowPlanner.Plan(small, wishes);
        double few = Seconds(() => RowPlanner.Plan(small, wishes));
        RowPlan plan = RowPlanner.Plan(large, wishes);
        double many = Seconds(() => RowPlanner.Plan(large, wishes));
        RouteCandidate c = plan.Route.Candidates[0];
        rows.Add(
            (
                Text($"a quilt of 12 × 15 blocks, {large.Seams.Count} seams, in passes of 24 in"),
                Text($"{many:0.0} s, {c.Measures.Starts} starts, nothing twice"),
                "<= 2 s",
                many <= 2 && c.Measures.Doubled.Inches < 1e-6
            )
        );
        double growth = many / few / ((double)large.Seams.Count / small.Seams.Count);
        rows.Add(
            (
                Text($"time a seam, {large.Seams.Count} seams against {small.Seams.Count}"),
                Text($"{growth:0.00} times"),
                "<= 1.2",
                growth <= 1.2
            )
        );

        // As she runs it: the whole command, with the map read and the route written.
        string folder = Directory.CreateTempSubdirectory("overlayplanner-quilt-").FullName;
        string quilt = Path.Combine(folder, "quilt.json");
        ChildProgram.Measure(["blocks", "draft", "sawtooth-star", "--repeat", "12x15", "--out", quilt]);
        (double whole, double memory) = ChildProgram.Measure([
            "route",
            quilt,
            "--rows",
            "--reach",
            "24",
            "--candidates",
            "1",
            "--out",
            Path.Combine(folder, "route.json"),
        ]);
        Directory.Delete(folder, recursive: true);
        rows.Add(
            (
                "the same by the command line, map read and route written: peak memory",
                Text($"{memory:0} MB, {whole:0.0} s in all"),
                "<= 500 MB",
                memory <= 500
            )
        );

        // The peer: each block by itself with its own sides, the next one begun at the nearest point.
        int starts = 0;
        foreach (Block b in large.Blocks.Take(1))
        {
            starts = Plan(large, new() { Block = b.Id, Lines = LineChoice.Seams }).Measures.Starts * large.Blocks.Count;
        }

        rows.Add(
            (
                "its starts: ours; blocks planned one by one and joined by the nearest start",
                Text($"{c.Measures.Starts}; {starts}"),
                "ours fewer",
                c.Measures.Starts < starts
            )
        );
    }

    private static double Seconds(Action work)
    {
        double best = double.PositiveInfinity;
        for (int i = 0; i < 3; i++)
        {
            Stopwatch watch = Stopwatch.StartNew();
            work();
            best = Math.Min(best, watch.Elapsed.TotalSeconds);
        }

        return best;
    }

    private static QuiltMap Draft(string id, int across, int down) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), across, down, Length.Zero);

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes).Route.Candidates[0];

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
