using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection;

/// <summary>Finds the seams of a quilt top in a rectified picture.</summary>
public sealed class SeamFinder : IDisposable
{
    private readonly Length tolerance = Length.FromInches(0.05);

    /// <summary>Finds the map.</summary>
    public DetectedQuilt Find(Picture rectified, DetectionWishes wishes, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(rectified);
        ArgumentNullException.ThrowIfNull(wishes);
        ct.ThrowIfCancellationRequested();
        return new(MapBuilder.Build(wishes.Width, wishes.Height, [], [], tolerance, wishes.Outline), []);
    }

    /// <inheritdoc/>
    public void Dispose() { }
}
