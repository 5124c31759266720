using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Tests.Routing.Order;

public class RunOrderTests
{
    [Fact]
    public void Up_to_six_runs_are_carried_between_as_little_as_any_order_and_direction_allows() =>
        Property.ForAll(
            Gen.Select(Gen.Int[0, 1_000_000], Gen.Int[1, 6], Gen.Double[0, 6]),
            c =>
            {
                (StitchGraph graph, List<Trail> trails) = Strokes(c.Item1, c.Item2);
                OrderedRuns ordered = new RunOrder(graph, new(graph.Map), c.Item3).Put(trails, null, null);
                Assert.True(ordered.IsLeast);
                Assert.Equal(c.Item2, ordered.Trails.Select(t => t.Legs[0].Line).Distinct().Count());
                (int restarts, double inches) = Cost(graph, ordered.Trails, c.Item3);
                (int least, double fewest) = LeastByTrying(graph, trails, c.Item3);
                Assert.Equal(least, restarts);
                Assert.Equal(fewest, inches, 1e-6);
                Assert.True(Hops.LeastCarry(graph, trails) <= inches + 1e-9);
            },
            count: 200
        );

    [Fact]
    public void Many_runs_are_carried_between_less_than_by_going_to_the_nearest_each_time()
    {
        for (int seed = 0; seed < 5; seed++)
        {
            (StitchGraph graph, List<Trail> trails) = Strokes(seed, 60);
            OrderedRuns ordered = new RunOrder(graph, new(graph.Map)).Put(trails, null, null);
            Assert.False(ordered.IsLeast);
            Assert.Equal(60, ordered.Trails.Select(t => t.Legs[0].Line).Distinct().Count());
            double ours = Hops.Carries(graph, ordered.Trails).Sum();
            Assert.True(ours < Hops.Carries(graph, Nearest(graph, trails)).Sum());
        }
    }

    [Theory]
    [InlineData(5)]
    [InlineData(40)]
    public void A_given_start_is_first_and_a_given_end_last(int runs)
    {
        for (int seed = 0; seed < 20; seed++)
        {
            (StitchGraph graph, List<Trail> trails) = Strokes(seed, runs);

            // Stroke k runs from junction 2k to 2k + 1; the end of the third and either end of the second.
            OrderedRuns ordered = new RunOrder(graph, new(graph.Map)).Put(trails, 5, 2);
            Assert.True(ordered.EndKept);
            Assert.Equal(5, RunOrder.FirstOf(ordered.Trails[0], graph));
            Assert.Equal(2, RunOrder.LastOf(ordered.Trails[^1], graph));
        }
    }

    [Fact]
    public void One_run_cannot_be_both_the_first_and_the_last_of_several()
    {
        (StitchGraph graph, List<Trail> trails) = Strokes(1, 3);
        OrderedRuns ordered = new RunOrder(graph, new(graph.Map)).Put(trails, 4, 5);
        Assert.False(ordered.EndKept);
        Assert.Equal(4, RunOrder.FirstOf(ordered.Trails[0], graph));
    }

    private static (StitchGraph Graph, List<Trail> Trails) Strokes(int seed, int count)
    {
        Random random = new(seed);
        List<Junction> junctions = [];
        List<Seam> seams = [];
        for (int k = 0; k < count; k++)
        {
            for (int end = 0; end < 2; end++)
            {
                Point<ClothSpace> p = new(24 * random.NextDouble(), 24 * random.NextDouble());
                junctions.Add(new(FormattableString.Invariant($"j{junctions.Count}"), new(p, Length.Zero)));
            }

            seams.Add(new(FormattableString.Invariant($"s{k}"), junctions[^2].Id, junctions[^1].Id));
        }

        QuiltMap map = new(Length.FromInches(24), Length.FromInches(24), junctions, seams);
        StitchGraph graph = new(
            map,
            [.. seams.Select((s, k) => new StitchLine(2 * k, 2 * k + 1, map.EdgeOf(s), MoveKind.Ditch, s.Id, null))]
        );
        return (graph, [.. seams.Select((_, k) => new Trail([new(k, true)], false))]);
    }

    private static (int Restarts, double Inches) Cost(StitchGraph graph, IReadOnlyList<Trail> trails, double drag)
    {
        double[] carries = [.. Hops.Carries(graph, trails).Skip(1)];
        return (carries.Count(d => drag <= 0 || d > drag), carries.Sum());
    }

    private static (int, double) LeastByTrying(StitchGraph graph, List<Trail> trails, double drag)
    {
        (int, double) best = (int.MaxValue, 0);
        Extend([], trails);
        return best;

        void Extend(List<Trail> done, List<Trail> left)
        {
            if (left.Count == 0)
            {
                (int, double) cost = Cost(graph, done, drag);
                best = cost.CompareTo(best) < 0 ? cost : best;
                return;
            }

            foreach (Trail t in left)
            {
                List<Trail> rest = [.. left.Where(o => o != t)];
                Extend([.. done, t], rest);
                Extend([.. done, RunOrder.Reversed(t)], rest);
            }
        }
    }

    private static List<Trail> Nearest(StitchGraph graph, List<Trail> trails)
    {
        List<Trail> left = [.. trails.Skip(1)];
        List<Trail> done = [trails[0]];
        while (left.Count > 0)
        {
            Point<ClothSpace> at = graph.Plane.Nodes[RunOrder.LastOf(done[^1], graph)];
            Trail next = left.SelectMany(t => new[] { t, RunOrder.Reversed(t) })
                .MinBy(t => graph.Plane.Nodes[RunOrder.FirstOf(t, graph)].DistanceTo(at))!;
            left.RemoveAll(t => t.Legs[0].Line == next.Legs[0].Line);
            done.Add(next);
        }

        return done;
    }
}
