using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Finds evidence of seams that did not become seams of the map.</summary>
internal static class SuspectedSeams
{
    // Half of the pixels of a border that the finder keeps lie above this; single pixels of print do too, but not in rows.
    private const float LeastProbability = 0.3f;
    private const double CoveredInches = 0.22;
    private const double LeastInches = 1;
    private const double MostWidthOfLength = 0.3;

    /// <summary>
    /// Straight lines along what is left of the evidence once the map's seams are taken out, with how likely each is a seam; the
    /// likeliest first. O(pixels).
    /// </summary>
    public static List<SeamLine> Find(QuiltMap map, EvidenceMap evidence)
    {
        using Mat seam = Mat.FromPixelData(evidence.Height, evidence.Width, MatType.CV_32FC1, evidence.Seam);
        using Mat mask = new();
        Cv2.Compare(seam, LeastProbability, mask, CmpTypes.GE);
        int thick = Math.Max(1, (int)Math.Round(2 * CoveredInches * evidence.PixelsPerInch));
        foreach (Seam s in map.Seams)
        {
            OpenCvSharp.Point[] path = [.. map.EdgeOf(s).Flatten(0.02).Select(ToPixel)];
            Cv2.Polylines(mask, [path], false, Scalar.Black, thick);
        }

        using Mat labels = new();
        using Mat stats = new();
        using Mat centers = new();
        int count = Cv2.ConnectedComponentsWithStats(mask, labels, stats, centers, PixelConnectivity.Connectivity8);
        double least = LeastInches * evidence.PixelsPerInch;
        List<SeamLine> found = [];
        for (int i = 1; i < count; i++)
        {
            int left = stats.At<int>(i, (int)ConnectedComponentsTypes.Left);
            int top = stats.At<int>(i, (int)ConnectedComponentsTypes.Top);
            int width = stats.At<int>(i, (int)ConnectedComponentsTypes.Width);
            int height = stats.At<int>(i, (int)ConnectedComponentsTypes.Height);
            if (
                width * width + height * height >= least * least
                && LineOf(map, evidence, labels, i, new(left, top, width, height)) is { } line
            )
            {
                found.Add(line);
            }
        }

        found.Sort((a, b) => b.Confidence.CompareTo(a.Confidence));
        return found;

        OpenCvSharp.Point ToPixel(Point<ClothSpace> p)
        {
            (double x, double y) = evidence.ToPixel(p);
            return new(Math.Round(x), Math.Round(y));
        }
    }

    // Along the component's main axis; null where it is no line, or lies outside the mapped area.
    private static SeamLine? LineOf(QuiltMap map, EvidenceMap evidence, Mat labels, int label, Rect box)
    {
        (double n, double sx, double sy, double xx, double xy, double yy, double p) = (0, 0, 0, 0, 0, 0, 0);
        for (int y = box.Top; y < box.Bottom; y++)
        {
            for (int x = box.Left; x < box.Right; x++)
            {
                if (labels.At<int>(y, x) != label)
                {
                    continue;
                }

                n++;
                sx += x;
                sy += y;
                xx += (double)x * x;
                xy += (double)x * y;
                yy += (double)y * y;
                p += evidence.Seam[y * evidence.Width + x];
            }
        }

        double mx = sx / n;
        double my = sy / n;
        double cxx = xx / n - mx * mx;
        double cyy = yy / n - my * my;
        double cxy = xy / n - mx * my;
        double angle = Math.Atan2(2 * cxy, cxx - cyy) / 2;
        double half = Math.Sqrt((cxx - cyy) * (cxx - cyy) / 4 + cxy * cxy);
        double large = (cxx + cyy) / 2 + half;
        double small = Math.Max(0, (cxx + cyy) / 2 - half);

        // A line of length l spread evenly has the variance l² / 12.
        double length = Math.Sqrt(12 * large);
        if (
            length < LeastInches * evidence.PixelsPerInch
            || Math.Sqrt(12 * small) > Math.Max(6, MostWidthOfLength * length)
        )
        {
            return null;
        }

        double dx = Math.Cos(angle) * length / 2;
        double dy = Math.Sin(angle) * length / 2;
        Edge<ClothSpace> path = new(evidence.ToCloth(mx - dx, my - dy), evidence.ToCloth(mx + dx, my + dy));
        Box<ClothSpace> area = new(0, 0, map.Width.Inches, map.Height.Inches);
        return area.Holds(path.PointAt(0.5)) ? new(path, Confidence.OfMean(p / n)) : null;
    }
}
