using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>
/// What an edit is about: a point, seam, patch or block, named by its id and by a place on the cloth, either of which may be
/// missing. The id says which one it was; the place finds it again in a map of another photograph.
/// </summary>
/// <param name="Id">Its id, or null where it is told by its place alone.</param>
/// <param name="At">
/// A place on it, inches: the point itself, a seam's middle, a place well inside a patch, a block's middle; null where it is told
/// by its id alone.
/// </param>
public sealed record Spot(string? Id, Point<ClothSpace>? At = null)
{
    /// <summary>What is at a place.</summary>
    public static Spot Near(double x, double y) => new(null, new Point<ClothSpace>(x, y));

    /// <inheritdoc/>
    public override string ToString() =>
        At is { } p
            ? string.Create(CultureInfo.InvariantCulture, $"{Id ?? "what lies"} at ({p.X:0.##}, {p.Y:0.##}) in")
            : Id ?? "";
}
