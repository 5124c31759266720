using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing;

/// <summary>The widest circle on the cloth without a stitch in it.</summary>
/// <param name="Center">Its middle, inches.</param>
/// <param name="Diameter">What a batting's label limits (handbook 5: the largest inscribed circle).</param>
/// <param name="Patch">Id of the patch that holds its middle.</param>
public sealed record WidestGap(Point<ClothSpace> Center, Length Diameter, string Patch)
{
    // A 64th of an inch is less than any label says.
    private const double Precision = 1.0 / 64;

    private static readonly (int, int)[] Around =
    [
        (-1, -1),
        (0, -1),
        (1, -1),
        (-1, 0),
        (1, 0),
        (-1, 1),
        (0, 1),
        (1, 1),
    ];

    /// <summary>
    /// The widest circle that a candidate leaves. It stays inside the patches given; their outer boundary bounds it, stitched
    /// or not, and patches to be left alone (appliqué) are no part of the question.
    /// </summary>
    /// <returns>Null where there is no patch to ask about.</returns>
    /// <remarks>
    /// Branch and bound over squares: a circle's radius changes by no more than its middle moves, so a square whose middle has
    /// too small a distance is dropped with all that is in it. The diameter is exact to 1/64 in, never too large. Patches
    /// whose common seam is not stitched are taken together.
    /// </remarks>
    public static WidestGap? Of(QuiltMap map, RouteCandidate candidate, string? block = null)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(candidate);
        HashSet<string>? only = block is null ? null : [.. map.FindBlock(block)?.Patches ?? []];
        return Find(
            map,
            [.. map.Patches.Where(p => only is null || only.Contains(p.Id))],
            candidate.AllMoves.Select(m => m.Seam).OfType<string>().ToHashSet(),
            [.. candidate.AllMoves.Where(m => m.Seam is null && m.Kind != MoveKind.Retrace).Select(m => m.Path)]
        );
    }

    internal static WidestGap? Find(
        QuiltMap map,
        IReadOnlyList<Patch> patches,
        IReadOnlySet<string> stitched,
        IReadOnlyList<Edge<ClothSpace>> added
    )
    {
        Patch[] open = [.. patches.Where(p => !p.Leave)];
        Dictionary<string, List<int>> sides = [];
        for (int p = 0; p < open.Length; p++)
        {
            foreach (string s in open[p].Seams.Concat(open[p].Holes.SelectMany(h => h)))
            {
                if (!sides.TryGetValue(s, out List<int>? of))
                {
                    sides[s] = of = [];
                }

                of.Add(p);
            }
        }

        // Patches on both sides of a seam that is not stitched are one room.
        int[] room = [.. Enumerable.Range(0, open.Length)];
        foreach ((string seam, List<int> of) in sides)
        {
            if (of.Count == 2 && !stitched.Contains(seam))
            {
                (int a, int b) = (RoomOf(of[0]), RoomOf(of[1]));
                room[a] = b;
            }
        }

        WidestGap? widest = null;
        var rooms = Enumerable
            .Range(0, open.Length)
            .GroupBy(RoomOf)
            .Select(g =>
            {
                int[] members = [.. g];
                HashSet<string> seams =
                [
                    .. members.SelectMany(p => open[p].Seams.Concat(open[p].Holes.SelectMany(h => h))),
                ];
                Edge<ClothSpace>[] bounds =
                [
                    .. seams
                        .Where(s => sides[s].Count == 1 || RoomOf(sides[s][0]) != RoomOf(sides[s][1]))
                        .Select(s => map.EdgeOf(map.SeamOf(s))),
                ];
                Edge<ClothSpace>[] inner =
                [
                    .. seams
                        .Where(s => stitched.Contains(s) && sides[s].Count == 2)
                        .Select(s => map.EdgeOf(map.SeamOf(s))),
                ];
                Box<ClothSpace> box = Box<ClothSpace>.Around(
                    bounds.SelectMany(e =>
                        new[]
                        {
                            new Point<ClothSpace>(e.Bounds().Left, e.Bounds().Top),
                            new(e.Bounds().Right, e.Bounds().Bottom),
                        }
                    )
                );
                return (Members: members, Bounds: bounds, Inner: inner, Box: box);
            })
            .OrderByDescending(r => Math.Min(r.Box.Width, r.Box.Height));
        foreach ((int[] members, Edge<ClothSpace>[] bounds, Edge<ClothSpace>[] inner, Box<ClothSpace> box) in rooms)
        {
            // Whatever lies beyond the room's bounds is farther off than they are.
            Edge<ClothSpace>[] walls = [.. bounds, .. inner, .. added.Where(e => e.Bounds().Meets(box))];
            double least = widest?.Diameter.Inches / 2 ?? 0;
            if (Widest(walls, bounds, box, least) is { } found)
            {
                widest = new(
                    found.Center,
                    Length.FromInches(2 * found.Radius),
                    open[members.FirstOrDefault(p => Holds(map, open[p], found.Center), members[0])].Id
                );
            }
        }

        return widest;

        int RoomOf(int p)
        {
            while (room[p] != p)
            {
                room[p] = room[room[p]];
                p = room[p];
            }

            return p;
        }
    }

    private static bool Holds(QuiltMap map, Patch patch, Point<ClothSpace> at) =>
        IsInside([.. PatchFinder.RingOf(map, patch.Seams).SelectMany(e => Flat(e))], at);

    /// <summary>The widest circle inside bounds and between walls whose radius exceeds <paramref name="least"/>; else null.</summary>
    internal static (Point<ClothSpace> Center, double Radius)? Widest(
        IReadOnlyList<Edge<ClothSpace>> walls,
        IReadOnlyList<Edge<ClothSpace>> bounds,
        Box<ClothSpace> box,
        double least
    )
    {
        (Point<ClothSpace> A, Point<ClothSpace> B)[] outline = [.. bounds.SelectMany(Flat)];
        double side = Math.Min(box.Width, box.Height);
        if (side / 2 <= least + Precision / 2 || side <= 0)
        {
            return null;
        }

        // No circle in the box is wider than the box.
        double half = side / 2;
        (Point<ClothSpace> Center, double Radius)? best = null;
        double reached = least;
        PriorityQueue<(Point<ClothSpace> Middle, double Half), double> queue = new();
        for (double y = box.Top + half; y - half < box.Bottom - 1e-9; y += 2 * half)
        {
            for (double x = box.Left + half; x - half < box.Right - 1e-9; x += 2 * half)
            {
                Look(new(x, y), half);
            }
        }

        while (queue.TryDequeue(out (Point<ClothSpace> Middle, double Half) square, out double bound))
        {
            if (-bound <= reached + Precision / 2)
            {
                break;
            }

            double h = square.Half / 2;
            foreach ((int dx, int dy) in new[] { (-1, -1), (1, -1), (-1, 1), (1, 1) })
            {
                Look(new(square.Middle.X + dx * h, square.Middle.Y + dy * h), h);
            }
        }

        return best is { } b ? Polished(b) : null;

        // From within 1/64 in of the top up to it: what is then shown is round where the truth is.
        (Point<ClothSpace>, double) Polished((Point<ClothSpace> Center, double Radius) from)
        {
            for (double step = Precision; step > 1e-7; step /= 2)
            {
                bool better = true;
                while (better)
                {
                    better = false;
                    foreach ((int dx, int dy) in Around)
                    {
                        Point<ClothSpace> p = new(from.Center.X + dx * step, from.Center.Y + dy * step);
                        double d = DistanceAt(p);
                        if (d > from.Radius + step * 1e-3)
                        {
                            (from, better) = ((p, d), true);
                        }
                    }
                }
            }

            return from;
        }

        // Outside, the way back in counts against the place.
        double DistanceAt(Point<ClothSpace> p)
        {
            double far = double.PositiveInfinity;
            foreach (Edge<ClothSpace> e in walls)
            {
                far = Math.Min(far, e.Nearest(p).Distance);
            }

            return IsInside(outline, p) ? far : -far;
        }

        void Look(Point<ClothSpace> p, double reach)
        {
            double distance = DistanceAt(p);
            if (distance > reached)
            {
                (best, reached) = ((p, distance), distance);
            }

            double most = distance + reach * Math.Sqrt(2);
            if (most > reached + Precision / 2)
            {
                queue.Enqueue((p, reach), -most);
            }
        }
    }

    private static IEnumerable<(Point<ClothSpace> A, Point<ClothSpace> B)> Flat(Edge<ClothSpace> e)
    {
        IReadOnlyList<Point<ClothSpace>> line = e.IsLine ? [e.From, e.To] : e.Flatten(1e-3);
        for (int i = 1; i < line.Count; i++)
        {
            yield return (line[i - 1], line[i]);
        }
    }

    private static bool IsInside((Point<ClothSpace> A, Point<ClothSpace> B)[] outline, Point<ClothSpace> p)
    {
        bool inside = false;
        foreach ((Point<ClothSpace> a, Point<ClothSpace> b) in outline)
        {
            if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }
}
