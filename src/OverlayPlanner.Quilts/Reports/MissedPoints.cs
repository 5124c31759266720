using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>Finds points that should meet and do not.</summary>
/// <remarks>
/// Only what the map holds apart can be found: points that the map joined to one when it was made (nearer than about 1/6 in where
/// it comes from a photograph) met as far as the map knows.
/// </remarks>
internal static class MissedPoints
{
    // Points farther apart than this are two points; 1/4 in is what a seam allowance hides.
    private const double Apart = 0.25;

    // Less than a needle's width; in drafts, rounding.
    private const double LeastApart = 1 / 64.0;
    private const double SamePlace = 0.05; // of a block's side
    private const double OneWay = 0.94; // 20°
    private const double WidestSash = 4;

    /// <summary>The points, worst first. O(points × block points), sashing O(T-points² of a strip).</summary>
    public static IReadOnlyList<MissedPoint> Find(QuiltMap map)
    {
        PlaneGraph<ClothSpace> graph = map.ToPlaneGraph();
        List<MissedPoint> found = [];
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int i = 0; i < map.Junctions.Count; i++)
        {
            Point<ClothSpace> p = map.Junctions[i].Place;
            tree.Insert(new(p.X, p.X, p.Y, p.Y), i);
        }

        // An empty tree can't be asked.
        if (map.Junctions.Count < 2)
        {
            return [];
        }

        for (int a = 0; a < map.Junctions.Count; a++)
        {
            Box<ClothSpace> box = Box<ClothSpace>.Around(map.Junctions[a].Place, map.Junctions[a].Place).Grown(Apart);
            foreach (int b in tree.Query(new(box.Left, box.Right, box.Top, box.Bottom)).Where(b => b > a).Order())
            {
                double gap = map.Junctions[a].Place.DistanceTo(map.Junctions[b].Place);
                if (gap >= LeastApart && gap <= Apart && ReasonOf(map, graph, a, b) is { } reason)
                {
                    found.Add(Of(map, a, b, reason));
                }
            }
        }

        found.AddRange(AcrossSashing(map, graph));
        return [.. found.OrderByDescending(m => m.Gap.Value)];
    }

    private static MissedPoint Of(QuiltMap map, int a, int b, MeetingReason reason)
    {
        (Junction one, Junction two) = (map.Junctions[a], map.Junctions[b]);
        return new(
            one.Id,
            two.Id,
            one.Place.Toward(two.Place, 0.5),
            Measured.From(
                [one.Place, two.Place],
                [one.At.Sigma.Inches, two.At.Sigma.Inches],
                p => p[0].DistanceTo(p[1])
            ),
            reason
        );
    }

    private static MeetingReason? ReasonOf(QuiltMap map, PlaneGraph<ClothSpace> graph, int a, int b)
    {
        Point<ClothSpace> middle = map.Junctions[a].Place.Toward(map.Junctions[b].Place, 0.5);
        foreach (Block block in map.Blocks.Where(k => PatchFinder.IsInside(k.Corners, middle)))
        {
            double side = block.Corners[0].DistanceTo(block.Corners[1]);
            if (block.Pattern is { } name && BlockLibrary.All.FirstOrDefault(d => d.Id == name) is { } draft)
            {
                Point<ClothSpace> p = BlockFrame.InDraft(block, middle);
                int near = PointsOf(draft).Count(q => q.DistanceTo(p) <= Math.Max(SamePlace, 2 * Apart / side));
                return near == 1 ? MeetingReason.Draft : null;
            }

            if (ImagesAreSingle(map, block, middle, side))
            {
                return MeetingReason.Symmetry;
            }
        }

        return ArriveFromBothSides(graph, a, b) ? MeetingReason.BothSides : null;
    }

    private static List<Point<ClothSpace>> PointsOf(BlockDraft draft)
    {
        List<Point<ClothSpace>> points = [];
        foreach (DraftCorner c in draft.Patches.SelectMany(p => p))
        {
            Point<ClothSpace> p = new(c.X, c.Y);
            if (points.TrueForAll(q => q.DistanceTo(p) > 1e-4))
            {
                points.Add(p);
            }
        }

        return points;
    }

    // Of the places that a turn or a mirror of the block brings this one to, most have one point and no other.
    private static bool ImagesAreSingle(QuiltMap map, Block block, Point<ClothSpace> middle, double side)
    {
        Point<ClothSpace> p = BlockFrame.InSquare(block, middle);
        if (p.DistanceTo(new(0.5, 0.5)) < 2 * Apart / side)
        {
            return false;
        }

        Point<ClothSpace>[] own =
        [
            .. map
                .Junctions.Select(j => BlockFrame.InSquare(block, j.Place))
                .Where(q => q.X > -SamePlace && q.Y > -SamePlace && q.X < 1 + SamePlace && q.Y < 1 + SamePlace),
        ];
        Point<ClothSpace>[] images =
        [
            new(1 - p.Y, p.X),
            new(1 - p.X, 1 - p.Y),
            new(p.Y, 1 - p.X),
            new(1 - p.X, p.Y),
            new(p.X, 1 - p.Y),
        ];
        double reach = Apart / side;
        int[] counts =
        [
            .. images.Where(i => i.DistanceTo(p) > 2 * reach).Select(i => own.Count(q => q.DistanceTo(i) <= reach)),
        ];
        return counts.Count(c => c == 1) >= 3 && counts.All(c => c <= 1);
    }

    // The two are ends of one short piece of a straight seam, and what else arrives comes from opposite sides of it.
    private static bool ArriveFromBothSides(PlaneGraph<ClothSpace> graph, int a, int b)
    {
        int link = graph.Around(a).FirstOrDefault(h => graph.NodeOf(h ^ 1) == b, -1);
        if (link < 0)
        {
            return false;
        }

        Vector<ClothSpace> along = graph.Along(link).StartDirection;
        int left = 0;
        int right = 0;
        foreach ((int node, int sign) in new[] { (a, 1), (b, -1) })
        {
            bool through = false;
            int side = 0;
            foreach (int h in graph.Around(node).Where(h => h >> 1 != link >> 1))
            {
                Vector<ClothSpace> way = graph.Along(h).StartDirection;
                if (way.Dot(along) * -sign > OneWay)
                {
                    through = true;
                }
                else
                {
                    side += Math.Sign(along.Cross(way));
                }
            }

            if (!through || side == 0)
            {
                return false;
            }

            left += side < 0 ? 1 : 0;
            right += side > 0 ? 1 : 0;
        }

        return left == 1 && right == 1;
    }

    private static IEnumerable<MissedPoint> AcrossSashing(QuiltMap map, PlaneGraph<ClothSpace> graph)
    {
        HashSet<string> inBlocks = [.. map.Blocks.SelectMany(b => b.Patches)];
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        HashSet<(int, int)> seen = [];
        foreach (Patch strip in map.Patches.Where(p => map.Blocks.Count > 1 && !inBlocks.Contains(p.Id)))
        {
            // Points of the strip's ring where a seam arrives from outside it: the way in is that seam led on.
            List<(int Node, Vector<ClothSpace> Inward)> arrivals = [];
            HashSet<string> own = [.. strip.Seams];
            foreach (string id in strip.Seams)
            {
                Seam seam = map.SeamOf(id);
                foreach (int node in new[] { index[seam.From], index[seam.To] })
                {
                    Vector<ClothSpace> along = (map.EdgeOf(seam).To - map.EdgeOf(seam).From).Unit;
                    foreach (int h in graph.Around(node).Where(h => !own.Contains(map.Seams[h >> 1].Id)))
                    {
                        Vector<ClothSpace> inward = -graph.Along(h).StartDirection;
                        if (Math.Abs(inward.Dot(along)) < 0.34)
                        {
                            arrivals.Add((node, inward));
                        }
                    }
                }
            }

            foreach ((int a, Vector<ClothSpace> into) in arrivals)
            {
                foreach ((int b, Vector<ClothSpace> back) in arrivals)
                {
                    Vector<ClothSpace> across = map.Junctions[b].Place - map.Junctions[a].Place;
                    double width = across.Dot(into);
                    double off = Math.Abs(across.Cross(into));
                    if (
                        a < b
                        && into.Dot(back) < -OneWay
                        && width > 0.1
                        && width <= WidestSash
                        && off is >= LeastApart and <= Apart
                        && seen.Add((a, b))
                    )
                    {
                        (Junction one, Junction two) = (map.Junctions[a], map.Junctions[b]);
                        yield return new(
                            one.Id,
                            two.Id,
                            one.Place.Toward(two.Place, 0.5),
                            new(
                                off,
                                Math.Sqrt(
                                    one.At.Sigma.Inches * one.At.Sigma.Inches
                                        + two.At.Sigma.Inches * two.At.Sigma.Inches
                                )
                            ),
                            MeetingReason.AcrossSashing
                        );
                    }
                }
            }
        }
    }
}
