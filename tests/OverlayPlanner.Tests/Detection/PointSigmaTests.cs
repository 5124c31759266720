using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Detection;

/// <summary>What is said of a point's error against errors that are drawn from known noise.</summary>
public sealed class PointSigmaTests
{
    private const double Side = 12;

    // So fine a photo that nothing is shared by a whole seam: the noise is then all that moves a point.
    private const double FinePhoto = 1e6;

    [Fact]
    public void Errors_over_seams_that_wander_are_as_large_as_said()
    {
        // Each seam wanders about its line as a first-order autoregression. Its correlations sum to (1 + ρ) / (1 − ρ) (Bayley and
        // Hammersley, 1946), here 65 places of one pixel.
        const double Rho = 64.0 / 66;
        double squares = 0;
        int within = 0;
        int count = 0;
        for (int seed = 1; seed <= 12; seed++)
        {
            Random random = new(seed);
            List<(Edge<ClothSpace>, double)> lines = [];
            for (int at = 4; at < Side; at += 4)
            {
                lines.AddRange(Wander(random, Rho, 0.6 / DrawnEvidence.PixelsPerInch, (u, v) => new(at + v, u)));
                lines.AddRange(Wander(random, Rho, 0.6 / DrawnEvidence.PixelsPerInch, (u, v) => new(u, at + v)));
            }

            EvidenceMap evidence = DrawnEvidence.Of(Side, Side, lines);
            SeamGraph graph = GraphOf(evidence);
            PointSigma sigma = new(graph, evidence, null, FinePhoto);
            foreach (GraphPoint p in graph.Points.Where(p => p.Edges.Count == 4))
            {
                Point<ClothSpace> place = evidence.ToCloth(p.X, p.Y);
                double own = sigma.At(place).Inches;
                foreach (double off in new[] { OffGrid(place.X), OffGrid(place.Y) })
                {
                    squares += off * off / (own * own);
                    within += Math.Abs(off) <= 1.96 * own ? 1 : 0;
                    count++;
                }
            }
        }

        Assert.True(count >= 80, FormattableString.Invariant($"{count} coordinates"));
        double spread = Math.Sqrt(squares / count);
        Assert.True(spread is > 0.7 and < 1.3, FormattableString.Invariant($"spread {spread:0.00}"));
        Assert.True(within >= 0.88 * count, FormattableString.Invariant($"{within} of {count}"));
    }

    [Fact]
    public void A_coarse_photo_makes_points_less_sure_in_proportion()
    {
        EvidenceMap evidence = Cross(0.97);
        SeamGraph graph = GraphOf(evidence);
        foreach (GraphEdge e in graph.Edges)
        {
            (e.Scatter, e.Support) = (0, 1);
        }

        double fine = new PointSigma(graph, evidence, null, 80).At(new(6, 6)).Inches;
        double coarse = new PointSigma(graph, evidence, null, 20).At(new(6, 6)).Inches;
        Assert.InRange(coarse / fine, 3.9, 4);

        // Unknown is as coarse as the evidence.
        double unknown = new PointSigma(graph, evidence, null).At(new(6, 6)).Inches;
        Assert.Equal(new PointSigma(graph, evidence, null, 32).At(new(6, 6)).Inches, unknown, 1e-12);
    }

    [Fact]
    public void A_point_where_little_is_seen_is_less_sure()
    {
        EvidenceMap evidence = Cross(0.97);
        SeamGraph graph = GraphOf(evidence);
        double seen = new PointSigma(graph, evidence, null).At(new(6, 6)).Inches;
        foreach (GraphEdge e in graph.Edges)
        {
            e.Support = 0.3;
        }

        double dim = new PointSigma(graph, evidence, null).At(new(6, 6)).Inches;
        foreach (GraphEdge e in graph.Edges)
        {
            e.Measured = 0;
        }

        // Nothing measured: even over 1/8 in to either side, whose standard deviation is half the width by the root of three
        // (JCGM 100, 2008, 4.3.7).
        double none = new PointSigma(graph, evidence, null).At(new(6, 6)).Inches;
        Assert.True(seen < dim && dim < none);
        Assert.Equal(0.125 / Math.Sqrt(3), none, 1e-9);
    }

    [Fact]
    public void A_place_that_is_no_found_point_is_known_as_piecing_lets_expect_and_a_corner_is_exact()
    {
        EvidenceMap evidence = Cross(0.97);
        PointSigma sigma = new(GraphOf(evidence), evidence, null);
        Assert.Equal(0.125 / Math.Sqrt(3), sigma.At(new(3, 3)).Inches, 1e-9);
        Assert.Equal(0, sigma.At(new(Side, 0)).Inches);
    }

    private static double OffGrid(double v) => v - 4 * Math.Round(v / 4);

    private static EvidenceMap Cross(double strength) =>
        DrawnEvidence.Of(
            Side,
            Side,
            [(new(new(6, 0), new(6, Side)), strength), (new(new(0, 6), new(Side, 6)), strength)]
        );

    private static SeamGraph GraphOf(EvidenceMap evidence) =>
        SeamFinder.BuildGraph(evidence, SeamGraphTests.WishesFor(Side, Side), CancellationToken.None);

    // A seam in steps of a pixel.
    private static IEnumerable<(Edge<ClothSpace> Line, double Strength)> Wander(
        Random random,
        double rho,
        double sigma,
        Func<double, double, Point<ClothSpace>> place
    )
    {
        const int Steps = (int)(Side * DrawnEvidence.PixelsPerInch);
        double off = sigma * Normal(random);
        Point<ClothSpace> from = place(0, off);
        for (int i = 1; i <= Steps; i++)
        {
            off = rho * off + sigma * Math.Sqrt(1 - rho * rho) * Normal(random);
            Point<ClothSpace> to = place(i / DrawnEvidence.PixelsPerInch, off);
            yield return (new(from, to), 0.97);
            from = to;
        }
    }

    // Box and Muller, 1958.
    private static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
