using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Tests.Routing;

/// <summary>
/// Every plane graph that can be made from eleven lines between six points, parallel ones among them: 2,047 graphs, each solved
/// by trying everything.
/// </summary>
public class SmallPlaneGraphTests
{
    private const int Points = 6;

    // Two cells side by side, no two lines of a length, a diagonal in each and two arcs that bow away from a side.
    private static readonly Point<ClothSpace>[] Places =
    [
        new(1, 1),
        new(3.1, 1.2),
        new(5.4, 0.9),
        new(0.8, 3.3),
        new(3.2, 2.9),
        new(5.1, 3.4),
    ];

    private static readonly (int From, int To, double Bulge)[] Lines =
    [
        (0, 1, 0),
        (1, 2, 0),
        (3, 4, 0),
        (4, 5, 0),
        (0, 3, 0),
        (1, 4, 0),
        (2, 5, 0),
        (0, 4, 0),
        (1, 5, 0),
        (0, 1, 0.3),
        (3, 4, -0.3),
    ];

    public static TheoryData<int> Parts => [0, 1, 2, 3];

    [Theory]
    [MemberData(nameof(Parts))]
    public void Starts_and_doubled_length_equal_what_trying_everything_finds(int part)
    {
        // The graphs in four parts, for tests to run beside each other.
        for (int set = 1 + part; set < 1 << Lines.Length; set += 4)
        {
            int[] chosen = [.. Enumerable.Range(0, Lines.Length).Where(e => (set >> e & 1) == 1)];
            QuiltMap map = MapOf(chosen);
            double[] inches = [.. map.Seams.Select(s => map.EdgeOf(s).Length)];
            LineNetwork network = new(Points, [.. chosen.Select((e, i) => (Lines[e].From, Lines[e].To, inches[i]))]);
            double[] least = LeastByTrying(chosen, inches, network.PieceCount);
            int fewest = FewestTrails(chosen);
            RouteCandidate free = Plan(map, ThreadChoice.Free, 1);
            Assert.Equal(fewest, free.Measures.Starts);
            Assert.Equal(fewest, free.Proof.LeastStarts);
            Assert.Equal(0, free.Measures.Doubled.Inches);
            for (int runs = network.PieceCount; runs <= fewest; runs++)
            {
                Assert.Equal(least[runs], new LeastDoubling(network).LeastInches(runs), 1e-6);
                CutPacking? proof = CutPacking.ForRuns(network, runs, TestContext.Current.CancellationToken);
                Assert.NotNull(proof);
                Assert.Equal(least[runs], proof.LeastInches, 1e-6);
            }

            RouteCandidate one = Plan(map, ThreadChoice.One, 1);
            Assert.Equal(network.PieceCount, one.Measures.Starts);
            Assert.Equal(least[network.PieceCount], one.Measures.Doubled.Inches, 1e-6);

            // A price of a start at which the answers differ: 1.7 in.
            const double Start = 1.7;
            RouteCandidate mixed = Plan(map, ThreadChoice.Mixed, Start);
            Assert.Equal(
                Enumerable.Range(network.PieceCount, fewest - network.PieceCount + 1).Min(k => k * Start + least[k]),
                mixed.Measures.Starts * Start + mixed.Measures.Doubled.Inches,
                1e-6
            );
            foreach (RouteCandidate c in new[] { free, one, mixed })
            {
                Assert.Equal(0, c.Measures.Crossings);
                Assert.Equal(0, PlaneGraphs.CountCrossings(c));
                Assert.True(c.Proof.Optimal);
                PlaneGraphs.AssertChained(c);
                PlaneGraphs.AssertEverySeamOnce(map, c);
            }
        }
    }

    private static QuiltMap MapOf(int[] chosen) =>
        new(
            Length.FromInches(7),
            Length.FromInches(5),
            [.. Places.Select((p, i) => new Junction(Named("j", i), Estimate<Point<ClothSpace>>.Exact(p)))],
            [
                .. chosen.Select(e => new Seam(
                    Named("s", e),
                    Named("j", Lines[e].From),
                    Named("j", Lines[e].To),
                    Lines[e].Bulge
                )),
            ]
        );

    private static string Named(string kind, int number) => kind + number.ToString(CultureInfo.InvariantCulture);

    private static RouteCandidate Plan(QuiltMap map, ThreadChoice thread, double start) =>
        RoutePlanner
            .Plan(
                map,
                new()
                {
                    Lines = LineChoice.Seams,
                    Thread = thread,
                    StartCostSeconds = start,
                    InchCostSeconds = 1,
                },
                TestContext.Current.CancellationToken
            )
            .Route.Candidates[0];

    /// <summary>By number of runs: the least length of a set of doubled lines that leaves no more than two ends a run.</summary>
    private static double[] LeastByTrying(int[] chosen, double[] inches, int pieces)
    {
        int[] label = [.. Enumerable.Range(0, Points)];
        for (int round = 0; round < Points; round++)
        {
            foreach (int e in chosen)
            {
                int low = Math.Min(label[Lines[e].From], label[Lines[e].To]);
                label[Lines[e].From] = label[Lines[e].To] = low;
            }
        }

        double[] least = new double[chosen.Length + 2];
        Array.Fill(least, double.PositiveInfinity);
        bool[] met = new bool[Points];
        foreach (int e in chosen)
        {
            met[Lines[e].From] = met[Lines[e].To] = true;
        }

        for (int set = 0; set < 1 << chosen.Length; set++)
        {
            int[] degree = new int[Points];
            double sum = 0;
            for (int i = 0; i < chosen.Length; i++)
            {
                int times = 1 + (set >> i & 1);
                degree[Lines[chosen[i]].From] += times;
                degree[Lines[chosen[i]].To] += times;
                sum += (times - 1) * inches[i];
            }

            int runs = Enumerable
                .Range(0, Points)
                .Where(v => met[v])
                .GroupBy(v => label[v])
                .Sum(p => Math.Max(1, p.Count(v => degree[v] % 2 == 1) / 2));
            for (int k = runs; k < least.Length; k++)
            {
                least[k] = Math.Min(least[k], sum);
            }
        }

        Assert.True(double.IsFinite(least[pieces]));
        return least;
    }

    // Fewest trails that take each line once, by dynamic programming over which lines are done and where the needle stands.
    private static int FewestTrails(int[] chosen)
    {
        int all = (1 << chosen.Length) - 1;
        int[,] trails = new int[all + 1, Points];
        for (int done = 0; done <= all; done++)
        {
            for (int v = 0; v < Points; v++)
            {
                trails[done, v] = done == 0 ? 1 : 99;
            }
        }

        for (int done = 0; done <= all; done++)
        {
            int lifted = Enumerable.Range(0, Points).Min(v => trails[done, v]) + (done == 0 ? 0 : 1);
            for (int v = 0; v < Points; v++)
            {
                // Lifting the needle takes it anywhere for one more start.
                trails[done, v] = Math.Min(trails[done, v], lifted);
                for (int i = 0; i < chosen.Length; i++)
                {
                    (int a, int b, _) = Lines[chosen[i]];
                    if ((done >> i & 1) == 0 && (a == v || b == v))
                    {
                        int to = a == v ? b : a;
                        int after = done | 1 << i;
                        trails[after, to] = Math.Min(trails[after, to], trails[done, v]);
                    }
                }
            }
        }

        // The last lift led nowhere.
        return Enumerable
            .Range(0, chosen.Length)
            .SelectMany(i => new[] { (i, Lines[chosen[i]].From), (i, Lines[chosen[i]].To) })
            .Min(x => Arrived(x.i, x.Item2));

        int Arrived(int i, int at)
        {
            (int a, int b, _) = Lines[chosen[i]];
            return trails[all ^ 1 << i, a == at ? b : a];
        }
    }
}
