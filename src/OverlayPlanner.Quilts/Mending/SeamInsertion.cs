using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Lays a seam into a loose map: to near points and seams at its ends, through points on its way, split at crossings.</summary>
internal sealed class SeamInsertion
{
    private readonly LooseMap map;
    private readonly SeamOrigin origin;
    private readonly double pull;
    private readonly HashSet<LoosePoint> visited = [];
    private int laid;

    private SeamInsertion(LooseMap map, SeamOrigin origin, double pull)
    {
        this.map = map;
        this.origin = origin;
        this.pull = pull;
    }

    /// <summary>Lays a seam.</summary>
    /// <param name="snap">How near an end must be to be drawn to a point or a seam, inches.</param>
    /// <returns>How many pieces were laid; 0 where seams lie there already, or the ends are one.</returns>
    public static int Lay(LooseMap map, SeamOrigin origin, Edge<ClothSpace> path, double snap)
    {
        // On its way a seam goes through what lies half as near: a sliver is never meant.
        SeamInsertion insertion = new(map, origin, snap / 2);
        LoosePoint from = insertion.EndAt(path.From, snap);
        LoosePoint to = insertion.EndAt(path.To, snap);
        if (from != to)
        {
            insertion.visited.Add(from);
            insertion.visited.Add(to);
            insertion.Lay(from, to, path.Bulge, 0, 1);
        }

        foreach (LoosePoint end in new[] { from, to })
        {
            end.IsGone = end.Seams.Count == 0;
        }

        return insertion.laid;
    }

    private LoosePoint EndAt(Point<ClothSpace> place, double snap)
    {
        if (map.PointNear(place, snap) is { } point)
        {
            return point;
        }

        if (map.SeamNear(place, snap) is not { } found)
        {
            return map.AddPoint(Inside(place));
        }

        // The foot of a slanting stroke may come out beside a point.
        Point<ClothSpace> foot = found.Seam.Path.PointAt(found.T);
        return map.PointNear(foot, Math.Min(pull, 0.02)) ?? SplitAt(found.Seam, found.T);
    }

    // Other seams that run through the new point but for a hair are led through it: three seams meet in one point.
    private LoosePoint SplitAt(LooseSeam seam, double t)
    {
        LoosePoint point = map.Split(seam, t);
        while (
            map.SeamNear(point.Place, 2.5 * LooseMap.Hair, s => s.From != point && s.To != point)
                is { T: > 0 and < 1 } other
        )
        {
            if (other.Seam.Template.Role == SeamRole.Edge)
            {
                // The outline stays straight.
                map.Move(point, other.Seam.Path.PointAt(other.T));
            }

            map.Split(other.Seam, other.T, point);
        }

        return point;
    }

    private Point<ClothSpace> Inside(Point<ClothSpace> p) =>
        new(Math.Clamp(p.X, map.Area.Left, map.Area.Right), Math.Clamp(p.Y, map.Area.Top, map.Area.Bottom));

    private void Lay(LoosePoint from, LoosePoint to, double bulge, double begins, double ends)
    {
        Edge<ClothSpace> path = new(from.Place, to.Place, bulge);
        if (IsThere(from, to, bulge))
        {
            return;
        }

        if ((OnTheWay(path) ?? CrossingOn(path, from, to)) is { } middle)
        {
            visited.Add(middle.Point);
            double at = begins + (ends - begins) * middle.T;
            double sweep = path.Sweep;
            double first = bulge == 0 ? 0 : Math.Tan(middle.T * sweep / 4);
            double second = bulge == 0 ? 0 : Math.Tan((1 - middle.T) * sweep / 4);
            Lay(from, middle.Point, first, begins, at);
            Lay(middle.Point, to, second, at, ends);
            return;
        }

        map.AddSeam(origin, from, to, bulge, begins, ends);
        laid++;
    }

    private bool IsThere(LoosePoint from, LoosePoint to, double bulge)
    {
        double half = from.Place.DistanceTo(to.Place) / 2;
        return from.Seams.Exists(s =>
            s.Other(from) == to && Math.Abs((s.From == from ? s.Bulge : -s.Bulge) - bulge) * half <= pull
        );
    }

    // The nearest point to the path that has not been led through yet.
    private (LoosePoint Point, double T)? OnTheWay(Edge<ClothSpace> path)
    {
        Box<ClothSpace> near = path.Bounds().Grown(pull);
        double least = pull;
        (LoosePoint, double)? best = null;
        foreach (LoosePoint p in map.Points)
        {
            if (p.IsGone || p.Seams.Count == 0 || !near.Holds(p.Place) || visited.Contains(p))
            {
                continue;
            }

            (double t, double distance) = path.Nearest(p.Place);
            if (distance <= least && t is > 0 and < 1)
            {
                (best, least) = ((p, t), distance);
            }
        }

        return best;
    }

    // The first place where the path crosses a seam; that seam is split there.
    private (LoosePoint Point, double T)? CrossingOn(Edge<ClothSpace> path, LoosePoint from, LoosePoint to)
    {
        Box<ClothSpace> near = path.Bounds().Grown(LooseMap.Hair);
        (LooseSeam Seam, Point<ClothSpace> At, double T)? first = null;
        foreach (LooseSeam s in map.Seams)
        {
            if (
                s.IsGone
                || !near.Meets(s.Bounds)
                || Exact.Relate(path, s.Path) is EdgeRelation.Apart or EdgeRelation.ShareEnd
            )
            {
                continue;
            }

            foreach (Point<ClothSpace> at in s.Path.FindMeetings(path, LooseMap.Hair / 2))
            {
                double t = path.Nearest(at).T;
                bool atEnd =
                    at.DistanceTo(from.Place) <= 2 * LooseMap.Hair || at.DistanceTo(to.Place) <= 2 * LooseMap.Hair;
                if (!atEnd && (first is null || t < first.Value.T))
                {
                    first = (s, at, t);
                }
            }
        }

        if (first is not { } crossing)
        {
            return null;
        }

        double on = crossing.Seam.Path.Nearest(crossing.At).T;
        LoosePoint middle =
            on <= 0 ? crossing.Seam.From
            : on >= 1 ? crossing.Seam.To
            : SplitAt(crossing.Seam, on);
        return visited.Contains(middle) ? null : (middle, crossing.T);
    }
}
