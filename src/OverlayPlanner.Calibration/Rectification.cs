using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Pictures of the cloth as seen straight from above, at so many pixels to the inch.</summary>
/// <remarks>
/// The picture covers the mapped area and a margin round it exactly: the outer edges of its outer pixels are the area's edges.
/// Pixel (0, 0) therefore shows the cloth at (½ ÷ density − margin, ½ ÷ density − margin), and
/// cloth = (pixel + ½) ÷ density − margin.
/// </remarks>
public static class Rectification
{
    /// <summary>Density that the seam finder works at, px/in.</summary>
    public const double UsualPixelsPerInch = 32;

    /// <summary>Most pixels of a rectified picture: 108 MB.</summary>
    public const long MostPixels = 36_000_000;

    // From so many source pixels across one target pixel on, the source is halved first.
    private const double MostSamples = 6;

    // Photo pixels between the samples within one result pixel, at most.
    private const double SampleDistance = 1.35;

    /// <summary>Cloth inches of a rectified picture's pixels.</summary>
    public static Similarity<ClothSpace, PictureSpace> ClothFromPicture(
        double pixelsPerInch,
        Length margin = default
    ) =>
        Similarity<ClothSpace, PictureSpace>.ScaleThenShift(
            1 / pixelsPerInch,
            0.5 / pixelsPerInch - margin.Inches,
            0.5 / pixelsPerInch - margin.Inches
        );

    /// <summary>Pixels of a rectified picture for cloth inches.</summary>
    public static Similarity<PictureSpace, ClothSpace> PictureFromCloth(
        double pixelsPerInch,
        Length margin = default
    ) =>
        Similarity<PictureSpace, ClothSpace>.ScaleThenShift(
            pixelsPerInch,
            margin.Inches * pixelsPerInch - 0.5,
            margin.Inches * pixelsPerInch - 0.5
        );

    /// <summary>
    /// A density for a picture of this size: <paramref name="wanted"/>, less where that would pass <see cref="MostPixels"/>.
    /// </summary>
    public static double ChooseDensity(Length width, Length height, double wanted = UsualPixelsPerInch)
    {
        double area = Math.Max(width.Inches * height.Inches, 1e-6);
        return Math.Min(wanted, Math.Sqrt(MostPixels / area));
    }

    /// <summary>Draws the cloth from above.</summary>
    /// <param name="photo">The photograph.</param>
    /// <param name="photoFromCloth">Where the photo shows a cloth point.</param>
    /// <param name="width">Width of the mapped area.</param>
    /// <param name="height">Height of the mapped area.</param>
    /// <param name="pixelsPerInch">Density of the result.</param>
    /// <param name="margin">How far the picture reaches past the area on each side.</param>
    /// <returns>⌈(width + 2 margin) × density⌉ by the same for the height; beyond the photo its outer pixels go on.</returns>
    /// <remarks>
    /// Where the photo has more pixels than the result, each result pixel is the mean over its own square of the photo (a grid
    /// of linearly interpolated samples about a photo pixel apart); where it has fewer, Catmull–Rom interpolation (E. Catmull and R. Rom, 1974).
    /// Both are symmetric, so nothing shifts. O(photo + result); rows are shared out over the processors.
    /// </remarks>
    /// <exception cref="InputException">The picture would be empty or larger than <see cref="MostPixels"/>.</exception>
    public static Picture Rectify(
        Photo photo,
        IMap<PhotoSpace, ClothSpace> photoFromCloth,
        Length width,
        Length height,
        double pixelsPerInch,
        Length margin = default,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(photo);
        ArgumentNullException.ThrowIfNull(photoFromCloth);
        Similarity<ClothSpace, PictureSpace> clothFromPicture = ClothFromPicture(pixelsPerInch, margin);
        (int w, int h) = SizeOf(width + margin * 2, height + margin * 2, pixelsPerInch);
        (Picture source, int halvings) = Halve(photo.Picture, LeastShrink(photoFromCloth, clothFromPicture, w, h));
        double scale = 1.0 / (1 << halvings);
        double shift = 0.5 * scale - 0.5;
        byte[] result = new byte[w * h * Picture.Channels];
        ParallelOptions options = new() { CancellationToken = ct };
        Parallel.ForEach(
            System.Collections.Concurrent.Partitioner.Create(0, h, Math.Max(1, h / 32)),
            options,
            range =>
            {
                double[] above = new double[2 * (w + 1)];
                double[] below = new double[2 * (w + 1)];
                TraceRow(range.Item1, above);
                for (int y = range.Item1; y < range.Item2; y++)
                {
                    TraceRow(y + 1, below);
                    for (int x = 0; x < w; x++)
                    {
                        int i = 2 * x;
                        Sample(
                            source,
                            above[i],
                            above[i + 1],
                            above[i + 2] - above[i],
                            above[i + 3] - above[i + 1],
                            below[i] - above[i],
                            below[i + 1] - above[i + 1],
                            result.AsSpan((y * w + x) * Picture.Channels, Picture.Channels)
                        );
                    }

                    (above, below) = (below, above);
                }
            }
        );
        return new(w, h, result, pixelsPerInch);

        // Source pixels of the centres of one row of result pixels, and of one beyond its end.
        void TraceRow(int y, double[] row)
        {
            for (int x = 0; x <= w; x++)
            {
                Point<PhotoSpace> p = photoFromCloth.Apply(clothFromPicture.Apply(new Point<PictureSpace>(x, y)));
                row[2 * x] = p.X * scale + shift;
                row[2 * x + 1] = p.Y * scale + shift;
            }
        }
    }

    /// <summary>Pixels across and down of a picture of this much cloth.</summary>
    /// <exception cref="InputException">It would be empty or larger than <see cref="MostPixels"/>.</exception>
    internal static (int Across, int Down) SizeOf(Length width, Length height, double pixelsPerInch)
    {
        double across = Math.Ceiling(width.Inches * pixelsPerInch - 1e-6);
        double down = Math.Ceiling(height.Inches * pixelsPerInch - 1e-6);
        return across >= 1 && down >= 1 && across * down <= MostPixels * 1.01
            ? ((int)across, (int)down)
            : throw new InputException(
                $"A picture of {width} × {height} at this density is too large or empty",
                "the rectified picture",
                "Map a smaller area, or fewer pixels to the inch."
            );
    }

    // Least number of photo pixels across one result pixel, over a grid.
    private static double LeastShrink(
        IMap<PhotoSpace, ClothSpace> photoFromCloth,
        Similarity<ClothSpace, PictureSpace> clothFromPicture,
        int w,
        int h
    )
    {
        const int Across = 8;
        double least = double.PositiveInfinity;
        for (int i = 0; i <= Across; i++)
        {
            for (int j = 0; j <= Across; j++)
            {
                Point<PhotoSpace> p = At(w * i / (double)Across, h * j / (double)Across);
                Point<PhotoSpace> right = At(w * i / (double)Across + 1, h * j / (double)Across);
                Point<PhotoSpace> under = At(w * i / (double)Across, h * j / (double)Across + 1);
                double shrink = Math.Min(p.DistanceTo(right), p.DistanceTo(under));

                // Beyond the lens's reach there is none.
                least = shrink < least ? shrink : least;
            }
        }

        return least;

        Point<PhotoSpace> At(double x, double y) =>
            photoFromCloth.Apply(clothFromPicture.Apply(new Point<PictureSpace>(x, y)));
    }

    private static (Picture Source, int Halvings) Halve(Picture source, double leastShrink)
    {
        int halvings = 0;
        while (leastShrink > MostSamples && source.Width > 64 && source.Height > 64)
        {
            // Pixel x of the half picture is the mean of pixels 2x and 2x + 1: its centre is at 2x + ½.
            int w = source.Width / 2;
            int h = source.Height / 2;
            byte[] from = source.Rgb;
            byte[] half = new byte[w * h * Picture.Channels];
            int stride = source.Width * Picture.Channels;
            Parallel.For(
                0,
                h,
                y =>
                {
                    int upper = 2 * y * stride;
                    int to = y * w * Picture.Channels;
                    for (int x = 0; x < w; x++)
                    {
                        for (int c = 0; c < Picture.Channels; c++)
                        {
                            int i = upper + 6 * x + c;
                            half[to++] = (byte)(
                                (from[i] + from[i + 3] + from[i + stride] + from[i + stride + 3] + 2) >> 2
                            );
                        }
                    }
                }
            );
            source = new(w, h, half);
            leastShrink /= 2;
            halvings++;
        }

        return (source, halvings);
    }

    private static void Sample(
        Picture source,
        double x,
        double y,
        double ax,
        double ay,
        double bx,
        double by,
        Span<byte> to
    )
    {
        double across = Math.Sqrt(ax * ax + ay * ay);
        double down = Math.Sqrt(bx * bx + by * by);
        if (!(across < 64 && down < 64))
        {
            // Beyond the horizon or the lens's reach.
            to.Fill(128);
            return;
        }

        if (across < 1.25 && down < 1.25)
        {
            Cubic(source, x, y, to);
            return;
        }

        // One sample reaches a photo pixel to each side; samples a little further apart than a pixel still overlap.
        int n = Math.Max(1, (int)Math.Ceiling(across / SampleDistance));
        int m = Math.Max(1, (int)Math.Ceiling(down / SampleDistance));
        byte[] rgb = source.Rgb;
        int stride = source.Width * Picture.Channels;
        float right = source.Width - 1.001f;
        float bottom = source.Height - 1.001f;
        (float r, float g, float b) = (0, 0, 0);
        for (int j = 0; j < m; j++)
        {
            double t = (j + 0.5) / m - 0.5;
            float sx = (float)(x + t * bx + (0.5 / n - 0.5) * ax);
            float sy = (float)(y + t * by + (0.5 / n - 0.5) * ay);
            float dx = (float)(ax / n);
            float dy = (float)(ay / n);
            for (int i = 0; i < n; i++)
            {
                float px = Math.Min(Math.Max(sx, 0), right);
                float py = Math.Min(Math.Max(sy, 0), bottom);
                int x0 = (int)px;
                int y0 = (int)py;
                float fx = px - x0;
                float fy = py - y0;
                int k = y0 * stride + x0 * Picture.Channels;
                int l = k + stride;
                float d = fx * fy;
                float c = fy - d;
                float o = fx - d;
                float a = 1 - fx - c;
                r += a * rgb[k] + o * rgb[k + 3] + c * rgb[l] + d * rgb[l + 3];
                g += a * rgb[k + 1] + o * rgb[k + 4] + c * rgb[l + 1] + d * rgb[l + 4];
                b += a * rgb[k + 2] + o * rgb[k + 5] + c * rgb[l + 2] + d * rgb[l + 5];
                sx += dx;
                sy += dy;
            }
        }

        float weight = 1f / (n * m);
        to[0] = (byte)(r * weight + 0.5f);
        to[1] = (byte)(g * weight + 0.5f);
        to[2] = (byte)(b * weight + 0.5f);
    }

    private static void Cubic(Picture source, double x, double y, Span<byte> to)
    {
        x = Math.Clamp(x, 0, source.Width - 1);
        y = Math.Clamp(y, 0, source.Height - 1);
        int x0 = (int)x;
        int y0 = (int)y;
        Span<double> wx = stackalloc double[4];
        Span<double> wy = stackalloc double[4];
        Weights(x - x0, wx);
        Weights(y - y0, wy);
        (double r, double g, double b) = (0, 0, 0);
        byte[] rgb = source.Rgb;
        for (int j = 0; j < 4; j++)
        {
            int row = Math.Clamp(y0 + j - 1, 0, source.Height - 1) * source.Width;
            for (int i = 0; i < 4; i++)
            {
                int k = (row + Math.Clamp(x0 + i - 1, 0, source.Width - 1)) * Picture.Channels;
                double weight = wx[i] * wy[j];
                r += weight * rgb[k];
                g += weight * rgb[k + 1];
                b += weight * rgb[k + 2];
            }
        }

        to[0] = (byte)Math.Clamp(r + 0.5, 0, 255);
        to[1] = (byte)Math.Clamp(g + 0.5, 0, 255);
        to[2] = (byte)Math.Clamp(b + 0.5, 0, 255);
    }

    private static void Weights(double t, Span<double> w)
    {
        double t2 = t * t;
        double t3 = t2 * t;
        w[0] = 0.5 * (-t3 + 2 * t2 - t);
        w[1] = 0.5 * (3 * t3 - 5 * t2 + 2);
        w[2] = 0.5 * (-3 * t3 + 4 * t2 + t);
        w[3] = 0.5 * (t3 - t2);
    }
}
