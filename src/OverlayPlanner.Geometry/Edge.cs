using System.Globalization;

namespace OverlayPlanner.Geometry;

/// <summary>
/// A straight line or one circular arc, given by its two ends and its bulge.
/// </summary>
/// <param name="From">Where travel begins.</param>
/// <param name="To">Where travel ends.</param>
/// <param name="Bulge">
/// 2 × sagitta ÷ chord = tan of a quarter of the arc's angle; 0 for a line. Positive where the arc bows to the left of travel
/// as seen on the page: from (0,0) to (1,0) with bulge 1 runs over (0.5, −0.5), a half circle above the chord (y is down).
/// </param>
public readonly record struct Edge<TSpace>(Point<TSpace> From, Point<TSpace> To, double Bulge = 0)
    where TSpace : ISpace
{
    /// <summary>True for a straight line.</summary>
    public bool IsLine => Bulge == 0;

    /// <summary>Straight distance between the ends, in the space's unit.</summary>
    public double Chord => From.DistanceTo(To);

    /// <summary>Signed rise of the arc over its chord, positive to the left of travel, in the space's unit.</summary>
    public double Sagitta => Bulge * Chord / 2;

    /// <summary>Signed angle of the arc, radians in (−2π, 2π), positive where it bows to the left.</summary>
    public double Sweep => 4 * Math.Atan(Bulge);

    /// <summary>Radius of the arc, in the space's unit; infinite for a line.</summary>
    public double Radius => IsLine ? double.PositiveInfinity : Chord * (1 + Bulge * Bulge) / (4 * Math.Abs(Bulge));

    /// <summary>Length along the edge, in the space's unit.</summary>
    public double Length
    {
        get
        {
            double b = Math.Abs(Bulge);

            // Below 1e-4 the quotient of two tiny numbers loses digits; the series of atan(b)(1+b²)/b is exact to 1e-16.
            return b < 1e-4 ? Chord * (1 + 2 * b * b / 3) : Chord * (1 + b * b) * Math.Atan(b) / b;
        }
    }

    /// <summary>The arc's centre; not finite for a line.</summary>
    public Point<TSpace> Center => Middle - (To - From).TurnedLeft * ((1 - Bulge * Bulge) / (4 * Bulge));

    /// <summary>The same edge travelled the other way; the bulge changes sign.</summary>
    public Edge<TSpace> Reversed => new(To, From, -Bulge);

    /// <summary>Direction of travel at the start, length 1.</summary>
    public Vector<TSpace> StartDirection => Turned((To - From).Unit, Bulge);

    /// <summary>Direction of travel at the end, length 1.</summary>
    public Vector<TSpace> EndDirection => Turned((To - From).Unit, -Bulge);

    private Point<TSpace> Middle => From.Toward(To, 0.5);

    /// <summary>The point at the fraction <paramref name="t"/> of the length, 0 to 1.</summary>
    public Point<TSpace> PointAt(double t)
    {
        if (t <= 0)
        {
            return From;
        }

        if (t >= 1)
        {
            return To;
        }

        if (Math.Abs(Bulge) < 1e-9)
        {
            return From.Toward(To, t);
        }

        // Chord from the start to the point subtends t of the sweep; its direction turns with half the rest.
        double half = Sweep / 2;
        double c = Math.Sin(t * half) / Math.Sin(half);
        double turn = (1 - t) * half;
        Vector<TSpace> d = To - From;
        Vector<TSpace> n = d.TurnedLeft;
        return From + (d * Math.Cos(turn) + n * Math.Sin(turn)) * c;
    }

    /// <summary>Direction of travel at the fraction <paramref name="t"/> of the length, length 1.</summary>
    public Vector<TSpace> DirectionAt(double t)
    {
        Vector<TSpace> d = (To - From).Unit;
        double a = (1 - 2 * t) * Sweep / 2;
        return d * Math.Cos(a) + d.TurnedLeft * Math.Sin(a);
    }

    /// <summary>The piece between two fractions of the length, 0 ≤ <paramref name="t0"/> &lt; <paramref name="t1"/> ≤ 1.</summary>
    public Edge<TSpace> Piece(double t0, double t1) =>
        new(PointAt(t0), PointAt(t1), IsLine ? 0 : Math.Tan((t1 - t0) * Sweep / 4));

    /// <summary>The nearest point on the edge: its fraction of the length and its distance in the space's unit.</summary>
    public (double T, double Distance) Nearest(Point<TSpace> p)
    {
        Vector<TSpace> d = To - From;
        double t;
        if (IsLine)
        {
            double dd = d.Dot(d);
            t = dd == 0 ? 0 : Math.Clamp((p - From).Dot(d) / dd, 0, 1);
        }
        else
        {
            // The angle at the centre from the start to p, with both arms scaled by 4 × bulge: the centre of a flat arc lies so
            // far off that differences of coordinates with it keep no digits, and this way it is never formed.
            Vector<TSpace> n = d.TurnedLeft;
            Vector<TSpace> q = p - Middle;
            double k = 1 - Bulge * Bulge;
            double cross = 2 * Bulge * (k * (2 * n.Cross(q) + d.Dot(d)) - 4 * Bulge * d.Cross(q));
            double dot = (n * k - d * (2 * Bulge)).Dot(n * k + q * (4 * Bulge));
            t = FractionOfTurn(Math.Atan2(cross, dot));
            if (t > 1)
            {
                t = From.DistanceTo(p) <= To.DistanceTo(p) ? 0 : 1;
            }
        }

        return (t, PointAt(t).DistanceTo(p));
    }

    /// <summary>
    /// Signed area between the arc and its chord, unit squared, positive where the arc bows to the left of travel; 0 for a line.
    /// </summary>
    public double SegmentArea
    {
        get
        {
            double sweep = Math.Abs(Sweep);
            if (sweep < 0.01)
            {
                // sweep − sin sweep loses its digits here. r² (s³ / 6)(1 − s² / 20 …) / 2 with the chord for r has this limit.
                return Bulge * Chord * Chord / 3 * (1 + Bulge * Bulge / 5);
            }

            return Math.Sign(Bulge) * Radius * Radius * (sweep - Math.Sin(sweep)) / 2;
        }
    }

    /// <summary>
    /// The points where the edge and <paramref name="other"/> cross, kiss or touch, to about 1e-9 of their size; none where they
    /// run along each other. <see cref="Exact.Relate"/> decides whether there are any; this says where.
    /// </summary>
    /// <param name="other">The other edge.</param>
    /// <param name="tolerance">How far a point may lie from either, in the space's unit.</param>
    public IReadOnlyList<Point<TSpace>> FindMeetings(Edge<TSpace> other, double tolerance)
    {
        // Flatter arcs are met as their chords are, since their centres would be too far off; the place is mended afterwards.
        const double flat = 1e-6;
        bool lineA = Math.Abs(Bulge) < flat;
        bool lineB = Math.Abs(other.Bulge) < flat;
        if (lineA && !lineB)
        {
            return other.FindMeetings(this, tolerance);
        }

        Edge<TSpace> own = this;
        List<Point<TSpace>> found = [];
        if (lineA)
        {
            Vector<TSpace> da = To - From;
            Vector<TSpace> db = other.To - other.From;
            double cross = da.Cross(db);
            if (cross != 0)
            {
                Keep(From + da * ((other.From - From).Cross(db) / cross));
            }

            return found;
        }

        // A line that carries the points: the other edge's own, or the one on which two circles meet.
        Point<TSpace> c = Center;
        double r = Radius;
        Point<TSpace> on = other.From;
        Vector<TSpace> along = (other.To - other.From).Unit;
        if (!lineB)
        {
            Vector<TSpace> between = other.Center - c;
            double d = between.Norm;
            if (d < 1e-12 * r)
            {
                return found;
            }

            double to = (r - other.Radius) * (r + other.Radius) / (2 * d) + d / 2;
            on = c + between * (to / d);
            along = between.TurnedLeft * (1 / d);
        }

        Point<TSpace> foot = on + along * (c - on).Dot(along);
        double off = c.DistanceTo(foot);
        if (off <= r + tolerance)
        {
            double half = Math.Sqrt(Math.Max(0, (r - off) * (r + off)));
            Keep(foot + along * half);
            if (half > 0)
            {
                Keep(foot - along * half);
            }
        }

        return found;

        void Keep(Point<TSpace> p)
        {
            // Newton's steps, by the tangents at the nearest points; edges that kiss have none to take.
            for (int step = 0; step < 3; step++)
            {
                double ta = own.Nearest(p).T;
                double tb = other.Nearest(p).T;
                Vector<TSpace> way = own.DirectionAt(ta);
                Vector<TSpace> otherWay = other.DirectionAt(tb);
                double sine = way.Cross(otherWay);
                if (Math.Abs(sine) < 1e-6)
                {
                    break;
                }

                Point<TSpace> at = own.PointAt(ta);
                p = at + way * ((other.PointAt(tb) - at).Cross(otherWay) / sine);
            }

            (double t, double distance) = own.Nearest(p);
            Point<TSpace> pulled = own.PointAt(t);
            if (distance <= tolerance && other.Nearest(pulled).Distance <= tolerance)
            {
                found.Add(pulled);
            }
        }
    }

    /// <summary>The smallest axis-parallel box that holds the edge.</summary>
    public Box<TSpace> Bounds()
    {
        Box<TSpace> box = Box<TSpace>.Around(From, To);
        if (IsLine || From == To)
        {
            return box;
        }

        // An arc reaches farthest up, down, left or right where its outward radius points there.
        Vector<TSpace> outward = StartDirection.TurnedLeft * Math.Sign(Bulge);
        Vector<TSpace> way = new(1, 0);
        for (int i = 0; i < 4; i++)
        {
            double t = FractionOfTurn(outward.AngleTo(way));
            if (t is > 0 and < 1)
            {
                box = box.With(PointAt(t));
            }

            way = way.TurnedLeft;
        }

        return box;
    }

    /// <summary>The edge as points, ends included, whose chords stay within <paramref name="tolerance"/> of it.</summary>
    /// <remarks>At most 100,000 chords, however small the tolerance.</remarks>
    public IReadOnlyList<Point<TSpace>> Flatten(double tolerance)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(tolerance);
        if (IsLine)
        {
            return [From, To];
        }

        // Sagitta of one chord: r (1 − cos(step / 2)) = 2 r sin²(step / 4).
        double step = 4 * Math.Asin(Math.Sqrt(Math.Min(1, tolerance / (2 * Radius))));
        int n = (int)Math.Clamp(Math.Ceiling(Math.Abs(Sweep) / step), 1, 100_000);
        Point<TSpace>[] points = new Point<TSpace>[n + 1];
        for (int i = 0; i <= n; i++)
        {
            points[i] = PointAt((double)i / n);
        }

        return points;
    }

    /// <inheritdoc/>
    /// <remarks>A record's own would print <see cref="Reversed"/>, and that its own, without end.</remarks>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{From} to {To}, bulge {Bulge}");

    // A turn about the centre from the start, radians and positive to the right as seen, as a fraction of the arc; above 1 where
    // it leads past the end. An arc that bows to the left of travel runs round its centre to the right.
    private double FractionOfTurn(double angle)
    {
        double along = angle * Math.Sign(Bulge);
        return (along < 0 ? along + 2 * Math.PI : along) / Math.Abs(Sweep);
    }

    private static Vector<TSpace> Turned(Vector<TSpace> d, double bulge)
    {
        // cos and sin of 2·atan(bulge), the angle between chord and tangent.
        double k = 1 + bulge * bulge;
        return d * ((1 - bulge * bulge) / k) + d.TurnedLeft * (2 * bulge / k);
    }
}

/// <summary>An axis-parallel box, in the space's unit.</summary>
public readonly record struct Box<TSpace>(double Left, double Top, double Right, double Bottom)
    where TSpace : ISpace
{
    /// <summary>Right − left.</summary>
    public double Width => Right - Left;

    /// <summary>Bottom − top.</summary>
    public double Height => Bottom - Top;

    /// <summary>The box's middle.</summary>
    public Point<TSpace> Center => new((Left + Right) / 2, (Top + Bottom) / 2);

    /// <summary>The box of two points.</summary>
    public static Box<TSpace> Around(Point<TSpace> a, Point<TSpace> b) =>
        new(Math.Min(a.X, b.X), Math.Min(a.Y, b.Y), Math.Max(a.X, b.X), Math.Max(a.Y, b.Y));

    /// <summary>The box of many points; at least one.</summary>
    public static Box<TSpace> Around(IEnumerable<Point<TSpace>> points)
    {
        ArgumentNullException.ThrowIfNull(points);
        Box<TSpace> box = new(
            double.PositiveInfinity,
            double.PositiveInfinity,
            double.NegativeInfinity,
            double.NegativeInfinity
        );
        foreach (Point<TSpace> p in points)
        {
            box = box.With(p);
        }

        return box;
    }

    /// <summary>Grown to hold a point.</summary>
    public Box<TSpace> With(Point<TSpace> p) =>
        new(Math.Min(Left, p.X), Math.Min(Top, p.Y), Math.Max(Right, p.X), Math.Max(Bottom, p.Y));

    /// <summary>Grown to hold a box.</summary>
    public Box<TSpace> With(Box<TSpace> o) =>
        new(Math.Min(Left, o.Left), Math.Min(Top, o.Top), Math.Max(Right, o.Right), Math.Max(Bottom, o.Bottom));

    /// <summary>Grown by a margin on every side.</summary>
    public Box<TSpace> Grown(double by) => new(Left - by, Top - by, Right + by, Bottom + by);

    /// <summary>True where the closed boxes share a point.</summary>
    public bool Meets(Box<TSpace> o) => Left <= o.Right && o.Left <= Right && Top <= o.Bottom && o.Top <= Bottom;

    /// <summary>True where the closed box holds the point.</summary>
    public bool Holds(Point<TSpace> p) => p.X >= Left && p.X <= Right && p.Y >= Top && p.Y <= Bottom;
}
