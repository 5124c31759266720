using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Tests.Routing;

/// <summary>Thread ends that run off the top at a raw outer edge.</summary>
public class RawEdgeTests
{
    [Fact]
    public void Ends_at_top_and_bottom_run_half_an_inch_off_and_none_runs_off_where_the_clamps_are()
    {
        // A 12 in four patch: its four seam ends lie at the sides' middles. Left and right belong to the clamps.
        RouteCandidate c = Plan(new());
        JsonElement raw = c.Unknown.Values["rawEnds"];
        Assert.Equal(2, raw.GetProperty("ends").GetInt32());
        Assert.Equal(2, raw.GetProperty("tails").GetInt32());
        Assert.Equal(2, raw.GetProperty("leastTails").GetInt32());
        Assert.True(raw.GetProperty("optimal").GetBoolean());

        // 2 tails at half of 40 s, 2 ends at 2 s; half an inch of thread at each end.
        Assert.Equal(44, raw.GetProperty("startSeconds").GetDouble(), 9);
        Assert.Equal(1, raw.GetProperty("threadInches").GetDouble(), 9);
        HashSet<(double, double)> places =
        [
            .. c
                .Runs.SelectMany(r => new[] { "offStart", "offEnd" }.Select(f => (r, f)))
                .Where(x => x.r.Unknown.Values.ContainsKey(x.f))
                .Select(x => x.r.Unknown.Values[x.f])
                .Select(p => (p[0].GetDouble(), p[1].GetDouble())),
        ];
        Assert.Equal([(6, -0.5), (6, 12.5)], places.Order());
        Assert.Contains("2 of 4 thread ends off the raw edge", c.Design, StringComparison.Ordinal);
        Assert.Contains("1/2 in off the top", c.Call!.Verses[^1], StringComparison.Ordinal);

        // The format's own fields count runs as ever.
        Assert.Equal(2, c.Measures.Starts);
        Assert.Equal(2, c.Proof.LeastStarts);
    }

    [Theory]
    [InlineData(0.5, 0, 4, 0)]
    [InlineData(0.5, 6.1, 0, 4)]
    [InlineData(0.5, 3, 2, 2)]
    public void The_clamps_clearance_decides(double off, double clamps, int ends, int tails)
    {
        JsonElement raw = default;
        RouteCandidate c = Plan(new() { RawEnds = Length.FromInches(off), ClampClearance = Length.FromInches(clamps) });
        if (ends == 0)
        {
            Assert.False(c.Unknown.Values.ContainsKey("rawEnds"));
            return;
        }

        raw = c.Unknown.Values["rawEnds"];
        Assert.Equal((ends, tails), (raw.GetProperty("ends").GetInt32(), raw.GetProperty("tails").GetInt32()));
    }

    [Fact]
    public void Never_means_never()
    {
        Assert.False(Plan(new() { RawEnds = Length.Zero }).Unknown.Values.ContainsKey("rawEnds"));
    }

    [Fact]
    public void An_edge_with_a_seam_lets_nothing_off()
    {
        RouteCandidate c = RoutePlanner
            .Plan(Draft(EdgeKind.Seam), new() { Lines = LineChoice.Seams, Candidates = 1 })
            .Route.Candidates[0];
        Assert.False(c.Unknown.Values.ContainsKey("rawEnds"));
    }

    [Fact]
    public void A_mixed_thread_backtracks_to_the_edge_where_that_is_cheaper_than_tails()
    {
        // Free ends at top and bottom, tails at left and right: two runs cost 2 tails (40 s) and 2 ends (4 s). One run from
        // top to bottom that goes there and back over both arms (12 in at 2 s) costs 24 + 4 s; it is the least.
        JsonElement raw = Plan(new() { Thread = ThreadChoice.Mixed }).Unknown.Values["rawEnds"];
        Assert.Equal(0, raw.GetProperty("tails").GetInt32());
        Assert.Equal(28, raw.GetProperty("leastSeconds").GetDouble(), 6);
        Assert.True(raw.GetProperty("optimal").GetBoolean());
    }

    [Fact]
    public void The_least_of_ends_and_backtracking_is_what_trying_everything_finds()
    {
        Random random = new(20250117);
        for (int k = 0; k < 200; k++)
        {
            int nodes = random.Next(3, 7);
            List<(int From, int To, double Inches)> lines = RandomLines(random, nodes);
            bool[] free = [.. Enumerable.Range(0, nodes).Select(_ => random.Next(3) == 0)];
            double start = random.Next(1, 30);
            double found = new LeastDoubling(new(nodes, lines))
                .WithEndsOffTop(null, null, start, 0.25, v => free[v])
                .Inches;
            Assert.Equal(Least(nodes, lines, free, start / 2, Math.Min(0.25, start / 2)), found, 5);
        }
    }

    [Fact]
    public void One_thread_s_fewest_tails_are_what_trying_everything_finds()
    {
        Random random = new(20250118);
        for (int k = 0; k < 200; k++)
        {
            int nodes = random.Next(3, 7);
            List<(int From, int To, double Inches)> lines = RandomLines(random, nodes);
            bool[] free = [.. Enumerable.Range(0, nodes).Select(_ => random.Next(3) == 0)];
            Assert.Equal(TailsOfOne(nodes, lines, free), RawEdge.LeastTailsOfOne(new(nodes, lines), v => free[v]));
        }
    }

    // Every set of doubled lines that leaves one thread: the shortest, and of those the one with the fewest ends inside.
    private static int TailsOfOne(int nodes, List<(int From, int To, double Inches)> lines, bool[] free)
    {
        (double Inches, int Tails) best = (double.PositiveInfinity, 0);
        for (int set = 0; set < 1 << lines.Count; set++)
        {
            int[] degree = new int[nodes];
            double inches = 0;
            for (int e = 0; e < lines.Count; e++)
            {
                int times = (set >> e & 1) == 1 ? 2 : 1;
                degree[lines[e].From] += times;
                degree[lines[e].To] += times;
                inches += (times - 1) * lines[e].Inches;
            }

            int[] odd = [.. Enumerable.Range(0, nodes).Where(v => degree[v] % 2 == 1)];
            int tails =
                odd.Length > 0 ? odd.Count(v => !free[v])
                : free.Any(f => f) ? 0
                : 2;
            if (odd.Length <= 2 && (inches, tails).CompareTo(best) < 0)
            {
                best = (inches, tails);
            }
        }

        return best.Tails;
    }

    // A connected network: a random tree and a few lines more.
    private static List<(int From, int To, double Inches)> RandomLines(Random random, int nodes)
    {
        List<(int From, int To, double Inches)> lines = [];
        for (int v = 1; v < nodes; v++)
        {
            lines.Add((random.Next(v), v, random.Next(1, 12)));
        }

        for (int extra = random.Next(0, 4); extra > 0; extra--)
        {
            int a = random.Next(nodes);
            int b = random.Next(nodes);
            if (a != b)
            {
                lines.Add((a, b, random.Next(1, 12)));
            }
        }

        return lines;
    }

    // Every set of doubled lines; what is odd then is an end, and a pair of ends may lie at any point besides.
    private static double Least(
        int nodes,
        List<(int From, int To, double Inches)> lines,
        bool[] free,
        double tail,
        double off
    )
    {
        double best = double.PositiveInfinity;
        for (int set = 0; set < 1 << lines.Count; set++)
        {
            int[] degree = new int[nodes];
            double cost = 0;
            for (int e = 0; e < lines.Count; e++)
            {
                int times = (set >> e & 1) == 1 ? 2 : 1;
                degree[lines[e].From] += times;
                degree[lines[e].To] += times;
                cost += (times - 1) * lines[e].Inches;
            }

            int[] odd = [.. Enumerable.Range(0, nodes).Where(v => degree[v] % 2 == 1)];
            cost += odd.Length > 0 ? odd.Sum(v => free[v] ? off : tail) : 2 * (free.Any(f => f) ? off : tail);
            best = Math.Min(best, cost);
        }

        return best;
    }

    private static RouteCandidate Plan(RouteWishes wishes) =>
        RoutePlanner
            .Plan(Draft(EdgeKind.Raw), wishes with { Lines = LineChoice.Seams, Candidates = 1 })
            .Route.Candidates[0];

    private static QuiltMap Draft(EdgeKind edge)
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("four-patch"), Length.FromInches(12), 1, 1, Length.Zero);
        return map.With(seams: [.. map.Seams.Select(s => s.Role == SeamRole.Edge ? s with { Edge = edge } : s)]);
    }
}
