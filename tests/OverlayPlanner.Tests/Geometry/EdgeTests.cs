using CsCheck;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

public class EdgeTests
{
    private static readonly Gen<double> Fraction = Gen.Double[0, 1];
    private static readonly double[] Tolerances = [1e-4, 1e-3, 0.01, 0.25];

    [Fact]
    public void A_positive_bulge_bows_to_the_left_of_travel_as_seen_on_the_page()
    {
        // The contract's rule by its example: y is down, so left of a walk to the right is up, at smaller y.
        Edge<ClothSpace> half = new(new(0, 0), new(1, 0), 1);

        Assert.Equal(0.5, half.PointAt(0.5).X, 1e-15);
        Assert.Equal(-0.5, half.PointAt(0.5).Y, 1e-15);
        Assert.Equal(0.5, half.Sagitta, 1e-15);
        Assert.Equal(0.5, half.Radius, 1e-15);
        Assert.Equal(Math.PI / 2, half.Length, 1e-15);
        Assert.Equal(Math.PI, half.Sweep, 1e-15);
        Assert.Equal((0, 1, 0), (half.Bounds().Left, half.Bounds().Right, half.Bounds().Bottom));
        Assert.Equal(-0.5, half.Bounds().Top, 1e-15);
        Assert.Equal("(0, 0) to (1, 0), bulge 1", half.ToString());
        AssertNear(new(0, -1), half.StartDirection, 1e-15);
        AssertNear(new(0, 1), half.EndDirection, 1e-15);
    }

    [Fact]
    public void An_arc_of_three_quarters_of_a_circle_has_its_centre_on_the_bulging_side()
    {
        // Unit circle about (0, 0) from (1, 0) over (0, 1), (−1, 0) to (0, −1): clockwise as seen, 270°, so the bulge is
        // tan 67.5° = 1 + √2.
        Edge<ClothSpace> e = new(new(1, 0), new(0, -1), 1 + Math.Sqrt(2));

        AssertNear(new(0, 0), e.Center, 1e-14);
        Assert.Equal(1, e.Radius, 1e-14);
        Assert.Equal(1.5 * Math.PI, e.Length, 1e-14);
        AssertNear(new(0, 1), e.PointAt(1 / 3.0), 1e-14);
        AssertNear(new(-1, 0), e.PointAt(2 / 3.0), 1e-14);
        Box<ClothSpace> box = e.Bounds();
        Assert.Equal([-1, -1, 1, 1], [Round(box.Left), Round(box.Top), Round(box.Right), Round(box.Bottom)]);

        static double Round(double v) => Math.Round(v, 12);
    }

    // Handbook 3.4, rounded there to the places given: chord, rise, radius, length along the arc.
    public static TheoryData<double, double, double, double, double> HandbookArcs() =>
        new()
        {
            { 2.25, 0.375, 1.875, 2.413, 5e-4 }, // published worked case: R 1 7/8; (2.25²/4 + 0.375²) / 0.75 = 1.875
            { 4, (Math.Sqrt(2) - 1) * 2, 2.828, 4.443, 5e-4 }, // orange peel, c = 4: rise c (√2 − 1) / 2 = 0.2071 c
            { 4 * Math.Sqrt(2), (1 - Math.Sqrt(0.5)) * 4, 4, 1.5708 * 4, 5e-4 }, // quarter circle over a square of side 4
            { 4, 0.5, 4.25, 4.165, 5e-4 }, // rise = c / 8
            { 6, 0.75, 6.375, 6.247, 5e-4 },
            { 12, 1.5, 12.75, 12.494, 5e-4 },
        };

    [Theory]
    [MemberData(nameof(HandbookArcs))]
    public void Radius_and_length_agree_with_the_handbook(
        double chord,
        double rise,
        double radius,
        double length,
        double tolerance
    )
    {
        Edge<ClothSpace> e = new(new(1, 2), new(1 + chord, 2), 2 * rise / chord);

        Assert.Equal(rise, e.Sagitta, 1e-12);
        Assert.Equal(radius, e.Radius, tolerance);
        Assert.Equal(length, e.Length, tolerance);
    }

    [Fact]
    public void Length_is_smooth_where_the_series_takes_over()
    {
        // atan(b)(1 + b²)/b = 1 + 2b²/3 − 2b⁴/15 …: at 1e-4 the third term is 1.3e-17.
        foreach (double b in new[] { 0.99e-4, 1.01e-4 })
        {
            Assert.Equal(1 + (2 * b * b / 3), new Edge<ClothSpace>(new(0, 0), new(1, 0), b).Length, 4e-16);
        }
    }

    [Fact]
    public void Every_point_of_an_arc_is_one_radius_from_its_centre_and_the_lengths_of_pieces_add_up() =>
        Property.ForAll(
            Gen.Select(Draws.Arc, Fraction),
            x =>
            {
                (Edge<ClothSpace> e, double t) = x;
                if (Math.Abs(e.Bulge) > 1e-6)
                {
                    // A flat arc's centre is far off: its own rounding, 1e-16 of the radius, is all that may show.
                    Assert.Equal(e.Radius, e.PointAt(t).DistanceTo(e.Center), 1e-12 * (1000 + e.Radius));
                }

                double sum = e.Piece(0, t).Length + e.Piece(t, 1).Length;
                Assert.Equal(e.Length, sum, 1e-10 * (1 + e.Length));
            }
        );

    [Fact]
    public void A_piece_runs_over_the_same_points_as_the_whole() =>
        Property.ForAll(
            Gen.Select(Draws.Edge, Fraction, Fraction, Fraction),
            x =>
            {
                (Edge<ClothSpace> e, double a, double b, double s) = x;
                (a, b) = (Math.Min(a, b), Math.Max(a, b));
                AssertNear(e.PointAt(a + ((b - a) * s)), e.Piece(a, b).PointAt(s), 1e-9 * (1 + e.Length));
            }
        );

    [Fact]
    public void The_nearest_point_of_a_point_of_the_edge_is_that_point() =>
        Property.ForAll(
            Gen.Select(Draws.Edge, Fraction),
            x =>
            {
                (Edge<ClothSpace> e, double t) = x;
                (double found, double distance) = e.Nearest(e.PointAt(t));
                Assert.Equal(0, distance, 1e-11 * (1 + e.Length));
                Assert.Equal(t, found, 1e-9);
            }
        );

    [Fact]
    public void No_sampled_point_lies_nearer_than_the_nearest() =>
        Property.ForAll(
            Gen.Select(Draws.Edge, Draws.Point),
            x =>
            {
                (Edge<ClothSpace> e, Point<ClothSpace> p) = x;
                (double t, double distance) = e.Nearest(p);
                Assert.InRange(t, 0, 1);
                Assert.Equal(distance, e.PointAt(t).DistanceTo(p), 1e-12);
                for (int i = 0; i <= 100; i++)
                {
                    Assert.True(e.PointAt(i / 100.0).DistanceTo(p) >= distance - (1e-9 * (1 + e.Length)));
                }
            }
        );

    [Fact]
    public void The_box_is_the_smallest_that_holds_the_edge() =>
        Property.ForAll(
            Draws.Edge,
            e =>
            {
                Box<ClothSpace> box = e.Bounds();
                const int n = 2000;
                Box<ClothSpace> seen = Box<ClothSpace>.Around(
                    Enumerable.Range(0, n + 1).Select(i => e.PointAt((double)i / n))
                );
                double rounding = 1e-9 * (1 + e.Length);
                Assert.True(box.Grown(rounding).Holds(new(seen.Left, seen.Top)));
                Assert.True(box.Grown(rounding).Holds(new(seen.Right, seen.Bottom)));

                // Between two samples an arc rises at most r (1 − cos(sweep / 2n)) above them.
                double missed = e.IsLine ? 0 : 2 * e.Radius * Math.Pow(Math.Sin(e.Sweep / n / 4), 2);
                Assert.True(seen.Grown(missed + rounding).Holds(new(box.Left, box.Top)));
                Assert.True(seen.Grown(missed + rounding).Holds(new(box.Right, box.Bottom)));
            },
            300
        );

    [Fact]
    public void Flattening_stays_within_its_tolerance() =>
        Property.ForAll(
            Gen.Select(Draws.Edge, Gen.Int[0, 3].Select(i => Tolerances[i])),
            x =>
            {
                (Edge<ClothSpace> e, double tolerance) = x;
                IReadOnlyList<Point<ClothSpace>> points = e.Flatten(tolerance);
                Assert.Equal(e.From, points[0]);
                Assert.Equal(e.To, points[^1]);

                // The middle of each piece of the arc is where it stands farthest from its chord.
                int n = points.Count - 1;
                foreach (int i in new[] { 0, n / 3, n - 1 })
                {
                    Edge<ClothSpace> chord = new(points[i], points[i + 1]);
                    double off = chord.Nearest(e.PointAt((i + 0.5) / n)).Distance;
                    Assert.InRange(off, 0, tolerance * (1 + 1e-6));
                }
            }
        );

    [Fact]
    public void A_tolerance_far_below_a_large_radius_is_still_kept()
    {
        // Radius 4e5, tolerance 1e-9: cos(step / 2) rounds to 1 there, so a formula through its arc cosine would fail.
        Edge<ClothSpace> e = new(new(0, 0), new(8, 0), 1e-5);
        IReadOnlyList<Point<ClothSpace>> points = e.Flatten(1e-9);

        double off = new Edge<ClothSpace>(points[0], points[1]).Nearest(e.PointAt(0.5 / (points.Count - 1))).Distance;
        Assert.InRange(off, 1e-11, 1e-9);
    }

    [Fact]
    public void Direction_is_the_derivative_of_the_point_and_agrees_at_the_ends() =>
        Property.ForAll(
            Gen.Select(Draws.Edge, Gen.Double[0.01, 0.99]),
            x =>
            {
                (Edge<ClothSpace> e, double t) = x;
                const double h = 1e-5;
                Vector<ClothSpace> secant = (e.PointAt(t + h) - e.PointAt(t - h)).Unit;
                AssertNear(secant, e.DirectionAt(t), 1e-4);
                AssertNear(e.StartDirection, e.DirectionAt(0), 1e-12);
                AssertNear(e.EndDirection, e.DirectionAt(1), 1e-12);
            }
        );

    [Fact]
    public void The_reverse_runs_over_the_same_points_backwards() =>
        Property.ForAll(
            Gen.Select(Draws.Edge, Fraction),
            x =>
            {
                (Edge<ClothSpace> e, double t) = x;
                AssertNear(e.PointAt(t), e.Reversed.PointAt(1 - t), 1e-10 * (1 + e.Length));
                Assert.Equal(e.Length, e.Reversed.Length);
                Assert.Equal(e, e.Reversed.Reversed);
                AssertNear(-e.EndDirection, e.Reversed.StartDirection, 1e-12);
            }
        );

    [Fact]
    public void Meetings_lie_on_both_edges_and_there_are_some_where_the_edges_cross()
    {
        int crossing = 0;
        Property.ForAll(
            Gen.Select(Draws.Edge, Draws.Edge),
            x =>
            {
                (Edge<ClothSpace> a, Edge<ClothSpace> b) = x;
                double tolerance = 1e-7 * (1 + a.Length + b.Length);
                IReadOnlyList<Point<ClothSpace>> meetings = a.FindMeetings(b, tolerance);
                Assert.InRange(meetings.Count, 0, 2);
                foreach (Point<ClothSpace> p in meetings)
                {
                    Assert.InRange(a.Nearest(p).Distance, 0, tolerance);
                    Assert.InRange(b.Nearest(p).Distance, 0, tolerance);
                }

                EdgeRelation relation = Exact.Relate(a, b);
                crossing += relation == EdgeRelation.Cross ? 1 : 0;

                // The other way round need not hold: edges may pass each other by less than the tolerance.
                Assert.True(relation != EdgeRelation.Cross || meetings.Count > 0);
            },
            2000
        );
        Assert.True(crossing > 200); // the property is worth nothing unless many of the pairs cross
    }

    private static void AssertNear(Point<ClothSpace> expected, Point<ClothSpace> actual, double tolerance) =>
        Assert.True(expected.DistanceTo(actual) <= tolerance, $"expected {expected}, found {actual}");

    private static void AssertNear(Vector<ClothSpace> expected, Vector<ClothSpace> actual, double tolerance) =>
        Assert.True((expected - actual).Norm <= tolerance, $"expected {expected}, found {actual}");
}
