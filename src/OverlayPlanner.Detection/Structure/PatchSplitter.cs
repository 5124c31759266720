using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Looks again for seams that left too little evidence to close a region: straight lines from point to point, and seams led
/// on from where they end, judged by the evidence on them against that beside them.
/// </summary>
internal static class PatchSplitter
{
    private const double LeastLookedAt = 0.14;
    private const double LeastContrast = 0.1;
    private const double BesidePixels = 7;
    private const double LeastLength = 16;
    private const double LongestPixels = 640;
    private const double ClearOfPoints = 5;
    private const double LeastAngle = 0.17; // 10 degrees from a seam that is there
    private const double LedOnWithin = 6;

    /// <summary>Adds what is worth adding, surest first.</summary>
    /// <returns>How many seams were added.</returns>
    public static int Split(SeamGraph graph, EvidenceMap evidence)
    {
        PiecingPrior prior = new(graph);
        List<(GraphPoint From, GraphPoint? To, Point<PictureSpace> End, double Support)> wishes = FindWishes(
            graph,
            prior.Census,
            evidence
        );
        int added = 0;
        foreach (
            (GraphPoint from, GraphPoint? to, Point<PictureSpace> end, double support) in wishes
                .OrderByDescending(x => x.Support)
                .ThenBy(x => x.From.X)
                .ThenBy(x => x.From.Y)
        )
        {
            if (!IsClear(graph, from, to, end))
            {
                continue;
            }

            GraphPoint last = to ?? graph.AddPoint(end.X, end.Y);
            GraphEdge? cut = null;
            if (to is null)
            {
                cut = Nearest(graph, end);
                if (cut is null)
                {
                    graph.Pin(last, LedOnWithin);
                }
            }

            GraphEdge e = graph.AddEdge(from, last, 0);
            e.Support = support;
            GraphAdjuster.Weigh(e, evidence);

            // A seam that is led on ends as a T on a seam that runs on: no bend stays behind.
            bool open = to is null && cut is not null;
            double needed = prior.NeededBy(e) + (open ? 0.02 : 0);
            if (e.Support < needed)
            {
                graph.Remove(e);
                if (to is null)
                {
                    graph.Points.Remove(last);
                }

                continue;
            }

            if (cut is not null)
            {
                graph.Split(cut, cut.Path.Nearest(end).T, last);
            }

            added++;
        }

        return added;
    }

    private static List<(GraphPoint, GraphPoint?, Point<PictureSpace>, double)> FindWishes(
        SeamGraph graph,
        PatchCensus census,
        EvidenceMap evidence
    )
    {
        List<(GraphPoint, GraphPoint?, Point<PictureSpace>, double)> found = [];
        HashSet<GraphPoint> known = [.. graph.Points];
        foreach (IReadOnlyList<GraphPoint> ring in census.Rings)
        {
            for (int i = 0; i < ring.Count; i++)
            {
                for (int k = i + 1; k < ring.Count; k++)
                {
                    if (ring[i] != ring[k] && known.Contains(ring[i]) && known.Contains(ring[k]))
                    {
                        Consider(ring[i], ring[k], ring[k].Place);
                    }
                }
            }
        }

        foreach (GraphPoint p in graph.Points)
        {
            foreach (GraphEdge e in p.Edges)
            {
                LeadOn(p, e);
            }
        }

        return found;

        void Consider(GraphPoint from, GraphPoint? to, Point<PictureSpace> end)
        {
            Edge<PictureSpace> path = new(from.Place, end);
            double length = path.Chord;
            if (length < LeastLength || length > LongestPixels || !IsSeenAtAll(path, evidence))
            {
                return;
            }

            if (
                (to is not null && from.OnOutline && to.OnOutline && RunsAlongOutline(from, to))
                || RunsAlongEdge(from, end)
            )
            {
                return;
            }

            if (to is not null && RunsAlongEdge(to, from.Place))
            {
                return;
            }

            double support = GraphAdjuster.SupportOf(path, evidence).Support;
            if (support < LeastLookedAt)
            {
                return;
            }

            Vector<PictureSpace> beside = (end - from.Place).TurnedLeft.Unit * BesidePixels;
            double left = GraphAdjuster.SupportOf(new(from.Place + beside, end + beside), evidence).Support;
            double right = GraphAdjuster.SupportOf(new(from.Place - beside, end - beside), evidence).Support;
            if (support - Math.Max(left, right) >= LeastContrast)
            {
                found.Add((from, to, end, support));
            }
        }

        void LeadOn(GraphPoint p, GraphEdge e)
        {
            Vector<PictureSpace> way = e.DirectionFrom(p) * -1;
            if (p.OnOutline || p.Edges.Exists(o => o != e && o.DirectionFrom(p).Dot(way) > 0.94))
            {
                return;
            }

            if (FirstHit(graph, p, way) is Point<PictureSpace> end)
            {
                Consider(p, null, end);
            }
        }
    }

    // Every sixth pixel first: nearly all pairs show nothing between them.
    private static bool IsSeenAtAll(Edge<PictureSpace> path, EvidenceMap evidence)
    {
        int n = Math.Max(4, (int)(path.Chord / 6));
        double sum = 0;
        for (int i = 1; i < n; i++)
        {
            Point<PictureSpace> p = path.From.Toward(path.To, (double)i / n);
            sum += evidence.SeamAt(p.X, p.Y);
        }

        return sum / (n - 1) >= 0.6 * LeastLookedAt;
    }

    private static bool RunsAlongOutline(GraphPoint a, GraphPoint b) =>
        (a.PinnedX && b.PinnedX && a.X == b.X) || (a.PinnedY && b.PinnedY && a.Y == b.Y);

    private static bool RunsAlongEdge(GraphPoint p, Point<PictureSpace> toward)
    {
        Vector<PictureSpace> way = (toward - p.Place).Unit;
        return p.Edges.Exists(e => e.DirectionFrom(p).Dot(way) > Math.Cos(LeastAngle));
    }

    private static Point<PictureSpace>? FirstHit(SeamGraph graph, GraphPoint p, Vector<PictureSpace> way)
    {
        double first = double.PositiveInfinity;
        foreach (GraphEdge e in graph.Edges)
        {
            if (ReferenceEquals(e.From, p) || ReferenceEquals(e.To, p) || e.Bulge != 0)
            {
                continue;
            }

            Vector<PictureSpace> d = e.To.Place - e.From.Place;
            double cross = way.Cross(d);
            if (Math.Abs(cross) < 1e-9)
            {
                continue;
            }

            Vector<PictureSpace> to = e.From.Place - p.Place;
            double s = to.Cross(d) / cross;
            double t = to.Cross(way) / cross;
            if (s > 1 && t >= 0 && t <= 1)
            {
                first = Math.Min(first, s);
            }
        }

        PixelFrame f = graph.Frame;
        foreach (
            (double limit, double at, double step) in new[]
            {
                (f.Left, p.X, way.X),
                (f.Right, p.X, way.X),
                (f.Top, p.Y, way.Y),
                (f.Bottom, p.Y, way.Y),
            }
        )
        {
            double s = Math.Abs(step) < 1e-9 ? -1 : (limit - at) / step;
            if (s > 1)
            {
                first = Math.Min(first, s);
            }
        }

        return double.IsFinite(first) ? p.Place + way * first : null;
    }

    private static GraphEdge? Nearest(SeamGraph graph, Point<PictureSpace> p)
    {
        GraphEdge? nearest = graph.Edges.MinBy(e => e.Path.Nearest(p).Distance);
        return nearest is not null && nearest.Path.Nearest(p).Distance < 1 ? nearest : null;
    }

    // Nothing may lie in the way: no edge crossed, no other point touched.
    private static bool IsClear(SeamGraph graph, GraphPoint from, GraphPoint? to, Point<PictureSpace> end)
    {
        Edge<PictureSpace> path = new(from.Place, end);
        Box<PictureSpace> box = path.Bounds().Grown(ClearOfPoints);
        foreach (GraphPoint p in graph.Points)
        {
            if (
                !ReferenceEquals(p, from)
                && !ReferenceEquals(p, to)
                && box.Holds(p.Place)
                && path.Nearest(p.Place).Distance < ClearOfPoints
            )
            {
                return false;
            }
        }

        foreach (GraphEdge e in graph.Edges)
        {
            if (ReferenceEquals(e.From, from) || ReferenceEquals(e.To, from))
            {
                if (to is not null && (ReferenceEquals(e.From, to) || ReferenceEquals(e.To, to)))
                {
                    return false;
                }

                continue;
            }

            if (to is not null && (ReferenceEquals(e.From, to) || ReferenceEquals(e.To, to)))
            {
                continue;
            }

            EdgeRelation relation = Exact.Relate(e.Path, path);
            if (relation is EdgeRelation.Cross or EdgeRelation.Overlap)
            {
                // A line that is led on ends on the edge that it hits; rounding may carry it over by a hair.
                if (to is null && e.Path.Nearest(end).Distance < 0.01)
                {
                    continue;
                }

                return false;
            }
        }

        return true;
    }
}
