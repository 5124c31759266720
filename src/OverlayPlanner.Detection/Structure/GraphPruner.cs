using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Removes what is no seam, and joins what is one: decided by evidence and by how cloth is pieced.</summary>
internal static class GraphPruner
{
    private const int PartAtOnce = 12;
    private const double DissolveCosine = 0.9925; // 7 degrees

    /// <summary>Merges points nearer than <paramref name="reach"/> pixels, and puts points on the edges that they touch.</summary>
    public static void Tidy(SeamGraph graph, double reach)
    {
        bool any = true;
        while (any)
        {
            any = MergeNearest(graph, reach);
        }

        PinNearOutline(graph, reach);
        SnapToEdges(graph, reach * 0.75);
        graph.RemoveDangling();
        DissolveStraight(graph);
    }

    /// <summary>Drops weak edges, weakest first, until every edge left is worth keeping.</summary>
    /// <returns>True where something was dropped.</returns>
    public static bool Prune(SeamGraph graph, EvidenceMap evidence)
    {
        bool any = false;
        PiecingPrior prior = new(graph);
        while (true)
        {
            (GraphEdge Edge, double Margin)[] weak =
            [
                .. graph
                    .Edges.Select(e => (Edge: e, Margin: PiecingPrior.SupportOf(e) - prior.NeededBy(e)))
                    .Where(x => x.Margin < 0)
                    .OrderBy(x => x.Margin),
            ];
            if (weak.Length == 0)
            {
                return any;
            }

            // What goes changes what its neighbours need, so only the weakest part goes at once.
            any = true;
            List<GraphPoint> touched = [];
            foreach ((GraphEdge e, _) in weak.Take(Math.Max(1, weak.Length / PartAtOnce)))
            {
                touched.Add(e.From);
                touched.Add(e.To);
                graph.Remove(e);
            }

            graph.RemoveDangling();
            foreach (GraphPoint p in touched)
            {
                if (p.Edges.Count == 2 && !p.OnOutline && IsStraight(p) && graph.Dissolve(p) is GraphEdge joined)
                {
                    GraphAdjuster.Weigh(joined, evidence);
                }
            }
        }
    }

    /// <summary>Drops one side of every patch that is narrower than <paramref name="width"/> pixels: a line seen double.</summary>
    public static void RemoveSlivers(SeamGraph graph, double width)
    {
        foreach (GraphEdge e in new PatchCensus(graph).FindSliverEdges(width).Distinct())
        {
            graph.Remove(e);
        }

        graph.RemoveDangling();
        DissolveStraight(graph);
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

    private static bool IsStraight(GraphPoint p) =>
        p.Edges.TrueForAll(e => e.Bulge == 0)
        && p.Edges[0].DirectionFrom(p).Dot(p.Edges[1].DirectionFrom(p)) < -DissolveCosine;

    // The given outline is straight and the cloth's is not quite: what lies within a seam's width of it is on it.
    private static void PinNearOutline(SeamGraph graph, double reach)
    {
        foreach (GraphPoint p in graph.Points)
        {
            if (!p.OnOutline && graph.Frame.DepthOf(p.X, p.Y) <= reach)
            {
                graph.Pin(p, reach);
            }
        }

        foreach (GraphEdge e in graph.Edges.ToArray())
        {
            bool along =
                (e.From.PinnedX && e.To.PinnedX && e.From.X == e.To.X)
                || (e.From.PinnedY && e.To.PinnedY && e.From.Y == e.To.Y);
            if (along && e.Bulge == 0)
            {
                graph.Remove(e);
            }
        }
    }

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
                if (ReferenceEquals(e.From, p) || ReferenceEquals(e.To, p) || !MayReach(e, p, reach))
                {
                    continue;
                }

                (double t, double distance) = e.Path.Nearest(p.Place);
                if (distance <= reach && t > 0 && t < 1 && graph.Edges.Contains(e))
                {
                    graph.Split(e, t, p);
                }
            }
        }
    }

    // A quick no: an arc rises over its chord by at most half of it while it is no more than a half circle.
    private static bool MayReach(GraphEdge e, GraphPoint p, double reach)
    {
        double slack = reach + (e.Bulge == 0 ? 0 : e.Path.Chord * Math.Max(0.5, Math.Abs(e.Bulge)));
        return p.X >= Math.Min(e.From.X, e.To.X) - slack
            && p.X <= Math.Max(e.From.X, e.To.X) + slack
            && p.Y >= Math.Min(e.From.Y, e.To.Y) - slack
            && p.Y <= Math.Max(e.From.Y, e.To.Y) + slack;
    }
}
