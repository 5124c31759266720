using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>A point of the graph under construction, in evidence pixels.</summary>
internal sealed class GraphPoint(double x, double y)
{
    public double X { get; set; } = x;

    public double Y { get; set; } = y;

    /// <summary>On the left or right side of the mapped area: x stays.</summary>
    public bool PinnedX { get; set; }

    /// <summary>On the top or bottom side of the mapped area: y stays.</summary>
    public bool PinnedY { get; set; }

    public bool OnOutline => PinnedX || PinnedY;

    /// <summary>How far an adjustment lets it go where nothing is seen, one standard deviation, pixels.</summary>
    public double HoldPixels { get; set; } = 12;

    /// <summary>Edges that end here.</summary>
    public List<GraphEdge> Edges { get; } = [];

    public Point<PictureSpace> Place => new(X, Y);
}

/// <summary>A seam piece of the graph under construction.</summary>
internal sealed class GraphEdge(GraphPoint from, GraphPoint to, double bulge)
{
    public GraphPoint From { get; set; } = from;

    public GraphPoint To { get; set; } = to;

    public double Bulge { get; set; } = bulge;

    /// <summary>Mean seam probability along it, 0 to 1.</summary>
    public double Support { get; set; }

    /// <summary>Share of its length where a seam is likely, 0 to 1.</summary>
    public double Coverage { get; set; }

    /// <summary>Scatter of the measured seam about the fitted line, pixels.</summary>
    public double Scatter { get; set; } = 1;

    /// <summary>How many places across it were measured.</summary>
    public int Measured { get; set; }

    /// <summary>Log odds that other copies of its block give it, beside its own evidence.</summary>
    public double PriorLogOdds { get; set; }

    public Edge<PictureSpace> Path => new(From.Place, To.Place, Bulge);

    public GraphPoint Other(GraphPoint p) => ReferenceEquals(p, From) ? To : From;

    /// <summary>Direction in which the edge leaves one of its ends, length 1.</summary>
    public Vector<PictureSpace> DirectionFrom(GraphPoint p) =>
        ReferenceEquals(p, From) ? Path.StartDirection : Path.Reversed.StartDirection;
}

/// <summary>
/// The seams under construction: points and edges in evidence pixels, without the outline, on which points are pinned.
/// </summary>
internal sealed class SeamGraph(PixelFrame frame)
{
    public PixelFrame Frame { get; } = frame;

    public List<GraphPoint> Points { get; } = [];

    public List<GraphEdge> Edges { get; } = [];

    public GraphPoint AddPoint(double x, double y)
    {
        GraphPoint p = new(x, y);
        Points.Add(p);
        return p;
    }

    public GraphEdge AddEdge(GraphPoint from, GraphPoint to, double bulge)
    {
        GraphEdge e = new(from, to, bulge);
        from.Edges.Add(e);
        to.Edges.Add(e);
        Edges.Add(e);
        return e;
    }

    public void Remove(GraphEdge e)
    {
        e.From.Edges.Remove(e);
        e.To.Edges.Remove(e);
        Edges.Remove(e);
    }

    /// <summary>Puts a point on the nearest side of the mapped area, or in its corner where one is as near.</summary>
    public void Pin(GraphPoint p, double cornerPixels)
    {
        double left = Math.Abs(p.X - Frame.Left);
        double right = Math.Abs(p.X - Frame.Right);
        double top = Math.Abs(p.Y - Frame.Top);
        double bottom = Math.Abs(p.Y - Frame.Bottom);
        double toSide = Math.Min(left, right);
        double toEnd = Math.Min(top, bottom);
        bool corner = Math.Max(toSide, toEnd) <= cornerPixels;
        if (corner || toSide <= toEnd)
        {
            p.PinnedX = true;
            p.X = left <= right ? Frame.Left : Frame.Right;
        }

        if (corner || toEnd < toSide)
        {
            p.PinnedY = true;
            p.Y = top <= bottom ? Frame.Top : Frame.Bottom;
        }
    }

    /// <summary>Moves all edges of one point to another and drops the point; edges between the two go.</summary>
    public void Merge(GraphPoint kept, GraphPoint gone)
    {
        if (ReferenceEquals(kept, gone))
        {
            return;
        }

        // A pinned place is known better than a free one; two sides together make a corner.
        (double x, double y) = ((kept.X + gone.X) / 2, (kept.Y + gone.Y) / 2);
        kept.X =
            kept.PinnedX ? kept.X
            : gone.PinnedX ? gone.X
            : x;
        kept.Y =
            kept.PinnedY ? kept.Y
            : gone.PinnedY ? gone.Y
            : y;
        kept.PinnedX |= gone.PinnedX;
        kept.PinnedY |= gone.PinnedY;
        foreach (GraphEdge e in gone.Edges.ToArray())
        {
            if (ReferenceEquals(e.Other(gone), kept) || ReferenceEquals(e.From, e.To))
            {
                Remove(e);
                continue;
            }

            gone.Edges.Remove(e);
            if (ReferenceEquals(e.From, gone))
            {
                e.From = kept;
            }
            else
            {
                e.To = kept;
            }

            kept.Edges.Add(e);
        }

        Points.Remove(gone);
        RemoveCopies(kept);
    }

    /// <summary>Splits an edge at the fraction <paramref name="t"/> of its length with a point.</summary>
    public void Split(GraphEdge e, double t, GraphPoint at)
    {
        double sweep = e.Path.Sweep;
        double first = e.Bulge == 0 ? 0 : Math.Tan(t * sweep / 4);
        double second = e.Bulge == 0 ? 0 : Math.Tan((1 - t) * sweep / 4);
        (GraphPoint from, GraphPoint to) = (e.From, e.To);
        Remove(e);
        if (!ReferenceEquals(from, at))
        {
            Copy(AddEdge(from, at, first), e);
        }

        if (!ReferenceEquals(to, at))
        {
            Copy(AddEdge(at, to, second), e);
        }

        RemoveCopies(at);
    }

    /// <summary>Joins the two edges of a point that only passes a straight line on, and drops the point.</summary>
    /// <returns>The joined edge, or null where both ends were already joined by it.</returns>
    public GraphEdge? Dissolve(GraphPoint p)
    {
        (GraphEdge a, GraphEdge b) = (p.Edges[0], p.Edges[1]);
        (GraphPoint from, GraphPoint to) = (a.Other(p), b.Other(p));
        double la = a.Path.Length;
        double lb = b.Path.Length;
        Remove(a);
        Remove(b);
        Points.Remove(p);
        if (ReferenceEquals(from, to) || from.Edges.Exists(e => ReferenceEquals(e.Other(from), to) && e.Bulge == 0))
        {
            return null;
        }

        GraphEdge joined = AddEdge(from, to, 0);
        joined.Support = (a.Support * la + b.Support * lb) / (la + lb);
        joined.Coverage = (a.Coverage * la + b.Coverage * lb) / (la + lb);
        joined.Measured = a.Measured + b.Measured;
        joined.Scatter = Math.Max(a.Scatter, b.Scatter);
        joined.PriorLogOdds = (a.PriorLogOdds * la + b.PriorLogOdds * lb) / (la + lb);
        return joined;
    }

    /// <summary>Drops edges that end nowhere, and points without edges, until none is left.</summary>
    public void RemoveDangling()
    {
        HashSet<GraphPoint> gone = [];
        foreach (GraphPoint p in Points)
        {
            // A dropped edge may leave the point at its other end dangling in turn.
            GraphPoint? end = p;
            while (end is not null && end.Edges.Count <= 1 && !(end.OnOutline && end.Edges.Count == 1))
            {
                gone.Add(end);
                if (end.Edges.Count == 0)
                {
                    break;
                }

                GraphEdge e = end.Edges[0];
                end = e.Other(end);
                Remove(e);
            }
        }

        Points.RemoveAll(gone.Contains);
    }

    private static void Copy(GraphEdge to, GraphEdge from)
    {
        to.Support = from.Support;
        to.Coverage = from.Coverage;
        to.Scatter = from.Scatter;
        to.Measured = from.Measured;
        to.PriorLogOdds = from.PriorLogOdds;
    }

    // Two straight edges between the same two points are one.
    private void RemoveCopies(GraphPoint p)
    {
        for (int i = 0; i < p.Edges.Count; i++)
        {
            for (int k = p.Edges.Count - 1; k > i; k--)
            {
                (GraphEdge a, GraphEdge b) = (p.Edges[i], p.Edges[k]);
                if (
                    ReferenceEquals(a.Other(p), b.Other(p))
                    && Math.Abs((ReferenceEquals(a.From, b.From) ? a.Bulge - b.Bulge : a.Bulge + b.Bulge)) < 0.1
                )
                {
                    Remove(a.Support >= b.Support ? b : a);
                    k = p.Edges.Count;
                }
            }
        }
    }
}
