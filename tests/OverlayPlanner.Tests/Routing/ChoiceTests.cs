using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class ChoiceTests
{
    [Fact]
    public void One_thread_offers_the_seams_alone_and_a_route_that_doubles_nothing_and_all_differ()
    {
        // Every third block, to keep the run short.
        foreach (BlockDraft block in BlockLibrary.All.Where((_, i) => i % 3 == 0))
        {
            QuiltMap map = Draft(block.Id);
            RouteCandidate seams = Plan(
                map,
                new() { Thread = ThreadChoice.One, Lines = LineChoice.Seams }
            ).Route.Candidates[0];
            IReadOnlyList<RouteCandidate> found = Plan(
                map,
                new() { Thread = ThreadChoice.One, Candidates = 5 }
            ).Route.Candidates;
            Assert.Equal(found.Count, found.Select(c => c.Design).Distinct().Count());

            // The best without added lines: the least backtracking that the seams allow.
            RouteCandidate bare = Assert.Single(found, c => c.Measures.Added == Length.Zero);
            Assert.Equal(seams.Measures.Doubled.Inches, bare.Measures.Doubled.Inches, 1e-6);

            // The best without backtracking, wherever the free thread finds one that hangs together.
            bool possible = Plan(map, new() { Candidates = 5 }).Route.Candidates.Any(c => c.Measures.Starts == 1);
            Assert.True(!possible || found.Any(c => c.Measures.Doubled.Inches < 1e-6), block.Id);
            Assert.All(found, c => Assert.True(c.Proof.Optimal));
            Assert.All(found, c => Assert.Equal(0, c.Measures.Crossings));
        }
    }

    [Fact]
    public void A_pinwheel_is_offered_with_nothing_doubled_with_a_little_and_with_nothing_added()
    {
        RouteCandidate[] found =
        [
            .. Plan(Draft("pinwheel"), new() { Thread = ThreadChoice.One, Candidates = 5 }).Route.Candidates,
        ];
        RouteCandidate none = found.First(c => c.Measures.Doubled.Inches < 1e-6);
        RouteCandidate all = found.First(c => c.Measures.Added == Length.Zero);

        // Handbook 1.4: pinwheel, open, 40.97 in.
        Assert.Equal(40.97, all.Measures.Doubled.Inches, 0.01);
        Assert.Contains(
            found,
            c =>
                c.Measures.Doubled.Inches > 0
                && c.Measures.Doubled < all.Measures.Doubled
                && c.Measures.Added.Inches > 0
                && c.Unknown.Values["likePatchesAlike"].GetBoolean()
        );
        Assert.False(none.Unknown.Values["likePatchesAlike"].GetBoolean());
    }

    [Fact]
    public void What_a_little_backtracking_would_buy_is_said_where_the_thread_allows_none()
    {
        Finding f = Assert.Single(Plan(Draft("melon-patch"), new()).Findings, f => f.What == "more-than-one-start");
        RouteCandidate one = Plan(Draft("melon-patch"), new() { Thread = ThreadChoice.One }).Route.Candidates[0];
        Assert.Contains($"{one.Measures.Doubled.ToSixteenths()} in", f.Remedy, StringComparison.Ordinal);
        Assert.Single(Plan(Draft("pinwheel"), new()).Findings, f => f.What == "like-patches-differ");
        Assert.DoesNotContain(Plan(Draft("nine-patch"), new()).Findings, f => f.What == "more-than-one-start");
    }

    [Fact]
    public void Among_designs_that_cost_the_same_the_easier_one_is_recommended()
    {
        // Churn dash: arcs along the outer strips or along the inner ones, 16.7 in both, mend the same points.
        QuiltMap map = Draft("churn-dash");
        static double FromCenter(RouteCandidate c) =>
            c.AllMoves.Where(m => m.Kind == MoveKind.Arc).Sum(m => m.Path.PointAt(0.5).DistanceTo(new(6, 6)));
        RouteCandidate near = Plan(map, new() { Effort = (_, c) => FromCenter(c) }).Route.Candidates[0];
        RouteCandidate far = Plan(map, new() { Effort = (_, c) => -FromCenter(c) }).Route.Candidates[0];
        Assert.Equal(near.Measures.Starts, far.Measures.Starts);
        Assert.True(FromCenter(near) < FromCenter(far) - 1);
    }

    [Fact]
    public void The_sheet_of_choices_is_one_picture_whatever_their_number()
    {
        foreach (int count in new[] { 1, 2, 4, 5 })
        {
            RoutePlan plan = Plan(Draft("ohio-star"), new() { Candidates = count });
            RenderedFile file = ChoiceSheet.Render(plan.Route, TestContext.Current.CancellationToken);
            byte[] png = [.. file.Bytes];
            Assert.Equal([0x89, (byte)'P', (byte)'N', (byte)'G'], png.Take(4));

            // Two pixels a point: a cell is 250 points, the margins 30, the gaps 34.
            int columns = plan.Route.Candidates.Count switch
            {
                <= 3 => plan.Route.Candidates.Count,
                4 => 2,
                _ => 3,
            };
            int width = (png[16] << 24) | (png[17] << 16) | (png[18] << 8) | png[19];
            Assert.Equal(2 * (60 + columns * 250 + (columns - 1) * 34), width);
        }

        Route none = new(Draft("ohio-star"), []);
        Assert.Throws<InputException>(() => ChoiceSheet.Render(none, TestContext.Current.CancellationToken));
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
