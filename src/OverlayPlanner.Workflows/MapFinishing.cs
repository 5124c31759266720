using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Outline;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>What follows once the seams are found: the outline's sides, low sides, and where to look first.</summary>
internal static class MapFinishing
{
    /// <summary>Does it; findings are those of the finder and what is added here.</summary>
    /// <exception cref="InputException">The order of low sides can't be used.</exception>
    public static MappedQuilt Finish(
        DetectedQuilt found,
        Picture rectified,
        Length margin,
        EdgeKind outline,
        MapExtras extras
    )
    {
        QuiltMap map = found.Map;
        List<Finding> findings = [.. found.Findings];
        if (extras.OutlineFromPicture)
        {
            (map, Finding sides) = OutlineReader.Read(map, rectified, margin, outline);
            findings.Add(sides);
        }

        (map, IReadOnlyList<Finding> low) = LowSideOrder.Parse(extras.LowSide).Apply(map, rectified, margin);
        findings.AddRange(low);
        return new(map, rectified, margin, findings) { Look = LookHereChooser.Choose(map, found.Missing) };
    }
}
