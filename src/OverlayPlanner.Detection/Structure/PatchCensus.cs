using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Counts patches of like shape, so that a seam which would divide a shape that stands alone into shapes that are common is
/// believed sooner: in a top of many half-square triangles, the one square without its diagonal has most likely lost it.
/// </summary>
/// <remarks>
/// Like shapes have like area and like girth, whichever way they are turned. The census is of one moment; edges added later
/// are unknown to it. O(n log n).
/// </remarks>
internal sealed class PatchCensus
{
    private const double SameArea = 0.13;
    private const double SameGirth = 0.06;
    private const int Common = 4;
    private const double TimesAsCommon = 5;

    private const double WeakSupport = 0.68;

    private readonly List<(double Area, double Girth)> patches = [];
    private readonly List<(double Area, double Girth)> sure = [];
    private readonly List<(double Area, double Girth)> undivided = [];
    private readonly List<List<GraphPoint>> rings = [];
    private readonly Dictionary<GraphEdge, (int A, int B)> sides = [];

    public PatchCensus(SeamGraph graph)
    {
        Dictionary<GraphPoint, int> index = [];
        List<Point<PictureSpace>> nodes = [];
        List<GraphPoint?> pointOf = [];
        foreach (GraphPoint p in graph.Points)
        {
            index[p] = nodes.Count;
            nodes.Add(p.Place);
            pointOf.Add(p);
        }

        List<(int From, int To, double Bulge)> lines =
        [
            .. graph.Edges.Select(e => (index[e.From], index[e.To], e.Bulge)),
        ];
        AddOutline(graph, index, nodes, pointOf, lines);
        PlaneGraph<PictureSpace> plane = new(nodes, lines);
        int[] faceOf = new int[2 * lines.Count];
        Array.Fill(faceOf, -1);
        foreach (IReadOnlyList<int> ring in plane.FindFaces())
        {
            double area = plane.SignedArea(ring);
            if (area <= 0)
            {
                continue;
            }

            foreach (int h in ring)
            {
                faceOf[h] = patches.Count;
            }

            patches.Add((area, ring.Sum(h => plane.Along(h).Length)));
            rings.Add([
                .. ring.Select(h =>
                    pointOf[plane.NodeOf(h)]
                    ?? new GraphPoint(plane.Nodes[plane.NodeOf(h)].X, plane.Nodes[plane.NodeOf(h)].Y)
                ),
            ]);
        }

        // Only patches without a weak side are witnesses; where a weak edge divides two, the undivided shape is one too.
        bool[] weak = new bool[patches.Count];
        for (int i = 0; i < graph.Edges.Count; i++)
        {
            GraphEdge e = graph.Edges[i];
            (int a, int b) = sides[e] = (faceOf[2 * i], faceOf[2 * i + 1]);
            if (e.Support >= WeakSupport)
            {
                continue;
            }

            if (a >= 0)
            {
                weak[a] = true;
            }

            if (b >= 0)
            {
                weak[b] = true;
            }

            if (a >= 0 && b >= 0 && a != b)
            {
                undivided.Add(Joined(a, b, e));
            }
        }

        for (int f = 0; f < patches.Count; f++)
        {
            if (!weak[f])
            {
                sure.Add(patches[f]);
            }
        }

        undivided.AddRange(sure);
    }

    /// <summary>The points round each patch, those of the outline's bare corners too.</summary>
    public IReadOnlyList<IReadOnlyList<GraphPoint>> Rings => rings;

    /// <summary>Of every patch too narrow to be cloth, its least supported edge.</summary>
    /// <param name="width">Mean width, pixels: area by half the girth.</param>
    public IReadOnlyList<GraphEdge> FindSliverEdges(double width)
    {
        List<GraphEdge> found = [];
        for (int f = 0; f < patches.Count; f++)
        {
            if (2 * patches[f].Area / patches[f].Girth >= width)
            {
                continue;
            }

            int face = f;
            GraphEdge[] around = [.. sides.Where(s => s.Value.A == face || s.Value.B == face).Select(s => s.Key)];
            if (around.Length > 0)
            {
                found.Add(around.MinBy(e => e.Support)!);
            }
        }

        return found;
    }

    /// <summary>True where the edge divides a rare shape into common ones.</summary>
    public bool DividesRareShape(GraphEdge e)
    {
        if (sides.TryGetValue(e, out (int A, int B) at))
        {
            if (at.A < 0 || at.B < 0 || at.A == at.B)
            {
                return false;
            }

            return IsRareBeside(patches[at.A], patches[at.B], Joined(at.A, at.B, e));
        }

        return FindDivided(e) is (int patch, (double Area, double Girth) one)
            && IsRareBeside(
                one,
                (patches[patch].Area - one.Area, patches[patch].Girth - one.Girth + 2 * e.Path.Length),
                patches[patch]
            );
    }

    private static void AddOutline(
        SeamGraph graph,
        Dictionary<GraphPoint, int> index,
        List<Point<PictureSpace>> nodes,
        List<GraphPoint?> pointOf,
        List<(int From, int To, double Bulge)> lines
    )
    {
        PixelFrame f = graph.Frame;
        int[] corners = new int[4];
        Point<PictureSpace>[] places =
        [
            new(f.Left, f.Top),
            new(f.Right, f.Top),
            new(f.Right, f.Bottom),
            new(f.Left, f.Bottom),
        ];
        for (int i = 0; i < 4; i++)
        {
            GraphPoint? there = graph.Points.Find(p => p.PinnedX && p.PinnedY && p.Place == places[i]);
            corners[i] = there is null ? nodes.Count : index[there];
            if (there is null)
            {
                nodes.Add(places[i]);
                pointOf.Add(null);
            }
        }

        for (int i = 0; i < 4; i++)
        {
            Point<PictureSpace> from = places[i];
            Point<PictureSpace> to = places[(i + 1) % 4];
            bool level = i % 2 == 0;
            int last = corners[i];
            foreach (
                GraphPoint p in graph
                    .Points.Where(p =>
                        p.PinnedX != p.PinnedY && p.PinnedY == level && (level ? p.Y == from.Y : p.X == from.X)
                    )
                    .OrderBy(p => p.Place.DistanceTo(from))
            )
            {
                lines.Add((last, index[p], 0));
                last = index[p];
            }

            lines.Add((last, corners[(i + 1) % 4], 0));
        }
    }

    private bool IsRareBeside(
        (double Area, double Girth) one,
        (double Area, double Girth) other,
        (double Area, double Girth) whole
    )
    {
        int parts = Math.Min(sure.Count(p => AreAlike(p, one)), sure.Count(p => AreAlike(p, other)));

        // The one in question is among the undivided.
        int wholes = undivided.Count(p => AreAlike(p, whole)) - 1;
        return parts >= Common && parts >= TimesAsCommon * wholes;
    }

    private (double Area, double Girth) Joined(int a, int b, GraphEdge e) =>
        (patches[a].Area + patches[b].Area, patches[a].Girth + patches[b].Girth - 2 * e.Path.Length);

    private static bool AreAlike((double Area, double Girth) p, (double Area, double Girth) q) =>
        Math.Abs(p.Area - q.Area) <= SameArea * Math.Max(p.Area, q.Area)
        && Math.Abs(p.Girth - q.Girth) <= SameGirth * Math.Max(p.Girth, q.Girth);

    // The patch that an edge not in the census divides, and the part to one side of it.
    private (int Patch, (double Area, double Girth) One)? FindDivided(GraphEdge e)
    {
        Point<PictureSpace> middle = e.Path.PointAt(0.5);
        for (int f = 0; f < rings.Count; f++)
        {
            List<GraphPoint> ring = rings[f];
            int from = ring.IndexOf(e.From);
            int to = ring.IndexOf(e.To);
            if (from < 0 || !Holds(ring, middle))
            {
                continue;
            }

            List<Point<PictureSpace>> part = [];
            if (to >= 0)
            {
                for (int i = from; i != to; i = (i + 1) % ring.Count)
                {
                    part.Add(ring[i].Place);
                }
            }
            else
            {
                // The far end lies part-way along a side of the ring.
                for (int i = from; ; i = (i + 1) % ring.Count)
                {
                    part.Add(ring[i].Place);
                    Edge<PictureSpace> side = new(ring[i].Place, ring[(i + 1) % ring.Count].Place);
                    if (part.Count > ring.Count)
                    {
                        return null;
                    }

                    if (side.Nearest(e.To.Place).Distance < 1.5)
                    {
                        break;
                    }
                }
            }

            part.Add(e.To.Place);
            double twice = 0;
            double girth = 0;
            for (int i = 0; i < part.Count; i++)
            {
                Point<PictureSpace> a = part[i];
                Point<PictureSpace> b = part[(i + 1) % part.Count];
                twice += a.X * b.Y - b.X * a.Y;
                girth += a.DistanceTo(b);
            }

            return (f, (Math.Abs(twice) / 2, girth));
        }

        return null;
    }

    private static bool Holds(List<GraphPoint> ring, Point<PictureSpace> p)
    {
        bool inside = false;
        for (int i = 0; i < ring.Count; i++)
        {
            (GraphPoint a, GraphPoint b) = (ring[i], ring[(i + 1) % ring.Count]);
            if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }
}
