using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Pictures.Errors;

/// <summary>What lies under the lines: the cloth in grey, paler where positions are less sure, hatched where no number is known.</summary>
internal static class ErrorGround
{
    // How far the cloth is bleached where it is surest, where it is least sure, and where there is no number.
    private const double Surest = 0.42;
    private const double LeastSure = 0.8;
    private const double NoNumber = 0.86;

    // White cloth is drawn in a light grey and black in a dark one, so that both can be paler.
    private const double Darkest = 45;
    private const double Lightest = 208;

    private const double HatchDistance = 13;

    /// <summary>The cloth in grey, in about as many pixels as it is drawn with.</summary>
    /// <param name="rectified">The cloth from above.</param>
    /// <param name="pixelsPerInch">Its density.</param>
    /// <param name="margin">Inches that it shows beyond the mapped area.</param>
    /// <param name="within95">How far off a position may be, inches.</param>
    /// <param name="pageFromCloth">Where the cloth lies on the drawing.</param>
    public static PlacedPicture Bleached(
        Picture rectified,
        double pixelsPerInch,
        double margin,
        ScalarGrid<ClothSpace> within95,
        Similarity<PageSpace, ClothSpace> pageFromCloth
    )
    {
        int step = Math.Max(1, (int)(pixelsPerInch / pageFromCloth.Scale));
        (int w, int h) = (rectified.Width / step, rectified.Height / step);
        (int least, int most) = BandsOf(within95);
        byte[] rgb = new byte[w * h * Picture.Channels];
        (byte Red, byte Green, byte Blue) = (Palette.Unbleached.Red, Palette.Unbleached.Green, Palette.Unbleached.Blue);
        Parallel.For(
            0,
            h,
            y =>
            {
                for (int x = 0; x < w; x++)
                {
                    Point<ClothSpace> at = new(
                        (x + 0.5) * step / pixelsPerInch - margin,
                        (y + 0.5) * step / pixelsPerInch - margin
                    );
                    int band = ErrorLevel.BandOf(within95.At(at));
                    double pale =
                        band < 0 ? NoNumber
                        : most == least ? (Surest + LeastSure) / 2
                        : Surest + (LeastSure - Surest) * (band - least) / (most - least);
                    double grey = GreyOf(rectified, x * step, y * step, step) * (1 - pale);
                    int k = (y * w + x) * Picture.Channels;
                    rgb[k] = (byte)(grey + Red * pale + 0.5);
                    rgb[k + 1] = (byte)(grey + Green * pale + 0.5);
                    rgb[k + 2] = (byte)(grey + Blue * pale + 0.5);
                }
            }
        );
        Point<PageSpace> topLeft = pageFromCloth.Apply(new Point<ClothSpace>(-margin, -margin));
        Point<PageSpace> bottomRight = pageFromCloth.Apply(
            new Point<ClothSpace>(w * step / pixelsPerInch - margin, h * step / pixelsPerInch - margin)
        );
        return new(Layer.Ground, new(w, h, rgb), Box<PageSpace>.Around(topLeft, bottomRight), Palette.Unbleached, 0);
    }

    /// <summary>Slanted strokes over what has no number, inside the mapped area; none where all of it has one.</summary>
    public static IReadOnlyList<Edge<PageSpace>> Hatch(
        ScalarGrid<ClothSpace> within95,
        Similarity<PageSpace, ClothSpace> pageFromCloth
    )
    {
        if (within95.Values.All(double.IsFinite))
        {
            return [];
        }

        const double Step = 3;
        Similarity<ClothSpace, PageSpace> clothFromPage = pageFromCloth.Inverse();
        Point<PageSpace> from = pageFromCloth.Apply(new Point<ClothSpace>(within95.Area.Left, within95.Area.Top));
        Point<PageSpace> to = pageFromCloth.Apply(new Point<ClothSpace>(within95.Area.Right, within95.Area.Bottom));
        List<Edge<PageSpace>> strokes = [];
        for (double d = HatchDistance / 2; d < to.X - from.X + to.Y - from.Y; d += HatchDistance)
        {
            // Along x + y = d from the area's top left, downward to the left.
            double begin = Math.Max(0, d - (to.X - from.X));
            double end = Math.Min(d, to.Y - from.Y);
            Point<PageSpace>? open = null;
            for (double y = begin; y <= end; y += Step)
            {
                Point<PageSpace> at = new(from.X + d - y, from.Y + y);
                bool unknown = !double.IsFinite(within95.At(clothFromPage.Apply(at)));
                bool last = y + Step > end;
                if (unknown && open is null)
                {
                    open = at;
                }

                if (open is { } start && (!unknown || last))
                {
                    strokes.Add(new(start, at));
                    open = null;
                }
            }
        }

        return [.. strokes.Where(s => s.Chord > 0)];
    }

    private static (int Least, int Most) BandsOf(ScalarGrid<ClothSpace> within95)
    {
        int[] bands = [.. within95.Values.Where(double.IsFinite).Select(ErrorLevel.BandOf)];
        return bands.Length == 0 ? (0, 0) : (bands.Min(), bands.Max());
    }

    // Luma of ITU-R BT.601, the mean of a square of pixels.
    private static double GreyOf(Picture picture, int left, int top, int side)
    {
        long sum = 0;
        for (int y = top; y < top + side; y++)
        {
            int k = picture.IndexOf(left, y);
            for (int x = 0; x < side; x++, k += Picture.Channels)
            {
                sum += 299L * picture.Rgb[k] + 587L * picture.Rgb[k + 1] + 114L * picture.Rgb[k + 2];
            }
        }

        return Darkest + (Lightest - Darkest) / 255 * sum / (1000.0 * side * side);
    }
}
