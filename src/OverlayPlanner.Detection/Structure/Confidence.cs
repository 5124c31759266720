namespace OverlayPlanner.Detection.Structure;

/// <summary>How sure a seam piece is, as the share of such pieces that are seams.</summary>
internal static class Confidence
{
    // Logistic curve over the mean seam probability, its share of likely places and its straightness.
    private const double Offset = -4.2;
    private const double PerSupport = 6;
    private const double PerCoverage = 2.6;
    private const double PerScatterPixel = -0.8;

    /// <summary>Confidence 0.02 to 0.995.</summary>
    public static double Of(GraphEdge e)
    {
        double z =
            Offset
            + PerSupport * e.Support
            + PerCoverage * e.Coverage
            + PerScatterPixel * Math.Min(2, Math.Max(0, e.Scatter - 0.3));
        return Math.Clamp(1 / (1 + Math.Exp(-z)), 0.02, 0.995);
    }
}
