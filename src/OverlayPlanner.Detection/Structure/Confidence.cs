namespace OverlayPlanner.Detection.Structure;

/// <summary>How sure a seam piece is, as the share of such pieces that are seams.</summary>
internal static class Confidence
{
    // Logistic curve over the mean seam probability, fitted to made scenes (72 tops in plain and printed cloth, 10,000 pieces):
    // half of the pieces are seams at 0.63, nine in ten at 0.87. The network is sure of most seams, so the curve is steeper
    // near one; a piece that wanders about its line is less likely a seam.
    internal const double Offset = -5.0;
    private const double PerSupport = 8;
    private const double SteeperFrom = 0.85;
    private const double Steeper = 22;
    private const double PerScatterPixel = -1.5;
    private const double UsualScatterPixels = 0.5;

    // A piece that was laid in was more likely there than not; drawn to its neighbours it may have left its faint evidence.
    private const double LeastOfPattern = 0.5;

    /// <summary>Confidence 0.02 to 0.995; at least a half where the other copies of the block have the piece.</summary>
    public static double Of(GraphEdge e) =>
        Math.Clamp(1 / (1 + Math.Exp(-LogOdds(e))), e.PriorLogOdds > 0 ? LeastOfPattern : 0.02, 0.995);

    /// <summary>The log odds that it is a seam: of its own evidence, and of other copies of its block.</summary>
    public static double LogOdds(GraphEdge e) =>
        Offset
        + PerSupport * e.Support
        + Steeper * Math.Max(0, e.Support - SteeperFrom)
        + PerScatterPixel * Math.Clamp(e.Scatter - UsualScatterPixels, 0, 2)
        + e.PriorLogOdds;

    /// <summary>The same for a line of which only the mean seam probability is known.</summary>
    public static double OfMean(double support) =>
        Math.Clamp(1 / (1 + Math.Exp(-(Offset + PerSupport * support))), 0.02, 0.995);
}
