using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Memory;

namespace OverlayPlanner.Tests.Routing.Memory;

public class CallTests
{
    public static TheoryData<string> Blocks() => [.. BlockLibrary.All.Select(b => b.Id)];

    [Theory]
    [MemberData(nameof(Blocks))]
    public void A_finger_that_hears_the_call_alone_goes_the_whole_route(string block)
    {
        foreach (LineChoice lines in new[] { LineChoice.SeamsAndArcs, LineChoice.Seams })
        {
            RoutePlan plan = Plan(Draft(block), new() { Lines = lines });
            foreach (RouteCandidate c in plan.Route.Candidates)
            {
                AssertFollowed(plan.Route.Quilt, c);
            }
        }
    }

    [Theory]
    [InlineData("pinwheel", OutlineChoice.Last, ThreadChoice.Free)]
    [InlineData("ohio-star", OutlineChoice.Any, ThreadChoice.Free)]
    [InlineData("nine-patch", OutlineChoice.None, ThreadChoice.One)]
    [InlineData("bears-paw", OutlineChoice.Last, ThreadChoice.One)]
    [InlineData("drunkards-path", OutlineChoice.Any, ThreadChoice.Mixed)]
    public void The_outline_and_backtracking_are_followed_too(string block, OutlineChoice outline, ThreadChoice thread)
    {
        RoutePlan plan = Plan(
            Draft(block),
            new()
            {
                Lines = LineChoice.Seams,
                Outline = outline,
                Thread = thread,
            }
        );
        Assert.All(plan.Route.Candidates, c => AssertFollowed(plan.Route.Quilt, c));
    }

    [Fact]
    public void Continuous_curves_are_followed_with_their_crossings_at_points()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("four-patch"), Length.FromInches(12), 2, 2, Length.Zero);
        RoutePlan plan = Plan(map, new() { Lines = LineChoice.Curves });
        Assert.All(plan.Route.Candidates, c => AssertFollowed(plan.Route.Quilt, c));
    }

    [Fact]
    public void A_call_is_read_back_from_the_file_as_it_was_written_and_still_leads()
    {
        RoutePlan plan = Plan(Draft("sawtooth-star"), new());
        Route read = RouteFile.Read(RouteFile.Write(plan.Route), "route.json");
        for (int i = 0; i < read.Candidates.Count; i++)
        {
            RouteCall said = plan.Route.Candidates[i].Call!;
            RouteCall heard = read.Candidates[i].Call!;
            Assert.Equal(said.Verses, heard.Verses);
            Assert.Equal(
                (said.DescriptionLength, said.PlainLength, said.DecisionPoints, said.Rule, said.Steps, said.IsShortest),
                (
                    heard.DescriptionLength,
                    heard.PlainLength,
                    heard.DecisionPoints,
                    heard.Rule,
                    heard.Steps,
                    heard.IsShortest
                )
            );
            Assert.Equal(plan.Route.Candidates[i].Ease, read.Candidates[i].Ease);
            AssertFollowed(read.Quilt, read.Candidates[i]);
        }
    }

    [Fact]
    public void An_orange_peel_is_one_petal_four_times()
    {
        RouteCall call = Plan(Draft("orange-peel"), new() { Lines = LineChoice.Seams }).Route.Candidates[0].Call!;

        // Eight arcs; there and back along a petal is one arc said again, four times over.
        Assert.Equal((8, 3), (call.PlainLength, call.DescriptionLength));
        Assert.Single(call.Verses);
        Assert.Equal(0, call.DecisionPoints);
    }

    [Theory]
    [InlineData("ohio-star")]
    [InlineData("sawtooth-star")]
    [InlineData("kaleidoscope")]
    public void A_block_laid_otherwise_is_said_as_shortly(string block)
    {
        QuiltMap map = Draft(block);
        int length = LengthOf(map);
        Assert.Equal(length, LengthOf(Laid(map, p => new(12 - p.Y, p.X), 1)));
        Assert.Equal(length, LengthOf(Laid(map, p => new(12 - p.X, p.Y), -1)));

        static int LengthOf(QuiltMap m) =>
            Plan(m, new() { Lines = LineChoice.Seams }).Route.Candidates[0].Call!.DescriptionLength;

        static QuiltMap Laid(QuiltMap m, Func<Point<ClothSpace>, Point<ClothSpace>> lay, int bow) =>
            new(
                m.Width,
                m.Height,
                [.. m.Junctions.Select(j => j with { At = Estimate<Point<ClothSpace>>.Exact(lay(j.Place)) })],
                [.. m.Seams.Select(s => s with { Bulge = bow * s.Bulge })]
            );
    }

    [Fact]
    public void The_left_hands_route_is_the_right_hands_seen_in_a_mirror()
    {
        QuiltMap map = Draft("ohio-star");
        RouteCandidate right = Plan(map, new() { Lines = LineChoice.Seams }).Route.Candidates[0];
        RouteCandidate left = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                Ease = new() { Hand = Hand.Left },
            }
        ).Route.Candidates[0];
        Assert.Equal(right.Call!.DescriptionLength, left.Call!.DescriptionLength);

        // The table of directions is mirrored with the hand, so the effort is the same, and less than the other's route costs.
        Assert.Equal(right.Ease!.Effort, left.Ease!.Effort, 1e-6);
        Assert.True(EaseReader.Read(map, right, new() { Hand = Hand.Left }).Effort >= left.Ease.Effort - 1e-6);
    }

    [Theory]
    [MemberData(nameof(Blocks))]
    public void The_calls_numbers_are_the_routes(string block)
    {
        RoutePlan plan = Plan(Draft(block), new());
        foreach (RouteCandidate c in plan.Route.Candidates)
        {
            RouteCall call = c.Call!;
            Assert.Equal(StitchStep.Of(plan.Route.Quilt, c).Count, call.Steps);
            Assert.Equal(c.Measures.Moves, call.PlainLength);
            Assert.Equal(LengthByTheRules(call), call.DescriptionLength);
            Assert.True(call.DescriptionLength <= call.Steps + c.Runs.Count - 1);
            Assert.True(call.IsShortest);
        }
    }

    // As docs/CALL.md says, "What it counts", by hand on the written call.
    private static int LengthByTheRules(RouteCall call)
    {
        int sum = -1;
        foreach (CallThread t in call.Threads)
        {
            sum += t.Starts.Count + t.Starts.Count(s => s.Mirrored) + Row(t.Items);
            sum += t.Starts.Count > 1 ? 1 + Bracket(t.Items.Count > 1) : 0;
        }

        return sum;

        int Row(IReadOnlyList<CallItem> items) => items.Sum(One);

        int Bracket(bool needed) => needed ? 1 : 0;

        int One(CallItem item) =>
            item switch
            {
                CallStep => 1,
                CallRepeat r => 1 + Row(r.Items) + Bracket(r.Items.Count > 1),
                CallAgain a => Row(a.Items)
                    + Row(a.Between)
                    + Bracket(a.Items.Count > 1 || a.Between.Count > 0)
                    + (a.Kind == AgainKind.BackwardsMirrored ? 2 : 1),
                _ => throw new Xunit.Sdk.XunitException("An item that the grammar does not have."),
            };
    }

    internal static void AssertFollowed(QuiltMap quilt, RouteCandidate c)
    {
        CallFollower finger = new(quilt, c);
        Assert.Equal(c.Runs.Count, c.Call!.Threads.Sum(t => t.Starts.Count));
        foreach (CallThread thread in c.Call.Threads)
        {
            foreach (CallStart start in thread.Starts)
            {
                Assert.Equal(c.Runs[start.Run].Moves.Select(m => m.Path), finger.Follow(thread, start));
            }
        }
    }

    internal static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    internal static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
