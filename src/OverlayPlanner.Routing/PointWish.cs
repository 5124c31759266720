using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing;

/// <summary>Finds, or makes, the point where a thread is wished to start or end.</summary>
internal static class PointWish
{
    // A finger on a screen or a pin on the cloth is no nearer than this.
    public const double Within = 0.125;

    /// <summary>
    /// The junction for a wished place: the nearest within 1/8 in on a stitched line; else a new one where a stitched seam
    /// passes within 1/8 in, which splits that seam.
    /// </summary>
    /// <param name="map">The map.</param>
    /// <param name="place">Where, inches.</param>
    /// <param name="option">Name of the wish, for messages.</param>
    /// <param name="stitched">Ids of the seams that are stitched.</param>
    /// <returns>The map, changed only where a seam was split, and the junction's id.</returns>
    /// <exception cref="InputException">No stitched line is that near.</exception>
    public static (QuiltMap Map, string Junction) Resolve(
        QuiltMap map,
        Point<ClothSpace> place,
        string option,
        IReadOnlySet<string> stitched
    )
    {
        if (!place.IsFinite)
        {
            throw new InputException("The place is no point", option, "Give it as x,y in inches.");
        }

        Junction? nearest = null;
        Seam? seam = null;
        (double T, double Distance) onSeam = (0, double.PositiveInfinity);
        foreach (Seam s in map.Seams.Where(s => stitched.Contains(s.Id)))
        {
            foreach (string id in new[] { s.From, s.To })
            {
                Junction j = map.JunctionOf(id);
                if (nearest is null || j.Place.DistanceTo(place) < nearest.Place.DistanceTo(place))
                {
                    nearest = j;
                }
            }

            (double t, double d) = map.EdgeOf(s).Nearest(place);
            if (d < onSeam.Distance)
            {
                (seam, onSeam) = (s, (t, d));
            }
        }

        if (nearest is null || seam is null)
        {
            throw new InputException("There is no line to start on", option, "Ask for lines that the map has.");
        }

        if (nearest.Place.DistanceTo(place) <= Within)
        {
            return (map, nearest.Id);
        }

        if (onSeam.Distance <= Within)
        {
            return Split(map, seam, onSeam.T);
        }

        throw new InputException(
            string.Create(
                CultureInfo.InvariantCulture,
                $"({place.X:0.##}, {place.Y:0.##}) lies on no line to be stitched"
            ),
            option,
            string.Create(
                CultureInfo.InvariantCulture,
                $"The nearest point is {nearest.Id} at {nearest.Place.X:0.###},{nearest.Place.Y:0.###}, {nearest.Place.DistanceTo(place):0.##} in away; the nearest line is {onSeam.Distance:0.##} in away."
            )
        );
    }

    /// <summary>Splits a seam at a fraction of its length; the pieces keep its id with .1 and .2.</summary>
    internal static (QuiltMap Map, string Junction) Split(QuiltMap map, Seam seam, double t)
    {
        Edge<ClothSpace> path = map.EdgeOf(seam);
        string id = Free(
            "j" + (map.Junctions.Count + 1).ToString(CultureInfo.InvariantCulture),
            x => map.Junctions.Any(j => j.Id == x)
        );
        double sigma =
            (map.JunctionOf(seam.From).At.Sigma.Inches * (1 - t)) + (map.JunctionOf(seam.To).At.Sigma.Inches * t);
        Junction junction = new(id, new(path.PointAt(t), Length.FromInches(sigma)));
        Seam first = seam with
        {
            Id = Free(seam.Id + ".1", x => map.FindSeam(x) is not null),
            To = id,
            Bulge = seam.Bulge == 0 ? 0 : Math.Tan(t * path.Sweep / 4),
        };
        Seam second = seam with
        {
            Id = Free(seam.Id + ".2", x => map.FindSeam(x) is not null),
            From = id,
            Bulge = seam.Bulge == 0 ? 0 : Math.Tan((1 - t) * path.Sweep / 4),
        };
        return (
            map.With(
                junctions: [.. map.Junctions, junction],
                seams: [.. map.Seams.SelectMany(s => s.Id == seam.Id ? new[] { first, second } : [s])],
                patches:
                [
                    .. map.Patches.Select(p => p with { Seams = InRing(p.Seams), Holes = [.. p.Holes.Select(InRing)] }),
                ]
            ),
            id
        );

        IReadOnlyList<string> InRing(IReadOnlyList<string> ring)
        {
            int at = ring.ToList().IndexOf(seam.Id);
            if (at < 0)
            {
                return ring;
            }

            // Clockwise the ring may run along the seam or against it.
            bool along = PatchFinder.RingOf(map, ring)[at].From == path.From;
            string[] pieces = along ? [first.Id, second.Id] : [second.Id, first.Id];
            return [.. ring.Take(at), .. pieces, .. ring.Skip(at + 1)];
        }
    }

    private static string Free(string wanted, Func<string, bool> taken)
    {
        string id = wanted;
        while (taken(id))
        {
            id += "+";
        }

        return id;
    }
}
