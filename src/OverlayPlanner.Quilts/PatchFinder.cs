using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>Finds the patches of a map: the bounded faces of its seams.</summary>
public static class PatchFinder
{
    // Boxes whose middles differ by less stand in one row.
    private const double RowWithin = 1e-3;

    private const double InteriorTolerance = 0.005;

    /// <summary>
    /// The patches in reading order of their boxes, rings clockwise as seen, pieces that float inside a face as holes.
    /// </summary>
    /// <remarks>
    /// Precondition: the map is a plane graph (<see cref="MapCheck"/>). O(m log m + pieces × faces under a point).
    /// </remarks>
    public static IReadOnlyList<Patch> FindPatches(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        PlaneGraph<ClothSpace> graph = map.ToPlaneGraph();
        int[] piece = graph.FindPieces(out int pieces);
        IReadOnlyList<IReadOnlyList<int>> rings = graph.FindFaces();
        double[] areas = [.. rings.Select(graph.SignedArea)];

        // A piece's outside is its one ring of negative area; where it is a tree, its only ring, whose area rounds to anything.
        int[] outside = new int[pieces];
        Array.Fill(outside, -1);
        for (int r = 0; r < rings.Count; r++)
        {
            int own = piece[graph.NodeOf(rings[r][0])];
            if (outside[own] < 0 || areas[r] < areas[outside[own]])
            {
                outside[own] = r;
            }
        }

        List<Face> faces = [];
        for (int r = 0; r < rings.Count; r++)
        {
            int own = piece[graph.NodeOf(rings[r][0])];
            if (outside[own] != r)
            {
                faces.Add(new(own, rings[r], BoxOf(graph, rings[r]), areas[r], []));
            }
        }

        if (pieces > 1)
        {
            PutIntoHolders(graph, faces, [.. outside.Select(r => rings[r])]);
        }

        List<Patch> patches = new(faces.Count);
        foreach (Face face in ReadingOrder.Sort(faces, f => f.Box.Center, RowWithin))
        {
            patches.Add(
                new(
                    "p" + (patches.Count + 1).ToString(CultureInfo.InvariantCulture),
                    [.. face.Ring.Reverse().Select(h => map.Seams[h >> 1].Id)]
                )
                {
                    // A piece's outside has the face on its left and so runs clockwise already.
                    Holes =
                    [
                        .. face.Holes.Select(hole =>
                            (IReadOnlyList<string>)[.. hole.Select(h => map.Seams[h >> 1].Id)]
                        ),
                    ],
                }
            );
        }

        return patches;
    }

    /// <summary>
    /// A ring of seams as edges in the order listed, each beginning where the last ends. Two seams between the same two points
    /// could be walked either way; they are walked clockwise as seen.
    /// </summary>
    /// <exception cref="InputException">The seams do not lead on from one to the next and back to the start.</exception>
    public static IReadOnlyList<Edge<ClothSpace>> RingOf(QuiltMap map, IReadOnlyList<string> seamIds)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(seamIds);
        Edge<ClothSpace>[]? forward = Chain(map, seamIds, backward: false);
        Edge<ClothSpace>[]? backward = Chain(map, seamIds, backward: true);
        if (forward is not null && backward is not null)
        {
            return ClockwiseArea(forward) >= ClockwiseArea(backward) ? forward : backward;
        }

        return forward
            ?? backward
            ?? throw new InputException(
                "A patch's seams do not lead on from one to the next and back to the start",
                $"seams {string.Join(", ", seamIds)}",
                "List the seams round the patch in clockwise order."
            );
    }

    /// <summary>A point well inside the patch, inches: NetTopologySuite's interior point of the flattened ring.</summary>
    public static Point<ClothSpace> InteriorPoint(QuiltMap map, Patch patch)
    {
        NetTopologySuite.Geometries.Point p = ToPolygon(map, patch, InteriorTolerance).InteriorPoint;
        return new(p.X, p.Y);
    }

    /// <summary>As <see cref="InteriorPoint(QuiltMap, Patch)"/>, of a ring and its holes as edges.</summary>
    internal static Point<ClothSpace> InteriorPoint(
        IReadOnlyList<Edge<ClothSpace>> ring,
        IReadOnlyList<IReadOnlyList<Edge<ClothSpace>>> holes
    )
    {
        NetTopologySuite.Geometries.Point p = ToPolygon(ring, holes, InteriorTolerance).InteriorPoint;
        return new(p.X, p.Y);
    }

    /// <summary>
    /// The patch as a polygon, arcs flattened within <paramref name="tolerance"/> inches; seams that float in it without closing
    /// round anything are no holes.
    /// </summary>
    public static NetTopologySuite.Geometries.Polygon ToPolygon(QuiltMap map, Patch patch, double tolerance)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(patch);
        return ToPolygon(RingOf(map, patch.Seams), [.. patch.Holes.Select(h => RingOf(map, h))], tolerance);
    }

    private static NetTopologySuite.Geometries.Polygon ToPolygon(
        IReadOnlyList<Edge<ClothSpace>> ring,
        IReadOnlyList<IReadOnlyList<Edge<ClothSpace>>> holes,
        double tolerance
    )
    {
        NetTopologySuite.Geometries.GeometryFactory factory = new();
        return factory.CreatePolygon(Ring(ring), [.. holes.Where(h => Math.Abs(ClockwiseArea(h)) > 1e-9).Select(Ring)]);

        NetTopologySuite.Geometries.LinearRing Ring(IReadOnlyList<Edge<ClothSpace>> edges)
        {
            List<NetTopologySuite.Geometries.Coordinate> points = [];
            foreach (Edge<ClothSpace> e in edges)
            {
                points.AddRange(
                    e.Flatten(tolerance).SkipLast(1).Select(p => new NetTopologySuite.Geometries.Coordinate(p.X, p.Y))
                );
            }

            points.Add(points[0].Copy());
            return factory.CreateLinearRing([.. points]);
        }
    }

    /// <summary>Fills in which patches belong to which block: those whose inner point lies between its corners.</summary>
    /// <remarks>O((patches + blocks) log patches + what is found), by an R-tree.</remarks>
    public static IReadOnlyList<Block> Assign(QuiltMap map, IReadOnlyList<Block> blocks)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(blocks);
        if (blocks.Count == 0)
        {
            return [];
        }

        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        Point<ClothSpace>[] inner = [.. map.Patches.Select(p => InteriorPoint(map, p))];
        for (int i = 0; i < inner.Length; i++)
        {
            tree.Insert(new(inner[i].X, inner[i].X, inner[i].Y, inner[i].Y), i);
        }

        return
        [
            .. blocks.Select(b =>
            {
                Box<ClothSpace> box = Box<ClothSpace>.Around(b.Corners);
                return b with
                {
                    Patches =
                    [
                        .. tree.Query(new(box.Left, box.Right, box.Top, box.Bottom))
                            .Where(i => IsInside(b.Corners, inner[i]))
                            .Order()
                            .Select(i => map.Patches[i].Id),
                    ],
                };
            }),
        ];
    }

    /// <summary>True where the point lies inside the convex ring of clockwise corners.</summary>
    public static bool IsInside(IReadOnlyList<Point<ClothSpace>> corners, Point<ClothSpace> p)
    {
        ArgumentNullException.ThrowIfNull(corners);
        for (int i = 0; i < corners.Count; i++)
        {
            if (Exact.Orientation(corners[i], corners[(i + 1) % corners.Count], p) == Turn.Left)
            {
                return false;
            }
        }

        return true;
    }

    // Each piece's outside is a hole of the smallest face of another piece that holds it.
    private static void PutIntoHolders(
        PlaneGraph<ClothSpace> graph,
        List<Face> faces,
        IReadOnlyList<IReadOnlyList<int>> outsides
    )
    {
        NetTopologySuite.Index.Strtree.STRtree<Face> tree = new();
        foreach (Face f in faces)
        {
            tree.Insert(new(f.Box.Left, f.Box.Right, f.Box.Top, f.Box.Bottom), f);
        }

        for (int own = 0; own < outsides.Count; own++)
        {
            Point<ClothSpace> p = graph.Nodes[graph.NodeOf(outsides[own][0])];
            tree.Query(new(p.X, p.X, p.Y, p.Y))
                .Where(f => f.Piece != own && Holds(graph, f.Ring, p))
                .MinBy(f => f.Area)
                ?.Holes.Add(outsides[own]);
        }
    }

    private static Edge<ClothSpace>[]? Chain(QuiltMap map, IReadOnlyList<string> seamIds, bool backward)
    {
        Edge<ClothSpace>[] ring = new Edge<ClothSpace>[seamIds.Count];
        string? start = null;
        string? at = null;
        for (int i = 0; i < ring.Length; i++)
        {
            Seam s = map.SeamOf(seamIds[i]);
            at ??= start = backward ? s.To : s.From;
            if (s.From != at && s.To != at)
            {
                return null;
            }

            ring[i] = s.From == at ? map.EdgeOf(s) : map.EdgeOf(s).Reversed;
            at = s.From == at ? s.To : s.From;
        }

        return at == start ? ring : null;
    }

    // Positive where the ring runs clockwise as seen (y down): an arc that bows to the left of travel bows outwards then.
    private static double ClockwiseArea(IReadOnlyList<Edge<ClothSpace>> ring) =>
        ring.Sum(e => (e.From.X * e.To.Y - e.To.X * e.From.Y) / 2 + e.SegmentArea);

    private static Box<ClothSpace> BoxOf(PlaneGraph<ClothSpace> graph, IReadOnlyList<int> ring)
    {
        Box<ClothSpace> box = graph.Along(ring[0]).Bounds();
        foreach (int h in ring)
        {
            box = box.With(graph.Along(h).Bounds());
        }

        return box;
    }

    private static bool Holds(PlaneGraph<ClothSpace> graph, IReadOnlyList<int> ring, Point<ClothSpace> p)
    {
        bool inside = false;
        foreach (int h in ring)
        {
            IReadOnlyList<Point<ClothSpace>> line = graph.Along(h).Flatten(1e-4);
            for (int i = 1; i < line.Count; i++)
            {
                (Point<ClothSpace> a, Point<ClothSpace> b) = (line[i - 1], line[i]);
                if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
                {
                    inside = !inside;
                }
            }
        }

        return inside;
    }

    private sealed record Face(
        int Piece,
        IReadOnlyList<int> Ring,
        Box<ClothSpace> Box,
        double Area,
        List<IReadOnlyList<int>> Holes
    );
}
