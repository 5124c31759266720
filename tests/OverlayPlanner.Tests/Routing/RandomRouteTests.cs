using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class RandomRouteTests
{
    private static readonly Gen<int> Seeds = Gen.Int[0, 1_000_000];

    [Fact]
    public void Routes_over_random_plane_graphs_stitch_every_line_once_cross_nothing_and_meet_their_bound() =>
        Property.ForAll(
            Gen.Select(Seeds, Gen.Enum<ThreadChoice>()),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                RouteCandidate route = PlanSeams(map, new() { Thread = c.Item2 });
                PlaneGraphs.AssertChained(route);
                PlaneGraphs.AssertEverySeamOnce(map, route);
                Assert.Equal(0, PlaneGraphs.CountCrossings(route));
                Assert.Equal(0, route.Measures.Crossings);
                Assert.True(route.Proof.Optimal);
                Assert.Equal(OddJunctions(map), route.Proof.OddJunctions.Count);
                Assert.Equal(LeastStarts(map), route.Proof.LeastStarts);
                Assert.Equal(route.Runs.Count, route.Measures.Starts);
                Assert.Equal(
                    route.AllMoves.Where(m => m.Kind == MoveKind.Retrace).Sum(m => m.Path.Length),
                    route.Measures.Doubled.Inches,
                    1e-9
                );
                if (c.Item2 == ThreadChoice.Free)
                {
                    Assert.Equal(0, route.Measures.Doubled.Inches);
                    Assert.Equal(LeastStarts(map), route.Measures.Starts);
                }
            },
            count: 1000
        );

    [Fact]
    public void Least_backtracking_equals_an_exhaustive_search_on_small_graphs() =>
        Property.ForAll(
            Seeds,
            seed =>
            {
                QuiltMap map = PlaneGraphs.Random(seed, 4);
                if (map.Seams.Count > 14)
                {
                    return;
                }

                RouteCandidate route = PlanSeams(map, new() { Thread = ThreadChoice.One });

                // Every set of lines is tried as the doubled ones: each piece may keep at most two odd points.
                Assert.Equal(LeastByTrying(map), route.Measures.Doubled.Inches, 1e-6);
            },
            count: 300
        );

    [Fact]
    public void A_wished_start_and_end_are_kept_on_random_graphs() =>
        Property.ForAll(
            Gen.Select(Seeds, Gen.Enum<ThreadChoice>()),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                Random random = new(c.Item1);
                Seam first = map.Seams[random.Next(map.Seams.Count)];
                Point<ClothSpace> start = map.JunctionOf(first.From).Place;
                RouteCandidate route = PlanSeams(map, new() { Thread = c.Item2, Start = start });
                Assert.Equal(start, route.Runs[0].Moves[0].Path.From);
                PlaneGraphs.AssertChained(route);
                PlaneGraphs.AssertEverySeamOnce(map, route);
                Assert.Equal(0, PlaneGraphs.CountCrossings(route));
                Assert.True(route.Measures.Starts <= route.Proof.LeastStarts + 1);
            },
            count: 400
        );

    [Fact]
    public void A_mixed_thread_costs_no_more_than_free_or_one() =>
        Property.ForAll(
            Gen.Select(Seeds, Gen.Double[0.1, 20]),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                RouteWishes wishes = new() { StartCostSeconds = c.Item2, InchCostSeconds = 1 };
                double mixed = Time(PlanSeams(map, wishes with { Thread = ThreadChoice.Mixed }));
                Assert.True(mixed <= Time(PlanSeams(map, wishes with { Thread = ThreadChoice.Free })) + 1e-6);
                Assert.True(mixed <= Time(PlanSeams(map, wishes with { Thread = ThreadChoice.One })) + 1e-6);

                double Time(RouteCandidate r) => r.Measures.Starts * c.Item2 + r.Measures.Doubled.Inches;
            },
            count: 300
        );

    private static RouteCandidate PlanSeams(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner
            .Plan(map, wishes with { Lines = LineChoice.Seams }, TestContext.Current.CancellationToken)
            .Route.Candidates[0];

    private static int OddJunctions(QuiltMap map) => Degrees(map).Values.Count(d => d % 2 == 1);

    private static Dictionary<string, int> Degrees(QuiltMap map) =>
        map.Seams.SelectMany(s => new[] { s.From, s.To }).CountBy(j => j).ToDictionary();

    private static int LeastStarts(QuiltMap map)
    {
        Dictionary<string, string> piece = Pieces(map);
        return Degrees(map).GroupBy(d => piece[d.Key]).Sum(p => Math.Max(1, p.Count(d => d.Value % 2 == 1) / 2));
    }

    // Labels spread along the seams until nothing changes.
    private static Dictionary<string, string> Pieces(QuiltMap map)
    {
        Dictionary<string, string> piece = map.Junctions.ToDictionary(j => j.Id, j => j.Id);
        for (bool changed = true; changed; )
        {
            changed = false;
            foreach (Seam s in map.Seams)
            {
                string least = string.CompareOrdinal(piece[s.From], piece[s.To]) < 0 ? piece[s.From] : piece[s.To];
                changed |= piece[s.From] != least || piece[s.To] != least;
                piece[s.From] = piece[s.To] = least;
            }
        }

        return piece;
    }

    private static double LeastByTrying(QuiltMap map)
    {
        Dictionary<string, string> piece = Pieces(map);
        int[] pieceOf =
        [
            .. map.Junctions.Select(j => piece[j.Id]).Select(p => map.Junctions.ToList().FindIndex(j => j.Id == p)),
        ];
        int[] from = [.. map.Seams.Select(s => map.Junctions.ToList().FindIndex(j => j.Id == s.From))];
        int[] to = [.. map.Seams.Select(s => map.Junctions.ToList().FindIndex(j => j.Id == s.To))];
        double best = double.PositiveInfinity;
        for (int set = 0; set < 1 << map.Seams.Count; set++)
        {
            int[] degree = new int[map.Junctions.Count];
            double inches = 0;
            for (int e = 0; e < map.Seams.Count; e++)
            {
                int times = (set >> e & 1) == 1 ? 2 : 1;
                degree[from[e]] += times;
                degree[to[e]] += times;
                inches += times == 2 ? map.EdgeOf(map.Seams[e]).Length : 0;
            }

            int[] odd = new int[degree.Length];
            for (int v = 0; v < degree.Length; v++)
            {
                odd[pieceOf[v]] += degree[v] % 2;
            }

            best = odd.All(o => o <= 2) ? Math.Min(best, inches) : best;
        }

        return best;
    }
}
