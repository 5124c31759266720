using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Turns traced borders into points joined by straight lines and arcs.</summary>
internal static class GraphSketcher
{
    // A border this short joins the two halves of one point: no seam is that short (7 px is under 1/4 in).
    private const double ShortestBorder = 7;

    // Traced borders wander by about a pixel about the seam, and near a point they are drawn to its other seams.
    private const double StraightWithin = 2.6;
    private const double StraightWithinShare = 0.012;
    private const double EndZone = 7;

    private const double ShortestArcChord = 30;
    private const double LeastArcRise = 4;
    private const double ArcWithin = 3;

    // A corner of the mapped area takes points this near.
    private const double CornerReach = 7;

    /// <summary>The graph of the borders.</summary>
    public static SeamGraph Sketch(List<BorderPoint> points, List<BorderChain> chains, PixelFrame frame)
    {
        int[] cluster = Cluster(points, chains);
        SeamGraph graph = new(frame);
        Dictionary<int, GraphPoint> pointOf = [];
        foreach (IGrouping<int, int> group in Enumerable.Range(0, points.Count).GroupBy(i => cluster[i]))
        {
            int[] outline = [.. group.Where(i => points[i].OnOutline)];
            int[] members = outline.Length > 0 ? outline : [.. group];
            GraphPoint p = graph.AddPoint(members.Average(i => points[i].X), members.Average(i => points[i].Y));
            if (outline.Length > 0)
            {
                graph.Pin(p, CornerReach);
            }

            pointOf[group.Key] = p;
        }

        foreach (BorderChain chain in chains)
        {
            GraphPoint from = pointOf[cluster[chain.From]];
            GraphPoint to = pointOf[cluster[chain.To]];
            if (ReferenceEquals(from, to) && chain.Middles.Count < 4 * ShortestBorder)
            {
                continue;
            }

            Point<PictureSpace>[] line = [.. chain.Middles.Select(m => new Point<PictureSpace>(m.X, m.Y))];
            Lay(graph, from, to, line);
        }

        graph.RemoveDangling();
        return graph;
    }

    private static int[] Cluster(List<BorderPoint> points, List<BorderChain> chains)
    {
        int[] root = [.. Enumerable.Range(0, points.Count)];
        foreach (BorderChain c in chains)
        {
            BorderPoint a = points[c.From];
            BorderPoint b = points[c.To];
            double gap = Math.Sqrt((a.X - b.X) * (a.X - b.X) + (a.Y - b.Y) * (a.Y - b.Y));
            if (gap <= ShortestBorder && c.Middles.Count <= 2.2 * ShortestBorder)
            {
                root[Find(c.From)] = Find(c.To);
            }
        }

        for (int i = 0; i < root.Length; i++)
        {
            root[i] = Find(i);
        }

        return root;

        int Find(int i)
        {
            while (root[i] != i)
            {
                i = root[i] = root[root[i]];
            }

            return i;
        }
    }

    private static void Lay(SeamGraph graph, GraphPoint from, GraphPoint to, ReadOnlySpan<Point<PictureSpace>> line)
    {
        bool loop = ReferenceEquals(from, to);
        (int split, double deviation) = Farthest(new(from.Place, to.Place), line, loop ? 0 : EndZone);
        double chord = from.Place.DistanceTo(to.Place);
        double allowed = StraightWithin + StraightWithinShare * chord;
        if (!loop && (deviation <= allowed || line.Length < 2 * ShortestBorder))
        {
            graph.AddEdge(from, to, 0);
            return;
        }

        if (!loop && chord >= ShortestArcChord && FitArc(from.Place, to.Place, line) is double bulge)
        {
            double squareSplit =
                SumOfSquares(new(from.Place, line[split]), line[..split])
                + SumOfSquares(new(line[split], to.Place), line[split..]);
            Edge<PictureSpace> arc = new(from.Place, to.Place, bulge);
            if (
                Math.Abs(arc.Sagitta) >= LeastArcRise
                && Farthest(arc, line, EndZone).Deviation <= ArcWithin
                && SumOfSquares(arc, line) < squareSplit
            )
            {
                graph.AddEdge(from, to, bulge);
                return;
            }
        }

        GraphPoint corner = graph.AddPoint(line[split].X, line[split].Y);
        Lay(graph, from, corner, line[..split]);
        Lay(graph, corner, to, line[split..]);
    }

    private static (int Index, double Deviation) Farthest(
        Edge<PictureSpace> path,
        ReadOnlySpan<Point<PictureSpace>> line,
        double endZone
    )
    {
        int index = line.Length / 2;
        double deviation = 0;
        for (int i = 1; i < line.Length - 1; i++)
        {
            if (endZone > 0 && (line[i].DistanceTo(path.From) < endZone || line[i].DistanceTo(path.To) < endZone))
            {
                continue;
            }

            double d = path.From == path.To ? line[i].DistanceTo(path.From) : path.Nearest(line[i]).Distance;
            if (d > deviation)
            {
                (index, deviation) = (i, d);
            }
        }

        return (Math.Clamp(index, 1, Math.Max(1, line.Length - 1)), deviation);
    }

    private static double SumOfSquares(Edge<PictureSpace> path, ReadOnlySpan<Point<PictureSpace>> line)
    {
        double sum = 0;
        foreach (Point<PictureSpace> p in line)
        {
            double d = path.Nearest(p).Distance;
            sum += d * d;
        }

        return sum;
    }

    // The bulge of the arc between two ends that is nearest to the line: golden section on the squared distance.
    internal static double? FitArc(
        Point<PictureSpace> from,
        Point<PictureSpace> to,
        ReadOnlySpan<Point<PictureSpace>> line
    )
    {
        Vector<PictureSpace> chord = to - from;
        double mean = 0;
        foreach (Point<PictureSpace> p in line)
        {
            mean += (p - from).Dot(chord.TurnedLeft) / chord.Norm / line.Length;
        }

        // The mean height of a flat arc is two thirds of its rise.
        double guess = 2 * (1.5 * mean) / chord.Norm;
        if (!double.IsFinite(guess) || Math.Abs(guess) > 1.3)
        {
            return null;
        }

        const double Golden = 0.6180339887498949;
        double low = guess - 0.25;
        double high = guess + 0.25;
        for (int i = 0; i < 24; i++)
        {
            double a = high - (high - low) * Golden;
            double b = low + (high - low) * Golden;
            if (SumOfSquares(new(from, to, a), line) < SumOfSquares(new(from, to, b), line))
            {
                high = b;
            }
            else
            {
                low = a;
            }
        }

        double bulge = (low + high) / 2;
        return Math.Abs(bulge) < 0.02 ? null : bulge;
    }
}
