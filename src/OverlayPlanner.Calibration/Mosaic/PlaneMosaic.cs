using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>One picture of the cloth from several photos.</summary>
/// <param name="Picture">The cloth from above; white where no photo shows it.</param>
/// <param name="ClothFromPicture">Its pixels as cloth inches.</param>
/// <param name="Overlap">Share of the area that two or more photos show.</param>
/// <param name="TieRms">Root mean square of the distances between what two photos show, in their overlaps; NaN without one.</param>
/// <param name="TieP95">The distance that 95 % of the ties stay under.</param>
/// <param name="Ties">How many places were compared.</param>
/// <param name="Findings">Where coverage is missing; photos that do not meet.</param>
public sealed record MosaicResult(
    Picture Picture,
    Similarity<ClothSpace, PictureSpace> ClothFromPicture,
    double Overlap,
    Length TieRms,
    Length TieP95,
    int Ties,
    IReadOnlyList<Finding> Findings
);

/// <summary>Joins photos of one plane, each of which has its place by the cards' adjustment, into one picture.</summary>
/// <remarks>
/// Brightness is evened out by one gain for each photo, least squares over the overlaps (M. Brown and D. Lowe, 2007, 5). Each
/// point is shown mostly by the photo that sees it best, with a soft change from one to the next, so that print and seams are
/// not doubled. Time and memory are those of one rectified picture a photo, one after the other.
/// </remarks>
public static class PlaneMosaic
{
    // The change between photos happens within this part of the frame's longer side.
    private const double Feather = 0.08;
    private const int Grid = 8;

    /// <summary>Joins the photos over the plane's mapped area.</summary>
    /// <param name="photos">The photos that the plane was solved from, in the same order.</param>
    /// <param name="plane">The plane.</param>
    /// <param name="pixelsPerInch">Density of the result; see <see cref="Rectification.ChooseDensity"/>.</param>
    /// <param name="margin">How far the picture reaches past the area on each side.</param>
    /// <exception cref="InputException">The picture would be too large.</exception>
    public static MosaicResult Join(
        IReadOnlyList<Photo> photos,
        CardsPlane plane,
        double pixelsPerInch,
        Length margin = default,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(photos);
        ArgumentNullException.ThrowIfNull(plane);
        Similarity<ClothSpace, PictureSpace> clothFromPicture = Rectification.ClothFromPicture(pixelsPerInch, margin);
        Picture[] views = new Picture[photos.Count];
        float[][] weights = new float[photos.Count][];
        for (int p = 0; p < photos.Count; p++)
        {
            views[p] = Rectification.Rectify(
                photos[p],
                plane.Planes[p].PhotoFromCloth,
                plane.Width,
                plane.Height,
                pixelsPerInch,
                margin,
                ct
            );
            weights[p] = WeightsOf(photos[p], plane.Planes[p], views[p], clothFromPicture);
        }

        double[] gains = Gains(views, weights);
        List<double> ties = FindTies(views, weights, pixelsPerInch, ct);
        Picture joined = Blend(views, weights, gains, pixelsPerInch);
        double overlap = 0;
        for (int k = 0; k < weights[0].Length; k++)
        {
            overlap += weights.Count(w => w[k] > 0) > 1 ? 1 : 0;
        }

        List<Finding> findings = [];
        FindGaps(weights, views[0], clothFromPicture, findings);
        ties.Sort();
        double rms = ties.Count > 0 ? Math.Sqrt(ties.Average(t => t * t)) : double.NaN;
        double p95 = ties.Count > 0 ? ties[Math.Min(ties.Count - 1, (int)(0.95 * ties.Count))] : double.NaN;
        if (p95 > 1.0 / 16)
        {
            findings.Add(
                new(
                    "photos-do-not-meet",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"in the overlaps the photos are up to {p95:0.00} in apart (95 %)"
                    ),
                    "The cloth moved or does not lie flat, or too few cards lie in the overlap: lay two more there and take the photos again."
                )
            );
        }

        return new(
            joined,
            clothFromPicture,
            overlap / weights[0].Length,
            Length.FromInches(rms),
            Length.FromInches(p95),
            ties.Count,
            findings
        );
    }

    /// <summary>How well the photo shows each pixel of the result: 0 outside it, else rising from its border.</summary>
    private static float[] WeightsOf(
        Photo photo,
        PlaneFit plane,
        Picture view,
        Similarity<ClothSpace, PictureSpace> clothFromPicture
    )
    {
        int w = view.Width;
        int h = view.Height;
        double feather = Feather * Math.Max(photo.Picture.Width, photo.Picture.Height);
        float[] weights = new float[w * h];
        int gw = w / Grid + 2;
        int gh = h / Grid + 2;
        double[] grid = new double[gw * gh];
        Parallel.For(
            0,
            gh,
            j =>
            {
                for (int i = 0; i < gw; i++)
                {
                    Point<ClothSpace> at = clothFromPicture.Apply(new Point<PictureSpace>(i * Grid, j * Grid));
                    Point<PhotoSpace> seen = plane.PhotoFromCloth.Apply(at);
                    double inside = Math.Min(
                        Math.Min(seen.X, photo.Picture.Width - 1 - seen.X),
                        Math.Min(seen.Y, photo.Picture.Height - 1 - seen.Y)
                    );
                    double density = PlaneFromCorners.DensityAt(plane.PhotoFromCloth, at) / plane.PixelsPerInch;
                    grid[j * gw + i] =
                        seen.IsFinite && double.IsFinite(density)
                            ? inside / feather * Math.Min(4, density * density)
                            : -1;
                }
            }
        );
        for (int y = 0; y < h; y++)
        {
            for (int x = 0; x < w; x++)
            {
                int i = x / Grid;
                int j = y / Grid;
                double fx = (double)(x % Grid) / Grid;
                double fy = (double)(y % Grid) / Grid;
                int k = j * gw + i;
                double v =
                    (1 - fy) * ((1 - fx) * grid[k] + fx * grid[k + 1])
                    + fy * ((1 - fx) * grid[k + gw] + fx * grid[k + gw + 1]);
                weights[y * w + x] = (float)Math.Max(0, v);
            }
        }

        return weights;
    }

    // ln gain of each photo: differences are asked to vanish in the overlaps, each gain to stay near 1.
    private static double[] Gains(Picture[] views, float[][] weights)
    {
        int n = views.Length;
        double[,] a = new double[n, n];
        double[] b = new double[n];
        for (int i = 0; i < n; i++)
        {
            a[i, i] += 0.01;
            for (int j = i + 1; j < n; j++)
            {
                double si = 0;
                double sj = 0;
                long count = 0;
                for (int k = 0; k < weights[i].Length; k += 7)
                {
                    if (weights[i][k] > 0 && weights[j][k] > 0)
                    {
                        si += views[i].Rgb[3 * k] + views[i].Rgb[3 * k + 1] + views[i].Rgb[3 * k + 2] + 1;
                        sj += views[j].Rgb[3 * k] + views[j].Rgb[3 * k + 1] + views[j].Rgb[3 * k + 2] + 1;
                        count++;
                    }
                }

                if (count < 100)
                {
                    continue;
                }

                double d = Math.Log(sj / si);
                a[i, i]++;
                a[j, j]++;
                a[i, j]--;
                a[j, i]--;
                b[i] += d;
                b[j] -= d;
            }
        }

        double[][] rows =
        [
            .. Enumerable.Range(0, n).Select(i => Enumerable.Range(0, n).Select(j => a[i, j]).ToArray()),
        ];
        return LeastSquares.Solve(rows, b) is { } x ? [.. x.Select(Math.Exp)] : [.. Enumerable.Repeat(1.0, n)];
    }

    private static Picture Blend(Picture[] views, float[][] weights, double[] gains, double pixelsPerInch)
    {
        int w = views[0].Width;
        int h = views[0].Height;
        byte[] rgb = new byte[w * h * 3];
        Parallel.For(
            0,
            h,
            y =>
            {
                Span<double> sum = stackalloc double[3];
                for (int k = y * w; k < (y + 1) * w; k++)
                {
                    float most = 0;
                    foreach (float[] weight in weights)
                    {
                        most = Math.Max(most, weight[k]);
                    }

                    if (most <= 0)
                    {
                        rgb[3 * k] = rgb[3 * k + 1] = rgb[3 * k + 2] = 255;
                        continue;
                    }

                    sum.Clear();
                    double all = 0;
                    for (int p = 0; p < views.Length; p++)
                    {
                        // The fourth power of the share: beside a photo that is twice as good another hardly shows.
                        double share = weights[p][k] / most;
                        double v = share * share * share * share;
                        all += v;
                        for (int c = 0; c < 3 && v > 0; c++)
                        {
                            sum[c] += v * gains[p] * views[p].Rgb[3 * k + c];
                        }
                    }

                    for (int c = 0; c < 3; c++)
                    {
                        rgb[3 * k + c] = (byte)Math.Clamp(Math.Round(sum[c] / all), 0, 255);
                    }
                }
            }
        );
        return new(w, h, rgb, pixelsPerInch);
    }

    /// <summary>
    /// Distances, inches, between what two photos show at one place: phase correlation of windows with texture (C. Kuglin and
    /// D. Hines, 1975), whose peak must stand out.
    /// </summary>
    private static List<double> FindTies(Picture[] views, float[][] weights, double pixelsPerInch, CancellationToken ct)
    {
        const int Window = 96;
        const double LeastResponse = 0.35;
        const int MostWindows = 120;
        List<double> ties = [];
        Mat[] greys = [.. views.Select(GreyPicture.From)];
        try
        {
            using Mat hann = new();
            Cv2.CreateHanningWindow(hann, new Size(Window, Window), MatType.CV_32FC1);
            for (int i = 0; i < views.Length; i++)
            {
                for (int j = i + 1; j < views.Length; j++)
                {
                    ct.ThrowIfCancellationRequested();
                    List<(int X, int Y)> places = [];
                    for (int y = 0; y + Window <= views[0].Height; y += Window / 2)
                    {
                        for (int x = 0; x + Window <= views[0].Width; x += Window / 2)
                        {
                            if (Covers(weights[i], x, y) && Covers(weights[j], x, y))
                            {
                                places.Add((x, y));
                            }
                        }
                    }

                    // Evenly over the overlap, no more than tell its error.
                    double step = Math.Max(1, places.Count / (double)MostWindows);
                    for (double k = 0; k < places.Count; k += step)
                    {
                        (int x, int y) = places[(int)k];
                        (double dx, double dy, double response) = Shift(greys[i], greys[j], hann, x, y);
                        if (response > LeastResponse)
                        {
                            ties.Add(Math.Sqrt(dx * dx + dy * dy) / pixelsPerInch);
                        }
                    }
                }
            }
        }
        finally
        {
            foreach (Mat grey in greys)
            {
                grey.Dispose();
            }
        }

        return ties;

        bool Covers(float[] weight, int x, int y)
        {
            int w = views[0].Width;
            int last = Window - 1;
            return weight[y * w + x] > 0
                && weight[y * w + x + last] > 0
                && weight[(y + last) * w + x] > 0
                && weight[(y + last) * w + x + last] > 0;
        }

        static (double X, double Y, double Response) Shift(Mat a, Mat b, Mat hann, int x, int y)
        {
            Rect window = new(x, y, Window, Window);
            using Mat partA = new(a, window);
            using Mat partB = new(b, window);
            using Mat floatA = new();
            using Mat floatB = new();
            partA.ConvertTo(floatA, MatType.CV_32FC1);
            partB.ConvertTo(floatB, MatType.CV_32FC1);
            Cv2.MeanStdDev(floatA, out _, out Scalar spread);
            if (spread.Val0 < 6)
            {
                return (0, 0, 0);
            }

            Point2d shift = Cv2.PhaseCorrelate(floatA, floatB, hann, out double response);
            return (shift.X, shift.Y, response);
        }
    }

    private static void FindGaps(
        float[][] weights,
        Picture view,
        Similarity<ClothSpace, PictureSpace> clothFromPicture,
        List<Finding> findings
    )
    {
        int left = int.MaxValue;
        int right = -1;
        int top = int.MaxValue;
        int bottom = -1;
        long missing = 0;
        for (int y = 0; y < view.Height; y += 4)
        {
            for (int x = 0; x < view.Width; x += 4)
            {
                int k = y * view.Width + x;
                if (weights.All(w => w[k] <= 0))
                {
                    missing += 16;
                    left = Math.Min(left, x);
                    right = Math.Max(right, x);
                    top = Math.Min(top, y);
                    bottom = Math.Max(bottom, y);
                }
            }
        }

        if (missing < 0.02 * view.Width * view.Height)
        {
            return;
        }

        Point<ClothSpace> a = clothFromPicture.Apply(new Point<PictureSpace>(left, top));
        Point<ClothSpace> b = clothFromPicture.Apply(new Point<PictureSpace>(right, bottom));
        findings.Add(
            new(
                "not-covered",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{100.0 * missing / ((double)view.Width * view.Height):0} % of the area, between {a.X:0},{a.Y:0} and {b.X:0},{b.Y:0} in"
                ),
                "Take one more photo there that also shows two of the cards."
            )
        );
    }
}
