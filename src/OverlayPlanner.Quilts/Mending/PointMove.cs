using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Moves a point of a loose map; its seams follow, nothing flips over.</summary>
internal static class PointMove
{
    /// <summary>Within this of another point a moved one becomes one with it; of a seam, it joins it. Inches.</summary>
    public const double JoinInches = 1 / 16.0;

    // A point that somebody dragged a little off the outline was meant to slide along it.
    private const double OffSideInches = 0.5;
    private const double StraightCosine = 0.9945; // 6 degrees

    /// <summary>Moves the point.</summary>
    /// <exception cref="InputException">A patch would flip over, a corner of the outline would leave, or seams would cross.</exception>
    public static void Move(LooseMap map, LoosePoint point, Point<ClothSpace> to)
    {
        bool outline = point.IsOnOutline;
        to = outline ? OnItsSide(point, to) : Inside(map, to);
        LoosePoint? other = map.PointNear(to, JoinInches, p => p != point && (!outline || p.IsOnOutline));
        if (other is not null)
        {
            Merge(map, point, other);
            return;
        }

        if (!outline && map.SeamNear(to, JoinInches, s => s.From != point && s.To != point) is { } landed)
        {
            Point<ClothSpace> foot = landed.Seam.Path.PointAt(landed.T);
            map.Move(point, foot);
            if (
                landed.Seam.From.Seams.Exists(s => s.Other(landed.Seam.From) == point)
                || landed.Seam.To.Seams.Exists(s => s.Other(landed.Seam.To) == point)
            )
            {
                DropCopies(map, point, landed.Seam);
            }

            map.Split(landed.Seam, landed.T, point);
            return;
        }

        HashSet<int> patches = [.. point.Seams.SelectMany(s => new[] { s.Left, s.Right }).Where(p => p >= 0)];
        map.Move(point, to);
        RequireNoFlip(map, patches, to);
    }

    /// <summary>Refuses where a patch's ring has turned over or has no room left.</summary>
    public static void RequireNoFlip(LooseMap map, IReadOnlySet<int> patches, Point<ClothSpace> at)
    {
        const double LeastSquareInches = 1e-5;
        foreach (int p in patches)
        {
            // Twice the area by the rings that the map listed, whose labels have stayed.
            double area = 0;
            foreach (LooseSeam s in map.LiveSeams)
            {
                double own =
                    s.Left == s.Right ? 0
                    : s.Left == p ? Piece(s)
                    : s.Right == p ? -Piece(s)
                    : 0;
                area += own;
            }

            if (area < LeastSquareInches)
            {
                throw PlaneGuard.Refuse(
                    $"The patch {map.Map.Patches[p].Id} would flip over",
                    at,
                    "Move the point less far, or remove the seam that is in the way."
                );
            }
        }

        double Piece(LooseSeam s)
        {
            Edge<ClothSpace> e = s.Path;
            return -(e.From - at).Cross(e.To - at) / 2 - e.SegmentArea;
        }
    }

    private static Point<ClothSpace> Inside(LooseMap map, Point<ClothSpace> to)
    {
        Box<ClothSpace> area = map.Area;
        return area.Grown(JoinInches).Holds(to)
            ? new(Math.Clamp(to.X, area.Left, area.Right), Math.Clamp(to.Y, area.Top, area.Bottom))
            : throw PlaneGuard.Refuse("The point would leave the mapped area", to, "Give a place inside it.");
    }

    private static Point<ClothSpace> OnItsSide(LoosePoint point, Point<ClothSpace> to)
    {
        LooseSeam[] sides = [.. point.Seams.Where(s => s.Template.Role == SeamRole.Edge)];
        bool straight =
            sides.Length == 2
            && (sides[0].Other(point).Place - point.Place).Unit.Dot((sides[1].Other(point).Place - point.Place).Unit)
                < -StraightCosine;
        if (!straight)
        {
            throw PlaneGuard.Refuse(
                "A corner of the outline can't be moved",
                point.Place,
                "Map the photograph again with other corners or another size."
            );
        }

        Edge<ClothSpace> side = new(sides[0].Other(point).Place, sides[1].Other(point).Place);
        (double t, double distance) = side.Nearest(to);
        if (distance > OffSideInches || t is <= 0 or >= 1)
        {
            throw PlaneGuard.Refuse(
                "A point of the outline can only slide along its side, as far as the next point",
                to,
                "Give a place on the side, between the points on both sides of it."
            );
        }

        return side.PointAt(t);
    }

    private static void Merge(LooseMap map, LoosePoint point, LoosePoint other)
    {
        foreach (LooseSeam s in point.Seams.ToArray())
        {
            map.Touch(s);
            LoosePoint far = s.Other(point);
            if (far == other)
            {
                map.Remove(s);
            }
            else
            {
                map.Lead(s, point, other);
            }
        }

        point.IsGone = true;
        foreach (LooseSeam s in other.Seams.ToArray().Where(s => s.IsReshaped && !s.IsGone))
        {
            DropIfCopy(map, s, other);
        }
    }

    // Both were there for one seam: the one that has not moved stays.
    private static void DropIfCopy(LooseMap map, LooseSeam seam, LoosePoint at)
    {
        LoosePoint far = seam.Other(at);
        double half = at.Place.DistanceTo(far.Place) / 2;
        LooseSeam? twin = at.Seams.Find(o =>
            o != seam
            && o.Other(at) == far
            && Math.Abs((o.From == at ? o.Bulge : -o.Bulge) - (seam.From == at ? seam.Bulge : -seam.Bulge)) * half
                <= JoinInches
        );
        if (twin is null)
        {
            return;
        }

        map.Touch(twin);
        map.Remove(seam.Template.Role == SeamRole.Edge && twin.Template.Role != SeamRole.Edge ? twin : seam);
    }

    private static void DropCopies(LooseMap map, LoosePoint point, LooseSeam onto)
    {
        foreach (LooseSeam s in point.Seams.ToArray())
        {
            LoosePoint far = s.Other(point);
            if (
                (far == onto.From || far == onto.To)
                && onto.Path.Nearest(s.Path.PointAt(0.5)).Distance <= JoinInches
                && point.Seams.Count > 1
            )
            {
                map.Remove(s);
            }
        }
    }
}
