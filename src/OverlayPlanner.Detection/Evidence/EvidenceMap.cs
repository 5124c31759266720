using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Evidence;

/// <summary>
/// Probabilities that a seam, and that a point where seams meet, is seen at each pixel of a rectified picture; pixel centres
/// at integer coordinates. The cloth is at ((px + 0.5) / pixels per inch − margin).
/// </summary>
internal sealed class EvidenceMap
{
    public EvidenceMap(
        int width,
        int height,
        float[] seam,
        float[] junction,
        double pixelsPerInchX,
        double pixelsPerInchY,
        double marginInches
    )
    {
        if (seam.Length != width * height || junction.Length != width * height)
        {
            throw new ArgumentException("A plane must hold width × height numbers.", nameof(seam));
        }

        Width = width;
        Height = height;
        Seam = seam;
        Junction = junction;
        PixelsPerInchX = pixelsPerInchX;
        PixelsPerInchY = pixelsPerInchY;
        MarginInches = marginInches;
    }

    public int Width { get; }

    public int Height { get; }

    /// <summary>Seam probability, row by row.</summary>
    public float[] Seam { get; }

    /// <summary>Probability of a point where seams meet, row by row.</summary>
    public float[] Junction { get; }

    public double PixelsPerInchX { get; }

    public double PixelsPerInchY { get; }

    public double MarginInches { get; }

    /// <summary>Pixels to the inch, the mean of both axes (they differ by rounding alone).</summary>
    public double PixelsPerInch => (PixelsPerInchX + PixelsPerInchY) / 2;

    /// <summary>The pixel that shows a place on the cloth.</summary>
    public (double X, double Y) ToPixel(Point<ClothSpace> p) =>
        ((p.X + MarginInches) * PixelsPerInchX - 0.5, (p.Y + MarginInches) * PixelsPerInchY - 0.5);

    /// <summary>The place on the cloth that a pixel shows.</summary>
    public Point<ClothSpace> ToCloth(double x, double y) =>
        new((x + 0.5) / PixelsPerInchX - MarginInches, (y + 0.5) / PixelsPerInchY - MarginInches);

    /// <summary>Seam probability between pixel centres, bilinear, the border repeated outside.</summary>
    public double SeamAt(double x, double y) => Sample(Seam, x, y);

    /// <summary>Point probability between pixel centres, bilinear, the border repeated outside.</summary>
    public double JunctionAt(double x, double y) => Sample(Junction, x, y);

    private double Sample(float[] plane, double x, double y)
    {
        x = Math.Clamp(x, 0, Width - 1.001);
        y = Math.Clamp(y, 0, Height - 1.001);
        int x0 = (int)x;
        int y0 = (int)y;
        int x1 = Math.Min(x0 + 1, Width - 1);
        int y1 = Math.Min(y0 + 1, Height - 1);
        double fx = x - x0;
        double fy = y - y0;
        double top = plane[y0 * Width + x0] * (1 - fx) + plane[y0 * Width + x1] * fx;
        double bottom = plane[y1 * Width + x0] * (1 - fx) + plane[y1 * Width + x1] * fx;
        return top * (1 - fy) + bottom * fy;
    }
}
