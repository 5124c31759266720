using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Detection;

/// <summary>Evidence as the network would give it for known seams: lines about 3 px wide at 32 px/in, drawn exactly.</summary>
internal static class DrawnEvidence
{
    public const double PixelsPerInch = 32;
    public const double MarginInches = 0.5;

    public static EvidenceMap Of(
        QuiltMap map,
        Func<Seam, double>? strength = null,
        Func<Point<ClothSpace>, bool>? gap = null
    ) =>
        Of(
            map.Width.Inches,
            map.Height.Inches,
            [.. map.Seams.Select(s => (map.EdgeOf(s), strength?.Invoke(s) ?? 0.97))],
            gap
        );

    public static EvidenceMap Of(
        double width,
        double height,
        IReadOnlyList<(Edge<ClothSpace> Line, double Strength)> lines,
        Func<Point<ClothSpace>, bool>? gap = null
    )
    {
        int w = (int)Math.Ceiling((width + 2 * MarginInches) * PixelsPerInch);
        int h = (int)Math.Ceiling((height + 2 * MarginInches) * PixelsPerInch);
        float[] seam = new float[w * h];
        EvidenceMap map = new(w, h, seam, new float[w * h], PixelsPerInch, PixelsPerInch, MarginInches);
        const double Reach = 4 / PixelsPerInch;
        foreach ((Edge<ClothSpace> line, double strength) in lines)
        {
            Box<ClothSpace> box = line.Bounds().Grown(Reach);
            (double x0, double y0) = map.ToPixel(new(box.Left, box.Top));
            (double x1, double y1) = map.ToPixel(new(box.Right, box.Bottom));
            for (int y = Math.Max(0, (int)y0); y <= Math.Min(h - 1, (int)y1 + 1); y++)
            {
                for (int x = Math.Max(0, (int)x0); x <= Math.Min(w - 1, (int)x1 + 1); x++)
                {
                    Point<ClothSpace> p = map.ToCloth(x, y);
                    if (gap is not null && gap(p))
                    {
                        continue;
                    }

                    // A flat top of 3 px with shoulders of one pixel, as thick labels blur to.
                    double d = line.Nearest(p).Distance * PixelsPerInch;
                    float v = (float)(strength * Math.Clamp(2.2 - d, 0, 1));
                    seam[y * w + x] = Math.Max(seam[y * w + x], v);
                }
            }
        }

        return map;
    }
}
