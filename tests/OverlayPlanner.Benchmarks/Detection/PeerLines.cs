using OpenCvSharp;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>What the line peers can be set to; chosen by <see cref="PeerTuning"/>.</summary>
/// <param name="BlurInches">Standard deviation of the blur before; 0 for none.</param>
/// <param name="LeastInches">Shortest segment that is kept.</param>
/// <param name="LedOnInches">How far each end is led on, so that lines meet.</param>
/// <param name="MergeInches">Points closer than this are one.</param>
internal sealed record LinePeerSettings(double BlurInches, double LeastInches, double LedOnInches, double MergeInches)
{
    /// <summary>Canny's upper threshold, of 255; the lower is a third. For the Hough peer.</summary>
    public double CannyHigh { get; init; } = 120;

    /// <summary>Votes that a line needs. For the Hough peer.</summary>
    public int Votes { get; init; } = 30;

    /// <summary>Gap that is bridged, in. For the Hough peer.</summary>
    public double GapInches { get; init; } = 0.2;
}

/// <summary>
/// General-purpose line detectors on the same rectified pictures, as the peers to beat: their segments, joined by the same map
/// builder as the finder's.
/// </summary>
internal static class PeerLines
{
    /// <summary>Chosen on the Tuning set, see <see cref="PeerTuning"/>.</summary>
    public static readonly LinePeerSettings TunedSegments = new(0.14, 1, 0.25, 0.1);

    /// <summary>Chosen on the Tuning set, see <see cref="PeerTuning"/>.</summary>
    public static readonly LinePeerSettings TunedHough = new(0.08, 0.75, 0.9, 0.15)
    {
        CannyHigh = 40,
        Votes = 20,
        GapInches = 0.2,
    };

    /// <summary>The line segment detector of R. Grompone von Gioi, J. Jakubowicz, J.-M. Morel, G. Randall (2010).</summary>
    public static QuiltMap LineSegmentDetector(
        Picture picture,
        Length width,
        Length height,
        double marginInches,
        LinePeerSettings settings
    )
    {
        using Mat gray = Gray(picture, settings.BlurInches);
        using OpenCvSharp.LineSegmentDetector detector = OpenCvSharp.LineSegmentDetector.Create();
        detector.Detect(gray, out Vec4f[] lines, out _, out _, out _);
        return Join(
            lines.Select(l => (l.Item0, l.Item1, l.Item2, l.Item3)),
            picture,
            width,
            height,
            marginInches,
            settings
        );
    }

    /// <summary>The progressive probabilistic Hough transform (J. Matas, C. Galambos, J. Kittler, 2000) on Canny edges.</summary>
    public static QuiltMap Hough(
        Picture picture,
        Length width,
        Length height,
        double marginInches,
        LinePeerSettings settings
    )
    {
        using Mat gray = Gray(picture, settings.BlurInches);
        using Mat edges = new();
        Cv2.Canny(gray, edges, settings.CannyHigh / 3, settings.CannyHigh);
        double density = picture.PixelsPerInch!.Value;
        LineSegmentPoint[] lines = Cv2.HoughLinesP(
            edges,
            1,
            Math.PI / 180,
            settings.Votes,
            settings.LeastInches * density,
            settings.GapInches * density
        );
        return Join(
            lines.Select(l => ((float)l.P1.X, (float)l.P1.Y, (float)l.P2.X, (float)l.P2.Y)),
            picture,
            width,
            height,
            marginInches,
            settings
        );
    }

    private static Mat Gray(Picture picture, double blurInches)
    {
        using Mat rgb = Mat.FromPixelData(picture.Height, picture.Width, MatType.CV_8UC3, picture.Rgb);
        Mat gray = new();
        Cv2.CvtColor(rgb, gray, ColorConversionCodes.RGB2GRAY);
        double sigma = blurInches * picture.PixelsPerInch!.Value;
        if (sigma > 0.1)
        {
            Cv2.GaussianBlur(gray, gray, new(0, 0), sigma);
        }

        return gray;
    }

    private static QuiltMap Join(
        IEnumerable<(float X1, float Y1, float X2, float Y2)> segments,
        Picture picture,
        Length width,
        Length height,
        double margin,
        LinePeerSettings settings
    )
    {
        // So many lines are print, not seams; joining more takes minutes and helps no score.
        const int MostLines = 4_000;
        double density = picture.PixelsPerInch!.Value;
        List<SeamLine> lines = [];
        foreach ((float x1, float y1, float x2, float y2) in segments)
        {
            Point<ClothSpace> a = new((x1 + 0.5) / density - margin, (y1 + 0.5) / density - margin);
            Point<ClothSpace> b = new((x2 + 0.5) / density - margin, (y2 + 0.5) / density - margin);
            if (a.DistanceTo(b) < settings.LeastInches)
            {
                continue;
            }

            Vector<ClothSpace> on = (b - a).Unit * settings.LedOnInches;
            (a, b) = (Inside(a - on), Inside(b + on));
            if (a.DistanceTo(b) > 0.5 * settings.LeastInches)
            {
                lines.Add(new(new(a, b)));
            }
        }

        return MapBuilder.Build(
            width,
            height,
            [.. lines.OrderByDescending(l => l.Path.Chord).Take(MostLines)],
            [],
            Length.FromInches(settings.MergeInches)
        );

        Point<ClothSpace> Inside(Point<ClothSpace> p) =>
            new(Math.Clamp(p.X, 0, width.Inches), Math.Clamp(p.Y, 0, height.Inches));
    }
}
