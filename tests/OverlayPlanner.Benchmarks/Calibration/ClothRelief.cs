namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Cloth that does not lie flat: a sag over an area, and puffs of quilting on it; zero outside.</summary>
/// <param name="Area">Where the cloth is not flat: left, top, width, height, in.</param>
/// <param name="SagInches">How far its middle hangs below the plane.</param>
/// <param name="PuffInches">How far puffs stand above and dips lie below that.</param>
/// <param name="PuffEvery">From puff to puff, in.</param>
internal sealed record ClothRelief(
    (double Left, double Top, double Width, double Height) Area,
    double SagInches,
    double PuffInches,
    double PuffEvery
) : ClothShape
{
    /// <inheritdoc/>
    public override double HeightAt(double x, double y)
    {
        double u = 2 * (x - Area.Left) / Area.Width - 1;
        double v = 2 * (y - Area.Top) / Area.Height - 1;
        if (Math.Abs(u) >= 1 || Math.Abs(v) >= 1)
        {
            return 0;
        }

        double inside = (1 - u * u) * (1 - v * v);
        double puff = Math.Sin(2 * Math.PI * x / PuffEvery) * Math.Sin(2 * Math.PI * y / PuffEvery);
        return -SagInches * inside + PuffInches * Math.Min(1, 4 * inside) * puff;
    }
}
