using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Refuses an edit after which seams would cross, overlap, or run through a point.</summary>
internal static class PlaneGuard
{
    /// <summary>Looks at every seam that runs elsewhere than before or was split, and at what lies near it.</summary>
    /// <exception cref="InputException">It would cross something; says what and where.</exception>
    /// <remarks>O(reshaped × map) in box tests; exact relations only where boxes meet.</remarks>
    public static void Require(LooseMap map)
    {
        LooseSeam[] reshaped = [.. map.LiveSeams.Where(s => s.IsReshaped || s.IsPiece)];
        foreach (LoosePoint p in reshaped.SelectMany(s => new[] { s.From, s.To }).Distinct())
        {
            if (p.Source is not { } j || j.Place != p.Place)
            {
                RequireFree(map, p);
            }
        }

        foreach (LooseSeam s in reshaped)
        {
            Edge<ClothSpace> path = s.Path;
            if (
                !map.Area.Grown(LooseMap.Hair).Holds(new(s.Bounds.Left, s.Bounds.Top))
                || !map.Area.Grown(LooseMap.Hair).Holds(new(s.Bounds.Right, s.Bounds.Bottom))
            )
            {
                throw Refuse("A seam would run outside the mapped area", path.PointAt(0.5));
            }

            if (path.Chord <= LooseMap.Hair)
            {
                throw Refuse("A seam would be left without length", path.From);
            }

            Box<ClothSpace> near = s.Bounds.Grown(2 * LooseMap.Hair);
            foreach (LooseSeam o in map.Seams)
            {
                if (o.IsGone || o == s || !near.Meets(o.Bounds))
                {
                    continue;
                }

                Edge<ClothSpace> other = o.Path;
                EdgeRelation relation = Exact.Relate(path, other);
                if (
                    relation is EdgeRelation.Cross or EdgeRelation.Touch or EdgeRelation.Overlap
                    && !MapCheck.IsHairline(path, other, relation)
                )
                {
                    Point<ClothSpace> at = path.FindMeetings(other, 0.01).Append(path.PointAt(0.5)).First();
                    throw Refuse($"A seam would cross seam {NameOf(o)}", at);
                }

                if (AreOne(s, o))
                {
                    throw Refuse($"A seam would lie on seam {NameOf(o)}", path.PointAt(0.5));
                }
            }

            foreach (LoosePoint p in map.Points)
            {
                if (p.IsGone || p == s.From || p == s.To || !near.Holds(p.Place))
                {
                    continue;
                }

                if (path.Nearest(p.Place).Distance <= 1.5 * LooseMap.Hair)
                {
                    throw Refuse($"A seam would run through the point {p.Name}", p.Place);
                }
            }
        }
    }

    // A new or a moved point must not come to lie on a seam that has stayed.
    private static void RequireFree(LooseMap map, LoosePoint point)
    {
        LooseSeam? on = map.SeamNear(point.Place, 1.5 * LooseMap.Hair, s => s.From != point && s.To != point)?.Seam;
        if (on is not null)
        {
            throw Refuse($"Seam {NameOf(on)} would run through the point {point.Name}", point.Place);
        }
    }

    /// <summary>What an edit would do wrong, with its place.</summary>
    public static InputException Refuse(string what, Point<ClothSpace> at, string? remedy = null) =>
        new(
            what,
            string.Create(CultureInfo.InvariantCulture, $"({at.X:0.##}, {at.Y:0.##}) in"),
            remedy ?? "Choose another place, or first move or remove what is in the way."
        );

    private static string NameOf(LooseSeam seam) => seam.Origin.Id ?? "that is being added";

    private static bool AreOne(LooseSeam a, LooseSeam b)
    {
        bool along = a.From == b.From && a.To == b.To;
        return (along || (a.From == b.To && a.To == b.From))
            && Math.Abs(a.Bulge - (along ? b.Bulge : -b.Bulge)) * a.Path.Chord / 2 <= 1.5 * LooseMap.Hair;
    }
}
