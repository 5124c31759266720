using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Keeps seams that leave a point nearly together from crossing just beyond it: measured arcs that touch in the cloth overlap
/// by a fraction of a degree as often as not.
/// </summary>
internal static class CuspOpener
{
    private const double NearCosine = 0.97; // 14 degrees
    private const double LeastGap = 0.002; // radians
    private const double MostTurn = 0.12; // radians; more is no matter of measuring
    private const double LookShare = 0.3; // of the shorter seam
    private const int Rounds = 6;

    /// <summary>Takes as much off the bulges as crossing seams need.</summary>
    /// <returns>How many bulges changed.</returns>
    public static int Open(SeamGraph graph)
    {
        int changed = 0;
        for (int round = 0; round < Rounds; round++)
        {
            int now = graph.Points.Sum(p => OpenAt(graph, p));
            changed += now;
            if (now == 0)
            {
                break;
            }
        }

        return changed;
    }

    private static int OpenAt(SeamGraph graph, GraphPoint p)
    {
        if (!p.Edges.Exists(e => e.Bulge != 0))
        {
            return 0;
        }

        int changed = 0;
        for (int i = 0; i < p.Edges.Count; i++)
        {
            for (int k = i + 1; k < p.Edges.Count; k++)
            {
                changed += Part(p, p.Edges[i], p.Edges[k]);
            }

            foreach (Edge<PictureSpace> side in SidesAt(graph.Frame, p))
            {
                changed += TurnFrom(p, p.Edges[i], side, 1);
            }
        }

        return changed;
    }

    private static int Part(GraphPoint p, GraphEdge a, GraphEdge b)
    {
        int curved = (a.Bulge != 0 ? 1 : 0) + (b.Bulge != 0 ? 1 : 0);
        return curved == 0 || ReferenceEquals(a.Other(p), b.Other(p))
            ? 0
            : TurnFrom(p, a, From(p, b), 1.0 / curved) + TurnFrom(p, b, From(p, a), 1);
    }

    // Turns the start of an edge away from its neighbour by a share of what they overlap.
    private static int TurnFrom(GraphPoint p, GraphEdge e, Edge<PictureSpace> other, double share)
    {
        Edge<PictureSpace> path = From(p, e);
        Vector<PictureSpace> own = path.StartDirection;
        Vector<PictureSpace> near = other.StartDirection;
        if (e.Bulge == 0 || own.Dot(near) < NearCosine)
        {
            return 0;
        }

        // Which side of the neighbour the edge lies on is seen farther out, where both stand apart.
        double look = LookShare * Math.Min(path.Length, other.Length);
        double side = Math.Sign(
            (other.PointAt(look / other.Length) - p.Place).Cross(path.PointAt(look / path.Length) - p.Place)
        );
        double gap = side * Math.Asin(Math.Clamp(near.Cross(own), -1, 1));
        if (gap >= LeastGap / 2 || gap < -MostTurn)
        {
            return 0;
        }

        // The start of an arc stands off its chord by twice the arc tangent of its bulge.
        double turn = (LeastGap - gap) * share;
        double before = 2 * Math.Atan(path.Bulge);
        double[] ways = [Math.Tan((before + turn) / 2), Math.Tan((before - turn) / 2)];
        double bulge = ways.MaxBy(b => side * own.Cross((path with { Bulge = b }).StartDirection));
        e.Bulge = ReferenceEquals(e.From, p) ? bulge : -bulge;
        return 1;
    }

    private static Edge<PictureSpace> From(GraphPoint p, GraphEdge e) =>
        ReferenceEquals(e.From, p) ? e.Path : e.Path.Reversed;

    // A corner of the mapped area is the end of two sides.
    private static IEnumerable<Edge<PictureSpace>> SidesAt(PixelFrame f, GraphPoint p)
    {
        Point<PictureSpace>[] ends =
        [
            .. p.PinnedX ? new Point<PictureSpace>[] { new(p.X, f.Top), new(p.X, f.Bottom) } : [],
            .. p.PinnedY ? new Point<PictureSpace>[] { new(f.Left, p.Y), new(f.Right, p.Y) } : [],
        ];
        return ends.Where(e => e.DistanceTo(p.Place) > 1).Select(e => new Edge<PictureSpace>(p.Place, e));
    }
}
