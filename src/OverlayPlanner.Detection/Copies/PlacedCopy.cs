using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Copies;

/// <summary>A template laid over one copy, its points drawn to the points that were found there.</summary>
internal sealed class PlacedCopy(
    PixelCell cell,
    BlockTemplate template,
    Point<PictureSpace>[] places,
    GraphPoint?[] matched
)
{
    private const double MatchShare = 0.032; // of a side
    private const double LeastMatchPixels = 6;
    private const double OnLinePixels = 4.5;
    private const double SamePoint = 5.5;

    // Where a piece was laid in for the other copies' sake, its own pixels show little: the pattern knows its place better.
    private const double LaidPointPixels = 3;
    private const double ForMove = 0.02; // a pixel
    private const double AlongCosine = 0.92;

    public PixelCell Cell => cell;

    public BlockTemplate Template => template;

    public static PlacedCopy Place(SeamGraph graph, PixelCell cell, BlockTemplate template)
    {
        double reach = Math.Max(LeastMatchPixels, MatchShare * cell.Side);
        Point<PictureSpace>[] ideal =
        [
            .. template.Points.Select(cell.FromUnit).Select(p => new Point<PictureSpace>(p.X, p.Y)),
        ];
        GraphPoint?[] matched = new GraphPoint?[ideal.Length];
        List<(double Distance, int Index, GraphPoint Point)> pairs = [];
        foreach (GraphPoint p in graph.Points)
        {
            (double u, double v) = cell.ToUnit((p.X, p.Y));
            if (u is < -0.1 or > 1.1 || v is < -0.1 or > 1.1)
            {
                continue;
            }

            for (int i = 0; i < ideal.Length; i++)
            {
                double d = ideal[i].DistanceTo(p.Place);
                if (d <= reach)
                {
                    pairs.Add((d, i, p));
                }
            }
        }

        HashSet<GraphPoint> taken = [];
        foreach ((_, int i, GraphPoint p) in pairs.OrderBy(p => p.Distance))
        {
            if (matched[i] is null && taken.Add(p))
            {
                matched[i] = p;
            }
        }

        Point<PictureSpace>[] places = [.. ideal];
        for (int i = 0; i < ideal.Length; i++)
        {
            places[i] = matched[i] is { } own ? own.Place : Drawn(i, ideal, matched, cell.Side, graph.Frame);
        }

        return new(cell, template, places, matched);
    }

    /// <summary>Share of a piece that seams of the graph already run along, 0 to 1.</summary>
    public double Coverage(SeamGraph graph, int piece)
    {
        Edge<PictureSpace> path = PathOf(piece);
        if (IsOnOutline(graph.Frame, path))
        {
            return 1;
        }

        GraphEdge[] near = [.. Near(graph, path)];
        const int Samples = 12;
        int on = 0;
        for (int k = 0; k < Samples; k++)
        {
            double t = (k + 0.5) / Samples;
            Point<PictureSpace> p = path.PointAt(t);
            Vector<PictureSpace> way = path.DirectionAt(t);
            on += Array.Exists(near, e => RunsThere(e, p, way)) ? 1 : 0;
        }

        return (double)on / Samples;
    }

    /// <summary>Raises the confidence of the seams along a piece.</summary>
    public void Believe(SeamGraph graph, int piece, double odds)
    {
        Edge<PictureSpace> path = PathOf(piece);
        foreach (GraphEdge e in Near(graph, path))
        {
            Point<PictureSpace> middle = e.Path.PointAt(0.5);
            (double t, double d) = path.Nearest(middle);
            if (d <= OnLinePixels && Math.Abs(path.DirectionAt(t).Dot(e.Path.DirectionAt(0.5))) >= AlongCosine)
            {
                e.PriorLogOdds = Math.Max(e.PriorLogOdds, odds);
            }
        }
    }

    /// <summary>True where an edge runs along pieces of the template for nearly all of its length.</summary>
    public bool Explains(GraphEdge e, double within)
    {
        const int Samples = 8;
        int on = 0;
        Box<PictureSpace> box = e.Path.Bounds().Grown(within);
        Edge<PictureSpace>[] paths =
        [
            .. Enumerable.Range(0, template.Pieces.Count).Select(PathOf).Where(q => q.Bounds().Meets(box)),
        ];
        for (int k = 0; k < Samples; k++)
        {
            double t = (k + 0.5) / Samples;
            Point<PictureSpace> p = e.Path.PointAt(t);
            Vector<PictureSpace> way = e.Path.DirectionAt(t);
            on += Array.Exists(
                paths,
                q =>
                {
                    (double s, double d) = q.Nearest(p);
                    return d <= within && Math.Abs(q.DirectionAt(s).Dot(way)) >= AlongCosine;
                }
            )
                ? 1
                : 0;
        }

        return on >= 0.7 * Samples;
    }

    /// <summary>Looks for a piece near where the template lays it, and keeps the place where it is seen best.</summary>
    /// <returns>The mean probability there.</returns>
    public double Seek(EvidenceMap evidence, int piece)
    {
        TemplatePiece p = template.Pieces[piece];
        Edge<PictureSpace> path = PathOf(piece);
        Vector<PictureSpace> across = (path.To - path.From).TurnedLeft.Unit;
        double best = GraphAdjuster.SupportOf(path, evidence).Support;
        double[] moves = [-5, -2.5, 0, 2.5, 5];
        (Point<PictureSpace> from, Point<PictureSpace> to) = (path.From, path.To);
        foreach (double a in matched[p.From] is null ? moves : [0])
        {
            foreach (double b in matched[p.To] is null ? moves : [0])
            {
                Edge<PictureSpace> moved = new(path.From + across * a, path.To + across * b, path.Bulge);
                double support = GraphAdjuster.SupportOf(moved, evidence).Support;

                // Of many places one looks best by chance: a move must earn its keep.
                double earned = support - ForMove * (Math.Abs(a) + Math.Abs(b));
                if (earned > best)
                {
                    (best, from, to) = (earned, moved.From, moved.To);
                }
            }
        }

        (places[p.From], places[p.To]) = (from, to);
        return best;
    }

    /// <summary>Lays a piece into the graph; false where it would cross what is there.</summary>
    public bool Lay(SeamGraph graph, int piece, double odds)
    {
        TemplatePiece p = template.Pieces[piece];
        GraphPoint from = Attach(graph, p.From);
        GraphPoint to = Attach(graph, p.To);
        if (ReferenceEquals(from, to) || from.Edges.Exists(e => ReferenceEquals(e.Other(from), to)))
        {
            return false;
        }

        Edge<PictureSpace> path = new(from.Place, to.Place, p.Bulge);
        if (IsOnOutline(graph.Frame, path) || Crosses(graph, path, from, to))
        {
            return false;
        }

        graph.AddEdge(from, to, p.Bulge).PriorLogOdds = odds;
        return true;
    }

    private Edge<PictureSpace> PathOf(int piece)
    {
        TemplatePiece p = template.Pieces[piece];
        return new(places[p.From], places[p.To], p.Bulge);
    }

    private GraphPoint Attach(SeamGraph graph, int index)
    {
        if (matched[index] is { } there && graph.Points.Contains(there))
        {
            return there;
        }

        Point<PictureSpace> place = places[index];
        GraphPoint? near = graph.Points.MinBy(p => p.Place.DistanceTo(place));
        if (near is not null && near.Place.DistanceTo(place) <= SamePoint)
        {
            return matched[index] = near;
        }

        double reach = Math.Max(LeastMatchPixels, MatchShare * cell.Side);
        GraphPoint added = graph.AddPoint(place.X, place.Y);
        added.HoldPixels = LaidPointPixels;
        matched[index] = added;
        if (graph.Frame.DepthOf(place.X, place.Y) <= SamePoint)
        {
            graph.Pin(added, SamePoint);
            return added;
        }

        (GraphEdge Edge, double T, double Distance)? host = null;
        foreach (GraphEdge e in graph.Edges)
        {
            if (!MayMeet(e, new(place.X - reach, place.Y - reach, place.X + reach, place.Y + reach)))
            {
                continue;
            }

            (double t, double d) = e.Path.Nearest(place);
            if (d <= reach && t is > 0 and < 1 && (host is null || d < host.Value.Distance))
            {
                host = (e, t, d);
            }
        }

        if (host is { } on)
        {
            Point<PictureSpace> at = on.Edge.Path.PointAt(on.T);
            (added.X, added.Y) = (at.X, at.Y);
            graph.Split(on.Edge, on.T, added);
        }

        return added;
    }

    // Where a point of the template lies whose own was not found: moved as its found neighbours are.
    private static Point<PictureSpace> Drawn(
        int index,
        Point<PictureSpace>[] ideal,
        GraphPoint?[] matched,
        double side,
        PixelFrame frame
    )
    {
        Vector<PictureSpace> sum = new(0, 0);
        double weights = 1 / (0.5 * side * side);
        for (int k = 0; k < ideal.Length; k++)
        {
            if (matched[k] is { } found)
            {
                double d = ideal[k].DistanceTo(ideal[index]);
                double w = 1 / (d * d + 1);
                sum += (found.Place - ideal[k]) * w;
                weights += w;
            }
        }

        Point<PictureSpace> at = ideal[index] + sum * (1 / weights);
        return new(Math.Clamp(at.X, frame.Left, frame.Right), Math.Clamp(at.Y, frame.Top, frame.Bottom));
    }

    private static bool RunsThere(GraphEdge e, Point<PictureSpace> p, Vector<PictureSpace> way)
    {
        (double t, double d) = e.Path.Nearest(p);
        return d <= OnLinePixels && Math.Abs(e.Path.DirectionAt(t).Dot(way)) >= AlongCosine;
    }

    private static IEnumerable<GraphEdge> Near(SeamGraph graph, Edge<PictureSpace> path)
    {
        Box<PictureSpace> box = path.Bounds().Grown(OnLinePixels);
        return graph.Edges.Where(e => MayMeet(e, box));
    }

    // A quick no, before anything is built: an arc of up to a half circle rises over its chord by half of it at most.
    private static bool MayMeet(GraphEdge e, Box<PictureSpace> box)
    {
        double slack = OnLinePixels;
        if (e.Bulge != 0)
        {
            slack += (Math.Abs(e.To.X - e.From.X) + Math.Abs(e.To.Y - e.From.Y)) * Math.Max(0.5, Math.Abs(e.Bulge));
        }

        return Math.Max(e.From.X, e.To.X) + slack >= box.Left
            && Math.Min(e.From.X, e.To.X) - slack <= box.Right
            && Math.Max(e.From.Y, e.To.Y) + slack >= box.Top
            && Math.Min(e.From.Y, e.To.Y) - slack <= box.Bottom;
    }

    private static bool IsOnOutline(PixelFrame f, Edge<PictureSpace> path)
    {
        return path.IsLine
            && (
                Both(path.From.X - f.Left, path.To.X - f.Left)
                || Both(path.From.X - f.Right, path.To.X - f.Right)
                || Both(path.From.Y - f.Top, path.To.Y - f.Top)
                || Both(path.From.Y - f.Bottom, path.To.Y - f.Bottom)
            );

        static bool Both(double a, double b) => Math.Abs(a) <= SamePoint && Math.Abs(b) <= SamePoint;
    }

    private static bool Crosses(SeamGraph graph, Edge<PictureSpace> path, GraphPoint from, GraphPoint to)
    {
        Box<PictureSpace> box = path.Bounds().Grown(1);
        foreach (GraphEdge e in graph.Edges)
        {
            bool touches =
                ReferenceEquals(e.From, from)
                || ReferenceEquals(e.To, from)
                || ReferenceEquals(e.From, to)
                || ReferenceEquals(e.To, to);
            if (!MayMeet(e, box))
            {
                continue;
            }

            if (touches)
            {
                // From a common point: the same way is the same seam.
                GraphPoint common = ReferenceEquals(e.From, from) || ReferenceEquals(e.To, from) ? from : to;
                Vector<PictureSpace> way = ReferenceEquals(common, from)
                    ? path.StartDirection
                    : path.Reversed.StartDirection;
                if (e.DirectionFrom(common).Dot(way) > 0.995)
                {
                    return true;
                }
            }
            else if (Exact.Relate(e.Path, path) is EdgeRelation.Cross or EdgeRelation.Overlap)
            {
                return true;
            }
        }

        return false;
    }
}
