namespace OverlayPlanner.Geometry;

/// <summary>Which way three points turn, as seen on the page (y down).</summary>
public enum Turn
{
    /// <summary>The points lie on one line.</summary>
    Straight,

    /// <summary>Anticlockwise as seen.</summary>
    Left,

    /// <summary>Clockwise as seen.</summary>
    Right,
}

/// <summary>How two edges lie to each other.</summary>
public enum EdgeRelation
{
    /// <summary>No point in common.</summary>
    Apart,

    /// <summary>They share an end, or both ends, and nothing else.</summary>
    ShareEnd,

    /// <summary>An end of one lies inside the other, and they do not pass through each other.</summary>
    Touch,

    /// <summary>They meet inside both (a proper crossing, or two arcs that only kiss there).</summary>
    Cross,

    /// <summary>They run along each other for more than a point.</summary>
    Overlap,
}

/// <summary>
/// Decisions that must not be wrong: a floating-point filter first, then exact rational arithmetic. Coordinates and bulges are
/// taken as the exact numbers that the doubles hold.
/// </summary>
/// <remarks>
/// The orientation filter is the static bound of J. R. Shewchuk, "Adaptive precision floating-point arithmetic and fast robust
/// geometric predicates" (1997), section 4. Arcs are rational in their ends and bulge, so a crossing of two circles is decided
/// by signs of a + b√d with rational a, b, d.
/// </remarks>
public static class Exact
{
    private const double OrientationBound = 3.3306690738754716e-16; // (3 + 16ε)ε, ε = 2⁻⁵³

    /// <summary>Which way a → b → c turns. Exact.</summary>
    public static Turn Orientation<TSpace>(Point<TSpace> a, Point<TSpace> b, Point<TSpace> c)
        where TSpace : ISpace => ToTurn(OrientationSign(a, b, c));

    /// <summary>
    /// True where <paramref name="p"/> lies on the edge, ends included. Exact, which is rarely what a measured point wants:
    /// use <see cref="Edge{TSpace}.Nearest"/> with a tolerance for those.
    /// </summary>
    public static bool IsOn<TSpace>(Point<TSpace> p, Edge<TSpace> edge)
        where TSpace : ISpace
    {
        if (p == edge.From || p == edge.To)
        {
            return true;
        }

        if (edge.IsLine)
        {
            return edge.Bounds().Holds(p) && OrientationSign(edge.From, edge.To, p) == 0;
        }

        Box<TSpace> box = edge.Bounds();
        if (!box.Grown(RoundingIn(box)).Holds(p))
        {
            return false;
        }

        Circle c = Circle.Of(edge);
        return c.SideOf(p.X, p.Y) == 0 && c.IsBeyondChord(p.X, p.Y);
    }

    /// <summary>How two edges lie to each other. Exact.</summary>
    public static EdgeRelation Relate<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        Box<TSpace> boxA = a.Bounds();
        Box<TSpace> boxB = b.Bounds();

        // The boxes of lines are exact.
        double margin = a.IsLine && b.IsLine ? 0 : RoundingIn(boxA) + RoundingIn(boxB);
        if (!boxA.Grown(margin).Meets(boxB))
        {
            return EdgeRelation.Apart;
        }

        if (a.From == a.To || b.From == b.To)
        {
            return RelatePoint(a, b);
        }

        return a.IsLine && b.IsLine ? RelateLines(a, b) : RelateArcs(a, b);
    }

    /// <summary>
    /// Compares the directions in which two edges leave a common start, by angle, anticlockwise as seen on the page from
    /// straight right (+x); where the tangents agree, the one that bends more to the left is the greater. Exact.
    /// </summary>
    public static int CompareDepartures<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        // An edge of no length leaves in no direction: such come last, in no order among themselves.
        if (a.From == a.To || b.From == b.To)
        {
            return (a.From == a.To).CompareTo(b.From == b.To);
        }

        int half;
        if (a.IsLine && b.IsLine && a.From == b.From)
        {
            // The sign of a difference of doubles is exact.
            half = HalfOf(a.To.X - a.From.X, a.To.Y - a.From.Y).CompareTo(HalfOf(b.To.X - b.From.X, b.To.Y - b.From.Y));
            return half != 0 ? half : OrientationSign(a.From, a.To, b.To);
        }

        Vector<TSpace> da = a.StartDirection;
        Vector<TSpace> db = b.StartDirection;
        double cross = da.X * db.Y - da.Y * db.X;
        if (Math.Abs(da.Y) > 1e-12 && Math.Abs(db.Y) > 1e-12)
        {
            half = HalfOf(da.X, da.Y).CompareTo(HalfOf(db.X, db.Y));
            if (half != 0)
            {
                return half;
            }

            if (Math.Abs(cross) > 1e-12)
            {
                return Math.Sign(cross);
            }
        }

        (Rational ax, Rational ay) = ExactDeparture(a);
        (Rational bx, Rational by) = ExactDeparture(b);
        half = HalfOf(ax.Sign, ay.Sign).CompareTo(HalfOf(bx.Sign, by.Sign));
        if (half != 0)
        {
            return half;
        }

        int turn = (ax * by - ay * bx).Sign;
        if (turn != 0)
        {
            return turn;
        }

        // Signed curvature to the left: 4b / (chord (1 + b²)); compare squares with signs to stay rational.
        return SignedCurvatureSquared(a, out int sa).CompareWith(SignedCurvatureSquared(b, out int sb), sa, sb);

        // As seen: the upper half plane (y < 0, and +x itself) comes before the lower one.
        static int HalfOf(double x, double y) => y < 0 || (y == 0 && x > 0) ? 0 : 1;
    }

    private static int OrientationSign<TSpace>(Point<TSpace> a, Point<TSpace> b, Point<TSpace> c)
        where TSpace : ISpace
    {
        double left = (b.X - a.X) * (c.Y - a.Y);
        double right = (b.Y - a.Y) * (c.X - a.X);
        double det = left - right;
        if (Math.Abs(det) > OrientationBound * (Math.Abs(left) + Math.Abs(right)))
        {
            return Math.Sign(det);
        }

        if (left == 0 && right == 0 && (a == b || a == c || b == c))
        {
            return 0;
        }

        return (((Rational)b.X - a.X) * ((Rational)c.Y - a.Y) - ((Rational)b.Y - a.Y) * ((Rational)c.X - a.X)).Sign;
    }

    // y is down: a positive determinant turns clockwise as seen.
    private static Turn ToTurn(int sign) =>
        sign > 0 ? Turn.Right
        : sign < 0 ? Turn.Left
        : Turn.Straight;

    // A bound, loose by orders of magnitude, on what rounding takes from an arc's box.
    private static double RoundingIn<TSpace>(Box<TSpace> box)
        where TSpace : ISpace =>
        1e-9 * (box.Width + box.Height + Math.Max(Math.Abs(box.Left), Math.Abs(box.Right)))
        + 1e-9 * Math.Max(Math.Abs(box.Top), Math.Abs(box.Bottom));

    // An edge of no length is one point.
    private static EdgeRelation RelatePoint<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        (Point<TSpace> p, Edge<TSpace> other) = a.From == a.To ? (a.From, b) : (b.From, a);
        return p == other.From || p == other.To ? EdgeRelation.ShareEnd
            : IsOn(p, other) ? EdgeRelation.Touch
            : EdgeRelation.Apart;
    }

    private static EdgeRelation RelateLines<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        int b0 = OrientationSign(a.From, a.To, b.From);
        int b1 = OrientationSign(a.From, a.To, b.To);
        if (b0 == 0 && b1 == 0)
        {
            return RelateCollinear(a, b);
        }

        int a0 = OrientationSign(b.From, b.To, a.From);
        int a1 = OrientationSign(b.From, b.To, a.To);
        if (b0 * b1 > 0 || a0 * a1 > 0)
        {
            return EdgeRelation.Apart;
        }

        if (b0 * b1 < 0 && a0 * a1 < 0)
        {
            return EdgeRelation.Cross;
        }

        bool shared = a.From == b.From || a.From == b.To || a.To == b.From || a.To == b.To;
        return shared ? EdgeRelation.ShareEnd : EdgeRelation.Touch;
    }

    private static EdgeRelation RelateCollinear<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        bool byX = Math.Abs(a.To.X - a.From.X) >= Math.Abs(a.To.Y - a.From.Y);
        (double a0, double a1) = Range(a);
        (double b0, double b1) = Range(b);
        double low = Math.Max(a0, b0);
        double high = Math.Min(a1, b1);
        return low > high ? EdgeRelation.Apart
            : low == high ? EdgeRelation.ShareEnd
            : EdgeRelation.Overlap;

        (double, double) Range(Edge<TSpace> e) =>
            byX
                ? (Math.Min(e.From.X, e.To.X), Math.Max(e.From.X, e.To.X))
                : (Math.Min(e.From.Y, e.To.Y), Math.Max(e.From.Y, e.To.Y));
    }

    private static EdgeRelation RelateArcs<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        if (Math.Abs(a.Bulge) < 0.99 && Math.Abs(b.Bulge) < 0.99)
        {
            if (AreClearlyApart(a, b))
            {
                return EdgeRelation.Apart;
            }

            if (PartClearly(a, b))
            {
                return EdgeRelation.ShareEnd;
            }
        }

        if (a.IsLine)
        {
            (a, b) = (b, a);
        }

        Circle ca = Circle.Of(a);
        Carrier other;
        if (b.IsLine)
        {
            other = Carrier.Line(b.From.X, b.From.Y, b.To.X, b.To.Y);
        }
        else
        {
            Circle cb = Circle.Of(b);
            if (ca.IsSameAs(cb))
            {
                return RelateOnOneCircle(a, b, ca, cb);
            }

            if (ca.IsConcentricWith(cb))
            {
                return EdgeRelation.Apart;
            }

            other = Carrier.RadicalAxis(ca, cb);
        }

        bool touch = false;
        bool share = false;
        foreach (Surd s in other.Meets(ca))
        {
            int inA = WithinArc(s, a);
            int inB = b.IsLine ? WithinLine(s, b) : WithinArc(s, b);
            if (inA < 0 || inB < 0)
            {
                continue;
            }

            if (inA > 0 && inB > 0)
            {
                return EdgeRelation.Cross;
            }

            share |= inA == 0 && inB == 0;
            touch |= inA + inB == 1;
        }

        return touch ? EdgeRelation.Touch
            : share ? EdgeRelation.ShareEnd
            : EdgeRelation.Apart;
    }

    // An arc below a half circle lies in the rectangle of its chord and its rise. The rectangles are told apart along their own
    // sides, with a margin far above rounding.
    private static bool AreClearlyApart<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        Vector<TSpace> da = a.To - a.From;
        Vector<TSpace> db = b.To - b.From;
        Vector<TSpace> between = b.From - a.From;
        double rounding = 1e-12 * (da.Norm + db.Norm + between.Norm);
        return Split(da) || Split(da.TurnedLeft) || Split(db) || Split(db.TurnedLeft);

        bool Split(Vector<TSpace> along)
        {
            // Measured from a's start, so that the margin stays small on a large quilt.
            (double a0, double a1) = Range(0, da, a.Bulge);
            (double b0, double b1) = Range(between.Dot(along), db, b.Bulge);
            double margin = rounding * along.Norm;
            return a1 + margin < b0 || b1 + margin < a0;

            (double, double) Range(double from, Vector<TSpace> d, double bulge)
            {
                double to = from + d.Dot(along);
                double rise = d.TurnedLeft.Dot(along) * bulge / 2;
                return (Math.Min(from, to) + Math.Min(rise, 0), Math.Max(from, to) + Math.Max(rise, 0));
            }
        }
    }

    // An arc below a half circle lies between its chord and its tangent as seen from either end. Where two edges share one end
    // and these wedges have a gap on both sides, they share nothing else.
    private static bool PartClearly<TSpace>(Edge<TSpace> a, Edge<TSpace> b)
        where TSpace : ISpace
    {
        a = a.To == b.From || a.To == b.To ? a.Reversed : a;
        b = b.To == a.From ? b.Reversed : b;
        if (a.From != b.From || a.To == b.To)
        {
            return false;
        }

        const double margin = 1e-9;
        double apart = -(a.To - a.From).AngleTo(b.To - b.From);
        double low = apart + Math.Min(b.Sweep / 2, 0) - Math.Max(a.Sweep / 2, 0);
        double high = apart + Math.Max(b.Sweep / 2, 0) - Math.Min(a.Sweep / 2, 0);
        return (low > margin && high < 2 * Math.PI - margin) || (high < -margin && low > -2 * Math.PI + margin);
    }

    // 1 inside, 0 at an end, −1 outside. The point is known to lie on the arc's circle: it is on the arc where it lies on the
    // bulging side of the chord.
    private static int WithinArc<TSpace>(Surd s, Edge<TSpace> e)
        where TSpace : ISpace
    {
        int side = s.SignOf(
            (Rational)e.To.Y - e.From.Y,
            -((Rational)e.To.X - e.From.X),
            ((Rational)e.To.X - e.From.X) * e.From.Y - ((Rational)e.To.Y - e.From.Y) * e.From.X
        );

        // The form is positive to the left of travel as seen.
        return side * Math.Sign(e.Bulge);
    }

    private static int WithinLine<TSpace>(Surd s, Edge<TSpace> e)
        where TSpace : ISpace
    {
        Rational dx = (Rational)e.To.X - e.From.X;
        Rational dy = (Rational)e.To.Y - e.From.Y;
        int afterStart = s.SignOf(dx, dy, -(dx * e.From.X + dy * e.From.Y));
        int beforeEnd = -s.SignOf(dx, dy, -(dx * e.To.X + dy * e.To.Y));
        return Math.Min(afterStart, beforeEnd);
    }

    private static EdgeRelation RelateOnOneCircle<TSpace>(Edge<TSpace> a, Edge<TSpace> b, Circle ca, Circle cb)
        where TSpace : ISpace
    {
        int inside = 0;
        int shared = 0;
        foreach (Point<TSpace> p in new[] { b.From, b.To })
        {
            if (p == a.From || p == a.To)
            {
                shared++;
            }
            else if (ca.IsBeyondChord(p.X, p.Y))
            {
                inside++;
            }
        }

        foreach (Point<TSpace> p in new[] { a.From, a.To })
        {
            if (p != b.From && p != b.To && cb.IsBeyondChord(p.X, p.Y))
            {
                inside++;
            }
        }

        if (inside > 0)
        {
            return EdgeRelation.Overlap;
        }

        if (shared < 2)
        {
            return shared == 1 ? EdgeRelation.ShareEnd : EdgeRelation.Apart;
        }

        // Both ends shared: the same arc, or the two arcs of one circle.
        bool sameWay = a.From == b.From;
        return Math.Sign(a.Bulge) == (sameWay ? Math.Sign(b.Bulge) : -Math.Sign(b.Bulge))
            ? EdgeRelation.Overlap
            : EdgeRelation.ShareEnd;
    }

    // Direction of departure, unscaled: chord × (1 − b²) + left normal × 2b.
    private static (Rational X, Rational Y) ExactDeparture<TSpace>(Edge<TSpace> e)
        where TSpace : ISpace
    {
        Rational dx = (Rational)e.To.X - e.From.X;
        Rational dy = (Rational)e.To.Y - e.From.Y;
        if (e.IsLine)
        {
            return (dx, dy);
        }

        Rational b = e.Bulge;
        Rational c = (Rational)1 - b * b;
        Rational s = (Rational)2 * b;
        return (dx * c + dy * s, dy * c - dx * s);
    }

    private static Rational SignedCurvatureSquared<TSpace>(Edge<TSpace> e, out int sign)
        where TSpace : ISpace
    {
        // A line that bows left travels clockwise, which bends to the RIGHT as it goes: bulge > 0 is a right-hand curve.
        sign = -Math.Sign(e.Bulge);
        Rational b = e.Bulge;
        Rational dx = (Rational)e.To.X - e.From.X;
        Rational dy = (Rational)e.To.Y - e.From.Y;
        Rational k = (Rational)1 + b * b;
        return (Rational)16 * b * b / ((dx * dx + dy * dy) * k * k);
    }

    private static int CompareWith(this Rational a, Rational b, int signA, int signB)
    {
        if (signA != signB)
        {
            return signA.CompareTo(signB);
        }

        return (a - b).Sign * signA;
    }

    /// <summary>The circle that carries an arc, and the arc's chord.</summary>
    private readonly struct Circle
    {
        private readonly Rational fromX;
        private readonly Rational fromY;
        private readonly Rational chordX;
        private readonly Rational chordY;
        private readonly int bulgeSign;

        private Circle(double x0, double y0, double x1, double y1, double bulge)
        {
            fromX = x0;
            fromY = y0;
            chordX = (Rational)x1 - x0;
            chordY = (Rational)y1 - y0;
            bulgeSign = Math.Sign(bulge);
            Rational b = bulge;
            Rational h = ((Rational)1 - b * b) / ((Rational)4 * b);
            CenterX = ((Rational)x0 + x1) / 2 - chordY * h;
            CenterY = ((Rational)y0 + y1) / 2 + chordX * h;
            Rational rx = fromX - CenterX;
            Rational ry = fromY - CenterY;
            RadiusSquared = rx * rx + ry * ry;
        }

        public Rational CenterX { get; }

        public Rational CenterY { get; }

        public Rational RadiusSquared { get; }

        public static Circle Of<TSpace>(Edge<TSpace> e)
            where TSpace : ISpace => new(e.From.X, e.From.Y, e.To.X, e.To.Y, e.Bulge);

        public int SideOf(double x, double y)
        {
            Rational dx = (Rational)x - CenterX;
            Rational dy = (Rational)y - CenterY;
            return (dx * dx + dy * dy - RadiusSquared).Sign;
        }

        // Left of travel as seen is the negative side of the outer product, since y is down.
        public bool IsBeyondChord(double x, double y) =>
            -(chordX * ((Rational)y - fromY) - chordY * ((Rational)x - fromX)).Sign == bulgeSign;

        public bool IsConcentricWith(Circle o) => (CenterX - o.CenterX).Sign == 0 && (CenterY - o.CenterY).Sign == 0;

        public bool IsSameAs(Circle o) => IsConcentricWith(o) && (RadiusSquared - o.RadiusSquared).Sign == 0;
    }

    /// <summary>A line A x + B y + C = 0 that carries the points sought.</summary>
    private readonly struct Carrier(Rational a, Rational b, Rational c)
    {
        public static Carrier Line(double x0, double y0, double x1, double y1)
        {
            Rational a = (Rational)y1 - y0;
            Rational b = -((Rational)x1 - x0);
            return new(a, b, -(a * x0 + b * y0));
        }

        public static Carrier RadicalAxis(Circle p, Circle q)
        {
            Rational a = (Rational)2 * (q.CenterX - p.CenterX);
            Rational b = (Rational)2 * (q.CenterY - p.CenterY);
            Rational kp = p.CenterX * p.CenterX + p.CenterY * p.CenterY - p.RadiusSquared;
            Rational kq = q.CenterX * q.CenterX + q.CenterY * q.CenterY - q.RadiusSquared;
            return new(a, b, kp - kq);
        }

        public IEnumerable<Surd> Meets(Circle k)
        {
            // Foot of the centre on the line, then ± along it by √(r² − distance²).
            Rational n = a * a + b * b;
            Rational e = a * k.CenterX + b * k.CenterY + c;
            Rational d = k.RadiusSquared / n - e * e / (n * n);
            if (d.Sign < 0)
            {
                return [];
            }

            Rational x = k.CenterX - a * e / n;
            Rational y = k.CenterY - b * e / n;
            return d.Sign == 0 ? [new Surd(x, y, 0, 0, 0)] : [new Surd(x, y, -b, a, d), new Surd(x, y, b, -a, d)];
        }
    }

    /// <summary>The point (X + U√D, Y + V√D).</summary>
    private readonly record struct Surd(Rational X, Rational Y, Rational U, Rational V, Rational D)
    {
        /// <summary>Sign of a·x + b·y + c at the point.</summary>
        public int SignOf(Rational a, Rational b, Rational c) =>
            Rational.SignOfSurd(a * X + b * Y + c, a * U + b * V, D);
    }
}
