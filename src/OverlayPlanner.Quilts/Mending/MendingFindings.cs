using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>What a person should know after an edit.</summary>
internal static class MendingFindings
{
    /// <summary>New points that only one seam leads to.</summary>
    public static IEnumerable<Finding> Dangling(QuiltMap map, LooseMap loose)
    {
        // New points stand last, in their order.
        int first = loose.LivePoints.Count(p => p.Source is not null);
        return loose
            .LivePoints.Where(p => p.Source is null)
            .Select((p, i) => (Point: p, map.Junctions[first + i].Id))
            .Where(p => p.Point.Seams.Count == 1)
            .Select(p => new Finding(
                "seam-dangles",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{p.Id} at ({p.Point.Place.X:0.##}, {p.Point.Place.Y:0.##}) in"
                ),
                "A seam ends here in the middle of a patch; lead it on or remove it."
            ));
    }
}
