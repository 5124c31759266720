namespace OverlayPlanner.Detection.Copies;

/// <summary>A block where it lies: the projective map between the unit square and its four corners.</summary>
/// <remarks>
/// P. S. Heckbert, "Fundamentals of texture mapping and image warping" (1989), section 2.2.3, for the map from the square; its
/// inverse by the adjugate. The corners (0, 0), (1, 0), (1, 1), (0, 1) go to the block's, clockwise from its top left.
/// </remarks>
internal sealed class PixelCell
{
    private readonly double[] m; // row by row, to the quadrilateral
    private readonly double[] inverse;

    /// <param name="corners">Clockwise from the top left, a convex quadrilateral, in the space of the caller.</param>
    public PixelCell(IReadOnlyList<(double X, double Y)> corners)
    {
        ((double x0, double y0), (double x1, double y1), (double x2, double y2), (double x3, double y3)) = (
            corners[0],
            corners[1],
            corners[2],
            corners[3]
        );
        (double sx, double sy) = (x0 - x1 + x2 - x3, y0 - y1 + y2 - y3);
        (double dx1, double dy1, double dx2, double dy2) = (x1 - x2, y1 - y2, x3 - x2, y3 - y2);
        double det = dx1 * dy2 - dx2 * dy1;
        double g = (sx * dy2 - dx2 * sy) / det;
        double h = (dx1 * sy - sx * dy1) / det;
        m = [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h, 1];
        inverse =
        [
            m[4] * m[8] - m[5] * m[7],
            m[2] * m[7] - m[1] * m[8],
            m[1] * m[5] - m[2] * m[4],
            m[5] * m[6] - m[3] * m[8],
            m[0] * m[8] - m[2] * m[6],
            m[2] * m[3] - m[0] * m[5],
            m[3] * m[7] - m[4] * m[6],
            m[1] * m[6] - m[0] * m[7],
            m[0] * m[4] - m[1] * m[3],
        ];
        (double across, double down) = (
            Gap(corners[0], corners[1]) + Gap(corners[2], corners[3]),
            Gap(corners[1], corners[2]) + Gap(corners[3], corners[0])
        );
        Aspect = Math.Max(across, down) / Math.Min(across, down);
        Side =
            (
                Gap(corners[0], corners[1])
                + Gap(corners[1], corners[2])
                + Gap(corners[2], corners[3])
                + Gap(corners[3], corners[0])
            ) / 4;

        static double Gap((double X, double Y) a, (double X, double Y) b) =>
            Math.Sqrt((a.X - b.X) * (a.X - b.X) + (a.Y - b.Y) * (a.Y - b.Y));
    }

    /// <summary>Mean length of the four sides.</summary>
    public double Side { get; }

    /// <summary>The longer pair of sides against the shorter, at least 1.</summary>
    public double Aspect { get; }

    /// <summary>False where the corners make no convex quadrilateral.</summary>
    public bool IsSound =>
        Side > 0 && Array.TrueForAll(m, double.IsFinite) && Array.TrueForAll(inverse, double.IsFinite);

    /// <summary>From the unit square.</summary>
    public (double X, double Y) FromUnit((double X, double Y) p) => Map(m, p);

    /// <summary>To the unit square.</summary>
    public (double X, double Y) ToUnit((double X, double Y) p) => Map(inverse, p);

    private static (double X, double Y) Map(double[] h, (double X, double Y) p)
    {
        double w = h[6] * p.X + h[7] * p.Y + h[8];
        return ((h[0] * p.X + h[1] * p.Y + h[2]) / w, (h[3] * p.X + h[4] * p.Y + h[5]) / w);
    }
}
