using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class TwoThreadsTests
{
    public static TheoryData<string, ThreadChoice, DesignTravel> Cases
    {
        get
        {
            TheoryData<string, ThreadChoice, DesignTravel> cases = [];
            foreach (
                string block in new[] { "nine-patch", "sawtooth-star", "pinwheel", "churn-dash", "drunkards-path" }
            )
            {
                foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
                {
                    cases.Add(block, thread, DesignTravel.OwnLines);
                    cases.Add(block, thread, DesignTravel.Ditch);
                }
            }

            return cases;
        }
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void Every_seam_comes_before_every_added_line_each_in_its_own_thread(
        string block,
        ThreadChoice thread,
        DesignTravel travel
    )
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(12), 1, 1, Length.Zero);
        RoutePlan plan = TwoThreads.Plan(map, new() { Thread = thread }, travel, TestContext.Current.CancellationToken);
        Assert.True(plan.Route.Candidates[0].Measures.Added.Inches > 0);
        foreach (RouteCandidate c in plan.Route.Candidates.Where(c => c.Measures.Added.Inches > 0))
        {
            PlaneGraphs.AssertChained(c);
            Assert.Equal(2, c.Threads.Count);

            // One kind of thread in each run; the seams' runs first.
            Assert.All(c.Runs, r => Assert.Single(r.Moves.Select(m => m.Thread).Distinct()));
            StitchThread[] order = [.. c.Runs.Select(r => r.Moves[0].Thread!.Value)];
            Assert.Equal(order.Order(), order);
            foreach (Move m in c.AllMoves)
            {
                bool seam = m.Seam is not null;
                if (m.Kind != MoveKind.Retrace || travel == DesignTravel.OwnLines)
                {
                    Assert.Equal(seam ? StitchThread.Ditch : StitchThread.Design, m.Thread);
                }
            }

            foreach (ThreadShare share in c.Threads)
            {
                Assert.Equal(order.Count(t => t == share.Thread), share.Starts);
                if (thread == ThreadChoice.Free)
                {
                    Assert.Equal(share.LeastStarts, share.Starts);
                    Assert.Equal(0, share.Doubled.Inches);
                    Assert.True(share.Optimal);
                }
            }

            Assert.Equal(c.Measures.Doubled.Inches, c.Threads.Sum(t => t.Doubled.Inches), 1e-6);
        }
    }

    [Fact]
    public void The_threads_are_kept_in_the_file()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 1, 1, Length.Zero);
        Route route = TwoThreads.Plan(map, new(), cancellation: TestContext.Current.CancellationToken).Route;
        Route read = RouteFile.Read(RouteFile.Write(route), "route.json");
        Assert.Equal(route.Candidates[0].Threads, read.Candidates[0].Threads);
        Assert.Equal(
            route.Candidates[0].AllMoves.Select(m => m.Thread),
            read.Candidates[0].AllMoves.Select(m => m.Thread)
        );
    }
}
