using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Targets;

/// <summary>A picture as a file, pixel by pixel.</summary>
public static class PlainPicture
{
    /// <summary>The picture as a PNG.</summary>
    public static byte[] Png(Picture picture)
    {
        ArgumentNullException.ThrowIfNull(picture);
        Drawing.Drawing drawing = new(picture.Width, picture.Height);
        drawing.Add(
            new PlacedPicture(Layer.Ground, picture, new(0, 0, picture.Width, picture.Height), Palette.White, Dim: 0)
        );
        return PngFormat.Write(drawing, 1, Palette.White);
    }
}
