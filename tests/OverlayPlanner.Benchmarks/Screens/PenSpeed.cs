using System.Diagnostics;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Workflows.Drawing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Benchmarks.Screens;

/// <summary>
/// What the server does for each handful of pen points on the drawing board, without a browser: snapping, how the path stands, and
/// the picture where a move came to it. Strokes are a shaky hand's, two points a call as 120 points a second give them.
/// </summary>
internal static class PenSpeed
{
    private const int FewestLines = 60;
    private const double TargetMilliseconds = 10;

    // A board of 684 px shows a 12 in block with its margin: 50 px an inch, 300 px and 120 points a second.
    private const double PixelsPerInch = 50;
    private const double Step = 2.5 / PixelsPerInch;
    private const double Shake = 4 / PixelsPerInch;
    private const int PointsEach = 2;

    /// <summary>The time of a call in blocks of many lines, and how many strokes on common blocks are understood exactly.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        QuiltMap[] large = [.. BlockLibrary.All.Select(Draft).Where(m => m.Seams.Count >= FewestLines)];

        // The first strokes are the compiler's.
        Calls(large[0], 1);
        Calls(large[0], 2);
        List<double> times = [];
        foreach (QuiltMap map in large)
        {
            for (int seed = 0; seed < (quick ? 1 : 4); seed++)
            {
                times.AddRange(Calls(map, seed));
            }
        }

        times.Sort();
        double p95 = times[(int)(0.95 * (times.Count - 1))];
        yield return (
            Text(
                $"pen points taken by the server, {large.Length} blocks of {FewestLines} lines and more, {times.Count} calls: P50, P95, worst"
            ),
            Text($"{times[times.Count / 2]:0.00} ms, {p95:0.00} ms, {times[^1]:0.0} ms"),
            "P95 ≤ 10 ms",
            p95 <= TargetMilliseconds
        );
        (int right, int all) = Understood(quick ? 20 : 200);
        yield return (
            Text($"shaky strokes on common blocks, {all} paths of 4 to 40 moves: understood exactly"),
            Text($"{right} of {all}"),
            "≥ 98 %",
            right >= 0.98 * all
        );
    }

    private static (int Right, int All) Understood(int paths)
    {
        string[] blocks = ["ohio-star", "sawtooth-star", "churn-dash", "pinwheel"];
        int right = 0;
        for (int seed = 0; seed < paths; seed++)
        {
            QuiltMap map = Draft(BlockLibrary.Find(blocks[seed % blocks.Length]));
            string[] trail = Trail(map, seed);
            DrawingBoard board = new(map, map.Blocks[0].Id);
            foreach (Point<ClothSpace>[] points in Hand(map, trail, 4 * Step, seed).Chunk(PointsEach))
            {
                board.Draw(points);
            }

            board.Lift();
            right += board.Moves.Select(m => m.To).SequenceEqual(trail[1..]) ? 1 : 0;
        }

        return (right, paths);
    }

    private static List<double> Calls(QuiltMap map, int seed)
    {
        DrawingBoard board = new(map, map.Blocks[0].Id);
        BoardPicture picture = BoardPicture.Of(board);
        List<double> times = [];
        foreach (Point<ClothSpace>[] points in Hand(map, Trail(map, seed), Step, seed).Chunk(PointsEach))
        {
            long start = Stopwatch.GetTimestamp();
            IReadOnlyList<DrawnMove> before = board.Moves;
            board.Draw(points);
            if (!board.Moves.SequenceEqual(before))
            {
                picture = BoardPicture.Of(board);
            }

            string way = SvgWay.Of(board.Snapped);
            times.Add(Stopwatch.GetElapsedTime(start).TotalMilliseconds);
            GC.KeepAlive(way);
        }

        GC.KeepAlive(picture);
        return times;
    }

    private static QuiltMap Draft(BlockDraft block) =>
        BlockDrafting.Draft(block, Length.FromInches(12), 1, 1, Length.Zero);

    // A trail over the inner seams, never twice, as far as it goes.
    private static string[] Trail(QuiltMap map, int seed)
    {
        Random die = new(seed);
        HashSet<string> used = [];
        List<Seam> inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        string at = inner[die.Next(inner.Count)].From;
        List<string> trail = [at];
        while (inner.Where(s => !used.Contains(s.Id) && (s.From == at || s.To == at)).ToArray() is { Length: > 0 } next)
        {
            Seam s = next[die.Next(next.Length)];
            used.Add(s.Id);
            at = s.From == at ? s.To : s.From;
            trail.Add(at);
        }

        return [.. trail];
    }

    // A slow sway and a quick shake, as of a mouse.
    private static List<Point<ClothSpace>> Hand(QuiltMap map, string[] trail, double step, int seed)
    {
        Random die = new(seed);
        List<Point<ClothSpace>> pen = [];
        for (int i = 1; i < trail.Length; i++)
        {
            Point<ClothSpace> a = map.JunctionOf(trail[i - 1]).Place;
            Point<ClothSpace> b = map.JunctionOf(trail[i]).Place;
            Edge<ClothSpace> path = map
                .Seams.Where(s => s.Bulge != 0)
                .Select(map.EdgeOf)
                .SelectMany(e => new[] { e, e.Reversed })
                .FirstOrDefault(e => e.From == a && e.To == b, new(a, b));
            int n = Math.Max(2, (int)(path.Length / step));
            for (int k = i == 1 ? 0 : 1; k <= n; k++)
            {
                double sway = 0.6 * Shake * Math.Sin(pen.Count / 11.0);
                Point<ClothSpace> at = path.PointAt((double)k / n);
                pen.Add(
                    new(
                        at.X + sway + 0.4 * Shake * (2 * die.NextDouble() - 1),
                        at.Y - sway + 0.4 * Shake * (2 * die.NextDouble() - 1)
                    )
                );
            }
        }

        return pen;
    }

    private static string Text(FormattableString text) => FormattableString.Invariant(text);
}
