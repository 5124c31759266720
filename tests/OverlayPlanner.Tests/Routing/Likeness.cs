using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Routing;

/// <summary>Asks whether a route treats like patches alike, from coordinates only; shares no code with the planner.</summary>
internal static class Likeness
{
    private const double Near = 1e-3;

    /// <summary>The ways, of eight, in which a square block's seams lie on themselves.</summary>
    public static IReadOnlyList<int> SymmetriesOf(QuiltMap map)
    {
        double size = map.Width.Inches;
        Edge<ClothSpace>[] seams = [.. map.Seams.Select(map.EdgeOf)];
        return
        [
            .. Enumerable
                .Range(0, 8)
                .Where(e =>
                    seams.All(s =>
                        seams.Any(t =>
                            IsSame(Lay(e, s.From, size), Lay(e, s.PointAt(0.5), size), Lay(e, s.To, size), t)
                        )
                    )
                ),
        ];
    }

    /// <summary>
    /// True where any two patches that the symmetries (or those of them given) carry into one another have the same added
    /// lines, turned or mirrored.
    /// </summary>
    public static bool AreLikePatchesAlike(
        QuiltMap map,
        RouteCandidate candidate,
        IReadOnlyList<int>? symmetries = null
    )
    {
        double size = map.Width.Inches;
        Move[] added = [.. candidate.AllMoves.Where(m => m.Kind is MoveKind.Arc or MoveKind.Line)];
        (Point<ClothSpace>[] Corners, Edge<ClothSpace>[] Ring, Edge<ClothSpace>[] Lines)[] patches =
        [
            .. map.Patches.Select(p =>
            {
                Edge<ClothSpace>[] ring = [.. PatchFinder.RingOf(map, p.Seams)];
                Point<ClothSpace>[] outline = [.. ring.SelectMany(e => e.Flatten(1e-3).Skip(1))];
                return (
                    CornersOf(ring),
                    ring,
                    added.Select(m => m.Path).Where(l => IsInside(outline, l.PointAt(0.5))).ToArray()
                );
            }),
        ];
        Assert.Equal(added.Length, patches.Sum(p => p.Lines.Length));
        foreach (int e in symmetries ?? SymmetriesOf(map))
        {
            foreach ((Point<ClothSpace>[] corners, Edge<ClothSpace>[] _, Edge<ClothSpace>[] lines) in patches)
            {
                var image = patches.First(q =>
                    q.Corners.Length == corners.Length
                    && corners.All(c => q.Corners.Any(d => d.DistanceTo(Lay(e, c, size)) < Near))
                );
                if (!CanLie(corners, lines, image.Corners, image.Lines))
                {
                    return false;
                }
            }
        }

        return true;
    }

    /// <summary>Even-odd rule, for outlines of any shape.</summary>
    public static bool IsInside(IReadOnlyList<Point<ClothSpace>> outline, Point<ClothSpace> p)
    {
        bool inside = false;
        for (int i = 0; i < outline.Count; i++)
        {
            Point<ClothSpace> a = outline[i];
            Point<ClothSpace> b = outline[(i + 1) % outline.Count];
            if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }

    private static bool CanLie(
        Point<ClothSpace>[] from,
        Edge<ClothSpace>[] lines,
        Point<ClothSpace>[] onto,
        Edge<ClothSpace>[] target
    )
    {
        int n = from.Length;
        if (lines.Length != target.Length)
        {
            return false;
        }

        for (int o = 0; o < n; o++)
        {
            foreach (int way in new[] { 1, -1 })
            {
                Point<ClothSpace> a = onto[o];
                Point<ClothSpace> b = onto[(o + way + n) % n];
                if (Math.Abs(a.DistanceTo(b) - from[0].DistanceTo(from[1])) > Near)
                {
                    continue;
                }

                Vector<ClothSpace> u = (from[1] - from[0]).Unit;
                Vector<ClothSpace> v = (b - a).Unit;
                Point<ClothSpace> Carry(Point<ClothSpace> p)
                {
                    double along = (p - from[0]).Dot(u);
                    double aside = (p - from[0]).Dot(u.TurnedLeft);
                    return a + v * along + v.TurnedLeft * (way * aside);
                }

                if (
                    Enumerable.Range(0, n).All(i => Carry(from[i]).DistanceTo(onto[(o + way * i + n * n) % n]) < Near)
                    && lines.All(l => target.Any(t => IsSame(Carry(l.From), Carry(l.PointAt(0.5)), Carry(l.To), t)))
                )
                {
                    return true;
                }
            }
        }

        return false;
    }

    private static Point<ClothSpace>[] CornersOf(Edge<ClothSpace>[] ring) =>
        [
            .. Enumerable
                .Range(0, ring.Length)
                .Where(i =>
                    Math.Abs(ring[(i + ring.Length - 1) % ring.Length].EndDirection.AngleTo(ring[i].StartDirection))
                    > 0.1
                )
                .Select(i => ring[i].From),
        ];

    private static bool IsSame(Point<ClothSpace> a, Point<ClothSpace> m, Point<ClothSpace> b, Edge<ClothSpace> e) =>
        m.DistanceTo(e.PointAt(0.5)) < Near
        && (
            (a.DistanceTo(e.From) < Near && b.DistanceTo(e.To) < Near)
            || (a.DistanceTo(e.To) < Near && b.DistanceTo(e.From) < Near)
        );

    private static Point<ClothSpace> Lay(int element, Point<ClothSpace> p, double size)
    {
        (double x, double y) = element >= 4 ? (size - p.X, p.Y) : (p.X, p.Y);
        for (int i = 0; i < (element & 3); i++)
        {
            (x, y) = (size - y, x);
        }

        return new(x, y);
    }
}
