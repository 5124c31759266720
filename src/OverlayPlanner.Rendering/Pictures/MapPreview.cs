using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>The rectified picture with what was found drawn over it, so that a person can check it at a glance.</summary>
public static class MapPreview
{
    /// <summary>Widest picture, pixels; larger ones are scaled down.</summary>
    public const int MostPixelsWide = 2_400;

    /// <summary>A seam below this confidence is marked as doubtful.</summary>
    public const double DoubtfulBelow = 0.6;

    /// <summary>The preview as a PNG.</summary>
    /// <param name="rectified">The cloth from above; its <see cref="Picture.PixelsPerInch"/> must be known.</param>
    /// <param name="map">What was found.</param>
    /// <param name="margin">Cloth that the picture shows beyond the mapped area on each side; none where null.</param>
    /// <exception cref="ArgumentException">The picture's scale is unknown.</exception>
    public static RenderedFile Render(
        Picture rectified,
        QuiltMap map,
        Length? margin = null,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(rectified);
        ArgumentNullException.ThrowIfNull(map);
        ct.ThrowIfCancellationRequested();
        double pixelsPerInch =
            rectified.PixelsPerInch
            ?? throw new ArgumentException("A rectified picture knows its pixels to the inch.", nameof(rectified));
        double scale = Math.Min(
            1,
            Math.Min((double)MostPixelsWide / rectified.Width, 4.0 * MostPixelsWide / rectified.Height)
        );
        Drawing.Drawing drawing = new(rectified.Width * scale, rectified.Height * scale);

        // Pixel centres are at integers in the picture, and half a unit in on the drawing's canvas; so cloth at pixel p of the
        // picture, p = inches × px/in + margin − 1/2, falls on the canvas at p + 1/2, with no half pixel left over.
        double shift = (margin ?? Length.Zero).Inches * pixelsPerInch * scale;
        Similarity<PageSpace, ClothSpace> pageFromCloth = new(pixelsPerInch * scale, 0, shift, shift);
        drawing.Add(
            new PlacedPicture(
                Layer.Ground,
                rectified,
                new(0, 0, drawing.Width, drawing.Height),
                Palette.Unbleached,
                0.42
            )
        );

        // Lines keep their weight against the picture, whatever its size.
        double unit = Math.Clamp(Math.Min(drawing.Width, drawing.Height) / 400, 0.8, 4);
        AddSeams(drawing, map, pageFromCloth, unit);
        AddPoints(drawing, map, pageFromCloth, unit);
        foreach (Seam seam in map.Seams.Where(s => s.Confidence < DoubtfulBelow))
        {
            AddPin(drawing, pageFromCloth.Apply(map.EdgeOf(seam)), unit);
        }

        return new(PngFormat.Write(drawing, 1, Palette.Unbleached), []);
    }

    private static void AddSeams(
        Drawing.Drawing drawing,
        QuiltMap map,
        Similarity<PageSpace, ClothSpace> pageFromCloth,
        double unit
    )
    {
        (Seam Seam, Edge<PageSpace> Path)[] seams = [.. map.Seams.Select(s => (s, pageFromCloth.Apply(map.EdgeOf(s))))];
        foreach ((_, Edge<PageSpace> path) in seams)
        {
            drawing.Add(new Stroke(Layer.Seams, [path], Palette.Unbleached with { Alpha = 215 }, 4.2 * unit));
        }

        foreach ((Seam seam, Edge<PageSpace> path) in seams)
        {
            bool doubtful = seam.Confidence < DoubtfulBelow;
            double width = seam.Role == SeamRole.Seam ? 1.5 * unit : 2.2 * unit;
            drawing.Add(
                new Stroke(
                    Layer.Seams,
                    [path],
                    doubtful ? Palette.Ochre
                        : seam.Edge == EdgeKind.Cut ? Palette.SoftInk
                        : Palette.Chalk,
                    width,
                    doubtful || seam.Edge == EdgeKind.Cut ? [3.5 * unit, 3 * unit] : null
                )
            );
        }
    }

    private static void AddPoints(
        Drawing.Drawing drawing,
        QuiltMap map,
        Similarity<PageSpace, ClothSpace> pageFromCloth,
        double unit
    )
    {
        foreach (Junction junction in map.Junctions)
        {
            Point<PageSpace> p = pageFromCloth.Apply(junction.Place);
            drawing.Add(Marks.Disc(Layer.Numbers, p, 3.1 * unit, Palette.Unbleached));
            drawing.Add(Marks.Disc(Layer.Numbers, p, 2.1 * unit, Palette.Ink));
        }
    }

    // A glass-headed pin stuck in the seam's middle; it leans to the side where the picture goes on, across the seam.
    private static void AddPin(Drawing.Drawing drawing, Edge<PageSpace> seam, double unit)
    {
        Point<PageSpace> at = seam.PointAt(0.5);
        Vector<PageSpace> along = seam.DirectionAt(0.5);
        double reach = 13 * unit;
        Vector<PageSpace> lean = new[] { -0.9, -2.25, 0.9, 2.25, -1.57, 0, 1.57, 3.14 }
            .Select(angle => new Vector<PageSpace>(Math.Cos(angle), Math.Sin(angle)))
            .OrderByDescending(u =>
                Math.Min(0.7, Math.Abs(u.Cross(along)))
                - (
                    new Box<PageSpace>(0, 0, drawing.Width, drawing.Height).Grown(-6 * unit).Holds(at + u * reach)
                        ? 0
                        : 1
                )
            )
            .First();
        Point<PageSpace> head = at + lean * reach;
        Edge<PageSpace>[] shaft = [new(at, head)];
        drawing.Add(new Stroke(Layer.Numbers, shaft, Palette.Unbleached, 3 * unit));
        drawing.Add(new Stroke(Layer.Numbers, shaft, Palette.Ink, 1.1 * unit));
        drawing.Add(Marks.Disc(Layer.Numbers, head, 5.2 * unit, Palette.Unbleached));
        drawing.Add(Marks.Disc(Layer.Numbers, head, 4.2 * unit, Palette.Ochre));
        drawing.Add(Marks.Ring(Layer.Numbers, head, 4.2 * unit, Palette.Ink, 0.8 * unit));
    }
}
