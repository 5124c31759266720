using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Targets;

/// <summary>A printed target as it is drawn: nothing but rectangles of ink, and its words.</summary>
/// <param name="Number">What the user calls it by; null for a board.</param>
/// <param name="Label">What it is, for example "3 in card".</param>
/// <param name="Width">Across, from ink to ink.</param>
/// <param name="Height">Down, from ink to ink.</param>
/// <param name="Ink">Rectangles of ink, inches from the target's middle: left, top, width, height; y down.</param>
public sealed record TargetArt(
    int? Number,
    string Label,
    Length Width,
    Length Height,
    IReadOnlyList<(double Left, double Top, double Width, double Height)> Ink
)
{
    /// <summary>Whether it stands on its right side on the page: its right end at the bottom.</summary>
    public bool Turned { get; init; }
}

/// <summary>A card of a layout: its number and where its middle lies, inches from the area's top left.</summary>
public sealed record LaidCard(int Number, double X, double Y, Length Width, Length Height);
