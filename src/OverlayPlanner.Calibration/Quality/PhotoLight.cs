using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How a photograph is lit.</summary>
/// <param name="Light">Luma (ITU-R BT.601) that one pixel in fifty exceeds, 0 to 255: dark cloth in good light has light places too.</param>
/// <param name="White">Part of the picture whose every channel is at its end, 0 to 1: nothing can be seen there.</param>
public readonly record struct LightLevel(double Light, double White);

/// <summary>Measures how a photograph is lit.</summary>
public static class PhotoLight
{
    private const int MostSamples = 1_000_000;
    private const int Clipped = 253;

    /// <summary>Measures it on at most a million pixels, spread evenly.</summary>
    public static LightLevel Of(Picture picture)
    {
        ArgumentNullException.ThrowIfNull(picture);
        int step = Math.Max(1, (int)Math.Sqrt((double)picture.Width * picture.Height / MostSamples));
        int[] count = new int[256];
        int white = 0;
        int all = 0;
        for (int y = step / 2; y < picture.Height; y += step)
        {
            for (int x = step / 2; x < picture.Width; x += step)
            {
                int i = picture.IndexOf(x, y);
                (int r, int g, int b) = (picture.Rgb[i], picture.Rgb[i + 1], picture.Rgb[i + 2]);
                count[(299 * r + 587 * g + 114 * b) / 1000]++;
                white += r >= Clipped && g >= Clipped && b >= Clipped ? 1 : 0;
                all++;
            }
        }

        int level = 255;
        for (int above = count[level]; above < all / 50 && level > 0; above += count[level])
        {
            level--;
        }

        return new(level, (double)white / all);
    }
}
