using System.Globalization;
using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Tests.Routing;

public class LeastTurningTests
{
    [Fact]
    public void Where_two_or_four_lines_meet_the_hands_turn_as_little_as_any_route_without_crossings_allows() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                QuiltMap map = EvenMap(seed);
                StitchGraph graph = new(map, LineSelection.Choose(map, null, OutlineChoice.None).Inner);

                // Before a trail is chosen for being short to say, which may cost a little turning.
                IReadOnlyList<Trail> trails = TrailSystem.Trace(
                    graph,
                    [],
                    new int[graph.Plane.Nodes.Count],
                    new(TrailStyle.NoCrossing, [], null, null),
                    TestContext.Current.CancellationToken
                );
                Assert.Equal(LeastByTrying(map), trails.Sum(t => CostOf(graph, t)));
            },
            count: 300
        );

    // The boundary of a random set of cells of a jittered lattice: two or four lines meet at every point.
    private static QuiltMap EvenMap(int seed)
    {
        const int N = 4;
        Random random = new(seed);
        bool[,] cell = new bool[N + 2, N + 2];
        for (int r = 1; r <= N; r++)
        {
            for (int c = 1; c <= N; c++)
            {
                cell[r, c] = random.Next(2) == 0;
            }
        }

        cell[1, 1] = true;
        Junction[] junctions =
        [
            .. Enumerable
                .Range(0, (N + 1) * (N + 1))
                .Select(i => new Junction(
                    Named("j", i),
                    Estimate<Point<ClothSpace>>.Exact(
                        new(2 * (i % (N + 1)) + 1 + Jitter(), 2 * (i / (N + 1)) + 1 + Jitter())
                    )
                )),
        ];
        List<Seam> seams = [];
        for (int r = 0; r <= N; r++)
        {
            for (int c = 0; c <= N; c++)
            {
                int v = r * (N + 1) + c;
                if (c < N && cell[r, c + 1] != cell[r + 1, c + 1])
                {
                    seams.Add(new(Named("s", seams.Count), Named("j", v), Named("j", v + 1)));
                }

                if (r < N && cell[r + 1, c] != cell[r + 1, c + 1])
                {
                    seams.Add(new(Named("s", seams.Count), Named("j", v), Named("j", v + N + 1)));
                }
            }
        }

        return new(Length.FromInches(10), Length.FromInches(10), junctions, seams);

        double Jitter() => 0.6 * (random.NextDouble() - 0.5);
    }

    private static string Named(string kind, int number) => kind + number.ToString(CultureInfo.InvariantCulture);

    private static int CostOf(StitchGraph graph, Trail trail)
    {
        Assert.True(trail.IsClosed);
        Edge<ClothSpace>[] paths =
        [
            .. trail.Legs.Select(l => l.Forward ? graph.Lines[l.Line].Path : graph.Lines[l.Line].Path.Reversed),
        ];

        // Closed, so the last line leads on to the first.
        return paths.Select((p, i) => PassCost.Of(paths[(i + paths.Length - 1) % paths.Length].Reversed, p)).Sum();
    }

    /// <summary>All choices of one of the two pairings without crossing at each four-way point, by brute force.</summary>
    private static int LeastByTrying(QuiltMap map)
    {
        PlaneGraph<ClothSpace> plane = map.ToPlaneGraph();
        plane.FindPieces(out int pieces);
        int[] fourWay = [.. Enumerable.Range(0, plane.Nodes.Count).Where(v => plane.DegreeOf(v) == 4)];
        int[] partner = new int[2 * plane.EdgeCount];
        int best = int.MaxValue;
        for (int choice = 0; choice < 1 << fourWay.Length; choice++)
        {
            int cost = 0;
            for (int v = 0; v < plane.Nodes.Count; v++)
            {
                IReadOnlyList<int> around = plane.Around(v);
                int shift = around.Count == 4 ? (choice >> Array.IndexOf(fourWay, v)) & 1 : 0;
                for (int i = 0; i < around.Count; i += 2)
                {
                    int a = around[(i + shift) % around.Count];
                    int b = around[(i + shift + 1) % around.Count];
                    (partner[a], partner[b]) = (b, a);
                    cost += PassCost.Of(plane.Along(a), plane.Along(b));
                }
            }

            best = cost < best && CountCircuits() == pieces ? cost : best;
        }

        return best;

        int CountCircuits()
        {
            bool[] seen = new bool[partner.Length];
            int count = 0;
            for (int h = 0; h < partner.Length; h++)
            {
                if (seen[h])
                {
                    continue;
                }

                count++;
                for (int k = h; !seen[k]; k = partner[k ^ 1])
                {
                    seen[k] = seen[k ^ 1] = true;
                }
            }

            return count;
        }
    }
}
