using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>What a person should know after an edit.</summary>
internal static class MendingFindings
{
    /// <summary>Points that only one seam leads to.</summary>
    public static IEnumerable<Finding> Dangling(QuiltMap map, Func<Junction, bool> which)
    {
        Dictionary<string, int> ends = [];
        foreach (Seam s in map.Seams)
        {
            ends[s.From] = ends.GetValueOrDefault(s.From) + 1;
            ends[s.To] = ends.GetValueOrDefault(s.To) + 1;
        }

        return map
            .Junctions.Where(j => ends.GetValueOrDefault(j.Id) == 1 && which(j))
            .Select(j => new Finding(
                "seam-dangles",
                string.Create(CultureInfo.InvariantCulture, $"{j.Id} at ({j.Place.X:0.##}, {j.Place.Y:0.##}) in"),
                "A seam ends here in the middle of a patch; lead it on or remove it."
            ));
    }
}
