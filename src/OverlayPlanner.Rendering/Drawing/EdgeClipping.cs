using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>Pieces of lines and arcs inside a box, and distances that label placement needs.</summary>
internal static class EdgeClipping
{
    /// <summary>
    /// The pieces of the edge inside the closed box, in the direction of travel; an edge wholly inside comes back unchanged.
    /// </summary>
    public static IReadOnlyList<Edge<PageSpace>> Inside(Edge<PageSpace> edge, Box<PageSpace> box)
    {
        Box<PageSpace> bounds = edge.Bounds();
        if (!bounds.Meets(box))
        {
            return [];
        }

        if (
            bounds.Left >= box.Left
            && bounds.Right <= box.Right
            && bounds.Top >= box.Top
            && bounds.Bottom <= box.Bottom
        )
        {
            return [edge];
        }

        List<double> cuts = [0, 1];
        AddCrossings(cuts, edge, box.Left, upright: true);
        AddCrossings(cuts, edge, box.Right, upright: true);
        AddCrossings(cuts, edge, box.Top, upright: false);
        AddCrossings(cuts, edge, box.Bottom, upright: false);
        cuts.Sort();

        // A line along the box's side is inside.
        Box<PageSpace> closed = box.Grown(1e-6);
        List<(double From, double To)> kept = [];
        for (int i = 1; i < cuts.Count; i++)
        {
            if (cuts[i] - cuts[i - 1] < 1e-9 || !closed.Holds(edge.PointAt((cuts[i] + cuts[i - 1]) / 2)))
            {
                continue;
            }

            if (kept.Count > 0 && kept[^1].To == cuts[i - 1])
            {
                kept[^1] = (kept[^1].From, cuts[i]);
            }
            else
            {
                kept.Add((cuts[i - 1], cuts[i]));
            }
        }

        return [.. kept.Select(k => k is { From: 0, To: 1 } ? edge : edge.Piece(k.From, k.To))];
    }

    /// <summary>Least distance of a segment and a box; 0 where they meet.</summary>
    public static double Distance(Point<PageSpace> a, Point<PageSpace> b, Box<PageSpace> box)
    {
        if (Meets(a, b, box))
        {
            return 0;
        }

        double least = Math.Min(Distance(a, box), Distance(b, box));
        foreach (Point<PageSpace> corner in Corners(box))
        {
            least = Math.Min(least, Distance(corner, a, b));
        }

        return least;
    }

    /// <summary>Least distance of two segments; 0 where they cross.</summary>
    public static double Distance(Point<PageSpace> a, Point<PageSpace> b, Point<PageSpace> c, Point<PageSpace> d)
    {
        Vector<PageSpace> u = b - a;
        Vector<PageSpace> v = d - c;
        double n = u.Cross(v);
        if (n != 0)
        {
            double s = (c - a).Cross(v) / n;
            double t = (c - a).Cross(u) / n;
            if (s is >= 0 and <= 1 && t is >= 0 and <= 1)
            {
                return 0;
            }
        }

        return Math.Min(Math.Min(Distance(a, c, d), Distance(b, c, d)), Math.Min(Distance(c, a, b), Distance(d, a, b)));
    }

    /// <summary>Distance of a point and a segment.</summary>
    public static double Distance(Point<PageSpace> p, Point<PageSpace> a, Point<PageSpace> b)
    {
        Vector<PageSpace> d = b - a;
        double dd = d.Dot(d);
        double t = dd == 0 ? 0 : Math.Clamp((p - a).Dot(d) / dd, 0, 1);
        return p.DistanceTo(a.Toward(b, t));
    }

    private static double Distance(Point<PageSpace> p, Box<PageSpace> b) =>
        Math.Sqrt(
            Math.Pow(Math.Max(0, Math.Max(b.Left - p.X, p.X - b.Right)), 2)
                + Math.Pow(Math.Max(0, Math.Max(b.Top - p.Y, p.Y - b.Bottom)), 2)
        );

    // Liang and Barsky 1984: the segment's parameter range inside all four half planes.
    private static bool Meets(Point<PageSpace> a, Point<PageSpace> b, Box<PageSpace> box)
    {
        double t0 = 0;
        double t1 = 1;
        Vector<PageSpace> d = b - a;
        return Cut(-d.X, a.X - box.Left)
            && Cut(d.X, box.Right - a.X)
            && Cut(-d.Y, a.Y - box.Top)
            && Cut(d.Y, box.Bottom - a.Y);

        bool Cut(double p, double q)
        {
            if (p == 0)
            {
                return q >= 0;
            }

            double r = q / p;
            if (p < 0)
            {
                t0 = Math.Max(t0, r);
            }
            else
            {
                t1 = Math.Min(t1, r);
            }

            return t0 <= t1;
        }
    }

    private static Point<PageSpace>[] Corners(Box<PageSpace> b) =>
        [new(b.Left, b.Top), new(b.Right, b.Top), new(b.Right, b.Bottom), new(b.Left, b.Bottom)];

    private static void AddCrossings(List<double> cuts, Edge<PageSpace> edge, double at, bool upright)
    {
        if (edge.IsLine)
        {
            double from = upright ? edge.From.X : edge.From.Y;
            double to = upright ? edge.To.X : edge.To.Y;
            double t = (at - from) / (to - from);
            if (t is > 0 and < 1)
            {
                cuts.Add(t);
            }

            return;
        }

        // The coordinate along an arc is a sine of the fraction, monotone between the places where travel is at right angles to
        // the axis; bisection there needs no centre, which for an almost straight arc lies too far away to compute with.
        Vector<PageSpace> d = edge.To - edge.From;
        Vector<PageSpace> n = d.TurnedLeft;
        double turn = Math.Atan2(upright ? -d.X : -d.Y, upright ? n.X : n.Y);
        List<double> stops = [0, 1];
        for (int k = -3; k <= 3; k++)
        {
            double t = 0.5 - (turn + k * Math.PI) / edge.Sweep;
            if (t is > 0 and < 1)
            {
                stops.Add(t);
            }
        }

        stops.Sort();
        for (int i = 1; i < stops.Count; i++)
        {
            (double low, double high) = (stops[i - 1], stops[i]);
            double sign = Math.Sign(Over(low));
            if (sign == 0 || sign == Math.Sign(Over(high)))
            {
                continue;
            }

            for (int step = 0; step < 60 && high - low > 1e-15; step++)
            {
                double middle = (low + high) / 2;
                (low, high) = Math.Sign(Over(middle)) == sign ? (middle, high) : (low, middle);
            }

            cuts.Add((low + high) / 2);
        }

        double Over(double t)
        {
            Point<PageSpace> p = edge.PointAt(t);
            return (upright ? p.X : p.Y) - at;
        }
    }
}
