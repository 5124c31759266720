using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>A line on the cloth before the map is built.</summary>
/// <param name="Path">Line or arc, inches.</param>
/// <param name="Confidence">0 to 1.</param>
public sealed record SeamLine(Edge<ClothSpace> Path, double Confidence = 1);

/// <summary>
/// Turns loose lines and arcs into a quilt map: ends that agree are joined, edges are split where others end on them or cross
/// them, and the faces become patches.
/// </summary>
/// <remarks>O((n + k) log n) for n lines and k splits, by grid hashing and an R-tree.</remarks>
public static class MapBuilder
{
    /// <summary>Builds a map.</summary>
    /// <param name="width">Width of the mapped area.</param>
    /// <param name="height">Height of the mapped area.</param>
    /// <param name="lines">Seams inside; the outline is added.</param>
    /// <param name="blocks">
    /// Blocks with their corners; seams along their sides get the role block, and patches inside are listed.
    /// </param>
    /// <param name="tolerance">Points closer than this are one; it must be well below half the shortest seam.</param>
    /// <param name="outline">What the four sides are.</param>
    /// <param name="sigmaOf">Standard deviation of a point, one axis; null for a draft.</param>
    public static QuiltMap Build(
        Length width,
        Length height,
        IReadOnlyList<SeamLine> lines,
        IReadOnlyList<Block> blocks,
        Length tolerance,
        EdgeKind outline = EdgeKind.Seam,
        Func<Point<ClothSpace>, Length>? sigmaOf = null
    )
    {
        ArgumentNullException.ThrowIfNull(lines);
        ArgumentNullException.ThrowIfNull(blocks);
        double w = width.Inches;
        double h = height.Inches;
        double eps = tolerance.Inches;
        PointIndex points = new(eps);
        Point<ClothSpace>[] corners = [new(0, 0), new(w, 0), new(w, h), new(0, h)];
        foreach (Point<ClothSpace> c in corners)
        {
            points.Add(c);
        }

        List<(int From, int To, double Bulge, double Confidence)> pieces = [];
        for (int i = 0; i < 4; i++)
        {
            pieces.Add((i, (i + 1) % 4, 0, 1));
        }

        // Ends near the outline are put on it, so that a side stays one straight line.
        foreach (SeamLine line in lines)
        {
            int a = points.Add(OnOutline(line.Path.From));
            int b = points.Add(OnOutline(line.Path.To));
            if (a != b)
            {
                pieces.Add((a, b, line.Path.Bulge, line.Confidence));
            }
        }

        // Pulling a piece to a point moves it by up to the tolerance, which may lead it over another: look again until nothing
        // is pulled any more.
        const int mostRounds = 5;
        RemoveDuplicates(pieces, points, eps);
        for (int round = 0; round < mostRounds; round++)
        {
            SplitAtCrossings(pieces, points, eps);
            bool pulled = SplitAtPoints(pieces, points, eps);
            RemoveDuplicates(pieces, points, eps);
            if (!pulled)
            {
                break;
            }
        }

        NetTopologySuite.Index.Strtree.STRtree<Edge<ClothSpace>> sides = SidesOf(blocks);
        return Assemble();

        Point<ClothSpace> OnOutline(Point<ClothSpace> p) => new(Snap(p.X, w), Snap(p.Y, h));

        double Snap(double v, double far) =>
            Math.Abs(v) <= eps ? 0
            : Math.Abs(v - far) <= eps ? far
            : v;

        QuiltMap Assemble()
        {
            // Ids run in reading order.
            bool[] used = new bool[points.Count];
            foreach ((int from, int to, _, _) in pieces)
            {
                used[from] = used[to] = true;
            }

            IReadOnlyList<int> order = ReadingOrder.Sort(
                Enumerable.Range(0, points.Count).Where(i => used[i]),
                i => points[i],
                Math.Max(eps, 1e-6)
            );
            string[] id = new string[points.Count];
            List<Junction> junctions = new(order.Count);
            int[] rank = new int[points.Count];
            for (int k = 0; k < order.Count; k++)
            {
                id[order[k]] = "j" + (k + 1).ToString(CultureInfo.InvariantCulture);
                rank[order[k]] = k;
                Point<ClothSpace> p = points[order[k]];
                junctions.Add(new(id[order[k]], new(p, sigmaOf?.Invoke(p) ?? Length.Zero)));
            }

            List<Seam> seams = new(pieces.Count);
            foreach (
                (int from, int to, double bulge, double confidence) in pieces
                    .OrderBy(p => Math.Min(rank[p.From], rank[p.To]))
                    .ThenBy(p => Math.Max(rank[p.From], rank[p.To]))
                    .ThenBy(p => p.Bulge)
            )
            {
                bool forward = rank[from] < rank[to];
                (int f, int t, double b) = forward ? (from, to, bulge) : (to, from, -bulge);
                SeamRole role = RoleOf(points[f], points[t], b);
                seams.Add(
                    new("s" + (seams.Count + 1).ToString(CultureInfo.InvariantCulture), id[f], id[t], b, role)
                    {
                        Edge = role == SeamRole.Edge ? outline : null,
                        Confidence = confidence,
                    }
                );
            }

            QuiltMap bare = new(width, height, junctions, seams);
            IReadOnlyList<Patch> patches = PatchFinder.FindPatches(bare);
            return bare.With(patches: patches, blocks: PatchFinder.Assign(bare.With(patches: patches), blocks));
        }

        SeamRole RoleOf(Point<ClothSpace> a, Point<ClothSpace> b, double bulge)
        {
            if (bulge == 0 && ((a.X == b.X && (a.X == 0 || a.X == w)) || (a.Y == b.Y && (a.Y == 0 || a.Y == h))))
            {
                return SeamRole.Edge;
            }

            return bulge == 0 && RunsAlongSide(a, b) ? SeamRole.Block : SeamRole.Seam;
        }

        bool RunsAlongSide(Point<ClothSpace> a, Point<ClothSpace> b)
        {
            double slack = Math.Max(2 * eps, 1e-6);
            return sides
                .Query(Envelope(new(a, b), slack))
                .Any(side => side.Nearest(a).Distance <= slack && side.Nearest(b).Distance <= slack);
        }
    }

    private static NetTopologySuite.Index.Strtree.STRtree<Edge<ClothSpace>> SidesOf(IReadOnlyList<Block> blocks)
    {
        NetTopologySuite.Index.Strtree.STRtree<Edge<ClothSpace>> tree = new();
        foreach (Block block in blocks)
        {
            for (int i = 0; i < block.Corners.Count; i++)
            {
                Edge<ClothSpace> side = new(block.Corners[i], block.Corners[(i + 1) % block.Corners.Count]);
                tree.Insert(Envelope(side, 0), side);
            }
        }

        return tree;
    }

    private static void SplitAtCrossings(
        List<(int From, int To, double Bulge, double Confidence)> pieces,
        PointIndex points,
        double eps
    )
    {
        // Each crossing adds a point, and SplitAtPoints does the rest.
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int i = 0; i < pieces.Count; i++)
        {
            tree.Insert(Envelope(PathOf(pieces[i], points), 0), i);
        }

        int n = pieces.Count;
        for (int i = 0; i < n; i++)
        {
            Edge<ClothSpace> a = PathOf(pieces[i], points);
            foreach (int j in tree.Query(Envelope(a, eps)).Where(j => j > i).Order())
            {
                Edge<ClothSpace> b = PathOf(pieces[j], points);
                if (Exact.Relate(a, b) == EdgeRelation.Cross && !LieTogether(a, b, eps))
                {
                    foreach (Point<ClothSpace> meeting in a.FindMeetings(b, eps))
                    {
                        points.Add(meeting);
                    }
                }
            }
        }
    }

    // Two lines that run on one another but for rounding seem to cross, at no place that means anything; where one ends on the
    // other they are split anyway.
    private static bool LieTogether(Edge<ClothSpace> a, Edge<ClothSpace> b, double eps)
    {
        if (!a.IsLine || !b.IsLine)
        {
            return false;
        }

        int ends =
            (a.Nearest(b.From).Distance <= eps ? 1 : 0)
            + (a.Nearest(b.To).Distance <= eps ? 1 : 0)
            + (b.Nearest(a.From).Distance <= eps ? 1 : 0)
            + (b.Nearest(a.To).Distance <= eps ? 1 : 0);
        return ends >= 2;
    }

    // True where a split moved a piece by more than rounding does.
    private static bool SplitAtPoints(
        List<(int From, int To, double Bulge, double Confidence)> pieces,
        PointIndex points,
        double eps
    )
    {
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int i = 0; i < points.Count; i++)
        {
            tree.Insert(new(points[i].X, points[i].X, points[i].Y, points[i].Y), i);
        }

        bool pulled = false;
        int n = pieces.Count;
        for (int i = 0; i < n; i++)
        {
            (int from, int to, double bulge, double confidence) = pieces[i];
            Edge<ClothSpace> path = PathOf(pieces[i], points);
            List<(double T, int Point)> stops = [];
            foreach (int p in tree.Query(Envelope(path, eps)))
            {
                if (p == from || p == to)
                {
                    continue;
                }

                (double t, double distance) = path.Nearest(points[p]);
                if (distance <= eps && t > 0 && t < 1)
                {
                    stops.Add((t, p));
                    pulled |= distance > 1e-9;
                }
            }

            if (stops.Count == 0)
            {
                continue;
            }

            stops.Sort();
            int last = from;
            double lastT = 0;
            double sweep = path.Sweep;
            bool first = true;
            foreach ((double t, int p) in stops.Append((1.0, to)))
            {
                double b = bulge == 0 ? 0 : Math.Tan((t - lastT) * sweep / 4);
                if (first)
                {
                    pieces[i] = (last, p, b, confidence);
                    first = false;
                }
                else if (last != p)
                {
                    pieces.Add((last, p, b, confidence));
                }

                last = p;
                lastT = t;
            }
        }

        return pulled;
    }

    // Two pieces between the same points are one where they stand no farther apart than the tolerance.
    private static void RemoveDuplicates(
        List<(int From, int To, double Bulge, double Confidence)> pieces,
        PointIndex points,
        double eps
    )
    {
        Dictionary<(int, int), List<int>> between = [];
        List<(int From, int To, double Bulge, double Confidence)> kept = [];
        foreach ((int from, int to, double bulge, double confidence) in pieces)
        {
            if (from == to)
            {
                continue;
            }

            (int, int) key = from < to ? (from, to) : (to, from);
            if (!between.TryGetValue(key, out List<int>? there))
            {
                between[key] = there = [];
            }

            double reach = points[from].DistanceTo(points[to]) / 2;
            int at = there.FindIndex(k =>
                Math.Abs((kept[k].From == from ? kept[k].Bulge : -kept[k].Bulge) - bulge) * reach <= eps
            );
            if (at >= 0)
            {
                int same = there[at];
                kept[same] = kept[same] with { Confidence = Math.Max(kept[same].Confidence, confidence) };
            }
            else
            {
                there.Add(kept.Count);
                kept.Add((from, to, bulge, confidence));
            }
        }

        pieces.Clear();
        pieces.AddRange(kept);
    }

    private static Edge<ClothSpace> PathOf((int From, int To, double Bulge, double Confidence) p, PointIndex points) =>
        new(points[p.From], points[p.To], p.Bulge);

    private static NetTopologySuite.Geometries.Envelope Envelope(Edge<ClothSpace> e, double margin)
    {
        Box<ClothSpace> b = e.Bounds().Grown(margin);
        return new(b.Left, b.Right, b.Top, b.Bottom);
    }

    /// <summary>Points merged within a tolerance, by hashing to a grid of that pitch.</summary>
    private sealed class PointIndex(double tolerance)
    {
        private readonly double pitch = Math.Max(tolerance, 1e-9);
        private readonly Dictionary<(long, long), List<int>> cells = [];
        private readonly List<Point<ClothSpace>> points = [];

        public int Count => points.Count;

        public Point<ClothSpace> this[int i] => points[i];

        public int Add(Point<ClothSpace> p)
        {
            (long cx, long cy) = ((long)Math.Floor(p.X / pitch), (long)Math.Floor(p.Y / pitch));
            int nearest = -1;
            double least = tolerance;
            for (long x = cx - 1; x <= cx + 1; x++)
            {
                for (long y = cy - 1; y <= cy + 1; y++)
                {
                    if (!cells.TryGetValue((x, y), out List<int>? there))
                    {
                        continue;
                    }

                    foreach (int i in there)
                    {
                        double distance = points[i].DistanceTo(p);
                        if (distance <= least)
                        {
                            (nearest, least) = (i, distance);
                        }
                    }
                }
            }

            if (nearest >= 0)
            {
                return nearest;
            }

            if (!cells.TryGetValue((cx, cy), out List<int>? cell))
            {
                cells[(cx, cy)] = cell = [];
            }

            cell.Add(points.Count);
            points.Add(p);
            return points.Count - 1;
        }
    }
}
