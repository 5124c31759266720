using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>How much evidence a seam piece needs, given how cloth is pieced and what else stands in the top.</summary>
/// <remarks>
/// Facts of piecing (common practice, no source) that speak for a weak seam: patches are convex, or nearly, so a seam ends on
/// a seam that runs on; a line is sewn through; patches repeat, so a piece as long and as slanted as others that were seen
/// well is likely one of them, and most of all where it divides a shape that stands alone into shapes that are common. Against:
/// a bend where nothing else meets, which a print makes easily and a needle hardly ever.
/// </remarks>
internal sealed class PiecingPrior
{
    /// <summary>Support below which a piece that nothing speaks for is dropped.</summary>
    public const double LeastSupport = 0.68;

    private const double ForConvexPatch = 0.14;
    private const double ForStraightOn = 0.06;
    private const double ForRepeat = 0.06;
    private const double ForBends = 0.035;
    private const int MostBends = 8;
    private const double SharpCosine = -0.9; // turns by more than 26 degrees
    private const double SureNeighbour = 0.6;
    private const double SureRepeat = 0.65;
    private const double Floor = 0.16;
    private const double StraightCosine = 0.985; // 10 degrees
    private const int EnoughRepeats = 3;
    private const double ShortestRepeatPixels = 20;
    private const double SamePixels = 4;

    private const double ForRareShape = 0.28;

    private readonly Dictionary<(int, int), List<Vector<PictureSpace>>> seen = [];
    private readonly PatchCensus census;

    public PiecingPrior(SeamGraph graph)
    {
        census = new(graph);
        foreach (GraphEdge e in graph.Edges)
        {
            if (e.Bulge == 0 && e.Support >= SureRepeat)
            {
                Vector<PictureSpace> v = Canonical(e);
                (int, int) cell = CellOf(v);
                if (!seen.TryGetValue(cell, out List<Vector<PictureSpace>>? there))
                {
                    seen[cell] = there = [];
                }

                there.Add(v);
            }
        }
    }

    /// <summary>The patches when this was made.</summary>
    public PatchCensus Census => census;

    /// <summary>The support, 0 to 1, that this edge needs where it stands.</summary>
    public double NeededBy(GraphEdge e)
    {
        double needed = LeastSupport - ForRepeat * Math.Min(1, (double)RepeatsOf(e) / EnoughRepeats);
        int bends = BendsFrom(e.From, e) + BendsFrom(e.To, e);
        needed += ForBends * bends * (bends + 1);
        int runsOn = 0;
        foreach (GraphPoint p in new[] { e.From, e.To })
        {
            needed -= LeavesBend(p, e) ? ForConvexPatch : 0;
            runsOn += p.Edges.Exists(o => o != e && o.Support >= SureNeighbour && RunsOn(p, e, o)) ? 1 : 0;
        }

        // A line that comes out of a patch on both sides tempts the eye (and a network) to see it inside: no help then.
        needed -= runsOn == 1 ? ForStraightOn : 0;
        if (e.Support < needed && e.Support >= needed - ForRareShape && census.DividesRareShape(e))
        {
            needed -= ForRareShape;
        }

        return Math.Max(Floor, needed);
    }

    /// <summary>How many other well-seen edges have the same length and slant.</summary>
    internal int RepeatsOf(GraphEdge e)
    {
        if (e.Bulge != 0)
        {
            return 0;
        }

        Vector<PictureSpace> v = Canonical(e);
        if (v.Norm < ShortestRepeatPixels)
        {
            return 0;
        }

        double same = SamePixels + 0.015 * v.Norm;
        int n = e.Support >= SureRepeat ? -1 : 0;
        (int cx, int cy) = CellOf(v);
        for (int x = cx - 1; x <= cx + 1; x++)
        {
            for (int y = cy - 1; y <= cy + 1; y++)
            {
                n += seen.TryGetValue((x, y), out List<Vector<PictureSpace>>? there)
                    ? there.Count(o => (o - v).Norm <= same)
                    : 0;
            }
        }

        return Math.Max(0, n);
    }

    /// <summary>
    /// Support of the whole line that an edge belongs to: on through points where nothing else meets. One weak piece of it
    /// must not take the others along.
    /// </summary>
    public static double SupportOf(GraphEdge e)
    {
        double length = e.Path.Length;
        double sum = e.Support * length;
        Walk(e.From, e, Add);
        Walk(e.To, e, Add);
        return sum / length;

        void Add(GraphEdge next, double cosine)
        {
            double l = next.Path.Length;
            length += l;
            sum += next.Support * l;
        }
    }

    // Sharp bends in a row, from an end of an edge to the next point where seams meet; cloth waves, but by small angles.
    internal static int BendsFrom(GraphPoint p, GraphEdge e)
    {
        int bends = 0;
        Walk(p, e, (_, cosine) => bends += cosine > SharpCosine ? 1 : 0);
        return bends;
    }

    // Visits the edges that follow one on its far side while nothing else meets, with the cosine between the two directions
    // away from each point: −1 straight on.
    private static void Walk(GraphPoint p, GraphEdge e, Action<GraphEdge, double> visit)
    {
        for (int i = 0; i < MostBends && !p.OnOutline && p.Edges.Count == 2; i++)
        {
            GraphEdge next = p.Edges[0] == e ? p.Edges[1] : p.Edges[0];
            visit(next, e.DirectionFrom(p).Dot(next.DirectionFrom(p)));
            e = next;
            p = e.Other(p);
        }
    }

    // Without e, would a patch have a corner that points inward here? Said by sure seams alone: weak lines would vouch for
    // each other.
    internal static bool LeavesBend(GraphPoint p, GraphEdge e)
    {
        if (p.OnOutline || p.Edges.Count < 3 || p.Edges.Exists(o => o != e && o.Support < SureRepeat))
        {
            return false;
        }

        Span<double> angles = stackalloc double[p.Edges.Count - 1];
        int n = 0;
        foreach (GraphEdge o in p.Edges)
        {
            if (o != e && n < angles.Length)
            {
                Vector<PictureSpace> d = o.DirectionFrom(p);
                angles[n++] = Math.Atan2(d.Y, d.X);
            }
        }

        angles = angles[..n];
        angles.Sort();
        double widest = angles[0] + 2 * Math.PI - angles[^1];
        for (int i = 1; i < n; i++)
        {
            widest = Math.Max(widest, angles[i] - angles[i - 1]);
        }

        return widest > Math.PI + 0.25;
    }

    internal static bool RunsOn(GraphPoint p, GraphEdge a, GraphEdge b) =>
        a.DirectionFrom(p).Dot(b.DirectionFrom(p)) < -StraightCosine;

    private static Vector<PictureSpace> Canonical(GraphEdge e)
    {
        Vector<PictureSpace> v = e.To.Place - e.From.Place;

        // Slants near level point right, others down, so that a line and its reverse agree and no cut runs through a
        // common direction.
        bool keep = Math.Abs(v.Y) < 0.4 * Math.Abs(v.X) ? v.X > 0 : v.Y > 0;
        return keep ? v : v * -1;
    }

    private static (int X, int Y) CellOf(Vector<PictureSpace> v) =>
        ((int)Math.Floor(v.X / 16), (int)Math.Floor(v.Y / 16));
}
