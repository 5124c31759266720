using OverlayPlanner.Geometry;
using SkiaSharp;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>A photograph or a rectified picture as a JPEG for a screen.</summary>
public static class ScreenPicture
{
    // Above this JPEG's own error is no longer seen on cloth, and the file grows fast.
    private const int Quality = 88;

    /// <summary>The JPEG, scaled down where its longer side has more than so many pixels.</summary>
    /// <param name="picture">What is shown.</param>
    /// <param name="mostPixels">Most pixels on the longer side; at least 64.</param>
    /// <returns>The file, and its pixels to one pixel of <paramref name="picture"/>, at most 1.</returns>
    public static (RenderedFile File, double Scale) Render(
        Picture picture,
        int mostPixels,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(picture);
        ArgumentOutOfRangeException.ThrowIfLessThan(mostPixels, 64);
        cancellation.ThrowIfCancellationRequested();
        using SKBitmap whole = new(
            new SKImageInfo(picture.Width, picture.Height, SKColorType.Rgba8888, SKAlphaType.Opaque)
        );
        Span<byte> pixels = whole.GetPixelSpan();
        byte[] rgb = picture.Rgb;
        for (int y = 0; y < picture.Height; y++)
        {
            Span<byte> row = pixels.Slice(y * whole.RowBytes, picture.Width * 4);
            int from = picture.IndexOf(0, y);
            for (int x = 0; x < picture.Width; x++, from += Picture.Channels)
            {
                row[4 * x] = rgb[from];
                row[4 * x + 1] = rgb[from + 1];
                row[4 * x + 2] = rgb[from + 2];
                row[4 * x + 3] = byte.MaxValue;
            }
        }

        double scale = Math.Min(1, (double)mostPixels / Math.Max(picture.Width, picture.Height));
        using SKImage image = SKImage.FromBitmap(whole);
        using SKBitmap shown = new(
            new SKImageInfo(
                Math.Max(1, (int)Math.Round(picture.Width * scale)),
                Math.Max(1, (int)Math.Round(picture.Height * scale)),
                SKColorType.Rgba8888,
                SKAlphaType.Opaque
            )
        );
        using (SKCanvas canvas = new(shown))
        using (SKPaint paint = new() { IsAntialias = true })
        {
            // Mipmaps, since plain linear sampling skips threads of the cloth when it is scaled far down.
            canvas.DrawImage(
                image,
                new SKRect(0, 0, shown.Width, shown.Height),
                new SKSamplingOptions(SKFilterMode.Linear, SKMipmapMode.Linear),
                paint
            );
        }

        using SKImage small = SKImage.FromBitmap(shown);
        using SKData data = small.Encode(SKEncodedImageFormat.Jpeg, Quality);
        return (new(data.ToArray(), []), scale);
    }
}
