using System.Globalization;
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
/// Where the photos overlap, what they show is compared, and each photo is moved within the error of its place so that they
/// agree (<see cref="MosaicFit"/>). Brightness is evened out by one gain for each photo, least squares over the overlaps (M. Brown
/// and D. Lowe, 2007, 5). Each point is shown mostly by the photo that sees it best, with a soft change from one to the next, so
/// that print and seams are not doubled. Time and memory are those of one rectified picture of what each photo shows.
/// </remarks>
public static class PlaneMosaic
{
    // From here on what the photos show lies farther apart than the error of cards on flat cloth explains.
    private const double MostApart = 1.0 / 16;

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
        MosaicFrame frame = MosaicFrame.Of(plane.Width, plane.Height, pixelsPerInch, margin);
        PhotoView[] views = [.. photos.Select((p, i) => PhotoView.Of(p, plane.Planes[i], frame, null, ct))];
        IReadOnlyList<MosaicTie> ties = MosaicTies.Find(views, frame, ct);
        if (
            P95Of(ties) <= MostApart
            && MosaicFit.Solve(plane, [.. views.Select(v => v.ShownIn(frame))], ties, pixelsPerInch) is { } shifts
        )
        {
            for (int p = 0; p < photos.Count; p++)
            {
                views[p] = PhotoView.Of(photos[p], plane.Planes[p], frame, shifts[p], ct);
            }

            ties = MosaicTies.Find(views, frame, ct);
        }

        double[] gains = Gains(views, frame);
        (Picture joined, double overlap) = Blend(views, gains, frame);
        List<Finding> findings = [];
        FindGaps(views, frame, findings);
        double p95 = P95Of(ties);
        if (p95 > MostApart)
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

        double rms = ties.Count > 0 ? Math.Sqrt(ties.Average(t => t.Apart.Dot(t.Apart))) : double.NaN;
        return new(
            joined,
            frame.ClothFromPicture,
            overlap,
            Length.FromInches(rms),
            Length.FromInches(p95),
            ties.Count,
            findings
        );
    }

    private static double P95Of(IReadOnlyList<MosaicTie> ties)
    {
        double[] apart = [.. ties.Select(t => t.Apart.Norm).Order()];
        return apart.Length > 0 ? apart[Math.Min(apart.Length - 1, (int)(0.95 * apart.Length))] : double.NaN;
    }

    // ln gain of each photo: differences are asked to vanish in the overlaps, each gain to stay near 1.
    private static double[] Gains(PhotoView[] views, MosaicFrame frame)
    {
        int n = views.Length;
        double[,] a = new double[n, n];
        double[] b = new double[n];
        for (int i = 0; i < n; i++)
        {
            a[i, i] += 0.01;
            for (int j = i + 1; j < n; j++)
            {
                (double si, double sj, long count) = SumsOf(views[i], views[j], frame);
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

    // The light of two photos where both show the cloth, on every seventh pixel.
    private static (double First, double Second, long Count) SumsOf(PhotoView a, PhotoView b, MosaicFrame frame)
    {
        const int Every = 7;
        double first = 0;
        double second = 0;
        long count = 0;
        int left = Math.Max(a.Left, b.Left);
        int right = Math.Min(a.Right, b.Right);
        for (int y = Math.Max(a.Top, b.Top); y < Math.Min(a.Bottom, b.Bottom); y++)
        {
            int begin = (int)((long)y * frame.Width + left) % Every;
            for (int x = left + (Every - begin) % Every; x < right; x += Every)
            {
                if (a.WeightAt(x, y) > 0 && b.WeightAt(x, y) > 0)
                {
                    first += LightAt(a, x, y);
                    second += LightAt(b, x, y);
                    count++;
                }
            }
        }

        return (first, second, count);

        static double LightAt(PhotoView view, int x, int y)
        {
            ReadOnlySpan<byte> rgb = view.PixelAt(x, y);
            return rgb[0] + rgb[1] + rgb[2] + 1;
        }
    }

    private static (Picture Joined, double Overlap) Blend(PhotoView[] views, double[] gains, MosaicFrame frame)
    {
        (int w, int h) = (frame.Width, frame.Height);
        byte[] rgb = new byte[w * h * Picture.Channels];
        long shared = 0;
        Parallel.For(
            0,
            h,
            y =>
            {
                Span<double> sum = stackalloc double[Picture.Channels];
                float[] weights = new float[views.Length];
                int twice = 0;
                for (int x = 0; x < w; x++)
                {
                    float most = 0;
                    int shown = 0;
                    for (int p = 0; p < views.Length; p++)
                    {
                        weights[p] = views[p].WeightAt(x, y);
                        most = Math.Max(most, weights[p]);
                        shown += weights[p] > 0 ? 1 : 0;
                    }

                    twice += shown > 1 ? 1 : 0;
                    Span<byte> to = rgb.AsSpan((y * w + x) * Picture.Channels, Picture.Channels);
                    if (most <= 0)
                    {
                        to.Fill(255);
                        continue;
                    }

                    sum.Clear();
                    double all = 0;
                    for (int p = 0; p < views.Length; p++)
                    {
                        if (weights[p] <= 0)
                        {
                            continue;
                        }

                        // The fourth power of the share: beside a photo that is twice as good another hardly shows.
                        double share = weights[p] / most;
                        double v = share * share * share * share;
                        all += v;
                        ReadOnlySpan<byte> from = views[p].PixelAt(x, y);
                        for (int c = 0; c < Picture.Channels; c++)
                        {
                            sum[c] += v * gains[p] * from[c];
                        }
                    }

                    for (int c = 0; c < Picture.Channels; c++)
                    {
                        to[c] = (byte)Math.Clamp(Math.Round(sum[c] / all), 0, 255);
                    }
                }

                Interlocked.Add(ref shared, twice);
            }
        );
        return (new(w, h, rgb, frame.PixelsPerInch), shared / ((double)w * h));
    }

    private static void FindGaps(PhotoView[] views, MosaicFrame frame, List<Finding> findings)
    {
        int left = int.MaxValue;
        int right = -1;
        int top = int.MaxValue;
        int bottom = -1;
        long missing = 0;
        for (int y = 0; y < frame.Height; y += 4)
        {
            for (int x = 0; x < frame.Width; x += 4)
            {
                if (views.All(v => v.WeightAt(x, y) <= 0))
                {
                    missing += 16;
                    left = Math.Min(left, x);
                    right = Math.Max(right, x);
                    top = Math.Min(top, y);
                    bottom = Math.Max(bottom, y);
                }
            }
        }

        double area = (double)frame.Width * frame.Height;
        if (missing < 0.02 * area)
        {
            return;
        }

        Point<ClothSpace> a = frame.ClothFromPicture.Apply(new Point<PictureSpace>(left, top));
        Point<ClothSpace> b = frame.ClothFromPicture.Apply(new Point<PictureSpace>(right, bottom));
        findings.Add(
            new(
                "not-covered",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{100.0 * missing / area:0} % of the area, between {a.X:0},{a.Y:0} and {b.X:0},{b.Y:0} in"
                ),
                "Take one more photo there that also shows two of the cards."
            )
        );
    }
}
