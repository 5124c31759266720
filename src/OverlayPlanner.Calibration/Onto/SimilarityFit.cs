using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The similarity that takes points to points with the least sum of squares, in closed form.</summary>
/// <remarks>
/// S. Umeyama, "Least-squares estimation of transformation parameters between two point patterns" (1991), eqs. 40–43. In the
/// plane it is one complex regression: about the weighted means, s·e^{iθ} = Σ w p̄ q ÷ Σ w |p|².
/// </remarks>
public static class SimilarityFit
{
    /// <summary>Fits it.</summary>
    /// <param name="from">Source points, two or more, not all one.</param>
    /// <param name="to">Destination points, in the same order.</param>
    /// <param name="weights">A weight for each pair, or null for equal ones.</param>
    /// <param name="mirrored">The side from which the source is seen; the best mirrored similarity where it is the back.</param>
    /// <exception cref="ArgumentException">Fewer than two pairs, lists of different length, or all source points one.</exception>
    public static Similarity<TTo, TFrom> Solve<TTo, TFrom>(
        IReadOnlyList<Point<TFrom>> from,
        IReadOnlyList<Point<TTo>> to,
        IReadOnlyList<double>? weights = null,
        bool mirrored = false
    )
        where TTo : ISpace
        where TFrom : ISpace
    {
        ArgumentNullException.ThrowIfNull(from);
        ArgumentNullException.ThrowIfNull(to);
        if (from.Count < 2 || from.Count != to.Count || (weights is not null && weights.Count != from.Count))
        {
            throw new ArgumentException("A similarity takes two or more pairs.", nameof(to));
        }

        double all = 0;
        (double px, double py, double qx, double qy) = (0, 0, 0, 0);
        for (int i = 0; i < from.Count; i++)
        {
            double w = weights?[i] ?? 1;
            all += w;
            px += w * from[i].X;
            py += w * from[i].Y;
            qx += w * to[i].X;
            qy += w * to[i].Y;
        }

        (px, py, qx, qy) = (px / all, py / all, qx / all, qy / all);
        double side = mirrored ? -1 : 1;
        (double real, double imaginary, double size) = (0, 0, 0);
        for (int i = 0; i < from.Count; i++)
        {
            double w = weights?[i] ?? 1;
            (double x, double y) = (from[i].X - px, side * (from[i].Y - py));
            (double u, double v) = (to[i].X - qx, to[i].Y - qy);
            real += w * (x * u + y * v);
            imaginary += w * (x * v - y * u);
            size += w * (x * x + y * y);
        }

        if (!(size > 0))
        {
            throw new ArgumentException("All source points are one.", nameof(from));
        }

        (double a, double b) = (real / size, imaginary / size);
        return new(a, b, qx - a * px + side * b * py, qy - b * px - side * a * py, mirrored);
    }
}
