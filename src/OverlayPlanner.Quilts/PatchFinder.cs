using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>Finds the patches of a map: the bounded faces of its seams.</summary>
public static class PatchFinder
{
    /// <summary>
    /// The patches in reading order of their boxes, outer rings clockwise as seen, pieces that float inside a face as holes.
    /// </summary>
    /// <remarks>Precondition: the map is a plane graph (<see cref="MapCheck"/>). O(m log m + pieces × faces).</remarks>
    public static IReadOnlyList<Patch> FindPatches(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        PlaneGraph<ClothSpace> graph = map.ToPlaneGraph();
        List<(IReadOnlyList<int> Ring, List<IReadOnlyList<int>> Holes, Box<ClothSpace> Box, double Area)> faces = [];
        List<IReadOnlyList<int>> outsides = [];
        foreach (IReadOnlyList<int> ring in graph.FindFaces())
        {
            double area = graph.SignedArea(ring);
            if (area > 0)
            {
                faces.Add((ring, [], BoxOf(graph, ring), area));
            }
            else
            {
                outsides.Add(ring);
            }
        }

        // Each connected piece's outer ring is a hole of the smallest face of another piece that holds it.
        int[] piece = graph.FindPieces(out _);
        foreach (IReadOnlyList<int> outside in outsides)
        {
            int own = piece[graph.NodeOf(outside[0])];
            Point<ClothSpace> p = graph.Nodes[graph.NodeOf(outside[0])];
            int holder = -1;
            for (int f = 0; f < faces.Count; f++)
            {
                if (
                    piece[graph.NodeOf(faces[f].Ring[0])] != own
                    && faces[f].Box.Holds(p)
                    && (holder < 0 || faces[f].Area < faces[holder].Area)
                    && Holds(graph, faces[f].Ring, p)
                )
                {
                    holder = f;
                }
            }

            if (holder >= 0)
            {
                faces[holder].Holes.Add(outside);
            }
        }

        List<Patch> patches = new(faces.Count);
        foreach (
            (IReadOnlyList<int> ring, List<IReadOnlyList<int>> holes, _, _) in faces
                .OrderBy(f => Math.Round(f.Box.Center.Y, 3))
                .ThenBy(f => f.Box.Center.X)
        )
        {
            patches.Add(
                new("p" + (patches.Count + 1).ToString(CultureInfo.InvariantCulture), Clockwise(map, ring))
                {
                    Holes = [.. holes.Select(hole => Clockwise(map, hole))],
                }
            );
        }

        return patches;
    }

    /// <summary>The patch's outer ring as edges in clockwise order as seen, each beginning where the last ends.</summary>
    public static IReadOnlyList<Edge<ClothSpace>> RingOf(QuiltMap map, IReadOnlyList<string> seamIds)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(seamIds);
        Edge<ClothSpace>[] ring = [.. seamIds.Select(id => map.EdgeOf(map.SeamOf(id)))];
        for (int i = 0; i < ring.Length; i++)
        {
            Edge<ClothSpace> next = ring[(i + 1) % ring.Length];
            bool forward =
                ring.Length == 2 ? i == 0 || ring[0].To == ring[i].From
                : i == 0 ? ring[i].To == next.From || ring[i].To == next.To
                : ring[i - 1].To == ring[i].From;
            if (i == 0 && forward && ring.Length > 2)
            {
                // Both ends could fit where two seams join the same two points; the last seam decides.
                Edge<ClothSpace> last = ring[^1];
                bool backwardFits = ring[0].From == next.From || ring[0].From == next.To;
                forward = !backwardFits || ring[0].From == last.From || ring[0].From == last.To;
            }

            ring[i] = forward ? ring[i] : ring[i].Reversed;
        }

        return ring;
    }

    /// <summary>A point well inside the patch, inches: NetTopologySuite's interior point of the flattened ring.</summary>
    public static Point<ClothSpace> InteriorPoint(QuiltMap map, Patch patch)
    {
        NetTopologySuite.Geometries.Point p = ToPolygon(map, patch, 0.005).InteriorPoint;
        return new(p.X, p.Y);
    }

    /// <summary>The patch as a polygon, arcs flattened within <paramref name="tolerance"/> inches.</summary>
    public static NetTopologySuite.Geometries.Polygon ToPolygon(QuiltMap map, Patch patch, double tolerance)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(patch);
        NetTopologySuite.Geometries.GeometryFactory factory = new();
        return factory.CreatePolygon(Ring(patch.Seams), [.. patch.Holes.Select(Ring)]);

        NetTopologySuite.Geometries.LinearRing Ring(IReadOnlyList<string> ids)
        {
            List<NetTopologySuite.Geometries.Coordinate> points = [];
            foreach (Edge<ClothSpace> e in RingOf(map, ids))
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
    public static IReadOnlyList<Block> Assign(QuiltMap map, IReadOnlyList<Block> blocks)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(blocks);
        (string Id, Point<ClothSpace> Inside)[] inner = [.. map.Patches.Select(p => (p.Id, InteriorPoint(map, p)))];
        return
        [
            .. blocks.Select(b =>
                b with
                {
                    Patches = [.. inner.Where(p => IsInside(b.Corners, p.Inside)).Select(p => p.Id)],
                }
            ),
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

    private static string[] Clockwise(QuiltMap map, IReadOnlyList<int> ring) =>
        [.. ring.Reverse().Select(h => map.Seams[h >> 1].Id)];

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
}
