using System.Numerics;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

/// <summary>
/// The same decisions as <see cref="Exact"/>, made another way: points of intersection are computed to 180 digits (600 bits
/// after the point) and compared with a threshold of 90 digits.
/// </summary>
/// <remarks>
/// For coordinates and bulges of few bits, as the tests draw them, two numbers that differ do so by far more than the threshold
/// (the signs asked for are those of a + b√d with numerators and denominators of well under 200 bits).
/// </remarks>
internal static class Reference
{
    public static EdgeRelation Relate(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        bool onOneCarrier = SameCarrier(a, b);
        if (onOneCarrier)
        {
            // Edges on one line or circle overlap where a middle of a piece between ends lies on both.
            Wide[] stopsA = [.. Stops(a, b)];
            for (int i = 1; i < stopsA.Length; i++)
            {
                (Wide X, Wide Y) middle = PointAt(a, (stopsA[i - 1] + stopsA[i]) / Wide.Of(2));
                if (Place(b, middle) == 1)
                {
                    return EdgeRelation.Overlap;
                }
            }

            return new[] { b.From, b.To }.Any(p => p == a.From || p == a.To)
                ? EdgeRelation.ShareEnd
                : EdgeRelation.Apart;
        }

        bool touch = false;
        bool share = false;
        foreach ((Wide X, Wide Y) p in Meets(a, b))
        {
            int inA = Place(a, p);
            int inB = Place(b, p);
            if (inA == 1 && inB == 1)
            {
                return EdgeRelation.Cross;
            }

            touch |= inA + inB == 1 && Math.Min(inA, inB) == 0;
            share |= inA == 0 && inB == 0;
        }

        return touch ? EdgeRelation.Touch
            : share ? EdgeRelation.ShareEnd
            : EdgeRelation.Apart;
    }

    public static int CompareDepartures(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        (Wide X, Wide Y) da = Departure(a);
        (Wide X, Wide Y) db = Departure(b);

        // Quarters anticlockwise as seen: right and up right, up and up left, left and down left, down and down right.
        int quarter = Quarter(da).CompareTo(Quarter(db));
        if (quarter != 0)
        {
            return quarter;
        }

        int cross = (da.X * db.Y - da.Y * db.X).Sign;
        return cross != 0 ? cross : (LeftCurvature(a) - LeftCurvature(b)).Sign;

        static int Quarter((Wide X, Wide Y) d) =>
            d.X.Sign > 0 && d.Y.Sign <= 0 ? 0
            : d.X.Sign <= 0 && d.Y.Sign < 0 ? 1
            : d.X.Sign < 0 && d.Y.Sign >= 0 ? 2
            : 3;
    }

    private static (Wide X, Wide Y) Departure(Edge<ClothSpace> e)
    {
        if (e.IsLine)
        {
            return (Wide.Of(e.To.X) - Wide.Of(e.From.X), Wide.Of(e.To.Y) - Wide.Of(e.From.Y));
        }

        // Square to the radius, clockwise as seen where the bulge is positive: (x, y) turned right is (−y, x).
        (Wide cx, Wide cy, _) = CircleOf(e);
        Wide s = Wide.Of(Math.Sign(e.Bulge));
        return (-(Wide.Of(e.From.Y) - cy) * s, (Wide.Of(e.From.X) - cx) * s);
    }

    private static Wide LeftCurvature(Edge<ClothSpace> e) =>
        e.IsLine ? Wide.Of(0) : Wide.Of(-Math.Sign(e.Bulge)) / CircleOf(e).R2.Root();

    private static (Wide X, Wide Y, Wide R2) CircleOf(Edge<ClothSpace> e)
    {
        // The highest point over the chord, then the circle through three points.
        Wide b = Wide.Of(e.Bulge);
        (Wide x0, Wide y0) = (Wide.Of(e.From.X), Wide.Of(e.From.Y));
        (Wide x1, Wide y1) = (Wide.Of(e.To.X), Wide.Of(e.To.Y));
        Wide two = Wide.Of(2);
        Wide mx = (x0 + x1) / two + (y1 - y0) * b / two;
        Wide my = (y0 + y1) / two - (x1 - x0) * b / two;
        Wide d = two * (x0 * (y1 - my) + x1 * (my - y0) + mx * (y0 - y1));
        Wide k0 = x0 * x0 + y0 * y0;
        Wide k1 = x1 * x1 + y1 * y1;
        Wide km = mx * mx + my * my;
        Wide cx = (k0 * (y1 - my) + k1 * (my - y0) + km * (y0 - y1)) / d;
        Wide cy = (k0 * (mx - x1) + k1 * (x0 - mx) + km * (x1 - x0)) / d;
        return (cx, cy, (x0 - cx) * (x0 - cx) + (y0 - cy) * (y0 - cy));
    }

    private static bool SameCarrier(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        if (a.IsLine != b.IsLine)
        {
            return false;
        }

        if (a.IsLine)
        {
            return Side(a, Wide.Of(b.From.X), Wide.Of(b.From.Y)) == 0 && Side(a, Wide.Of(b.To.X), Wide.Of(b.To.Y)) == 0;
        }

        (Wide ax, Wide ay, Wide ar) = CircleOf(a);
        (Wide bx, Wide by, Wide br) = CircleOf(b);
        return (ax - bx).Sign == 0 && (ay - by).Sign == 0 && (ar - br).Sign == 0;
    }

    // Where along a its own ends and b's ends lie, as the tangent of a quarter of the angle for arcs, as a fraction for lines.
    private static IEnumerable<Wide> Stops(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        List<Wide> stops = [Wide.Of(0), Wide.Of(1)];
        foreach (Point<ClothSpace> p in new[] { b.From, b.To })
        {
            (Wide X, Wide Y) at = (Wide.Of(p.X), Wide.Of(p.Y));
            if (Place(a, at) == 1)
            {
                stops.Add(Along(a, at));
            }
        }

        return stops.OrderBy(s => s);
    }

    // A measure that grows along the edge from 0 to 1: the projection for a line; for an arc the share of the walk on the
    // broken line from → top → to of the point's projection from the far side of the circle.
    private static Wide Along(Edge<ClothSpace> e, (Wide X, Wide Y) p)
    {
        (Wide x0, Wide y0) = (Wide.Of(e.From.X), Wide.Of(e.From.Y));
        (Wide dx, Wide dy) = (Wide.Of(e.To.X) - x0, Wide.Of(e.To.Y) - y0);
        if (e.IsLine)
        {
            return ((p.X - x0) * dx + (p.Y - y0) * dy) / (dx * dx + dy * dy);
        }

        // Seen from the circle's lowest point, opposite the top, the arc runs monotonically over the chord's line.
        (Wide lx, Wide ly) = Lowest(e);
        Wide num = (x0 - lx) * (p.Y - ly) - (y0 - ly) * (p.X - lx);
        Wide den = (p.X - lx) * dy - (p.Y - ly) * dx;
        return -num / den;
    }

    private static (Wide X, Wide Y) PointAt(Edge<ClothSpace> e, Wide s)
    {
        (Wide x0, Wide y0) = (Wide.Of(e.From.X), Wide.Of(e.From.Y));
        (Wide dx, Wide dy) = (Wide.Of(e.To.X) - x0, Wide.Of(e.To.Y) - y0);
        (Wide X, Wide Y) onChord = (x0 + dx * s, y0 + dy * s);
        if (e.IsLine)
        {
            return onChord;
        }

        // The ray from the lowest point over the chord meets the circle again where the power of the point says.
        (Wide lx, Wide ly) = Lowest(e);
        (Wide cx, Wide cy, _) = CircleOf(e);
        (Wide rx, Wide ry) = (onChord.X - lx, onChord.Y - ly);
        Wide k = Wide.Of(-2) * (rx * (lx - cx) + ry * (ly - cy)) / (rx * rx + ry * ry);
        return (lx + rx * k, ly + ry * k);
    }

    private static (Wide X, Wide Y) Lowest(Edge<ClothSpace> e)
    {
        Wide b = Wide.Of(e.Bulge);
        Wide two = Wide.Of(2);
        Wide topX = (Wide.Of(e.From.X) + Wide.Of(e.To.X)) / two + (Wide.Of(e.To.Y) - Wide.Of(e.From.Y)) * b / two;
        Wide topY = (Wide.Of(e.From.Y) + Wide.Of(e.To.Y)) / two - (Wide.Of(e.To.X) - Wide.Of(e.From.X)) * b / two;
        (Wide cx, Wide cy, _) = CircleOf(e);
        return (two * cx - topX, two * cy - topY);
    }

    // 1 inside, 0 at an end, −1 outside, for a point on the edge's line or circle.
    private static int Place(Edge<ClothSpace> e, (Wide X, Wide Y) p)
    {
        if (
            ((p.X - Wide.Of(e.From.X)).Sign == 0 && (p.Y - Wide.Of(e.From.Y)).Sign == 0)
            || ((p.X - Wide.Of(e.To.X)).Sign == 0 && (p.Y - Wide.Of(e.To.Y)).Sign == 0)
        )
        {
            return 0;
        }

        if (e.IsLine)
        {
            Wide t = Along(e, p);
            return t.Sign > 0 && (t - Wide.Of(1)).Sign < 0 ? 1 : -1;
        }

        // On the arc where the directions start, p, end follow each other within its sweep, by signs of outer products.
        (Wide cx, Wide cy, _) = CircleOf(e);
        Wide s = Wide.Of(Math.Sign(e.Bulge));
        (Wide sx, Wide sy) = (Wide.Of(e.From.X) - cx, Wide.Of(e.From.Y) - cy);
        (Wide tx, Wide ty) = (Wide.Of(e.To.X) - cx, Wide.Of(e.To.Y) - cy);
        (Wide px, Wide py) = (p.X - cx, p.Y - cy);
        int afterStart = ((sx * py - sy * px) * s).Sign;
        int beforeEnd = ((px * ty - py * tx) * s).Sign;
        bool inside = Math.Abs(e.Bulge) <= 1 ? afterStart > 0 && beforeEnd > 0 : afterStart > 0 || beforeEnd > 0;
        return inside ? 1 : -1;
    }

    private static IEnumerable<(Wide X, Wide Y)> Meets(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        if (a.IsLine && b.IsLine)
        {
            (Wide ax, Wide ay) = (Wide.Of(a.To.X) - Wide.Of(a.From.X), Wide.Of(a.To.Y) - Wide.Of(a.From.Y));
            (Wide bx, Wide by) = (Wide.Of(b.To.X) - Wide.Of(b.From.X), Wide.Of(b.To.Y) - Wide.Of(b.From.Y));
            Wide d = ax * by - ay * bx;
            if (d.Sign == 0)
            {
                return [];
            }

            Wide t = ((Wide.Of(b.From.X) - Wide.Of(a.From.X)) * by - (Wide.Of(b.From.Y) - Wide.Of(a.From.Y)) * bx) / d;
            return [(Wide.Of(a.From.X) + ax * t, Wide.Of(a.From.Y) + ay * t)];
        }

        if (a.IsLine)
        {
            (a, b) = (b, a);
        }

        (Wide cx, Wide cy, Wide r2) = CircleOf(a);
        if (b.IsLine)
        {
            // Quadratic in the fraction along b.
            (Wide dx, Wide dy) = (Wide.Of(b.To.X) - Wide.Of(b.From.X), Wide.Of(b.To.Y) - Wide.Of(b.From.Y));
            (Wide fx, Wide fy) = (Wide.Of(b.From.X) - cx, Wide.Of(b.From.Y) - cy);
            Wide qa = dx * dx + dy * dy;
            Wide qb = fx * dx + fy * dy;
            Wide disc = qb * qb - qa * (fx * fx + fy * fy - r2);
            if (disc.Sign < 0)
            {
                return [];
            }

            Wide root = disc.Sign == 0 ? Wide.Of(0) : disc.Root();
            return new[] { (-qb - root) / qa, (-qb + root) / qa }.Select(t =>
                (Wide.Of(b.From.X) + dx * t, Wide.Of(b.From.Y) + dy * t)
            );
        }

        (Wide ex, Wide ey, Wide s2) = CircleOf(b);
        (Wide gx, Wide gy) = (ex - cx, ey - cy);
        Wide d2 = gx * gx + gy * gy;
        if (d2.Sign == 0)
        {
            return [];
        }

        Wide h = (r2 - s2 + d2) / (Wide.Of(2) * d2);
        Wide off = r2 / d2 - h * h;
        if (off.Sign < 0)
        {
            return [];
        }

        Wide k = off.Sign == 0 ? Wide.Of(0) : off.Root();
        return [(cx + gx * h - gy * k, cy + gy * h + gx * k), (cx + gx * h + gy * k, cy + gy * h - gx * k)];
    }

    private static int Side(Edge<ClothSpace> e, Wide x, Wide y) =>
        (
            (Wide.Of(e.To.X) - Wide.Of(e.From.X)) * (y - Wide.Of(e.From.Y))
            - (Wide.Of(e.To.Y) - Wide.Of(e.From.Y)) * (x - Wide.Of(e.From.X))
        ).Sign;

    /// <summary>A fixed-point number with 600 bits after the point; its sign ignores what is below 2⁻³⁰⁰.</summary>
    private readonly record struct Wide(BigInteger Bits) : IComparable<Wide>
    {
        private const int Scale = 600;

        public int Sign => BigInteger.Abs(Bits) < (BigInteger.One << (Scale - 300)) ? 0 : Bits.Sign;

        public static Wide Of(double v)
        {
            // Exact: the tests' numbers have few bits, and any double above 2⁻⁵⁰⁰ fits.
            long raw = BitConverter.DoubleToInt64Bits(v);
            int exponent = (int)((raw >> 52) & 0x7FF);
            BigInteger mantissa = (raw & 0xFFFFFFFFFFFFFL) | (exponent == 0 ? 0 : 1L << 52);
            int shift = Math.Max(exponent, 1) - 1075 + Scale;
            BigInteger bits = shift >= 0 ? mantissa << shift : mantissa >> -shift;
            return new(raw < 0 ? -bits : bits);
        }

        public static Wide operator +(Wide a, Wide b) => new(a.Bits + b.Bits);

        public static Wide operator -(Wide a, Wide b) => new(a.Bits - b.Bits);

        public static Wide operator -(Wide a) => new(-a.Bits);

        public static Wide operator *(Wide a, Wide b) => new((a.Bits * b.Bits) >> Scale);

        public static Wide operator /(Wide a, Wide b) => new((a.Bits << Scale) / b.Bits);

        public Wide Root()
        {
            BigInteger n = Bits << Scale;
            BigInteger x = BigInteger.One << (int)((n.GetBitLength() + 1) / 2);
            while (true)
            {
                BigInteger y = (x + n / x) >> 1;
                if (y >= x)
                {
                    return new(x);
                }

                x = y;
            }
        }

        public int CompareTo(Wide other) => (this - other).Sign;
    }
}
