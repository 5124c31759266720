using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection;

/// <summary>What a person should know about a found map.</summary>
internal static class DetectionFindings
{
    /// <summary>Below this a seam's ditch is thinner than a pixel's blur and prints hide it.</summary>
    public const double LeastPixelsPerInch = 15;

    private const double DoubtfulConfidence = 0.8;
    private const int MostDoubtful = 8;
    private const double BlurredAbove = 0.62;

    /// <summary>Findings, the general ones first, then the least sure seams.</summary>
    public static IReadOnlyList<Finding> For(QuiltMap map, Picture rectified, EvidenceMap evidence)
    {
        List<Finding> findings = [];
        double density = rectified.PixelsPerInch!.Value;
        if (density < LeastPixelsPerInch)
        {
            findings.Add(
                new(
                    "picture-too-coarse",
                    string.Create(CultureInfo.InvariantCulture, $"{density:0.#} pixels to the inch"),
                    "Come closer, or photograph the top in parts; 20 pixels to the inch or more show the seams."
                )
            );
        }

        double blur = BlurOf(rectified, evidence);
        if (blur > BlurredAbove)
        {
            findings.Add(
                new(
                    "picture-blurred",
                    string.Create(CultureInfo.InvariantCulture, $"blur {blur:0.00} of 1"),
                    "Hold the camera still or rest it, add light, and take the picture again."
                )
            );
        }

        Seam[] inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        if (inner.Length == 0)
        {
            findings.Add(
                new(
                    "no-seams",
                    "the whole mapped area",
                    "Come closer, light the top from one side so that the seams throw a shadow, and check the corners."
                )
            );
        }

        foreach (
            Seam s in inner.Where(s => s.Confidence < DoubtfulConfidence).OrderBy(s => s.Confidence).Take(MostDoubtful)
        )
        {
            Point<ClothSpace> p = map.EdgeOf(s).PointAt(0.5);
            findings.Add(
                new(
                    "look-here",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"seam {s.Id} near ({p.X:0.#}, {p.Y:0.#}) in, {s.Confidence * 100:0} % sure"
                    ),
                    "Compare with the cloth: keep, move or remove it."
                )
            );
        }

        return findings;
    }

    // The blur measure of F. Crete, T. Dolmiere, P. Ladret and M. Nicolas, "The blur effect: perception and estimation with a
    // new no-reference perceptual blur metric" (2007): how little neighbouring differences shrink when blurred again; 0 sharp, 1 blurred.
    private static double BlurOf(Picture rectified, EvidenceMap evidence)
    {
        using Mat rgb = Mat.FromPixelData(rectified.Height, rectified.Width, MatType.CV_8UC3, rectified.Rgb);
        using Mat gray = new();
        Cv2.CvtColor(rgb, gray, ColorConversionCodes.RGB2GRAY);
        double scale = evidence.PixelsPerInch / rectified.PixelsPerInch!.Value;
        using Mat sized = new();
        if (scale < 1)
        {
            Cv2.Resize(gray, sized, new(evidence.Width, evidence.Height), interpolation: InterpolationFlags.Area);
        }
        else
        {
            gray.CopyTo(sized);
        }

        return Math.Max(Along(sized, 1, 0), Along(sized, 0, 1));

        static double Along(Mat gray, int dx, int dy)
        {
            using Mat f = new();
            gray.ConvertTo(f, MatType.CV_32FC1);
            using Mat blurred = new();
            Cv2.Blur(f, blurred, dx == 1 ? new(9, 1) : new(1, 9));
            int w = f.Width - dx;
            int h = f.Height - dy;
            if (w < 1 || h < 1)
            {
                return 0;
            }

            using Mat sharp = Steps(f, dx, dy, w, h);
            using Mat soft = Steps(blurred, dx, dy, w, h);
            using Mat lost = new();
            Cv2.Subtract(sharp, soft, lost);
            Cv2.Max(lost, 0, lost);
            double all = Cv2.Sum(sharp).Val0;
            return all <= 0 ? 0 : (all - Cv2.Sum(lost).Val0) / all;
        }

        static Mat Steps(Mat m, int dx, int dy, int w, int h)
        {
            using Mat here = new(m, new Rect(0, 0, w, h));
            using Mat next = new(m, new Rect(dx, dy, w, h));
            Mat steps = new();
            Cv2.Absdiff(here, next, steps);
            return steps;
        }
    }
}
