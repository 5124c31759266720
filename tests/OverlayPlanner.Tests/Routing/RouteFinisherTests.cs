using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;

namespace OverlayPlanner.Tests.Routing;

public class RouteFinisherTests
{
    [Fact]
    public void Any_beginning_of_a_best_route_is_finished_at_no_further_cost()
    {
        // Starts and backtracking are always the least; joining loops is no exhaustive search for the way that crosses nothing.
        int crossed = 0;
        Property.ForAll(
            Gen.Select(Gen.Int[0, 1_000_000], Gen.Enum<ThreadChoice>(), Gen.Double[0, 1]),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                RouteWishes wishes = new() { Lines = LineChoice.Seams, Thread = c.Item2 };
                RouteCandidate best = Plan(map, wishes);
                List<Move> moves = [.. best.Runs[0].Moves];
                int kept = Math.Max(1, (int)(c.Item3 * moves.Count));
                FinishPlan plan = Finish(map, [moves.Take(kept)], new(wishes));
                RouteCandidate whole = plan.Route.Candidates[0];
                AssertWhole(plan.Route.Quilt, whole);
                Assert.Equal(moves.Take(kept).Select(m => m.Path), whole.Runs[0].Moves.Take(kept).Select(m => m.Path));
                Assert.Equal(best.Measures.Starts, whole.Measures.Starts);
                Assert.Equal(best.Measures.Doubled.Inches, whole.Measures.Doubled.Inches, 1e-6);
                Assert.Equal(0, plan.Lost?.MoreStarts ?? 0);
                Assert.Equal(0, plan.Lost?.MoreBacktracking.Inches ?? 0, 1e-6);
                crossed += whole.Measures.Crossings > 0 ? 1 : 0;
                Assert.True(whole.Finish!.IsLeast);
            },
            count: 400
        );
        Assert.InRange(crossed, 0, 4);
    }

    [Fact]
    public void A_wrong_turn_is_finished_with_nothing_missed_and_unpicking_it_gives_the_best_back() =>
        Property.ForAll(
            Gen.Select(Gen.Int[0, 1_000_000], Gen.Enum<ThreadChoice>()),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                RouteWishes wishes = new() { Lines = LineChoice.Seams, Thread = c.Item2 };
                RouteCandidate best = Plan(map, wishes);
                List<Move> walk = RandomWalk(map, c.Item1);
                FinishPlan plan = Finish(map, [walk], new(wishes));
                foreach (RouteCandidate whole in plan.Route.Candidates)
                {
                    AssertWhole(plan.Route.Quilt, whole);
                }

                RouteCandidate on = plan.Route.Candidates[0];
                Assert.Equal(walk.Select(m => m.Path), on.Runs[0].Moves.Take(walk.Count).Select(m => m.Path));
                if (plan.Lost is not null)
                {
                    RouteCandidate unpicked = plan.Route.Candidates[1];
                    Assert.Equal(FinishWay.Unpick, unpicked.Finish!.Way);
                    Assert.Equal(best.Measures.Starts, unpicked.Measures.Starts);
                    Assert.Equal(best.Measures.Doubled.Inches, unpicked.Measures.Doubled.Inches, 1e-6);
                    Assert.Equal(
                        walk.Skip(plan.Lost.Move).Sum(m => m.Path.Length),
                        unpicked.Finish.Unpicked.Inches,
                        1e-9
                    );
                }
            },
            count: 400
        );

    [Fact]
    public void The_rest_of_one_thread_is_no_longer_than_an_exhaustive_search_finds() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                QuiltMap map = PlaneGraphs.Random(seed, 3);
                if (map.Seams.Count > 9)
                {
                    return;
                }

                RouteWishes wishes = new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One };
                List<Move> walk = RandomWalk(map, seed);
                FinishPlan plan = Finish(map, [walk], new(wishes));
                RouteCandidate on = plan.Route.Candidates[0];
                double rest = on.Finish!.Backtracking.Inches;
                if (on.Finish.NewStarts > 0)
                {
                    return;
                }

                double least = LeastRestByTrying(map, walk);
                Assert.True(rest >= least - 1e-9);
                if (on.Finish.IsLeast)
                {
                    Assert.Equal(least, rest, 1e-6);
                }
            },
            count: 300
        );

    [Fact]
    public void A_thread_that_broke_inside_a_seam_ties_in_at_the_point_before_with_a_quarter_inch_of_overlap()
    {
        QuiltMap map = Draft("shoofly");
        RouteWishes wishes = new() { Lines = LineChoice.Seams };
        List<Move> moves = [.. Plan(map, wishes).Runs[0].Moves];
        Move cut = moves[5];
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes =
        [
            [.. Points(moves.Take(5)), .. Enumerable.Range(0, 21).Select(i => cut.Path.PointAt(i / 40.0))],
        ];
        FinishPlan plan = RouteFinisher.Finish(
            map,
            DrawnRoute.Follow(map, strokes, TestContext.Current.CancellationToken),
            new(wishes) { Needle = NeedleThread.Broken },
            TestContext.Current.CancellationToken
        );
        RouteCandidate whole = plan.Route.Candidates[0];
        AssertWhole(plan.Route.Quilt, whole);
        Assert.Equal(map.Seams.Count, plan.Route.Quilt.Seams.Count);
        Assert.Equal(cut.Path.Length / 2, whole.Finish!.Unpicked.Inches, 0.2);
        Assert.Equal(0.25, whole.Finish.Overlap.Inches);
        Assert.Equal(1, whole.Finish.NewStarts);
        Assert.Equal(0, whole.Measures.Doubled.Inches);
        Assert.Contains(plan.Findings, f => f.What == "thread-end-inside-a-seam");
    }

    [Fact]
    public void A_whole_thread_goes_on_from_the_middle_of_a_seam()
    {
        QuiltMap map = Draft("shoofly");
        RouteWishes wishes = new() { Lines = LineChoice.Seams };
        List<Move> moves = [.. Plan(map, wishes).Runs[0].Moves];
        Move cut = moves[5];
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes =
        [
            [.. Points(moves.Take(5)), .. Enumerable.Range(0, 21).Select(i => cut.Path.PointAt(i / 40.0))],
        ];
        FinishPlan plan = RouteFinisher.Finish(
            map,
            DrawnRoute.Follow(map, strokes, TestContext.Current.CancellationToken),
            new(wishes),
            TestContext.Current.CancellationToken
        );
        RouteCandidate whole = plan.Route.Candidates[0];
        AssertWhole(plan.Route.Quilt, whole);

        // The seam is split where the needle is; its pieces keep its id with a suffix.
        Assert.Equal(map.Seams.Count + 1, plan.Route.Quilt.Seams.Count);
        Assert.StartsWith(cut.Seam + ".", whole.Runs[0].Moves[5].Seam, StringComparison.Ordinal);
        Assert.Equal(1, whole.Measures.Starts);
        Assert.Equal(0, whole.Measures.Doubled.Inches);
    }

    [Fact]
    public void A_line_added_by_hand_stays_and_the_design_that_has_it_is_offered()
    {
        QuiltMap map = Draft("nine-patch");
        RouteWishes wishes = new() { Candidates = 3 };
        RouteCandidate best = Plan(map, wishes);
        int first = best.Runs[0].Moves.ToList().FindIndex(m => m.Kind == MoveKind.Arc);
        FinishPlan plan = Finish(map, [best.Runs[0].Moves.Take(first + 1)], new(wishes));
        Assert.All(plan.Route.Candidates, c => AssertWhole(plan.Route.Quilt, c));
        Assert.Equal(best.Measures.Starts, plan.Route.Candidates[0].Measures.Starts);
        Assert.All(
            plan.Route.Candidates,
            c =>
                Assert.Contains(
                    c.AllMoves,
                    m => m.Kind == MoveKind.Arc && m.Path.From == best.Runs[0].Moves[first].Path.From
                )
        );
    }

    [Fact]
    public void How_a_route_is_finished_is_kept_in_its_file()
    {
        QuiltMap map = Draft("four-patch");
        FinishPlan plan = Finish(
            map,
            [Plan(map, new() { Lines = LineChoice.Seams }).Runs[0].Moves.Take(1)],
            new(new() { Lines = LineChoice.Seams })
        );
        Route read = RouteFile.Read(RouteFile.Write(plan.Route), "route.json");
        Assert.Equal(plan.Route.Candidates.Select(c => c.Finish), read.Candidates.Select(c => c.Finish));
    }

    [Fact]
    public void A_drawing_for_another_block_is_taken_as_far_as_it_lies_on_lines_of_this_one()
    {
        QuiltMap map = Draft("sawtooth-star");
        DrawnPath other = DrawnRoute.Follow(
            map,
            [
                [new(0, 3), new(12, 9), new(3, 11), new(9, 1)],
            ],
            TestContext.Current.CancellationToken
        );
        FinishPlan plan = RouteFinisher.Finish(map, other, new(new()), TestContext.Current.CancellationToken);
        Assert.All(plan.Route.Candidates, c => AssertWhole(plan.Route.Quilt, c));
        Assert.Contains(plan.Findings, f => f.What == "stray-lines");
    }

    [Fact]
    public void Any_scribble_is_finished_whole_or_refused_by_its_place()
    {
        QuiltMap[] maps = [Draft("sawtooth-star"), Draft("churn-dash"), Draft("drunkards-path"), Draft("log-cabin")];
        int finished = 0;
        Property.ForAll(
            Gen.Select(Gen.Int[0, 3], Gen.Enum<ThreadChoice>(), Gen.Enum<NeedleThread>(), Scribbles),
            c =>
            {
                try
                {
                    FinishPlan plan = RouteFinisher.Finish(
                        maps[c.Item1],
                        DrawnRoute.Follow(maps[c.Item1], c.Item4, TestContext.Current.CancellationToken),
                        new(new() { Thread = c.Item2, Lines = LineChoice.Seams }) { Needle = c.Item3 },
                        TestContext.Current.CancellationToken
                    );
                    Assert.All(plan.Route.Candidates, k => AssertNothingMissed(plan.Route.Quilt, k));
                    finished++;
                }
                catch (InputException e)
                {
                    Assert.Equal("the drawing", e.Where);
                }
            },
            count: 120
        );
        Assert.InRange(finished, 60, 120);
    }

    // One to three strokes of one to eight points on and round a 12 in block.
    private static readonly Gen<IReadOnlyList<IReadOnlyList<Point<ClothSpace>>>> Scribbles = Gen.Select(
            Gen.Double[-0.5, 12.5],
            Gen.Double[-0.5, 12.5]
        )
        .Select(p => new Point<ClothSpace>(p.Item1, p.Item2))
        .Array[1, 8]
        .Select(a => (IReadOnlyList<Point<ClothSpace>>)a)
        .Array[1, 3]
        .Select(a => (IReadOnlyList<IReadOnlyList<Point<ClothSpace>>>)a);

    [Fact]
    public void A_drawing_that_touches_nothing_is_refused()
    {
        QuiltMap map = Draft("four-patch");
        InputException e = Assert.Throws<InputException>(() =>
            RouteFinisher.Finish(
                map,
                DrawnRoute.Follow(
                    map,
                    [
                        [new(40, 40), new(50, 50)],
                    ],
                    TestContext.Current.CancellationToken
                ),
                new(new()),
                TestContext.Current.CancellationToken
            )
        );
        Assert.Equal("the drawing", e.Where);
    }

    // A scribble may run along the outline too, which is then a part of it.
    private static void AssertNothingMissed(QuiltMap map, RouteCandidate c)
    {
        PlaneGraphs.AssertChained(c);
        string[] once = [.. c.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Seam).OfType<string>()];
        Assert.Equal(once.Length, once.Distinct().Count());
        Assert.Subset(once.ToHashSet(), map.Seams.Where(s => s.Role != SeamRole.Edge).Select(s => s.Id).ToHashSet());
    }

    private static void AssertWhole(QuiltMap map, RouteCandidate c)
    {
        PlaneGraphs.AssertChained(c);
        HashSet<string> stitched =
        [
            .. c.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Seam).OfType<string>(),
        ];
        Assert.Equal(map.Seams.Where(s => s.Role != SeamRole.Edge).Select(s => s.Id).ToHashSet(), stitched);
        Assert.Equal(
            c.AllMoves.Where(m => m.Kind == MoveKind.Retrace).Sum(m => m.Path.Length),
            c.Measures.Doubled.Inches,
            1e-9
        );
        Assert.Equal(c.Runs.Count, c.Measures.Starts);
    }

    // What a person does who looks no further than the next point.
    private static List<Move> RandomWalk(QuiltMap map, int seed)
    {
        Random random = new(seed);
        HashSet<string> used = [];
        List<Move> walk = [];
        string at = map.Seams[random.Next(map.Seams.Count)].From;
        int length = 1 + random.Next(Math.Max(1, map.Seams.Count - 1));
        while (walk.Count < length)
        {
            Seam[] next =
            [
                .. map.Seams.Where(s => (s.From == at || s.To == at) && s.From != s.To && !used.Contains(s.Id)),
            ];
            if (next.Length == 0)
            {
                break;
            }

            Seam s = next[random.Next(next.Length)];
            used.Add(s.Id);
            walk.Add(new(MoveKind.Ditch, s.From == at ? map.EdgeOf(s) : map.EdgeOf(s).Reversed, s.Id, null));
            at = s.From == at ? s.To : s.From;
        }

        return walk;
    }

    // Dijkstra over (point, set of seams stitched): the least length gone over twice until nothing is left.
    private static double LeastRestByTrying(QuiltMap map, List<Move> walk)
    {
        Dictionary<string, int> bit = map.Seams.Select((s, i) => (s.Id, i)).ToDictionary(x => x.Id, x => x.i);
        int start = walk.Aggregate(0, (set, m) => set | (1 << bit[m.Seam!]));
        Seam last = map.SeamOf(walk[^1].Seam!);
        string at = map.JunctionOf(last.From).Place == walk[^1].Path.To ? last.From : last.To;
        int all = (1 << map.Seams.Count) - 1;
        Dictionary<(string, int), double> best = new() { [(at, start)] = 0 };
        PriorityQueue<(string, int), double> open = new();
        open.Enqueue((at, start), 0);
        while (open.TryDequeue(out (string At, int Set) state, out double d))
        {
            if (state.Set == all)
            {
                return d;
            }

            if (d > best[state] + 1e-12)
            {
                continue;
            }

            foreach (Seam s in map.Seams.Where(s => s.From == state.At || s.To == state.At))
            {
                int set = state.Set | (1 << bit[s.Id]);
                double cost = d + (set == state.Set ? map.EdgeOf(s).Length : 0);
                (string, int) to = (s.From == state.At ? s.To : s.From, set);
                if (!best.TryGetValue(to, out double known) || cost < known - 1e-12)
                {
                    best[to] = cost;
                    open.Enqueue(to, cost);
                }
            }
        }

        return double.PositiveInfinity;
    }

    private static FinishPlan Finish(QuiltMap map, IEnumerable<IEnumerable<Move>> begun, FinishWishes wishes) =>
        RouteFinisher.Finish(
            map,
            new(
                [
                    .. begun.Select(t =>
                        (IReadOnlyList<DrawnStretch>)
                            [
                                .. t.Select(m =>
                                    m.Seam is null ? new DrawnStretch(null, 0, 1, m.Path)
                                    : map.EdgeOf(map.SeamOf(m.Seam)).From == m.Path.From
                                        ? new DrawnStretch(m.Seam, 0, 1, m.Path)
                                    : new DrawnStretch(m.Seam, 1, 0, m.Path)
                                ),
                            ]
                    ),
                ],
                Length.Zero
            ),
            wishes,
            TestContext.Current.CancellationToken
        );

    private static IEnumerable<Point<ClothSpace>> Points(IEnumerable<Move> moves) =>
        moves.SelectMany(m => Enumerable.Range(0, 41).Select(i => m.Path.PointAt(i / 40.0)));

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken).Route.Candidates[0];
}
