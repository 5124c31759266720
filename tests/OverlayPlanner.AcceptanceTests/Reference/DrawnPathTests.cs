using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.AcceptanceTests.Reference;

/// <summary>Snapping of drawn strokes against the method's paper and a distance between curves.</summary>
public class DrawnPathTests
{
    /// <summary>
    /// Newson and Krumm (2009) on a case worked by hand. Seams run from (0, 6) to (12, 6) in two pieces and from (6, 0) to
    /// (6, 12); a stroke runs along the level one and wanders at x = 5.8 and 6.2 to y = 6.3, where the upright seam is nearer
    /// (0.2 in against 0.3 in).
    /// Emission, −ln p = d² ÷ 2σ² with σ = 0.2: level 0.3² ÷ 0.08 = 1.125, upright 0.2² ÷ 0.08 = 0.5, so the nearest line
    /// saves 0.625 a sample, 1.25 in all. Transition, |way along the lines − way drawn| ÷ σ: between (5.8, 6) and (6.2, 6)
    /// the level line's way is 0.4 in as drawn, costing nothing; by the upright seam, leaving and rejoining cost the climb to
    /// y = 6.3 and back, 0.3 + 0.3 in that were drawn sideways: at least (0.3 + 0.3) ÷ 0.2 = 3. 3 &gt; 1.25: the walk stays
    /// on the level line, where a nearest-line snap would not.
    /// </summary>
    [Fact]
    public void A_wandering_stroke_stays_on_the_line_that_it_runs_along()
    {
        QuiltMap map = Draft("four-patch");
        Point<ClothSpace>[] stroke =
        [
            .. Enumerable
                .Range(0, 61)
                .Select(i => 0.2 * i)
                .Select(x => new Point<ClothSpace>(x, Math.Abs(x - 6) < 0.25 ? 6.3 : 6)),
        ];
        DrawnPath path = DrawnRoute.Follow(map, [stroke], TestContext.Current.CancellationToken);
        Assert.Equal(
            [new Point<ClothSpace>(0, 6), new(6, 6), new(12, 6)],
            path.Threads.Single().Select(s => s.Path.From).Append(path.Threads.Single()[^1].Path.To)
        );
    }

    /// <summary>
    /// The path found stays as near to the stroke as the hand shook: discrete Fréchet distance (Eiter and Mannila 1994), by
    /// its definition. A hand with σ = 3 mm on each axis is off by 3.5 σ at worst in a few hundred samples (Rayleigh), and the
    /// samples lie up to 0.1 in apart.
    /// </summary>
    [Theory]
    [InlineData("shoofly")]
    [InlineData("sawtooth-star")]
    [InlineData("churn-dash")]
    [InlineData("lemoyne-star")]
    [InlineData("ohio-star")]
    public void The_path_found_lies_along_the_stroke(string block)
    {
        QuiltMap map = Draft(block);
        Random random = new(7);
        RouteCandidate route = RoutePlanner
            .Plan(map, new() { Lines = LineChoice.Seams }, TestContext.Current.CancellationToken)
            .Route.Candidates[0];
        const double Sigma = 3 / 25.4;
        List<Point<ClothSpace>> stroke =
        [
            .. Sampled(route.Runs[0].Moves.Select(m => m.Path))
                .Select(p => new Point<ClothSpace>(p.X + Sigma * Normal(random), p.Y + Sigma * Normal(random))),
        ];
        DrawnPath path = DrawnRoute.Follow(map, [stroke], TestContext.Current.CancellationToken);
        List<Point<ClothSpace>> found = [.. Sampled(path.Threads.SelectMany(t => t).Select(s => s.Path))];
        Assert.InRange(Frechet(stroke, found), 0, 3.5 * Sigma + 0.1);
    }

    // c(i, j) = max(d(i, j), min(c(i − 1, j), c(i, j − 1), c(i − 1, j − 1))).
    private static double Frechet(List<Point<ClothSpace>> a, List<Point<ClothSpace>> b)
    {
        double[,] c = new double[a.Count, b.Count];
        for (int i = 0; i < a.Count; i++)
        {
            for (int j = 0; j < b.Count; j++)
            {
                double before =
                    i == 0 && j == 0 ? 0
                    : i == 0 ? c[0, j - 1]
                    : j == 0 ? c[i - 1, 0]
                    : Math.Min(c[i - 1, j - 1], Math.Min(c[i - 1, j], c[i, j - 1]));
                c[i, j] = Math.Max(a[i].DistanceTo(b[j]), before);
            }
        }

        return c[a.Count - 1, b.Count - 1];
    }

    private static IEnumerable<Point<ClothSpace>> Sampled(IEnumerable<Edge<ClothSpace>> path) =>
        path.SelectMany(e =>
        {
            int n = (int)Math.Ceiling(e.Length / 0.1);
            return Enumerable.Range(0, n + 1).Select(i => e.PointAt((double)i / n));
        });

    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);
}
