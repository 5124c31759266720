using Google.OrTools.Sat;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Rows;

namespace OverlayPlanner.AcceptanceTests.Reference;

/// <summary>Threads of a row against an integer program that knows nothing of odd points.</summary>
public class RowThreadsTests
{
    [Theory]
    [InlineData("four-patch", 4)]
    [InlineData("pinwheel", 3)]
    [InlineData("nine-patch", 4)]
    [InlineData("sawtooth-star", 3)]
    [InlineData("churn-dash", 3)]
    [InlineData("ohio-star", 4)]
    public void The_seams_of_a_row_take_the_fewest_threads_that_an_integer_program_finds(string block, int across)
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(12), across, 1, Length.Zero);
        RowPlan plan = RowPlanner.Plan(
            map,
            new(new() { Lines = LineChoice.Seams }) { Anchor = RowAnchor.SidesStitched },
            TestContext.Current.CancellationToken
        );
        Seam[] seams = [.. map.Seams.Where(s => s.Role == SeamRole.Seam)];
        int least = FewestThreads(seams);
        PlannedRow row = Assert.Single(plan.Rows);
        Assert.Equal(least, row.LeastStarts);
        Assert.Equal(least, row.Starts);
    }

    /// <summary>
    /// Every seam gets a direction; a thread starts wherever more leave a point than arrive, and at least one in each piece
    /// that hangs together. The fewest starts over all directions (CP-SAT).
    /// </summary>
    private static int FewestThreads(Seam[] seams)
    {
        CpModel model = new();
        Dictionary<string, LinearExprBuilder> outgoing = [];
        foreach (Seam s in seams)
        {
            BoolVar forward = model.NewBoolVar(s.Id);
            Of(s.From).Add(2 * forward - 1);
            Of(s.To).Add(1 - 2 * forward);
        }

        Dictionary<string, int> piece = Pieces(seams);
        Dictionary<int, LinearExprBuilder> startsOf = [];
        LinearExprBuilder all = LinearExpr.NewBuilder();
        foreach ((string junction, LinearExprBuilder surplus) in outgoing)
        {
            IntVar starts = model.NewIntVar(0, seams.Length, junction);
            model.Add(starts >= surplus);
            all.Add(starts);
            if (!startsOf.TryGetValue(piece[junction], out LinearExprBuilder? here))
            {
                startsOf[piece[junction]] = here = LinearExpr.NewBuilder();
            }

            here.Add(starts);
        }

        foreach (LinearExprBuilder here in startsOf.Values)
        {
            model.Add(here >= 1);
        }

        model.Minimize(all);
        CpSolver solver = new() { StringParameters = "num_workers:1 random_seed:1" };
        Assert.Equal(CpSolverStatus.Optimal, solver.Solve(model));
        return (int)Math.Round(solver.ObjectiveValue);

        LinearExprBuilder Of(string junction)
        {
            if (!outgoing.TryGetValue(junction, out LinearExprBuilder? here))
            {
                outgoing[junction] = here = LinearExpr.NewBuilder();
            }

            return here;
        }
    }

    private static Dictionary<string, int> Pieces(Seam[] seams)
    {
        Dictionary<string, int> piece = [];
        foreach (string j in seams.SelectMany(s => new[] { s.From, s.To }))
        {
            piece.TryAdd(j, piece.Count);
        }

        for (bool changed = true; changed; )
        {
            changed = false;
            foreach (Seam s in seams)
            {
                int least = Math.Min(piece[s.From], piece[s.To]);
                changed |= piece[s.From] != least || piece[s.To] != least;
                piece[s.From] = piece[s.To] = least;
            }
        }

        return piece;
    }
}
