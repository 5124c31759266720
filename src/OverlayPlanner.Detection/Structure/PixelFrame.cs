using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>The mapped area's rectangle in evidence pixels.</summary>
internal readonly record struct PixelFrame(double Left, double Top, double Right, double Bottom)
{
    public static PixelFrame Of(EvidenceMap evidence, Length width, Length height)
    {
        (double left, double top) = evidence.ToPixel(new(0, 0));
        (double right, double bottom) = evidence.ToPixel(new(width.Inches, height.Inches));
        return new(left, top, right, bottom);
    }

    /// <summary>Distance to the nearest side, pixels, positive inside.</summary>
    public double DepthOf(double x, double y) => Math.Min(Math.Min(x - Left, Right - x), Math.Min(y - Top, Bottom - y));
}
