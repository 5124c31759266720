namespace OverlayPlanner.Geometry;

/// <summary>
/// A decoded picture: 8-bit RGB, rows top to bottom without padding. Pixel centres lie at integer coordinates.
/// </summary>
public sealed class Picture
{
    /// <summary>Bytes for each pixel: red, green, blue.</summary>
    public const int Channels = 3;

    /// <summary>Wraps <paramref name="rgb"/> without copying it.</summary>
    /// <exception cref="ArgumentException">The buffer is not width × height × 3 bytes.</exception>
    public Picture(int width, int height, byte[] rgb, double? pixelsPerInch = null)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(width);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(height);
        ArgumentNullException.ThrowIfNull(rgb);
        if (rgb.LongLength != (long)width * height * Channels)
        {
            throw new ArgumentException("The buffer must hold width × height × 3 bytes.", nameof(rgb));
        }

        Width = width;
        Height = height;
        Rgb = rgb;
        PixelsPerInch = pixelsPerInch;
    }

    /// <summary>Pixels across.</summary>
    public int Width { get; }

    /// <summary>Pixels down.</summary>
    public int Height { get; }

    /// <summary>The bytes: red, green, blue, row by row.</summary>
    public byte[] Rgb { get; }

    /// <summary>Pixels to the inch of cloth for a rectified picture; null for a photograph.</summary>
    public double? PixelsPerInch { get; }

    /// <summary>The index of a pixel's red byte. Not checked.</summary>
    public int IndexOf(int x, int y) => (y * Width + x) * Channels;
}
