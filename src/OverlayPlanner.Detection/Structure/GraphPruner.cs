using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Removes what is no seam, and joins what is one: decided by evidence and by how cloth is pieced.</summary>
/// <remarks>
/// Two facts of piecing speak for a weak seam: patches are convex, or nearly (a seam that ends must end on a seam that runs
/// on), and a seam is sewn through (a piece between two strong pieces of one line is a seam). Common practice, no source.
/// </remarks>
internal static class GraphPruner
{
    /// <summary>Support below which a seam piece that nothing speaks for is dropped.</summary>
    public const double LeastSupport = 0.48;

    private const double ForConvexPatch = 0.09;
    private const double ForStraightOn = 0.07;
    private const double SureNeighbour = 0.6;
    private const double Floor = 0.16;
    private const double StraightCosine = 0.985; // 10 degrees
    private const double DissolveCosine = 0.9925; // 7 degrees

    /// <summary>Merges points nearer than <paramref name="reach"/> pixels, and puts points on the edges that they touch.</summary>
    public static void Tidy(SeamGraph graph, double reach)
    {
        bool any = true;
        while (any)
        {
            any = MergeNearest(graph, reach);
        }

        SnapToEdges(graph, reach * 0.75);
        graph.RemoveDangling();
        DissolveStraight(graph);
    }

    /// <summary>Drops weak edges, weakest first, until every edge left is worth keeping.</summary>
    /// <returns>True where something was dropped.</returns>
    public static bool Prune(SeamGraph graph, EvidenceMap evidence)
    {
        bool any = false;
        while (true)
        {
            GraphEdge? worst = null;
            double least = 0;
            foreach (GraphEdge e in graph.Edges)
            {
                double margin = e.Support - NeededBy(e);
                if (margin < least)
                {
                    (worst, least) = (e, margin);
                }
            }

            if (worst is null)
            {
                return any;
            }

            any = true;
            (GraphPoint a, GraphPoint b) = (worst.From, worst.To);
            graph.Remove(worst);
            graph.RemoveDangling();
            foreach (GraphPoint p in new[] { a, b })
            {
                if (p.Edges.Count == 2 && !p.OnOutline && IsStraight(p))
                {
                    GraphEdge? joined = graph.Dissolve(p);
                    if (joined is not null)
                    {
                        GraphAdjuster.Weigh(joined, evidence);
                    }
                }
            }
        }
    }

    /// <summary>The support that an edge needs, given what meets it at its ends.</summary>
    public static double NeededBy(GraphEdge e)
    {
        double needed = LeastSupport;
        foreach (GraphPoint p in new[] { e.From, e.To })
        {
            needed -= LeavesBend(p, e) ? ForConvexPatch : 0;
            needed -= p.Edges.Exists(o => o != e && o.Support >= SureNeighbour && RunsOn(p, e, o)) ? ForStraightOn : 0;
        }

        return Math.Max(Floor, needed);
    }

    /// <summary>Drops points that only pass a straight line on.</summary>
    public static void DissolveStraight(SeamGraph graph)
    {
        foreach (GraphPoint p in graph.Points.ToArray())
        {
            if (p.Edges.Count == 2 && !p.OnOutline && graph.Points.Contains(p) && IsStraight(p))
            {
                graph.Dissolve(p);
            }
        }

        graph.RemoveDangling();
    }

    // Without e, would a patch have a corner that points inward here?
    private static bool LeavesBend(GraphPoint p, GraphEdge e)
    {
        if (p.OnOutline || p.Edges.Count < 3)
        {
            return false;
        }

        double[] angles =
        [
            .. p.Edges.Where(o => o != e).Select(o => o.DirectionFrom(p)).Select(d => Math.Atan2(d.Y, d.X)).Order(),
        ];
        double widest = angles[0] + 2 * Math.PI - angles[^1];
        for (int i = 1; i < angles.Length; i++)
        {
            widest = Math.Max(widest, angles[i] - angles[i - 1]);
        }

        return widest > Math.PI + 0.25;
    }

    private static bool RunsOn(GraphPoint p, GraphEdge a, GraphEdge b) =>
        a.DirectionFrom(p).Dot(b.DirectionFrom(p)) < -StraightCosine;

    private static bool IsStraight(GraphPoint p) =>
        p.Edges.TrueForAll(e => e.Bulge == 0)
        && p.Edges[0].DirectionFrom(p).Dot(p.Edges[1].DirectionFrom(p)) < -DissolveCosine;

    private static bool MergeNearest(SeamGraph graph, double reach)
    {
        GraphPoint[] byX = [.. graph.Points.OrderBy(p => p.X).ThenBy(p => p.Y)];
        (GraphPoint A, GraphPoint B)? nearest = null;
        double least = reach;
        for (int i = 0; i < byX.Length; i++)
        {
            for (int k = i + 1; k < byX.Length && byX[k].X - byX[i].X <= least; k++)
            {
                double d = byX[i].Place.DistanceTo(byX[k].Place);
                if (d < least)
                {
                    (nearest, least) = ((byX[i], byX[k]), d);
                }
            }
        }

        if (nearest is not (GraphPoint a, GraphPoint b))
        {
            return false;
        }

        bool keepA = a.OnOutline || !b.OnOutline;
        graph.Merge(keepA ? a : b, keepA ? b : a);
        return true;
    }

    private static void SnapToEdges(SeamGraph graph, double reach)
    {
        foreach (GraphPoint p in graph.Points.ToArray())
        {
            if (!graph.Points.Contains(p))
            {
                continue;
            }

            foreach (GraphEdge e in graph.Edges.ToArray())
            {
                if (ReferenceEquals(e.From, p) || ReferenceEquals(e.To, p) || !graph.Edges.Contains(e))
                {
                    continue;
                }

                Box<PictureSpace> box = e.Path.Bounds().Grown(reach);
                if (!box.Holds(p.Place))
                {
                    continue;
                }

                (double t, double distance) = e.Path.Nearest(p.Place);
                if (distance <= reach && t > 0 && t < 1)
                {
                    graph.Split(e, t, p);
                }
            }
        }
    }
}
