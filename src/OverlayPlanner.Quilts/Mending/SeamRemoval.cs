using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Takes seams out of a loose map, with what would dangle and points that would stand on a straight run.</summary>
internal static class SeamRemoval
{
    private const double StraightCosine = 0.9945; // 6 degrees

    // A point farther off the straight line than this was put there.
    private const double OffLineInches = 1 / 16.0;
    private const double OffArcInches = 1 / 32.0;

    /// <summary>Removes seams; none of them may be the outline's.</summary>
    public static void Remove(LooseMap map, IReadOnlyCollection<LooseSeam> seams)
    {
        HashSet<LoosePoint> ends = [];
        Queue<LooseSeam> going = new(seams);
        while (going.TryDequeue(out LooseSeam? s))
        {
            if (s.IsGone)
            {
                continue;
            }

            map.Remove(s);
            foreach (LoosePoint p in new[] { s.From, s.To })
            {
                ends.Add(p);
                if (p.Seams.Count == 1 && p.Seams[0].Template.Role != SeamRole.Edge)
                {
                    going.Enqueue(p.Seams[0]);
                }
            }
        }

        foreach (LoosePoint p in ends.Where(p => !p.IsGone))
        {
            Dissolve(map, p);
        }
    }

    /// <summary>Takes a point out where two seams of one kind run straight on through it.</summary>
    public static void Dissolve(LooseMap map, LoosePoint point)
    {
        if (point.IsGone || point.Seams.Count != 2 || JoinedPath(point) is not { } path)
        {
            return;
        }

        (LooseSeam a, LooseSeam b) = (point.Seams[0], point.Seams[1]);
        (LooseSeam kept, LooseSeam gone) = a.Path.Length >= b.Path.Length ? (a, b) : (b, a);
        LoosePoint end = gone.Other(point);
        if (IsInTheWay(map, path, a, b))
        {
            return;
        }

        map.Touch(kept);
        map.Remove(gone);
        double bulge = kept.From == point ? -path.Bulge : path.Bulge;
        map.Lead(kept, point, end);
        kept.Bulge = bulge;
        (kept.Begins, kept.Ends) =
            kept.Origin == gone.Origin
                ? (Math.Min(a.Begins, b.Begins), Math.Max(a.Ends, b.Ends))
                : (kept.Begins, kept.Ends);
    }

    // From the far end of the longer seam to that of the other.
    private static Edge<ClothSpace>? JoinedPath(LoosePoint point)
    {
        (LooseSeam a, LooseSeam b) = (point.Seams[0], point.Seams[1]);
        (a, b) = a.Path.Length >= b.Path.Length ? (a, b) : (b, a);
        if (a.Other(point) == b.Other(point) || !AreAlike(point, a, b))
        {
            return null;
        }

        Edge<ClothSpace> toPoint = a.To == point ? a.Path : a.Path.Reversed;
        Edge<ClothSpace> fromPoint = b.From == point ? b.Path : b.Path.Reversed;
        if (toPoint.EndDirection.Dot(fromPoint.StartDirection) < StraightCosine)
        {
            return null;
        }

        double bulge = 0;
        if (!toPoint.IsLine || !fromPoint.IsLine)
        {
            bulge = BulgeThrough(toPoint.From, point.Place, fromPoint.To);
        }

        Edge<ClothSpace> whole = new(toPoint.From, fromPoint.To, bulge);
        double most = bulge == 0 ? OffLineInches : OffArcInches;
        Point<ClothSpace>[] on = [point.Place, toPoint.PointAt(0.5), fromPoint.PointAt(0.5)];
        return on.All(p => whole.Nearest(p).Distance <= most) ? whole : null;
    }

    private static bool AreAlike(LoosePoint point, LooseSeam a, LooseSeam b)
    {
        // Said for its own way, a low side turns round where the two run against each other.
        bool against = (a.To == point) == (b.To == point);
        Side? side =
            !against || b.Template.Ditch is not { } ditch ? b.Template.Ditch
            : ditch == Side.Left ? Side.Right
            : Side.Left;
        return a.Template.Edge == b.Template.Edge
            && a.Template.Ditch == side
            && a.Template.DitchWhy == b.Template.DitchWhy
            && (a.Template.Role == SeamRole.Edge) == (b.Template.Role == SeamRole.Edge);
    }

    /// <summary>The bulge of the arc from one place through another to a third; 0 where they lie on one line.</summary>
    public static double BulgeThrough(Point<ClothSpace> from, Point<ClothSpace> through, Point<ClothSpace> to)
    {
        // The inscribed angle at the place on the arc is π less half of the arc's own.
        double inscribed = Math.Abs((from - through).AngleTo(to - through));
        double size = Math.Tan((Math.PI - inscribed) / 2);
        double side = (to - from).Cross(through - from);
        return Math.Abs(size) < 1e-9 || side == 0 ? 0 : -Math.Sign(side) * size;
    }

    private static bool IsInTheWay(LooseMap map, Edge<ClothSpace> path, LooseSeam a, LooseSeam b)
    {
        Box<ClothSpace> near = path.Bounds().Grown(2 * LooseMap.Hair);
        return map.LiveSeams.Any(s =>
                s != a
                && s != b
                && near.Meets(s.Bounds)
                && Exact.Relate(path, s.Path) is not (EdgeRelation.Apart or EdgeRelation.ShareEnd)
            )
            || map.LivePoints.Any(p =>
                near.Holds(p.Place)
                && p.Place != path.From
                && p.Place != path.To
                && !(p.Seams.Contains(a) && p.Seams.Contains(b))
                && path.Nearest(p.Place).Distance <= 2 * LooseMap.Hair
            )
            || map.LiveSeams.Any(s =>
                s != a
                && s != b
                && Math.Min(
                    Math.Max(s.Path.From.DistanceTo(path.From), s.Path.To.DistanceTo(path.To)),
                    Math.Max(s.Path.From.DistanceTo(path.To), s.Path.To.DistanceTo(path.From))
                ) == 0
                && s.Path.PointAt(0.5).DistanceTo(path.PointAt(0.5)) <= 2 * LooseMap.Hair
            );
    }
}
