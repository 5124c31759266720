using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Covariance of a measured mark, projector px².</summary>
internal readonly record struct PixelSpread(double Xx, double Xy, double Yy)
{
    /// <summary>Logarithm of the determinant.</summary>
    public double LogDeterminant => Math.Log(Math.Max(Xx * Yy - Xy * Xy, 1e-12 * Xx * Yy));

    /// <summary>The same standard deviation in every direction.</summary>
    public static PixelSpread Round(double sigmaPixels) => new(sigmaPixels * sigmaPixels, 0, sigmaPixels * sigmaPixels);

    /// <summary>A distance in standard deviations, two numbers that are independent (Cholesky's factor turned round).</summary>
    public (double A, double B) Whiten(double dx, double dy)
    {
        double sx = Math.Sqrt(Xx);
        double a = dx / sx;
        double along = Xy / sx;
        return (a, (dy - along * a) / Math.Sqrt(Math.Max(Yy - along * along, 1e-12 * Yy)));
    }
}

/// <summary>A mark whose projector pixel is known and whose place on the cloth was measured.</summary>
/// <param name="Cloth">Where its light falls.</param>
/// <param name="Projector">Its pixel.</param>
/// <param name="Spread">Covariance of the measurement, as it shows in the projector's picture.</param>
internal readonly record struct ThrownMark(
    Point<ClothSpace> Cloth,
    Point<ProjectorSpace> Projector,
    PixelSpread Spread
);

/// <summary>What may be added to the homography, from nothing to all terms of low order.</summary>
internal enum BendOrder
{
    /// <summary>The homography alone.</summary>
    None,

    /// <summary>One radial term about the picture's middle.</summary>
    Radial,

    /// <summary>
    /// All second and third order terms but two, which a change of the homography makes as well to first order.
    /// </summary>
    Cubic,
}
