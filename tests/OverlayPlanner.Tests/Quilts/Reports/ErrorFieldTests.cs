using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Tests.Quilts.Reports;

public class ErrorFieldTests
{
    // A plane known but for a shift of τ each axis and a turn of ω round its middle: a point r away is off by √(τ² + ω² r² ÷ 2)
    // along one axis, half the trace of its covariance.
    private const double Shift = 0.006;
    private const double Turn = 0.004;
    private static readonly Point<ClothSpace> Middle = new(12, 9);

    [Fact]
    public void At_a_point_the_field_is_what_the_map_states_there()
    {
        QuiltMap map = Map(j => Math.Sqrt(Square(PlaneSigma(j.Place)) + Square(0.005 + 0.001 * (j.Id.Length % 3))));
        ErrorField field = new(map, p => Length.FromInches(PlaneSigma(p)));

        Assert.All(
            map.Junctions,
            j =>
            {
                Assert.Equal(j.At.Sigma.Inches, field.SigmaAt(j.Place).Inches, 1e-12);

                // The factor is the one that "95 % of the points are within" uses.
                Assert.Equal(CardsPlane.ErrorWithin([j.At.Sigma]).Inches, field.Within95At(j.Place).Inches, 1e-6);
            }
        );
    }

    [Fact]
    public void Between_points_that_are_seen_alike_the_field_is_the_plane_s_covariance_and_that()
    {
        const double Own = 0.007;
        QuiltMap map = Map(j => Math.Sqrt(Square(PlaneSigma(j.Place)) + Square(Own)));
        ErrorField field = new(map, p => Length.FromInches(PlaneSigma(p)));

        foreach (Point<ClothSpace> p in new Point<ClothSpace>[] { new(0.3, 0.7), new(11, 17.2), new(23.9, 4) })
        {
            Assert.Equal(Math.Sqrt(Square(PlaneSigma(p)) + Square(Own)), field.SigmaAt(p).Inches, 1e-12);
        }
    }

    [Fact]
    public void The_contours_of_a_known_covariance_lie_where_its_formula_says()
    {
        const double Own = 0.007;
        QuiltMap map = Map(j => Math.Sqrt(Square(PlaneSigma(j.Place)) + Square(Own)));
        ErrorField field = new(map, p => Length.FromInches(PlaneSigma(p)));
        ScalarGrid<ClothSpace> within95 = ScalarGrid<ClothSpace>.Sample(
            new(0, 0, 24, 18),
            0.1,
            p => field.Within95At(p).Inches
        );

        // 1/16 in = 2.4477 √(τ² + own² + ω² r² ÷ 2), so r = √(2 ((1/16 ÷ 2.4477)² − τ² − own²)) ÷ ω = 8.4 in: inside the area.
        double sigma = 1.0 / 16 / ErrorField.SigmasWithin95;
        double radius = Math.Sqrt(2 * (Square(sigma) - Square(Shift) - Square(Own))) / Turn;
        ContourLine<ClothSpace> circle = Assert.Single(ContourLine.Trace(within95, 1.0 / 16));

        Assert.True(circle.IsClosed);
        Assert.InRange(radius, 8.3, 8.5);
        Assert.All(circle.Points, p => Assert.Equal(radius, p.DistanceTo(Middle), 1e-3));
    }

    [Fact]
    public void Between_its_points_the_field_is_never_beyond_theirs()
    {
        QuiltMap map = Map(j => 0.004 + 0.03 * (Math.Abs((int)(7 * j.Place.X + 5 * j.Place.Y)) % 5) / 4);
        ErrorField field = new(map, _ => Length.Zero);
        double least = map.Junctions.Min(j => j.At.Sigma.Inches);
        double most = map.Junctions.Max(j => j.At.Sigma.Inches);
        Random random = new(20260117);

        for (int i = 0; i < 500; i++)
        {
            Point<ClothSpace> p = new(24 * random.NextDouble(), 18 * random.NextDouble());
            double sigma = field.SigmaAt(p).Inches;
            Assert.InRange(sigma, least - 1e-12, most + 1e-12);

            // No jumps: a thousandth of an inch on is nearly the same.
            Assert.Equal(sigma, field.SigmaAt(new(p.X + 1e-3, p.Y)).Inches, 2e-4);
        }
    }

    [Fact]
    public void Where_no_photograph_shows_the_cloth_there_is_no_number()
    {
        QuiltMap map = Map(j => 0.01);
        ErrorField field = new(map, p => Length.FromInches(p.X > 20 ? double.PositiveInfinity : 0.008));

        Assert.False(double.IsFinite(field.Within95At(new(22, 5)).Inches));
        Assert.Equal(0.01, field.SigmaAt(new(6, 6)).Inches, 1e-12);
    }

    private static double PlaneSigma(Point<ClothSpace> p)
    {
        double r = p.DistanceTo(Middle);
        return Math.Sqrt(Square(Shift) + Square(Turn * r) / 2);
    }

    private static double Square(double v) => v * v;

    private static QuiltMap Map(Func<Junction, double> sigma)
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(6), 4, 3, Length.Zero);
        return map.With(
            junctions: [.. map.Junctions.Select(j => j with { At = new(j.Place, Length.FromInches(sigma(j))) })]
        );
    }
}
