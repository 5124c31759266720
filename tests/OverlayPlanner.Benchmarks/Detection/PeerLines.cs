using OpenCvSharp;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>
/// General-purpose line detectors on the same rectified pictures, as the peers to beat: their segments, joined by the same map
/// builder, with ends that are led on by at most a quarter inch.
/// </summary>
public static class PeerLines
{
    private const double LedOnInches = 0.25;

    /// <summary>The line segment detector of R. Grompone von Gioi and others (2010), segments of an inch or more.</summary>
    public static QuiltMap LineSegmentDetector(Picture picture, Length width, Length height, double marginInches)
    {
        ArgumentNullException.ThrowIfNull(picture);
        using Mat gray = Gray(picture);
        using OpenCvSharp.LineSegmentDetector detector = OpenCvSharp.LineSegmentDetector.Create();
        detector.Detect(gray, out Vec4f[] lines, out _, out _, out _);
        return Join(lines.Select(l => (l.Item0, l.Item1, l.Item2, l.Item3)), picture, width, height, marginInches);
    }

    /// <summary>The progressive probabilistic Hough transform (J. Matas and others, 2000) on Canny edges.</summary>
    public static QuiltMap Hough(Picture picture, Length width, Length height, double marginInches)
    {
        ArgumentNullException.ThrowIfNull(picture);
        using Mat gray = Gray(picture);
        Cv2.GaussianBlur(gray, gray, new(0, 0), 1.2);
        using Mat edges = new();
        Cv2.Canny(gray, edges, 40, 120);
        LineSegmentPoint[] lines = Cv2.HoughLinesP(edges, 1, Math.PI / 180, 30, picture.PixelsPerInch!.Value, 6);
        return Join(
            lines.Select(l => ((float)l.P1.X, (float)l.P1.Y, (float)l.P2.X, (float)l.P2.Y)),
            picture,
            width,
            height,
            marginInches
        );
    }

    private static Mat Gray(Picture picture)
    {
        using Mat rgb = Mat.FromPixelData(picture.Height, picture.Width, MatType.CV_8UC3, picture.Rgb);
        Mat gray = new();
        Cv2.CvtColor(rgb, gray, ColorConversionCodes.RGB2GRAY);
        return gray;
    }

    private static QuiltMap Join(
        IEnumerable<(float X1, float Y1, float X2, float Y2)> segments,
        Picture picture,
        Length width,
        Length height,
        double margin
    )
    {
        double density = picture.PixelsPerInch!.Value;
        List<SeamLine> lines = [];
        foreach ((float x1, float y1, float x2, float y2) in segments)
        {
            Point<ClothSpace> a = new((x1 + 0.5) / density - margin, (y1 + 0.5) / density - margin);
            Point<ClothSpace> b = new((x2 + 0.5) / density - margin, (y2 + 0.5) / density - margin);
            if (a.DistanceTo(b) < 1)
            {
                continue;
            }

            Vector<ClothSpace> on = (b - a).Unit * LedOnInches;
            (a, b) = (Inside(a - on), Inside(b + on));
            if (a.DistanceTo(b) > 0.5)
            {
                lines.Add(new(new(a, b)));
            }
        }

        return MapBuilder.Build(width, height, lines, [], Length.FromInches(0.1));

        Point<ClothSpace> Inside(Point<ClothSpace> p) =>
            new(Math.Clamp(p.X, 0, width.Inches), Math.Clamp(p.Y, 0, height.Inches));
    }
}
