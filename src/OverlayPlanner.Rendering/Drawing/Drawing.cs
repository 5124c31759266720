using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>A colour, 8 bits a channel; <paramref name="Alpha"/> 255 is opaque.</summary>
internal readonly record struct Ink(byte Red, byte Green, byte Blue, byte Alpha = 255)
{
    /// <summary>The colour as <c>#rrggbb</c>.</summary>
    public string Hex => $"#{Red:x2}{Green:x2}{Blue:x2}";
}

/// <summary>What an item belongs to; formats that know layers let a reader switch them.</summary>
internal enum Layer
{
    /// <summary>Ground, pictures, frames.</summary>
    Ground,

    /// <summary>Seams, stitched or not.</summary>
    Seams,

    /// <summary>The route.</summary>
    Route,

    /// <summary>Step numbers, arrows and marks.</summary>
    Numbers,

    /// <summary>Rulers, crosses, check square.</summary>
    Rulers,

    /// <summary>Words for the reader.</summary>
    Words,
}

/// <summary>Weight of the one typeface.</summary>
internal enum Weight
{
    Regular,
    Bold,
}

/// <summary>One thing that is drawn; all in page space.</summary>
internal abstract record DrawnItem(Layer Layer);

/// <summary>A line of even width.</summary>
/// <param name="Path">Edges in order; where one does not begin at the last one's end, the pen is lifted.</param>
/// <param name="Width">Points.</param>
/// <param name="Dash">Lengths of dash and gap in turn, points; null for a whole line.</param>
internal sealed record Stroke(
    Layer Layer,
    IReadOnlyList<Edge<PageSpace>> Path,
    Ink Ink,
    double Width,
    IReadOnlyList<double>? Dash = null
) : DrawnItem(Layer)
{
    /// <summary>True for round ends; false where a line must end exactly at its end.</summary>
    public bool RoundEnds { get; init; } = true;
}

/// <summary>A filled shape; its figures are closed by themselves, overlaps by the non-zero rule.</summary>
internal sealed record Fill(Layer Layer, IReadOnlyList<Edge<PageSpace>> Path, Ink Ink) : DrawnItem(Layer);

/// <summary>A line of words, set from the left end of its baseline.</summary>
/// <param name="Size">Points.</param>
/// <param name="Quarters">Quarter turns anticlockwise as seen.</param>
internal sealed record Words(
    Layer Layer,
    Point<PageSpace> At,
    string Text,
    double Size,
    Weight Weight,
    Ink Ink,
    int Quarters = 0
) : DrawnItem(Layer);

/// <summary>A picture stretched over a box; dimmed toward the ground by <paramref name="Dim"/>, 0 to 1.</summary>
internal sealed record PlacedPicture(Layer Layer, Picture Picture, Box<PageSpace> Box, Ink Ground, double Dim)
    : DrawnItem(Layer);

/// <summary>
/// One page or picture: the model that every format is written from. Page space, points, y down; a picture in pixels has one
/// point for each pixel.
/// </summary>
internal sealed class Drawing(double width, double height)
{
    private readonly List<DrawnItem> items = [];

    /// <summary>Points across.</summary>
    public double Width { get; } = width;

    /// <summary>Points down.</summary>
    public double Height { get; } = height;

    /// <summary>
    /// What the page is stretched by when it is written, across and down: the inverse of what a printer does to it. The written
    /// page measures <see cref="Width"/> × across by <see cref="Height"/> × down.
    /// </summary>
    public (double Across, double Down) Stretch { get; init; } = (1, 1);

    /// <summary>Items, the lowest first.</summary>
    public IReadOnlyList<DrawnItem> Items => items;

    /// <summary>Adds an item on top.</summary>
    public void Add(DrawnItem item) => items.Add(item);

    /// <summary>Adds items on top.</summary>
    public void Add(IEnumerable<DrawnItem> more) => items.AddRange(more);
}
