using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Lets curved seams run on to the point where they meet: two seams that meet at a sharp angle or touch share their evidence
/// for an inch and more, so that they are found to join early and to go on to the point as one short piece.
/// </summary>
/// <remarks>
/// Two circles of radius R that touch stand s²/R apart at the distance s from the touching point, and a circle stands s²/2R off
/// its tangent, so a shared piece is as long as the square root of the radius times what the evidence tells apart. A shared
/// piece is closed where every seam that ends on its near end leads on along it, and still fits its own free part when it is
/// led to the far end.
/// </remarks>
internal static class CuspCloser
{
    // A shared piece is at most as long as a circle takes to leave its tangent by this, a little over two seams' widths.
    private const double ToldApartPixels = 5;
    private const double MostShareOfChord = 0.3;
    private const double AlongCosine = 0.82; // 35 degrees
    private const double SharpCosine = 0.71; // 45 degrees
    private const double FitWithinPixels = 2.6;
    private const double FitWithinShare = 0.006; // of the chord

    // A straight seam beside a cusp is pulled towards it, and then found bent or bowed.
    private const double ShortPixels = 48;
    private const double KinkPixels = 6.5;
    private const double FlatBulge = 0.03;
    private const double SamplePixels = 4;
    private const double SharedEndPixels = 8;

    /// <summary>Closes shared pieces, shortest first, until none is left.</summary>
    /// <returns>How many were closed.</returns>
    public static int Close(SeamGraph graph)
    {
        int closed = 0;
        while (Shortest(graph) is (GraphPoint from, Target to, List<Leading> led))
        {
            foreach (Leading lead in led)
            {
                if (lead.Kink is { } kink)
                {
                    graph.Dissolve(kink);
                }
                else
                {
                    lead.Edge.Bulge = ReferenceEquals(lead.Edge.From, from) ? lead.Bulge : -lead.Bulge;
                }
            }

            Move(graph, from, to);
            closed++;
        }

        graph.RemoveDangling();
        return closed;
    }

    private static (GraphPoint From, Target To, List<Leading> Led)? Shortest(SeamGraph graph)
    {
        (GraphPoint, Target, List<Leading>)? best = null;
        double least = double.PositiveInfinity;
        foreach (GraphPoint p in graph.Points)
        {
            if ((p.PinnedX && p.PinnedY) || !p.Edges.Exists(e => e.Bulge != 0))
            {
                continue;
            }

            foreach (Target target in TargetsOf(graph, p))
            {
                double length = target.Place.DistanceTo(p.Place);
                if (length < least && LedTo(p, target, length) is List<Leading> led)
                {
                    (best, least) = ((p, target, led), length);
                }
            }
        }

        return best;
    }

    // The far ends of short pieces that leave a point; on the outline, the next points and corners along it.
    private static IEnumerable<Target> TargetsOf(SeamGraph graph, GraphPoint p)
    {
        if (!p.OnOutline)
        {
            return p
                .Edges.Where(e => !ReferenceEquals(e.From, e.To))
                .Select(e => new Target(e.Other(p).Place, e.Other(p), e));
        }

        PixelFrame f = graph.Frame;
        IEnumerable<Target> corners = p.PinnedX
            ? [new(new(p.X, f.Top), null, null), new(new(p.X, f.Bottom), null, null)]
            : [new(new(f.Left, p.Y), null, null), new(new(f.Right, p.Y), null, null)];
        return graph
            .Points.Where(q =>
                !ReferenceEquals(p, q) && (p.PinnedX ? q.PinnedX && q.X == p.X : q.PinnedY && q.Y == p.Y)
            )
            .Select(q => new Target(q.Place, q, null))
            .Concat(corners.Where(c => !graph.Points.Exists(q => q.Place == c.Place)));
    }

    // A point's other edges as they run when they are led to the target; null where one does not lead there.
    private static List<Leading>? LedTo(GraphPoint p, Target target, double length)
    {
        List<GraphEdge> others = [.. p.Edges.Where(e => !ReferenceEquals(e, target.Along))];
        if (!others.Exists(e => e.Bulge != 0 && length <= Math.Sqrt(2 * ToldApartPixels * e.Path.Radius)))
        {
            return null;
        }

        Vector<PictureSpace> ahead = (target.Place - p.Place).Unit;
        List<Leading> led = [];
        List<Vector<PictureSpace>> ways = [];
        foreach (GraphEdge e in others)
        {
            GraphPoint? kink = KinkOf(e, p);
            GraphPoint far = kink is null ? e.Other(p) : kink.Edges.Find(o => !ReferenceEquals(o, e))!.Other(kink);
            Vector<PictureSpace> back = kink is null ? e.DirectionFrom(p) : (far.Place - p.Place).Unit;
            if (
                ReferenceEquals(far, p)
                || ReferenceEquals(far, target.Point)
                || back.Dot(ahead) > -AlongCosine
                || ways.Exists(w => w.Dot(back) < SharpCosine)
                || BulgeTo(target.Place, p, e, kink, far) is not double bulge
            )
            {
                return null;
            }

            ways.Add(back);
            led.Add(new(e, bulge, kink));
        }

        return led;
    }

    // Where an edge is led to another place, its bulge from there; null where it then leaves its own evidence.
    private static double? BulgeTo(
        Point<PictureSpace> place,
        GraphPoint p,
        GraphEdge e,
        GraphPoint? kink,
        GraphPoint far
    )
    {
        if (e.Bulge == 0 && (kink is not null || e.Path.Length < ShortPixels))
        {
            Edge<PictureSpace> straight = new(place, far.Place);
            return
                straight.Nearest(p.Place).Distance <= KinkPixels
                && (kink is null || straight.Nearest(kink.Place).Distance <= KinkPixels)
                ? 0
                : null;
        }

        if (place.DistanceTo(p.Place) > MostShareOfChord * e.Path.Chord)
        {
            return null;
        }

        Point<PictureSpace>[] free = FreePart(ReferenceEquals(e.From, p) ? e.Path : e.Path.Reversed);
        double bulge = e.Bulge == 0 ? 0 : GraphSketcher.FitArc(place, far.Place, free) ?? 0;
        Edge<PictureSpace> led = new(place, far.Place, bulge);
        double allowed = Math.Abs(e.Bulge) < FlatBulge ? KinkPixels : FitWithinPixels + FitWithinShare * led.Chord;
        return Array.TrueForAll(free, s => led.Nearest(s).Distance <= allowed) ? bulge : null;
    }

    // A straight seam beside a cusp is pulled to it, and bends where it is free again.
    private static GraphPoint? KinkOf(GraphEdge e, GraphPoint p)
    {
        GraphPoint end = e.Other(p);
        return
            e.Bulge == 0
            && end.Edges.Count == 2
            && !end.OnOutline
            && end.Edges.TrueForAll(o => o.Bulge == 0)
            && e.Path.Length < ShortPixels
            ? end
            : null;
    }

    private static Point<PictureSpace>[] FreePart(Edge<PictureSpace> path)
    {
        double length = path.Length;
        double skip = Math.Min(SharedEndPixels, length / 4);
        int n = Math.Max(3, (int)((length - skip) / SamplePixels));
        return [.. Enumerable.Range(0, n).Select(i => path.PointAt((skip + (length - skip) * (i + 0.5) / n) / length))];
    }

    private static void Move(SeamGraph graph, GraphPoint from, Target to)
    {
        if (to.Point is not { } there)
        {
            (from.X, from.Y) = (to.Place.X, to.Place.Y);
            from.PinnedX = from.PinnedY = true;
            return;
        }

        // Where the two ends would each lead on to the other, the point lies between them.
        bool both =
            !there.OnOutline
            && LedTo(there, new(from.Place, from, to.Along), from.Place.DistanceTo(there.Place)) is not null;
        (double x, double y) = both ? ((from.X + there.X) / 2, (from.Y + there.Y) / 2) : (there.X, there.Y);
        graph.Merge(there, from);
        (there.X, there.Y) = (x, y);
    }

    /// <summary>A place that seams may lead on to, the point there if one is, and the piece that leads there.</summary>
    private readonly record struct Target(Point<PictureSpace> Place, GraphPoint? Point, GraphEdge? Along);

    /// <summary>An edge as it runs when it is led on: its bulge seen from there, and the bend that goes.</summary>
    private readonly record struct Leading(GraphEdge Edge, double Bulge, GraphPoint? Kink);
}
