using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Rows;

namespace OverlayPlanner.Tests.Routing;

public class RowPlannerTests
{
    public static TheoryData<string, ThreadChoice, RowAnchor> Cases
    {
        get
        {
            TheoryData<string, ThreadChoice, RowAnchor> cases = [];
            foreach (string b in new[] { "four-patch", "pinwheel", "nine-patch", "sawtooth-star", "snails-trail" })
            {
                foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
                {
                    foreach (RowAnchor anchor in Enum.GetValues<RowAnchor>())
                    {
                        cases.Add(b, thread, anchor);
                    }
                }
            }

            return cases;
        }
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Every_line_is_stitched_once_and_nothing_twice_that_need_not(
        string block,
        ThreadChoice thread,
        RowAnchor anchor
    )
    {
        QuiltMap map = Draft(block, 4, 2);
        RowPlan plan = Plan(map, new(new() { Thread = thread, Candidates = 2 }) { Anchor = anchor });
        foreach (RouteCandidate c in plan.Route.Candidates)
        {
            PlaneGraphs.AssertChained(c);
            List<string> once =
            [
                .. c.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Seam).OfType<string>(),
            ];
            Assert.Equal(once.Count, once.Distinct().Count());
            HashSet<string> wanted =
            [
                .. map
                    .Seams.Where(s =>
                        s.Role == SeamRole.Seam || (s.Role == SeamRole.Block && anchor != RowAnchor.SidesStitched)
                    )
                    .Select(s => s.Id),
            ];
            Assert.True(wanted.IsSubsetOf(once));
            Assert.Equal(c.Runs.Count, c.Measures.Starts);
            if (thread == ThreadChoice.Free)
            {
                Assert.Equal(0, c.Measures.Doubled.Inches);
            }
        }
    }

    [Fact]
    public void Sides_come_before_the_blocks_of_their_pass_or_after_them_on_a_basted_quilt()
    {
        QuiltMap map = Draft("sawtooth-star", 3, 3);
        foreach (RowAnchor anchor in new[] { RowAnchor.SidesFirst, RowAnchor.Basted })
        {
            RowPlan plan = Plan(map, new(new()) { Anchor = anchor, Reach = Length.FromInches(13) });
            RouteCandidate c = plan.Route.Candidates[0];
            HashSet<string> sides = [.. map.Seams.Where(s => s.Role == SeamRole.Block).Select(s => s.Id)];
            foreach (IGrouping<double, Run> pass in c.Runs.GroupBy(r => r.Unknown.Values["pass"].GetDouble()))
            {
                bool[] isSide =
                [
                    .. pass.SelectMany(r => r.Moves)
                        .Where(m => m.Kind != MoveKind.Retrace)
                        .Select(m => m.Seam is { } s && sides.Contains(s)),
                ];
                Assert.Equal(anchor == RowAnchor.SidesFirst ? isSide.OrderDescending() : isSide.Order(), isSide);
            }

            Assert.Equal([1, 2, 3], plan.Rows.Select(r => r.Pass));
        }
    }

    [Theory]
    [InlineData("pinwheel")]
    [InlineData("nine-patch")]
    [InlineData("sawtooth-star")]
    [InlineData("ohio-star")]
    public void One_thread_goes_through_a_row_and_back_by_the_same_halves_in_every_block(string block)
    {
        QuiltMap map = Draft(block, 6, 1);
        RowPlan plan = Plan(map, new(new()) { Anchor = RowAnchor.SidesStitched });
        PlannedRow row = Assert.Single(plan.Rows);
        Assert.True(row.InHalves);

        // Listing 1847: no route of these lines has fewer.
        Assert.Equal(1, row.Starts);
        Assert.Equal(1, row.LeastStarts);
        RouteCandidate c = plan.Route.Candidates[0];
        IReadOnlyList<Move> moves = c.Runs[0].Moves;
        List<string> visits = [];
        foreach (Move m in moves)
        {
            if (m.Block is { } b && (visits.Count == 0 || visits[^1] != b))
            {
                visits.Add(b);
            }
        }

        // b1 … b6, then b6 … b1; the last one's two visits run together.
        string[] order = [.. map.Blocks.OrderBy(b => b.Column).Select(b => b.Id)];
        Assert.Equal([.. order, .. order.Reverse().Skip(1)], visits);

        // Each half is the same in every block, moved along.
        string[][] halves =
        [
            .. map
                .Blocks.OrderBy(b => b.Column)
                .Select(b =>
                    moves.TakeWhile(m => m.Block != order[^1] || b.Id == order[^1]).Where(m => m.Block == b.Id)
                )
                .Select(h => h.Select(m => Key(m, map)).ToArray()),
        ];
        Assert.All(halves.SkipLast(1), h => Assert.Equal(halves[0], h));
    }

    [Theory]
    [InlineData("four-patch", 5, 1)]
    [InlineData("four-patch", 4, 3)]
    [InlineData("nine-patch", 3, 2)]
    public void Orange_peel_goes_out_and_home_through_every_row_on_one_thread(string block, int across, int down)
    {
        // Squares with an arc along each side: the well-known one-thread way is out over the one half of each peel and home
        // over the other (common practice, no source).
        QuiltMap map = Draft(block, across, down);
        RowPlan plan = Plan(map, new(new() { Lines = LineChoice.Curves }));
        RouteCandidate c = plan.Route.Candidates[0];
        Assert.All(plan.Rows, r => Assert.True(r.InHalves));

        // Halves alike in every block end at the height where they began, so two rows hang on one thread, at their shared side.
        Assert.Equal((down + 1) / 2, c.Runs.Count);
        Assert.Equal(0, c.Measures.Doubled.Inches);
        Assert.Equal(0, c.Measures.Crossings);

        // Four arcs in each patch.
        Assert.Equal(4 * map.Patches.Count, c.Measures.Moves);
    }

    [Fact]
    public void A_mirrored_block_is_stitched_by_mirrored_halves()
    {
        // Two drafts of one unsymmetrical block side by side, the second mirrored left to right.
        QuiltMap map = Draft("snails-trail", 2, 1);
        QuiltMap mirrored = MirrorRight(map);
        RowPlan plan = Plan(mirrored, new(new() { Thread = ThreadChoice.One }) { Anchor = RowAnchor.SidesStitched });
        PlannedRow row = Assert.Single(plan.Rows);
        Assert.True(row.InHalves);
        HashSet<(double, double)> left = Middles("b1", x => x);
        HashSet<(double, double)> right = Middles("b2", x => 24 - x);
        Assert.Equal(left.Order(), right.Order());

        HashSet<(double, double)> Middles(string block, Func<double, double> at) =>
            [
                .. plan
                    .Route.Candidates[0]
                    .Runs[0]
                    .Moves.Where(m => m.Block == block)
                    .Select(m => m.Path.PointAt(0.5))
                    .Select(p => (Math.Round(at(p.X), 6), Math.Round(p.Y, 6))),
            ];
    }

    [Fact]
    public void One_call_serves_all_blocks_of_a_kind()
    {
        QuiltMap map = Draft("sawtooth-star", 4, 3);
        RowPlan plan = Plan(map, new(new() { Lines = LineChoice.Seams }));
        KindCall call = Assert.Single(plan.Calls);
        Assert.Equal(12, call.Blocks);

        // Out and home: every seam of the block once.
        Assert.Equal(2, call.Call.Threads.Sum(t => t.Starts.Count));
        Assert.Equal(24, call.Call.PlainLength);
        Assert.True(call.Call.DescriptionLength < call.Call.PlainLength);
    }

    // The same halves in every block of a kind, in every row: common practice, no source.
    [Theory]
    [InlineData("maple-leaf", true, false)]
    [InlineData("maple-leaf", true, true)]
    [InlineData("sawtooth-star", false, false)]
    [InlineData("hovering-hawks", false, true)]
    [InlineData("friendship-star", true, true)]
    public void Blocks_that_lie_alike_are_stitched_alike_in_every_row(string block, bool turned, bool mirrored)
    {
        foreach (ThreadChoice thread in new[] { ThreadChoice.One, ThreadChoice.Mixed })
        {
            QuiltMap map = SettingDraft.Draft(
                new()
                {
                    Block = Length.FromInches(12),
                    Columns = 4,
                    Rows = 3,
                    PlaceAt = (r, c) =>
                        new(BlockLibrary.Find(block), turned ? (r + c) & 1 : 0, mirrored && (c & 1) == 1),
                }
            );
            RowPlan plan = Plan(map, new(new() { Thread = thread, Outline = OutlineChoice.Any }));
            Assert.All(plan.Rows, r => Assert.True(r.InHalves));
            string[] orders =
            [
                .. map.Blocks.Select(b =>
                    FormattableString.Invariant($"{b.Turn} {b.Mirror}: ")
                    + string.Join(
                        "; ",
                        plan.Route.Candidates[0]
                            .Runs.SelectMany(r => r.Moves)
                            .Where(m => m.Block == b.Id && m.Kind != MoveKind.Retrace)
                            .Select(m => Key(m, map))
                    )
                ),
            ];
            Assert.Equal(
                map.Blocks.Select(b => (b.Turn, b.Mirror)).Distinct().Count(),
                orders.Distinct(StringComparer.Ordinal).Count()
            );

            // Every block is told by one of the calls.
            Assert.Equal(map.Blocks.Count, plan.Calls.Sum(c => c.Blocks));
        }
    }

    // Its four odd points are the middles of its sides: 14 in a row of six, so seven threads (Listing, 1847), and halves take
    // more. A thread that ends at a block's right side goes on in the next.
    [Fact]
    public void Threads_of_like_blocks_go_on_into_the_next_where_that_is_the_least()
    {
        QuiltMap map = Draft("melon-patch", 6, 1);
        RowPlan plan = Plan(map, new(new() { Lines = LineChoice.Seams }) { Anchor = RowAnchor.SidesStitched });
        PlannedRow row = Assert.Single(plan.Rows);
        Assert.Equal((7, 7, BlocksAlike.Whole), (row.Starts, row.LeastStarts, row.Alike));
        Assert.Single(
            map.Blocks.Select(b =>
                    string.Join(
                        "; ",
                        plan.Route.Candidates[0]
                            .Runs.SelectMany(r => r.Moves)
                            .Where(m => m.Block == b.Id)
                            .Select(m => Key(m, map))
                    )
                )
                .Distinct(StringComparer.Ordinal)
        );
    }

    [Fact]
    public void Reach_sorts_rows_into_passes()
    {
        QuiltMap map = Draft("sawtooth-star", 2, 5);
        Assert.Equal([1, 1, 2, 2, 3], Plan(map, new(new()) { Reach = Length.FromInches(24) }).Rows.Select(r => r.Pass));
    }

    [Fact]
    public void A_block_deeper_than_the_reach_is_cut_at_points_and_says_so()
    {
        QuiltMap map = Draft("sawtooth-star", 2, 1);
        RowPlan plan = Plan(map, new(new() { Lines = LineChoice.Seams }) { Reach = Length.FromInches(7) });
        Assert.Contains(plan.Findings, f => f.What == "block-deeper-than-reach");
        foreach (Run run in plan.Route.Candidates[0].Runs.Where(r => r.Moves[0].Block is not null))
        {
            double top = run.Moves.Min(m => m.Path.Bounds().Top);
            double bottom = run.Moves.Max(m => m.Path.Bounds().Bottom);
            Assert.True(bottom - top <= 7 + 1e-9);
        }
    }

    [Fact]
    public void No_thread_is_longer_than_its_bobbin_less_fifteen_in_a_hundred()
    {
        QuiltMap map = Draft("sawtooth-star", 6, 2);
        RowPlan plan = Plan(map, new(new() { Lines = LineChoice.Seams }) { LinePerBobbin = Length.FromInches(300) });
        RouteCandidate c = plan.Route.Candidates[0];
        PlaneGraphs.AssertChained(c);
        Assert.All(c.Runs, r => Assert.True(r.Moves.Sum(m => m.Path.Length) <= 0.85 * 300 + 1e-9));
        Assert.Equal(
            Plan(map, new(new() { Lines = LineChoice.Seams })).Route.Candidates[0].Measures.Stitched.Inches,
            c.Measures.Stitched.Inches,
            1e-6
        );
    }

    [Fact]
    public void Blocks_with_sashing_between_are_reached_along_it_where_backtracking_is_allowed()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("sawtooth-star"),
            Length.FromInches(12),
            4,
            1,
            Length.FromInches(2)
        );

        // The sashing of a single row hangs together over the outline alone.
        RowPlan one = Plan(
            map,
            new(
                new()
                {
                    Thread = ThreadChoice.One,
                    Lines = LineChoice.Seams,
                    Outline = OutlineChoice.Any,
                }
            )
        );
        Assert.Equal(1, Assert.Single(one.Rows).Starts);
        RowPlan free = Plan(map, new(new() { Lines = LineChoice.Seams }));
        Assert.True(Assert.Single(free.Rows).Starts >= 4);
        Assert.Equal(0, free.Route.Candidates[0].Measures.Doubled.Inches);
    }

    [Fact]
    public void A_map_without_rows_and_a_senseless_reach_are_refused()
    {
        QuiltMap map = Draft("four-patch", 1, 1);
        QuiltMap bare = map.With(blocks: []);
        Assert.Equal("--rows", Assert.Throws<InputException>(() => Plan(bare, new(new()))).Where);
        Assert.Equal(
            "--reach",
            Assert.Throws<InputException>(() => Plan(map, new(new()) { Reach = Length.Zero })).Where
        );
    }

    private static string Key(Move m, QuiltMap map)
    {
        Block b = map.FindBlock(m.Block!)!;
        Point<ClothSpace> o = b.Corners[0];
        return FormattableString.Invariant(
            $"{m.Path.From.X - o.X:0.000},{m.Path.From.Y - o.Y:0.000} {m.Path.To.X - o.X:0.000},{m.Path.To.Y - o.Y:0.000} {m.Path.Bulge:0.000}"
        );
    }

    // The right-hand block of two, turned over about its own upright middle (x → 36 − x for 12 ≤ x ≤ 24).
    private static QuiltMap MirrorRight(QuiltMap map)
    {
        List<SeamLine> lines =
        [
            .. map
                .Seams.Where(x => x.Role != SeamRole.Edge)
                .Select(map.EdgeOf)
                .Select(e => e.PointAt(0.5).X > 12 ? new Edge<ClothSpace>(Turned(e.From), Turned(e.To), -e.Bulge) : e)
                .Select(e => new SeamLine(e)),
        ];
        return MapBuilder.Build(
            map.Width,
            map.Height,
            lines,
            [.. map.Blocks.Select(b => b with { Mirror = b.Column == 1 })],
            Length.FromInches(1e-6)
        );

        static Point<ClothSpace> Turned(Point<ClothSpace> p) => new(36 - p.X, p.Y);
    }

    private static QuiltMap Draft(string id, int across, int down) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), across, down, Length.Zero);

    private static RowPlan Plan(QuiltMap map, RowWishes wishes) =>
        RowPlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
