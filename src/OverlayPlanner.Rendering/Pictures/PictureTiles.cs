using OverlayPlanner.Geometry;
using SkiaSharp;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>
/// A large JPEG cut into small square ones, at its own size and at each half of it: a screen then loads only what it shows.
/// </summary>
public static class PictureTiles
{
    /// <summary>Pixels of a tile's side; those at the right and at the bottom are smaller.</summary>
    public const int Side = 512;

    private const int Quality = 86;

    /// <summary>How many times the picture is shown in halves: 1 where it fits one tile.</summary>
    /// <param name="width">Pixels across, at least 1.</param>
    /// <param name="height">Pixels down, at least 1.</param>
    public static int LevelsOf(int width, int height)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(width);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(height);
        int levels = 1;
        for (; Math.Max(width, height) > Side; levels++)
        {
            (width, height) = ((width + 1) / 2, (height + 1) / 2);
        }

        return levels;
    }

    /// <summary>Pixels across and down of a picture's file, read from its head alone.</summary>
    /// <exception cref="InputException">It is no picture that can be read.</exception>
    public static (int Width, int Height) SizeOf(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        using SKCodec? codec = SKCodec.Create(path);
        return codec is null ? throw Unreadable(path) : (codec.Info.Width, codec.Info.Height);
    }

    /// <summary>Cuts the picture.</summary>
    /// <param name="path">Its file.</param>
    /// <param name="keep">Takes each tile: level (0 at the picture's own size, each further one half of it), column, row and JPEG.</param>
    /// <exception cref="InputException">It is no picture that can be read.</exception>
    public static void Cut(
        string path,
        Action<int, int, int, ReadOnlyMemory<byte>> keep,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(path);
        ArgumentNullException.ThrowIfNull(keep);
        SKBitmap shown = SKBitmap.Decode(path) ?? throw Unreadable(path);
        try
        {
            int levels = LevelsOf(shown.Width, shown.Height);
            for (int level = 0; ; level++)
            {
                CutLevel(shown, level, keep, cancellation);
                if (level == levels - 1)
                {
                    return;
                }

                SKBitmap half = Half(shown);
                shown.Dispose();
                shown = half;
            }
        }
        finally
        {
            shown.Dispose();
        }
    }

    private static void CutLevel(
        SKBitmap shown,
        int level,
        Action<int, int, int, ReadOnlyMemory<byte>> keep,
        CancellationToken cancellation
    )
    {
        for (int y = 0; y < shown.Height; y += Side)
        {
            for (int x = 0; x < shown.Width; x += Side)
            {
                cancellation.ThrowIfCancellationRequested();
                using SKBitmap part = new();
                SKRectI box = new(x, y, Math.Min(x + Side, shown.Width), Math.Min(y + Side, shown.Height));
                if (!shown.ExtractSubset(part, box))
                {
                    throw new InvalidOperationException("A tile lies outside its picture.");
                }

                using SKData data = part.Encode(SKEncodedImageFormat.Jpeg, Quality);
                keep(level, x / Side, y / Side, data.ToArray());
            }
        }
    }

    // One pixel from each two by two: linear sampling at their common corner is their mean.
    private static SKBitmap Half(SKBitmap whole)
    {
        SKBitmap half = new(whole.Info.WithSize((whole.Width + 1) / 2, (whole.Height + 1) / 2));
        using SKCanvas canvas = new(half);
        using SKImage image = SKImage.FromPixels(whole.PeekPixels());
        using SKPaint paint = new();

        // An odd last row or column is stretched by less than a pixel: a level lies where the picture lies.
        canvas.DrawImage(
            image,
            new SKRect(0, 0, half.Width, half.Height),
            new SKSamplingOptions(SKFilterMode.Linear),
            paint
        );
        return half;
    }

    private static InputException Unreadable(string path) =>
        new("This picture can't be read", path, "Find the seams again: the picture of the cloth is then made anew.");
}
