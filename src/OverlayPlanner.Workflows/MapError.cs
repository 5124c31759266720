using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>How far a map as a whole may be off.</summary>
public static class MapError
{
    /// <summary>95 % of the points where seams meet are within this of where the map puts them; infinite for a draft, which states none.</summary>
    public static Length Within95(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        Length[] stated = [.. map.Junctions.Select(j => j.At.Sigma).Where(s => s > Length.Zero)];
        return CardsPlane.ErrorWithin(stated);
    }
}
