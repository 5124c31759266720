using CsCheck;
using OverlayPlanner.Geometry;
using BigInteger = System.Numerics.BigInteger;

namespace OverlayPlanner.Tests.Geometry;

public class ExactTests
{
    private static readonly EdgeRelation[] Meeting = [EdgeRelation.ShareEnd, EdgeRelation.Touch, EdgeRelation.Cross];

    // Bulges whose circles have whole-number points, so that coincidences on circles are exact (tan of a quarter of the angle).
    private static readonly double[] Bulges = [0, 0, 0.25, -0.25, 0.5, -0.5, 0.75, 1, -1, 2, -2, 4, -8];

    private static readonly Gen<Edge<ClothSpace>> GridEdge = Gen.Select(
            Draws.GridPoint,
            Draws.GridPoint,
            Gen.Int[0, Bulges.Length - 1],
            (a, b, k) => new Edge<ClothSpace>(a, b, Bulges[k])
        )
        .Where(e => e.From != e.To);

    [Theory]
    [InlineData(0, 0, 1, 0, 2, 1, Turn.Right)] // y is down: from right to down is clockwise as seen
    [InlineData(0, 0, 1, 0, 2, -1, Turn.Left)]
    [InlineData(0, 0, 1, 1, 3, 3, Turn.Straight)]
    [InlineData(0, 0, 0, 0, 3, 3, Turn.Straight)]
    public void Orientation_is_as_seen_on_the_page(
        double ax,
        double ay,
        double bx,
        double by,
        double cx,
        double cy,
        Turn turn
    ) =>
        Assert.Equal(
            turn,
            Exact.Orientation(
                new Point<ClothSpace>(ax, ay),
                new Point<ClothSpace>(bx, by),
                new Point<ClothSpace>(cx, cy)
            )
        );

    [Fact]
    public void Orientation_is_right_where_floating_point_fails()
    {
        // The grid of L. Kettner, K. Mehlhorn, S. Pion, S. Schirra, C. Yap, "Classroom examples of robustness problems in
        // geometric computations" (2008), figure 2: p = (0.5 + i u, 0.5 + j u), u = 2⁻⁵³, against (12, 12) and (24, 24).
        double u = Math.Pow(2, -53);
        Point<ClothSpace> q = new(12, 12);
        Point<ClothSpace> r = new(24, 24);
        int naiveWrong = 0;
        for (int i = 0; i < 64; i++)
        {
            for (int j = 0; j < 64; j++)
            {
                Point<ClothSpace> p = new(0.5 + (i * u), 0.5 + (j * u));

                // The determinant is 12 (p.Y − p.X): from a point above the line x = y as seen, p → q → r turns left.
                Turn expected =
                    p.X > p.Y ? Turn.Left
                    : p.X < p.Y ? Turn.Right
                    : Turn.Straight;
                Assert.Equal(expected, Exact.Orientation(p, q, r));
                Assert.Equal(expected, Exact.Orientation(q, r, p));
                Assert.Equal(Opposite(expected), Exact.Orientation(q, p, r));
                double naive = ((q.X - p.X) * (r.Y - p.Y)) - ((q.Y - p.Y) * (r.X - p.X));
                naiveWrong += Math.Sign(naive) != Math.Sign(p.Y - p.X) ? 1 : 0;
            }
        }

        // The case is worth nothing unless plain arithmetic fails on it.
        Assert.True(naiveWrong > 100, $"plain arithmetic was wrong {naiveWrong.ToString(Invariant)} times");
    }

    [Fact]
    public void Orientation_agrees_with_whole_number_arithmetic_near_a_line() =>
        // Points along a slanting line with the last bits disturbed, as in J. R. Shewchuk (1997), section 4.3; coordinates are
        // whole multiples of 2⁻⁶⁰, so the determinant is a whole number.
        Property.ForAll(
            Gen.Select(Gen.Double[0, 1], Gen.Double[0, 1], Gen.Int[-3, 3], Gen.Int[-3, 3], Gen.Double[0.1, 3]),
            x =>
            {
                (double s, double t, int dx, int dy, double slope) = x;
                Point<ClothSpace> a = new(0.5, 0.25);
                Point<ClothSpace> b = At(s, 0, 0);
                Point<ClothSpace> c = At(t, dx, dy);
                int sign = (
                    (Whole(b.X) - Whole(a.X)) * (Whole(c.Y) - Whole(a.Y))
                    - (Whole(b.Y) - Whole(a.Y)) * (Whole(c.X) - Whole(a.X))
                ).Sign;
                Turn expected =
                    sign > 0 ? Turn.Right
                    : sign < 0 ? Turn.Left
                    : Turn.Straight;
                Assert.Equal(expected, Exact.Orientation(a, b, c));
                Assert.Equal(sign == 0 && Between(a, b, c), Exact.IsOn(c, new Edge<ClothSpace>(a, b)));

                Point<ClothSpace> At(double v, int ulpsX, int ulpsY) =>
                    new(
                        Cut(0.5 + v) + (ulpsX * Math.Pow(2, -50)),
                        Cut(0.25 + (v * slope)) + (ulpsY * Math.Pow(2, -50))
                    );
            },
            5000
        );

    [Theory]
    // Straight lines.
    [InlineData(0, 0, 4, 0, 0, 2, -2, 2, 2, 0, EdgeRelation.Cross)]
    [InlineData(0, 0, 4, 0, 0, 2, 0, 2, 2, 0, EdgeRelation.Touch)]
    [InlineData(0, 0, 4, 0, 0, 4, 0, 6, 2, 0, EdgeRelation.ShareEnd)]
    [InlineData(0, 0, 4, 0, 0, 4, 0, 6, 0, 0, EdgeRelation.ShareEnd)]
    [InlineData(0, 0, 4, 0, 0, 3, 0, 6, 0, 0, EdgeRelation.Overlap)]
    [InlineData(0, 0, 4, 0, 0, 4, 0, 0, 0, 0, EdgeRelation.Overlap)]
    [InlineData(0, 0, 4, 0, 0, 5, 0, 6, 0, 0, EdgeRelation.Apart)]
    [InlineData(0, 0, 4, 0, 0, 0, 1, 4, 1, 0, EdgeRelation.Apart)]
    [InlineData(0, 0, 4, 0, 0, 2, 1, 2, 3, 0, EdgeRelation.Apart)]
    // A half circle over (0, 0) to (4, 0): centre (2, 0), radius 2, upwards as seen, through (2, −2).
    [InlineData(0, 0, 4, 0, 1, 2, -3, 2, 1, 0, EdgeRelation.Cross)]
    [InlineData(0, 0, 4, 0, 1, 2, -1, 2, 1, 0, EdgeRelation.Apart)] // inside the circle, through its chord
    [InlineData(0, 0, 4, 0, 1, 2, -2, 2, -5, 0, EdgeRelation.Touch)]
    [InlineData(0, 0, 4, 0, 1, 0, -2, 4, -2, 0, EdgeRelation.Cross)] // tangent at the top: they kiss inside both
    [InlineData(0, 0, 4, 0, 1, 2, -2, 4, -2, 0, EdgeRelation.Touch)] // the tangent begins at the top
    [InlineData(0, 0, 4, 0, 1, 0, 0, 0, 3, 0, EdgeRelation.ShareEnd)] // leads on from the end, tangent
    [InlineData(0, 0, 4, 0, 1, 0, 0, 0, -3, 0, EdgeRelation.ShareEnd)] // leads back along the tangent
    [InlineData(0, 0, 4, 0, 1, 0, 0, 4, 0, 0, EdgeRelation.ShareEnd)] // its own chord
    [InlineData(0, 0, 4, 0, 1, -2, 0, 6, 0, 0, EdgeRelation.Touch)] // through both its ends
    [InlineData(0, 0, 4, 0, 1, 0, -2.0000000000000004, 4, -2.0000000000000004, 0, EdgeRelation.Apart)] // one ulp above
    [InlineData(0, 0, 4, 0, 1, 0, -1.9999999999999998, 4, -1.9999999999999998, 0, EdgeRelation.Cross)] // one ulp below
    // Two arcs.
    [InlineData(0, 0, 4, 0, 1, 0, 0, 4, 0, -1, EdgeRelation.ShareEnd)] // the two halves of a circle
    [InlineData(0, 0, 4, 0, 1, 4, 0, 0, 0, 1, EdgeRelation.ShareEnd)] // the same, the other way round
    [InlineData(0, 0, 4, 0, 1, 4, 0, 0, 0, -1, EdgeRelation.Overlap)] // itself, backwards
    [InlineData(0, 0, 4, 0, 1, 0, 0, 4, 0, 0.5, EdgeRelation.ShareEnd)] // two arcs over one chord
    [InlineData(0, 0, 4, 0, 1, 1, 0, 3, 0, 1, EdgeRelation.Apart)] // concentric
    [InlineData(0, 0, 4, 0, 1, 2, -2, 2, 2, 1, EdgeRelation.Overlap)] // halves of one circle, a quarter in common
    [InlineData(0, 0, 4, 0, 1, 4, 0, 8, 0, 1, EdgeRelation.ShareEnd)] // neighbouring scallops: tangents upright
    [InlineData(0, 0, 4, 0, 1, 4, 0, 8, 0, -1, EdgeRelation.ShareEnd)] // a serpentine
    [InlineData(0, 0, 4, 0, 1, 2, 0, 6, 0, 1, EdgeRelation.Cross)] // meet at (3, −√3)
    [InlineData(0, 0, 4, 0, 1, 0, -4, 4, -4, -1, EdgeRelation.Cross)] // kiss at (2, −2)
    [InlineData(0, 0, 4, 0, 1, 2, -2, 6, -2, 1, EdgeRelation.Touch)] // an end at (2, −2)
    [InlineData(0, 0, 4, 0, 1, 1, 0, 5, 0, -1, EdgeRelation.Apart)] // one above, one below: circles cross, arcs do not
    // More than half a circle: bulge 2, angle 4 atan 2 = 253.7°, radius 4 (1 + 4) / 8 = 2.5, centre (2, −1.5).
    [InlineData(0, 0, 4, 0, 2, -1, -1.5, 1, -1.5, 0, EdgeRelation.Cross)] // at (−0.5, −1.5), beyond the chord's ends
    [InlineData(0, 0, 4, 0, 2, 2, 2, 2, -1, 0, EdgeRelation.Apart)] // through the gap at the bottom
    [InlineData(0, 0, 4, 0, 2, -0.5, -5, -0.5, 0, 0, EdgeRelation.Cross)] // kisses the left side
    [InlineData(0, 0, 4, 0, 2, 0, 0, 4, 0, -0.5, EdgeRelation.ShareEnd)] // the rest of its circle
    [InlineData(0, 0, 4, 0, 2, 0, 0, 4, 0, 0.5, EdgeRelation.ShareEnd)] // the same chord, flatter
    [InlineData(0, 0, 4, 0, 2, 4, 0, 0, 0, -2, EdgeRelation.Overlap)]
    // Edges of no length are points.
    [InlineData(0, 0, 4, 0, 0, 2, 0, 2, 0, 0, EdgeRelation.Touch)]
    [InlineData(0, 0, 4, 0, 0, 2, 1, 2, 1, 0, EdgeRelation.Apart)]
    [InlineData(0, 0, 4, 0, 1, 2, -2, 2, -2, 0, EdgeRelation.Touch)]
    [InlineData(0, 0, 4, 0, 1, 4, 0, 4, 0, 1, EdgeRelation.ShareEnd)]
    public void Two_edges_lie_to_each_other_as_drawn(
        double ax,
        double ay,
        double bx,
        double by,
        double bulge,
        double cx,
        double cy,
        double dx,
        double dy,
        double otherBulge,
        EdgeRelation relation
    )
    {
        Edge<ClothSpace> a = new(new(ax, ay), new(bx, by), bulge);
        Edge<ClothSpace> b = new(new(cx, cy), new(dx, dy), otherBulge);
        AssertRelation(relation, a, b);
    }

    [Fact]
    public void Relations_agree_with_a_computation_to_180_digits() =>
        Property.ForAll(
            Gen.Select(GridEdge, GridEdge),
            x => AssertRelation(Reference.Relate(x.Item1, x.Item2), x.Item1, x.Item2),
            4000
        );

    [Fact]
    public void Edges_whose_ends_miss_each_other_by_one_unit_in_the_last_place_are_told_apart() =>
        Property.ForAll(
            Gen.Select(
                Draws.Point,
                Draws.Point,
                Gen.Double[0.1, 0.9],
                Draws.Point,
                Gen.Int[0, Bulges.Length - 1],
                Gen.Int[0, Bulges.Length - 1]
            ),
            x =>
            {
                (Point<ClothSpace> a, Point<ClothSpace> b, Point<ClothSpace> far) = (
                    Cut(x.Item1),
                    Cut(x.Item2),
                    Cut(x.Item4)
                );
                if (a == b || far == a || far == b)
                {
                    return;
                }

                Edge<ClothSpace> edge = new(a, b, Bulges[x.Item5]);
                Point<ClothSpace> near = edge.PointAt(x.Item3);
                if (near != far && near != a && near != b)
                {
                    Edge<ClothSpace> other = new(near, far, Bulges[x.Item6]);
                    AssertRelation(Reference.Relate(edge, other), edge, other);
                }
            },
            3000
        );

    [Fact]
    public void A_point_is_on_an_edge_only_where_it_is_exactly_so()
    {
        // Radius 25 about (0, 0): bulge 1/2 is the angle 4 atan 1/2, whose cosine is −7/25 and sine 24/25. As seen, a walk that
        // bows to the left goes clockwise, from (25, 0) down to (−7, 24).
        Edge<ClothSpace> arc = new(new(25, 0), new(-7, 24), 0.5);

        Assert.True(Exact.IsOn(new(7, 24), arc));
        Assert.True(Exact.IsOn(new(20, 15), arc));
        Assert.True(Exact.IsOn(new(0, 25), arc));
        Assert.True(Exact.IsOn(arc.To, arc));
        Assert.False(Exact.IsOn(new(0, Math.BitIncrement(25.0)), arc));
        Assert.False(Exact.IsOn(new(0, -25), arc)); // on the circle, on its other part
        Assert.False(Exact.IsOn(new(-15, 20), arc)); // on the circle, past the end
        Edge<ClothSpace> rest = new(arc.From, arc.To, -2); // the other part: tan of a quarter of 360° − 4 atan 1/2
        Assert.True(Exact.IsOn(new(0, -25), rest));
        Assert.True(Exact.IsOn(new(-15, 20), rest));
        Assert.False(Exact.IsOn(new(7, 24), rest));
    }

    [Fact]
    public void Departures_run_anticlockwise_as_seen_from_straight_right()
    {
        // Right, up right, up, up left, left, down left, down, down right; with y down, up is negative.
        (double X, double Y)[] round = [(1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1), (0, 1), (1, 1)];
        for (int i = 0; i < round.Length; i++)
        {
            for (int j = 0; j < round.Length; j++)
            {
                Assert.Equal(i.CompareTo(j), Math.Sign(Exact.CompareDepartures(Leave(round[i]), Leave(round[j]))));
            }
        }

        static Edge<ClothSpace> Leave((double X, double Y) to) => new(new(0, 0), new(to.X, to.Y));
    }

    [Fact]
    public void Of_two_edges_that_leave_alike_the_one_that_bends_more_to_the_left_comes_later()
    {
        // All leave the origin straight to the right. A half circle from (0, 0) to (0, −2r) through (r, −r) bends to the left,
        // and bows to the right of its chord.
        Edge<ClothSpace>[] fromRightToLeft =
        [
            new(new(0, 0), new(0, 2), 1),
            new(new(0, 0), new(0, 8), 1),
            new(new(0, 0), new(5, 0)),
            new(new(0, 0), new(0, -8), -1),
            new(new(0, 0), new(0, -2), -1),
        ];
        for (int i = 0; i < fromRightToLeft.Length; i++)
        {
            for (int j = 0; j < fromRightToLeft.Length; j++)
            {
                int order = Exact.CompareDepartures(fromRightToLeft[i], fromRightToLeft[j]);
                Assert.Equal(i.CompareTo(j), Math.Sign(order));
            }
        }
    }

    [Fact]
    public void Departures_agree_with_a_computation_to_180_digits() =>
        Property.ForAll(
            Gen.Select(GridEdge, GridEdge),
            x =>
            {
                Edge<ClothSpace> a = x.Item1;
                Vector<ClothSpace> shift = a.From - x.Item2.From;
                Edge<ClothSpace> b = new(a.From, x.Item2.To + shift, x.Item2.Bulge);
                Assert.Equal(Reference.CompareDepartures(a, b), Math.Sign(Exact.CompareDepartures(a, b)));
            },
            4000
        );

    private static IFormatProvider Invariant => System.Globalization.CultureInfo.InvariantCulture;

    private static void AssertRelation(EdgeRelation relation, Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        Assert.Equal(relation, Exact.Relate(a, b));
        Assert.Equal(relation, Exact.Relate(b, a));
        Assert.Equal(relation, Exact.Relate(a.Reversed, b));
        Assert.Equal(relation, Exact.Relate(a, b.Reversed));
        Assert.Equal(relation, Exact.Relate(b.Reversed, a.Reversed));
        bool meet = Meeting.Contains(relation) || relation == EdgeRelation.Overlap;
        bool endOn =
            new[] { a.From, a.To }.Any(p => Exact.IsOn(p, b)) || new[] { b.From, b.To }.Any(p => Exact.IsOn(p, a));
        Assert.True(meet || !endOn);
        Assert.True(endOn || relation is not (EdgeRelation.Touch or EdgeRelation.ShareEnd));
    }

    private static Turn Opposite(Turn turn) =>
        turn switch
        {
            Turn.Left => Turn.Right,
            Turn.Right => Turn.Left,
            _ => Turn.Straight,
        };

    // To a whole multiple of 2⁻⁵⁰.
    private static double Cut(double v) => Math.Round(v * Math.Pow(2, 50)) / Math.Pow(2, 50);

    private static Point<ClothSpace> Cut(Point<ClothSpace> p) => new(Cut(p.X), Cut(p.Y));

    private static BigInteger Whole(double v) => new(v * Math.Pow(2, 60));

    private static bool Between(Point<ClothSpace> a, Point<ClothSpace> b, Point<ClothSpace> c) =>
        Math.Min(a.X, b.X) <= c.X
        && c.X <= Math.Max(a.X, b.X)
        && Math.Min(a.Y, b.Y) <= c.Y
        && c.Y <= Math.Max(a.Y, b.Y);
}
