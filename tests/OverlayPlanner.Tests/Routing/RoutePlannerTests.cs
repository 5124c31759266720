using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class RoutePlannerTests
{
    [Fact]
    public void A_start_on_a_seam_splits_it_and_the_pieces_keep_its_name()
    {
        QuiltMap map = Draft("nine-patch");
        RoutePlan plan = Plan(map, new() { Lines = LineChoice.Seams, Start = new(4.05, 6) });
        RouteCandidate c = plan.Route.Candidates[0];
        Assert.Equal(map.Seams.Count + 1, plan.Route.Quilt.Seams.Count);
        Seam whole = map.Seams.Single(s => map.EdgeOf(s).Nearest(new(4, 6)).Distance < 1e-9);
        Assert.Null(plan.Route.Quilt.FindSeam(whole.Id));
        Assert.NotNull(plan.Route.Quilt.FindSeam(whole.Id + ".1"));
        Assert.NotNull(plan.Route.Quilt.FindSeam(whole.Id + ".2"));
        Assert.Equal(4, c.Runs[0].Moves[0].Path.From.X, 1e-9);
        Assert.Equal(6, c.Runs[0].Moves[0].Path.From.Y, 1e-9);
        PlaneGraphs.AssertEverySeamOnce(plan.Route.Quilt, c, s => s.Role != SeamRole.Edge);

        // A start in the middle of a line ends one thread more there; that is said.
        Assert.Equal(5, c.Measures.Starts);
        Assert.False(c.Proof.Optimal);
        Assert.Contains(
            plan.Findings,
            f => f.What == "wish-costs" && f.Remedy.Contains("1 more start", StringComparison.Ordinal)
        );

        // Every patch still closes, and the file reads back.
        Assert.True(MapCheck.Inspect(plan.Route.Quilt).IsPlane);
        Assert.DoesNotContain(MapCheck.Inspect(plan.Route.Quilt).Findings, f => f.What == "patches");
        Assert.Equal(
            plan.Route.Quilt.Seams.Count,
            RouteFile.Read(RouteFile.Write(plan.Route), "route.json").Quilt.Seams.Count
        );
    }

    [Fact]
    public void A_start_near_a_point_is_that_point_and_leaves_the_map_alone()
    {
        QuiltMap map = Draft("nine-patch");
        RoutePlan plan = Plan(map, new() { Lines = LineChoice.Seams, Start = new(4.1, 0.05) });
        Assert.Equal(new Point<ClothSpace>(4, 0), plan.Route.Candidates[0].Runs[0].Moves[0].Path.From);
        Assert.Same(map, plan.Route.Quilt);
        Assert.True(plan.Route.Candidates[0].Proof.Optimal);
        Assert.DoesNotContain(plan.Findings, f => f.What == "wish-costs");
    }

    [Fact]
    public void A_start_off_every_line_names_the_nearest_point_and_its_distance()
    {
        InputException e = Assert.Throws<InputException>(() =>
            Plan(Draft("nine-patch"), new() { Lines = LineChoice.Seams, Start = new(5, 5) })
        );
        Assert.Contains("1.41 in", e.Remedy, StringComparison.Ordinal);
        Assert.Contains("4,4", e.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void A_start_and_an_end_are_first_and_last_with_several_threads_too()
    {
        QuiltMap map = Draft("nine-patch");
        RouteCandidate c = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                Start = new(4, 0),
                End = new(12, 8),
            }
        ).Route.Candidates[0];
        Assert.Equal(new Point<ClothSpace>(4, 0), c.Runs[0].Moves[0].Path.From);
        Assert.Equal(new Point<ClothSpace>(12, 8), c.Runs[^1].Moves[^1].Path.To);
        Assert.Equal(4, c.Measures.Starts);
        Assert.Equal(0, c.Measures.Crossings);
    }

    [Fact]
    public void A_cut_edge_is_never_stitched_and_a_raw_one_says_how_far_inside()
    {
        QuiltMap draft = Draft("four-patch");
        int n = 0;
        QuiltMap map = draft.With(
            seams:
            [
                .. draft.Seams.Select(s =>
                    s.Role == SeamRole.Edge ? s with { Edge = n++ % 2 == 0 ? EdgeKind.Raw : EdgeKind.Cut } : s
                ),
            ]
        );
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Outline = OutlineChoice.Any }).Route.Candidates[
            0
        ];
        PlaneGraphs.AssertEverySeamOnce(map, c, s => s.Edge != EdgeKind.Cut);
        Assert.All(
            c.AllMoves.Where(m => m.Kind == MoveKind.Frame),
            m => Assert.Equal(0.25, m.Unknown.Values["inset"].GetDouble())
        );
        Assert.Contains(c.AllMoves, m => m.Kind == MoveKind.Frame);
    }

    [Fact]
    public void One_block_of_many_is_planned_with_its_own_boundary_seams_and_no_others()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("ohio-star"),
            Length.FromInches(12),
            3,
            3,
            Length.FromInches(2)
        );
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Block = "b5" }).Route.Candidates[0];

        // Handbook 1.4: Ohio star with its outline is 141.25 in, all even.
        Assert.Equal(141.25, c.Measures.Stitched.Inches, 0.01);
        Assert.Equal(1, c.Measures.Starts);
        Assert.All(c.AllMoves, m => Assert.Equal("b5", m.Block));
        InputException e = Assert.Throws<InputException>(() => Plan(map, new() { Block = "b77" }));
        Assert.Contains("b77", e.What, StringComparison.Ordinal);
    }

    [Fact]
    public void Nothing_is_added_in_patches_that_are_to_be_left_alone()
    {
        QuiltMap draft = Draft("nine-patch");
        QuiltMap map = draft.With(patches: [.. draft.Patches.Select(p => p with { Leave = true })]);
        RoutePlan plan = Plan(map, new());
        RouteCandidate c = Assert.Single(plan.Route.Candidates);
        Assert.Equal(0, c.Measures.Added.Inches);
        Assert.Contains(plan.Findings, f => f.What == "no-room-for-arcs");
    }

    [Fact]
    public void Added_arcs_stand_off_lie_inside_and_have_a_ruler_s_radius()
    {
        double[] radii = [.. Ruler.GenericSet.Select(r => r.StitchedRadius(Length.FromInches(0.25)).Inches)];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = Draft(block.Id);
            foreach (
                Move arc in Plan(map, new())
                    .Route.Candidates.SelectMany(c => c.AllMoves)
                    .Where(m => m.Kind == MoveKind.Arc)
            )
            {
                Assert.Contains(radii, r => Math.Abs(r - arc.Path.Radius) < 1e-6);
                Point<ClothSpace> middle = arc.Path.PointAt(0.5);
                Assert.All(map.Seams, s => Assert.True(map.EdgeOf(s).Nearest(middle).Distance >= 0.25 - 1e-6));
                Assert.InRange(middle.X, 0, 12);
            }
        }
    }

    [Theory]
    // Blocks whose seams have all eight symmetries of the square, and where a design with all of them is enough.
    [InlineData("nine-patch")]
    [InlineData("churn-dash")]
    [InlineData("sisters-choice")]
    public void The_recommended_design_keeps_the_block_s_whole_symmetry(string id)
    {
        QuiltMap map = Draft(id);
        Edge<ClothSpace>[] added =
        [
            .. Plan(map, new())
                .Route.Candidates[0]
                .AllMoves.Where(m => m.Kind is MoveKind.Arc or MoveKind.Line)
                .Select(m => m.Path),
        ];
        Assert.NotEmpty(added);

        // A quarter turn about (6, 6), and a mirror left to right: each added line's middle is another's.
        foreach (Edge<ClothSpace> e in added)
        {
            Point<ClothSpace> m = e.PointAt(0.5);
            Assert.Contains(added, o => o.PointAt(0.5).DistanceTo(new(12 - m.Y, m.X)) < 1e-9);
            Assert.Contains(added, o => o.PointAt(0.5).DistanceTo(new(12 - m.X, m.Y)) < 1e-9);
        }
    }

    [Fact]
    public void Snowball_s_four_corner_lines_become_one_thread_with_arcs()
    {
        RouteCandidate c = Plan(Draft("snowball"), new()).Route.Candidates[0];
        Assert.Equal(1, c.Measures.Starts);
        Assert.Equal(0, c.Measures.Doubled.Inches);
    }

    [Fact]
    public void A_user_s_single_ruler_is_the_only_radius_used()
    {
        Ruler ruler = new(
            "mine",
            Length.FromInches(6),
            Length.FromInches(0.75),
            RulerEdge.Outside,
            Length.FromInches(8)
        );
        RoutePlan plan = Plan(Draft("nine-patch"), new() { Rulers = [ruler] });
        Assert.All(
            plan.Route.Candidates.SelectMany(c => c.AllMoves).Where(m => m.Kind == MoveKind.Arc),
            m => Assert.Equal(6.375 + 0.25, m.Path.Radius, 1e-9)
        );
        Assert.DoesNotContain(plan.Findings, f => f.What == "rulers-assumed");
        Assert.Contains(Plan(Draft("nine-patch"), new()).Findings, f => f.What == "rulers-assumed");
    }

    [Fact]
    public void Straight_through_crosses_at_four_way_points_and_says_so()
    {
        // Nine patch: two lines across and two down meet at four points, and cross at each when stitched straight.
        RouteCandidate c = Plan(
            Draft("nine-patch"),
            new() { Lines = LineChoice.Seams, Through = true }
        ).Route.Candidates[0];
        Assert.Equal(4, c.Measures.Crossings);
        Assert.Equal(4, PlaneGraphs.CountCrossings(c));
        Assert.Equal(4, c.Measures.Starts);
        Assert.Equal(4, StitchStep.Of(Draft("nine-patch"), c).Count);
    }

    [Fact]
    public void The_continuous_curve_stitches_no_ditch_and_offers_the_smooth_way_with_its_crossings()
    {
        RoutePlan plan = Plan(Draft("four-patch"), new() { Lines = LineChoice.Curves, Candidates = 2 });
        RouteCandidate cusps = plan.Route.Candidates[0];
        RouteCandidate smooth = plan.Route.Candidates[1];
        Assert.All(plan.Route.Candidates.SelectMany(c => c.AllMoves), m => Assert.Equal(MoveKind.Arc, m.Kind));

        // Four patches with four sides each.
        Assert.Equal(16, cusps.Measures.Moves);
        Assert.Equal(1, cusps.Measures.Starts);
        Assert.Equal(0, PlaneGraphs.CountCrossings(cusps));
        Assert.Equal(1, smooth.Measures.Starts);
        Assert.True(smooth.Measures.Crossings > 0);
        Assert.Equal(PlaneGraphs.CountCrossings(smooth), smooth.Measures.Crossings);
    }

    [Fact]
    public void The_same_wishes_give_the_same_route()
    {
        byte[] first = RouteFile.Write(Plan(Draft("bears-paw"), new()).Route);
        byte[] again = RouteFile.Write(Plan(Draft("bears-paw"), new()).Route);
        Assert.Equal(first, again);
    }

    [Fact]
    public void A_quilt_of_five_thousand_seams_takes_seconds()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("nine-patch"),
            Length.FromInches(12),
            12,
            15,
            Length.FromInches(2)
        );
        Assert.InRange(map.Seams.Count, 4_900, 5_100);
        long before = Environment.TickCount64;
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One }).Route.Candidates[0];
        Assert.True(c.Proof.Optimal);
        Assert.Equal(1, c.Measures.Starts);
        Assert.Equal(0, c.Measures.Crossings);

        // About half a second on one idle core; the margin is for a machine that does much else.
        Assert.True(Environment.TickCount64 - before < 20_000);
    }

    [Fact]
    public void Cancelling_stops_the_planning()
    {
        using CancellationTokenSource source = new();
        source.Cancel();
        Assert.Throws<OperationCanceledException>(() => RoutePlanner.Plan(Draft("bears-paw"), new(), source.Token));
    }

    [Fact]
    public void Wishes_out_of_range_are_refused_by_name()
    {
        QuiltMap map = Draft("four-patch");
        Assert.Equal("--candidates", Assert.Throws<InputException>(() => Plan(map, new() { Candidates = 0 })).Where);
        Assert.Equal(
            "--start-cost",
            Assert.Throws<InputException>(() => Plan(map, new() { StartCostSeconds = -1 })).Where
        );
        Assert.Equal(
            "--inch-cost",
            Assert.Throws<InputException>(() => Plan(map, new() { InchCostSeconds = double.NaN })).Where
        );
        Assert.Equal(
            "--start",
            Assert.Throws<InputException>(() => Plan(map, new() { Start = new(double.NaN, 0) })).Where
        );
    }

    [Fact]
    public void A_map_without_seams_inside_is_refused_unless_something_can_be_stitched()
    {
        QuiltMap map = MapBuilder.Build(Length.FromInches(12), Length.FromInches(12), [], [], Length.FromInches(0.001));
        Assert.Throws<InputException>(() => Plan(map, new() { Lines = LineChoice.Seams }));
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Outline = OutlineChoice.Any }).Route.Candidates[
            0
        ];
        Assert.Equal(48, c.Measures.Stitched.Inches, 1e-9);
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
