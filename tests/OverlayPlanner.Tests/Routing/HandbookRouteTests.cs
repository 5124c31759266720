using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class HandbookRouteTests
{
    // The seams of a piece that touches no other can't be joined by one line: the handbook gives no figure.
    private const double NotApplicable = -1;

    /// <summary>
    /// Trade handbook, table 1.4, for a 12 in block, computed apart from this project: inner seams' odd points, lines and
    /// least retrace with open ends; the same with the outline, and its retrace with closed ends.
    /// </summary>
    public static TheoryData<string, int, int, double, int, int, double, double> Table() =>
        new()
        {
            { "four-patch", 4, 2, 12.00, 4, 2, 12.00, 24.00 },
            { "nine-patch", 8, 4, 24.00, 8, 4, 12.00, 16.00 },
            { "puss-in-the-corner", 8, 4, 18.00, 8, 4, 18.00, 24.00 },
            { "shoofly", 0, 1, 0.00, 0, 1, 0.00, 0.00 },
            { "friendship-star", 8, 4, 12.00, 8, 4, 12.00, 16.00 },
            { "ohio-star", 0, 1, 0.00, 0, 1, 0.00, 0.00 },
            { "churn-dash", 8, 4, 12.00, 8, 4, 12.00, 16.00 },
            { "card-trick", 12, 6, 16.97, 12, 6, 16.97, 22.63 },
            { "sawtooth-star", 0, 1, 0.00, 0, 1, 0.00, 0.00 },
            { "pinwheel", 8, 4, 40.97, 8, 4, 18.00, 24.00 },
            { "broken-dishes", 16, 8, 49.46, 16, 8, 21.00, 24.00 },
            { "hourglass", 4, 2, 16.97, 4, 2, 12.00, 24.00 },
            { "dutchmans-puzzle", 4, 2, 18.73, 4, 2, 12.00, 24.00 },
            { "bears-paw", 16, 8, 34.29, 16, 8, 29.14, 34.29 },
            { "log-cabin", 24, 12, 18.86, 24, 12, 18.86, 20.57 },
            { "courthouse-steps", 24, 12, 18.86, 24, 12, 18.86, 20.57 },
            { "rail-fence", 20, 10, 52.00, 20, 10, 20.00, 24.00 },
            { "snowball", 8, 4, NotApplicable, 8, 4, 12.00, 16.00 },
            { "square-in-a-square", 0, 1, 0.00, 0, 1, 0.00, 0.00 },
            { "economy", 0, 1, 0.00, 0, 1, 0.00, 0.00 },
            { "jacobs-ladder", 24, 12, 36.00, 24, 12, 36.00, 40.00 },
            { "snails-trail", 4, 2, 3.00, 4, 2, 3.00, 6.00 },
            { "sisters-choice", 16, 8, 16.80, 16, 8, 16.80, 19.20 },
            { "spool", 8, 4, 15.31, 8, 4, 15.31, 22.63 },
            { "attic-windows", 4, 2, 5.66, 4, 2, 5.66, 21.66 },
            { "lemoyne-star", 8, 4, 21.09, 8, 4, 21.09, 28.12 },
            { "kaleidoscope", 0, 1, 0.00, 0, 1, 0.00, 0.00 },
        };

    [Theory]
    [MemberData(nameof(Table))]
    public void Every_library_block_s_routes_equal_the_handbook_s_figures(
        string id,
        int oddInner,
        int linesInner,
        double openInner,
        int oddAll,
        int linesAll,
        double openAll,
        double closedAll
    )
    {
        QuiltMap map = Draft(id);
        Check(OutlineChoice.None, oddInner, linesInner, openInner);
        Check(OutlineChoice.Any, oddAll, linesAll, openAll);

        // A closed tour: any point may be start and end.
        RouteCandidate closed = Plan(
            map,
            new()
            {
                Outline = OutlineChoice.Any,
                Thread = ThreadChoice.One,
                Start = new(0, 0),
                End = new(0, 0),
            }
        );
        Assert.Equal(closedAll, closed.Measures.Doubled.Inches, 0.01);
        Assert.Equal(1, closed.Measures.Starts);
        Assert.Equal(0, closed.Measures.Crossings);
        Assert.Equal(closed.Runs[0].Moves[0].Path.From, closed.Runs[0].Moves[^1].Path.To);

        void Check(OutlineChoice outline, int odd, int lines, double open)
        {
            RouteCandidate free = Plan(map, new() { Outline = outline, Thread = ThreadChoice.Free });
            Assert.Equal(odd, free.Proof.OddJunctions.Count);
            Assert.Equal(lines, free.Measures.Starts);
            Assert.Equal(lines, free.Proof.LeastStarts);
            Assert.Equal(0, free.Measures.Doubled.Inches);
            Require(free, outline);

            RouteCandidate one = Plan(map, new() { Outline = outline, Thread = ThreadChoice.One });
            if (open != NotApplicable)
            {
                Assert.Equal(1, one.Measures.Starts);

                // The table rounds to a hundredth.
                Assert.Equal(open, one.Measures.Doubled.Inches, 0.005 + 1e-9);
            }

            Require(one, outline);
        }

        void Require(RouteCandidate c, OutlineChoice outline)
        {
            Assert.Equal(0, c.Measures.Crossings);
            Assert.Equal(0, PlaneGraphs.CountCrossings(c));
            Assert.True(c.Proof.Optimal);
            PlaneGraphs.AssertChained(c);
            PlaneGraphs.AssertEverySeamOnce(map, c, s => outline != OutlineChoice.None || s.Role != SeamRole.Edge);
        }
    }

    [Theory]
    [MemberData(nameof(Table))]
    public void Round_the_block_last_crosses_nothing_and_comes_last(
        string id,
        int oddInner,
        int linesInner,
        double openInner,
        int oddAll,
        int linesAll,
        double openAll,
        double closedAll
    )
    {
        _ = (oddInner, openInner, oddAll, closedAll);
        QuiltMap map = Draft(id);
        foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
        {
            RouteCandidate c = Plan(map, new() { Outline = OutlineChoice.Last, Thread = thread });
            Assert.Equal(0, PlaneGraphs.CountCrossings(c));
            Assert.Equal(0, c.Measures.Crossings);
            PlaneGraphs.AssertChained(c);
            PlaneGraphs.AssertEverySeamOnce(map, c);
            Move[] moves = [.. c.AllMoves];
            int firstFrame = Array.FindIndex(moves, m => m.Kind == MoveKind.Frame);
            Assert.All(moves.Skip(firstFrame), m => Assert.Equal(SeamRole.Edge, map.SeamOf(m.Seam!).Role));
            if (thread == ThreadChoice.Free)
            {
                // The four sides are one closed line: at worst it is a start of its own.
                Assert.InRange(c.Measures.Starts, linesAll, linesInner + 1);
            }
            else if (thread == ThreadChoice.One)
            {
                Assert.True(c.Measures.Doubled.Inches >= openAll - 0.006 || c.Measures.Starts > 1);
            }
        }
    }

    [Fact]
    public void With_arcs_at_least_nine_blocks_in_ten_take_one_thread_and_nothing_twice()
    {
        List<string> others = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = Draft(block.Id);
            RoutePlan plan = RoutePlanner.Plan(map, new(), TestContext.Current.CancellationToken);
            foreach (RouteCandidate c in plan.Route.Candidates)
            {
                Assert.Equal(0, PlaneGraphs.CountCrossings(c));
                Assert.Equal(0, c.Measures.Crossings);
                PlaneGraphs.AssertChained(c);
                PlaneGraphs.AssertEverySeamOnce(map, c, s => s.Role != SeamRole.Edge);
                Assert.Equal(0, c.Measures.Missed.Inches);
                Assert.Equal(
                    c.AllMoves.Where(m => m.Kind is MoveKind.Arc or MoveKind.Line).Sum(m => m.Path.Length),
                    c.Measures.Added.Inches,
                    1e-9
                );
            }

            Assert.Equal(plan.Route.Candidates.Count, plan.Route.Candidates.Select(c => c.Design).Distinct().Count());
            RouteCandidate best = plan.Route.Candidates[0];
            if (best.Measures.Starts > 1 || best.Measures.Doubled.Inches > 0)
            {
                others.Add(block.Id);
            }
        }

        Assert.True(others.Count <= BlockLibrary.All.Count / 10, string.Join(", ", others));
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner
            .Plan(map, wishes with { Lines = LineChoice.Seams }, TestContext.Current.CancellationToken)
            .Route.Candidates[0];
}
