using OpenCvSharp;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>What the colour peer can be set to; chosen by <see cref="PeerTuning"/>.</summary>
/// <param name="SmoothInches">Half width of the median that evens out prints.</param>
/// <param name="Colors">Colours that the picture is brought down to.</param>
/// <param name="LeastSquareInches">Smaller regions are given to their surroundings.</param>
/// <param name="StraightInches">How far a region's border may be from its polygon.</param>
/// <param name="MergeInches">Points closer than this are one.</param>
internal sealed record ColorPeerSettings(
    double SmoothInches,
    int Colors,
    double LeastSquareInches,
    double StraightInches,
    double MergeInches
);

/// <summary>
/// A plain colour segmentation as a peer: k-means in CIELAB on a median-filtered picture, connected regions, and their borders
/// as polygons (D. Douglas, T. Peucker, 1973), joined by the same map builder as the finder's.
/// </summary>
internal static class PeerColors
{
    private const int Seed = 7;

    /// <summary>Chosen on the Tuning set, see <see cref="PeerTuning"/>.</summary>
    public static readonly ColorPeerSettings Tuned = new(0.03, 3, 1.2, 0.3, 0.4);

    /// <summary>The map of the regions' borders.</summary>
    public static QuiltMap Segment(
        Picture picture,
        Length width,
        Length height,
        double marginInches,
        ColorPeerSettings settings
    )
    {
        double density = picture.PixelsPerInch!.Value;
        int margin = (int)Math.Round(marginInches * density);
        using Mat rgb = Mat.FromPixelData(picture.Height, picture.Width, MatType.CV_8UC3, picture.Rgb);
        using Mat inside = new(rgb, new Rect(margin, margin, rgb.Width - 2 * margin, rgb.Height - 2 * margin));
        using Mat smooth = new();
        int window = 2 * (int)Math.Round(settings.SmoothInches * density) + 1;
        Cv2.MedianBlur(inside, smooth, window);
        using Mat lab = new();
        Cv2.CvtColor(smooth, lab, ColorConversionCodes.RGB2Lab);
        using Mat labels = Quantize(lab, settings.Colors);
        List<SeamLine> lines = [];
        for (int c = 0; c < settings.Colors; c++)
        {
            using Mat mask = new();
            Cv2.Compare(labels, Scalar.All(c), mask, CmpTypes.EQ);
            Cv2.FindContours(
                mask,
                out Point[][] contours,
                out _,
                RetrievalModes.CComp,
                ContourApproximationModes.ApproxNone
            );
            foreach (Point[] contour in contours)
            {
                if (Cv2.ContourArea(contour) < settings.LeastSquareInches * density * density)
                {
                    continue;
                }

                Point[] polygon = Cv2.ApproxPolyDP(contour, settings.StraightInches * density, closed: true);
                for (int i = 0; i < polygon.Length; i++)
                {
                    Point<ClothSpace> a = InInches(polygon[i]);
                    Point<ClothSpace> b = InInches(polygon[(i + 1) % polygon.Length]);
                    if (a.DistanceTo(b) > settings.MergeInches)
                    {
                        lines.Add(new(new(a, b)));
                    }
                }
            }
        }

        return MapBuilder.Build(width, height, lines, [], Length.FromInches(settings.MergeInches));

        Point<ClothSpace> InInches(Point p) =>
            new(
                Math.Clamp((p.X + 0.5) / density, 0, width.Inches),
                Math.Clamp((p.Y + 0.5) / density, 0, height.Inches)
            );
    }

    // Centres from every few pixels; then each pixel goes to its nearest centre.
    private static Mat Quantize(Mat lab, int colors)
    {
        const int Sampled = 20_000;
        (int width, int height) = (lab.Width, lab.Height);
        int step = Math.Max(1, (int)Math.Sqrt((double)width * height / Sampled));
        List<float> values = [];
        for (int y = 0; y < height; y += step)
        {
            for (int x = 0; x < width; x += step)
            {
                Vec3b v = lab.At<Vec3b>(y, x);
                values.AddRange([v.Item0, v.Item1, v.Item2]);
            }
        }

        float[] flat = [.. values];
        using Mat samples = Mat.FromPixelData(flat.Length / 3, 3, MatType.CV_32FC1, flat);
        using Mat best = new();
        using Mat centers = new();
        Cv2.SetTheRNG(Seed);
        Cv2.Kmeans(
            samples,
            colors,
            best,
            new(CriteriaTypes.Eps | CriteriaTypes.MaxIter, 30, 0.5),
            3,
            KMeansFlags.PpCenters,
            centers
        );
        float[] c = new float[colors * 3];
        centers.GetArray(out c);
        Mat labels = new(height, width, MatType.CV_8UC1);
        for (int y = 0; y < height; y++)
        {
            for (int x = 0; x < width; x++)
            {
                Vec3b v = lab.At<Vec3b>(y, x);
                (int nearest, float least) = (0, float.MaxValue);
                for (int k = 0; k < colors; k++)
                {
                    (float dl, float da, float db) = (
                        v.Item0 - c[3 * k],
                        v.Item1 - c[3 * k + 1],
                        v.Item2 - c[3 * k + 2]
                    );
                    float d = dl * dl + da * da + db * db;
                    (nearest, least) = d < least ? (k, d) : (nearest, least);
                }

                labels.Set(y, x, (byte)nearest);
            }
        }

        return labels;
    }
}
