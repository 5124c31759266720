using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Tests.Routing.Order;

public class StagedThreadsTests
{
    private static readonly Gen<int> Seeds = Gen.Int[0, 1_000_000];

    [Fact]
    public void Stages_on_random_plane_graphs_keep_their_order_stitch_every_line_once_and_cross_nothing() =>
        Property.ForAll(
            Gen.Select(Seeds, Gen.Enum<ThreadChoice>(), Gen.Int[2, 5]),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                int[] stage = RandomStages(map, c.Item1, c.Item3);
                (RouteCandidate route, _) = Plan(map, stage, c.Item2);
                PlaneGraphs.AssertChained(route);
                PlaneGraphs.AssertEverySeamOnce(map, route);
                AssertInOrder(map, stage, route);
                Assert.Equal(0, PlaneGraphs.CountCrossings(route));
                Assert.Equal(0, route.Measures.Crossings);
                if (c.Item2 == ThreadChoice.Free)
                {
                    Assert.Equal(0, route.Measures.Doubled.Inches);
                }
            },
            count: 600
        );

    [Fact]
    public void Fewest_starts_in_two_stages_equal_an_exhaustive_search_wherever_the_bound_is_met()
    {
        int met = 0;
        int least = 0;
        int all = 0;
        Property.ForAll(
            Seeds,
            seed =>
            {
                QuiltMap map = PlaneGraphs.Random(seed, 4);
                if (map.Seams.Count > 10)
                {
                    return;
                }

                int[] stage = RandomStages(map, seed, 2);
                (RouteCandidate route, StageBound? bound) = Plan(map, stage, ThreadChoice.Free);
                int truth = FewestRunsByTrying(map, stage);
                Assert.True(
                    route.Runs.Count >= truth,
                    FormattableString.Invariant($"{route.Runs.Count} runs, but {truth} by search")
                );
                Assert.True(
                    (bound?.Starts ?? 1) <= truth,
                    FormattableString.Invariant($"bound {bound?.Starts}, but {truth} by search")
                );
                all++;
                least += route.Runs.Count == truth ? 1 : 0;
                met += bound is null || route.Runs.Count == bound.Starts ? 1 : 0;
            },
            count: 600
        );

        // The bound is no more than a bound; it is seldom off on graphs this small. The plan is no exhaustive search either, yet
        // equals it on each of them.
        Assert.True(least == all, FormattableString.Invariant($"{least} of {all} are the least"));
        Assert.True(met >= 0.95 * all, FormattableString.Invariant($"{met} of {all} meet their bound"));
    }

    [Fact]
    public void Least_backtracking_and_least_time_in_two_stages_equal_a_search_over_all_routes_wherever_they_are_proven()
    {
        int proven = 0;
        int all = 0;
        Property.ForAll(
            Gen.Select(Seeds, Gen.Double[0.2, 8]),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1, 4);
                if (map.Seams.Count > 9)
                {
                    return;
                }

                int[] stage = RandomStages(map, c.Item1, 2);
                foreach (ThreadChoice thread in new[] { ThreadChoice.One, ThreadChoice.Mixed })
                {
                    double price = thread == ThreadChoice.One ? 1e4 : c.Item2;
                    (RouteCandidate route, StageBound? bound) = Plan(map, stage, thread, price);
                    double cost = route.Runs.Count * price + route.Measures.Doubled.Inches;
                    double truth = LeastCostByTrying(map, stage, price);
                    Assert.True(
                        cost >= truth - 1e-6,
                        FormattableString.Invariant($"cost {cost}, but the least is {truth}")
                    );
                    double claimed =
                        bound is null ? 0
                        : thread == ThreadChoice.One ? bound.Starts * price + bound.DoubledInches
                        : bound.Time;
                    Assert.True(
                        claimed <= truth + 1e-6,
                        FormattableString.Invariant($"bound {claimed}, but the least is {truth}")
                    );
                    all++;
                    proven += cost <= truth + 1e-6 ? 1 : 0;
                }
            },
            count: 300
        );
        Assert.True(
            proven >= 0.9 * all,
            FormattableString.Invariant($"{proven} of {all} are the least, crossings allowed or not")
        );
    }

    [Fact]
    public void A_mixed_thread_takes_the_least_time_of_all_routes_on_small_graphs() =>
        Property.ForAll(
            Gen.Select(Seeds, Gen.Double[0.2, 8]),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1, 4);
                if (map.Seams.Count > 11)
                {
                    return;
                }

                (RouteCandidate route, _) = Plan(map, new int[map.Seams.Count], ThreadChoice.Mixed, c.Item2);
                double cost = route.Runs.Count * c.Item2 + route.Measures.Doubled.Inches;
                Assert.Equal(LeastCostByTrying(map, new int[map.Seams.Count], c.Item2), cost, 1e-6);
                Assert.True(route.Proof.Optimal);
            },
            count: 300
        );

    internal static int[] RandomStages(QuiltMap map, int seed, int count)
    {
        // Half of them by place, as borders and blocks are; half by chance.
        Random random = new(seed + 1);
        bool byPlace = random.Next(2) == 0;
        return
        [
            .. map.Seams.Select(s =>
                byPlace ? (int)(count * map.EdgeOf(s).PointAt(0.5).X / (map.Width.Inches + 0.01)) : random.Next(count)
            ),
        ];
    }

    internal static (RouteCandidate Route, StageBound? Bound) Plan(
        QuiltMap map,
        int[] stage,
        ThreadChoice thread,
        double inchesPerStart = 20
    )
    {
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        StitchGraph graph = new(
            map,
            [
                .. map.Seams.Select(s => new StitchLine(
                    index[s.From],
                    index[s.To],
                    map.EdgeOf(s),
                    MoveKind.Ditch,
                    s.Id,
                    null
                )),
            ]
        );
        ThreadWishes wishes = new(thread, inchesPerStart, StageOf: l => stage[map.SeamIndexOf(l.Seam!)]);
        ThreadPlan plan = ThreadPlanner.Plan(graph, wishes, new(map), TestContext.Current.CancellationToken);
        return (
            RouteWriter.Write(
                graph,
                plan.Trails,
                thread,
                plan.IsLeastTime,
                Length.Zero,
                null,
                TestContext.Current.CancellationToken
            ),
            plan.Bound
        );
    }

    private static void AssertInOrder(QuiltMap map, int[] stage, RouteCandidate route)
    {
        int reached = 0;
        foreach (Move m in route.AllMoves.Where(m => m.Kind != MoveKind.Retrace))
        {
            int s = stage[map.SeamIndexOf(m.Seam!)];
            Assert.True(s >= reached, FormattableString.Invariant($"stage {s} after stage {reached}"));
            reached = s;
        }
    }

    /// <summary>
    /// Every pairing of the lines' ends that crosses nothing, joins lines of one stage only, but for one place at most where a
    /// thread leads over; the fewest trails of all.
    /// </summary>
    internal static int FewestRunsByTrying(QuiltMap map, int[] stage)
    {
        PlaneGraph<ClothSpace> plane = map.ToPlaneGraph();
        int[] partner = new int[2 * map.Seams.Count];
        Array.Fill(partner, -1);
        int best = int.MaxValue;
        At(0, 0);
        return best;

        void At(int v, int leads)
        {
            if (v == plane.Nodes.Count)
            {
                best = Math.Min(best, Trails());
                return;
            }

            int[] around = [.. plane.Around(v)];
            Match(around, 0, leads, v);
        }

        void Match(int[] around, int k, int leads, int v)
        {
            if (k == around.Length)
            {
                At(v + 1, leads);
                return;
            }

            if (partner[around[k]] >= 0)
            {
                Match(around, k + 1, leads, v);
                return;
            }

            Match(around, k + 1, leads, v);
            for (int m = k + 1; m < around.Length; m++)
            {
                int lead = stage[around[k] >> 1] == stage[around[m] >> 1] ? 0 : 1;
                if (partner[around[m]] >= 0 || leads + lead > 1 || Crosses(around, k, m))
                {
                    continue;
                }

                (partner[around[k]], partner[around[m]]) = (around[m], around[k]);
                Match(around, k + 1, leads + lead, v);
                (partner[around[k]], partner[around[m]]) = (-1, -1);
            }
        }

        bool Crosses(int[] around, int k, int m)
        {
            for (int x = k + 1; x < m; x++)
            {
                int y = Array.IndexOf(around, partner[around[x]]);
                if (partner[around[x]] >= 0 && (y < k || y > m))
                {
                    return true;
                }
            }

            return false;
        }

        int Trails()
        {
            bool[] seen = new bool[partner.Length];
            int n = 0;
            foreach (bool open in new[] { true, false })
            {
                for (int h = 0; h < partner.Length; h++)
                {
                    if (seen[h] || (open && partner[h] >= 0))
                    {
                        continue;
                    }

                    n++;
                    for (int x = h; x >= 0 && !seen[x]; x = partner[x ^ 1])
                    {
                        seen[x] = seen[x ^ 1] = true;
                    }
                }
            }

            return n;
        }
    }

    /// <summary>
    /// Shortest way through all states (lines stitched, place): a new start costs its price, going along a stitched line its
    /// length, along a new one nothing; a line of the second stage only when the first is done. Crossings are not looked at, so
    /// it is a lower bound for any route.
    /// </summary>
    private static double LeastCostByTrying(QuiltMap map, int[] stage, double price)
    {
        int n = map.Seams.Count;
        List<string> ids = [.. map.Junctions.Select(j => j.Id)];
        (int From, int To, double Inches)[] lines =
        [
            .. map.Seams.Select(s => (ids.IndexOf(s.From), ids.IndexOf(s.To), map.EdgeOf(s).Length)),
        ];
        int first = 0;
        for (int e = 0; e < n; e++)
        {
            first |= stage[e] == 0 ? 1 << e : 0;
        }

        int nowhere = ids.Count;
        Dictionary<(int, int), double> settled = [];
        PriorityQueue<(int Set, int At), double> open = new();
        open.Enqueue((0, nowhere), 0);
        while (open.TryDequeue(out (int Set, int At) s, out double d))
        {
            if (!settled.TryAdd(s, d))
            {
                continue;
            }

            if (s.Set == (1 << n) - 1)
            {
                return d;
            }

            if (s.At == nowhere)
            {
                for (int v = 0; v < nowhere; v++)
                {
                    open.Enqueue((s.Set, v), d + price);
                }

                continue;
            }

            open.Enqueue((s.Set, nowhere), d);
            for (int e = 0; e < n; e++)
            {
                bool done = (s.Set >> e & 1) == 1;
                if (lines[e].From != s.At && lines[e].To != s.At || !done && stage[e] > 0 && (s.Set & first) != first)
                {
                    continue;
                }

                int to = lines[e].From == s.At ? lines[e].To : lines[e].From;
                open.Enqueue((s.Set | 1 << e, to), d + (done ? lines[e].Inches : 0));
            }
        }

        return 0;
    }
}
