using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The pixels of a mosaic, and where they lie on the cloth.</summary>
/// <param name="Width">Pixels across.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="PixelsPerInch">Density.</param>
/// <param name="ClothFromPicture">Cloth inches of the pixels.</param>
internal sealed record MosaicFrame(
    int Width,
    int Height,
    double PixelsPerInch,
    Similarity<ClothSpace, PictureSpace> ClothFromPicture
)
{
    /// <summary>The frame of an area with a margin, as <see cref="Rectification"/> would draw it.</summary>
    /// <exception cref="InputException">It would be empty or too large.</exception>
    public static MosaicFrame Of(Length width, Length height, double pixelsPerInch, Length margin)
    {
        (int w, int h) = Rectification.SizeOf(width + margin * 2, height + margin * 2, pixelsPerInch);
        return new(w, h, pixelsPerInch, Rectification.ClothFromPicture(pixelsPerInch, margin));
    }
}
