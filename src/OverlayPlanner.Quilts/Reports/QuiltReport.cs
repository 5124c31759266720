using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>What the drafted size that blocks are held against rests on.</summary>
public enum DraftedFrom
{
    /// <summary>The user said it.</summary>
    Told,

    /// <summary>The median side of the map's own blocks.</summary>
    MedianSide,
}

/// <summary>What was measured on a quilt: blocks, points that do not meet, patches by colour.</summary>
/// <param name="Drafted">The size that a block should have, seam to seam, inches; null where there are no blocks.</param>
/// <param name="From">What that rests on.</param>
/// <param name="Blocks">In the map's order.</param>
/// <param name="Missed">Points that should meet and do not, worst first.</param>
/// <param name="Colors">Patches by colour, the largest area first.</param>
public sealed record QuiltReport(
    Measured? Drafted,
    DraftedFrom From,
    IReadOnlyList<BlockReport> Blocks,
    IReadOnlyList<MissedPoint> Missed,
    IReadOnlyList<ColorGroup> Colors
)
{
    /// <summary>Measures a map.</summary>
    /// <param name="map">A plane map.</param>
    /// <param name="drafted">The blocks' finished size; null takes the median side of all blocks.</param>
    public static QuiltReport Of(QuiltMap map, Length? drafted = null)
    {
        ArgumentNullException.ThrowIfNull(map);
        Measured? size =
            drafted is { } told ? new Measured(told.Inches, 0)
            : map.Blocks.Count > 0 ? MedianSide(map)
            : null;
        return new(
            size,
            drafted is null ? DraftedFrom.MedianSide : DraftedFrom.Told,
            size is { } s ? [.. map.Blocks.Select(b => BlockReport.Of(map, b, s))] : [],
            MissedPoints.Find(map),
            ColorGroup.Of(map)
        );
    }

    // √(π/2) σ / √n is the standard error of a median of normal values; each point's error and the spread of the sides enter.
    private static Measured MedianSide(QuiltMap map)
    {
        BlockReport[] all = [.. map.Blocks.Select(b => BlockReport.Of(map, b, default))];
        double[] sides = [.. all.SelectMany(b => b.Sides).Select(s => s.Value).Order()];
        int n = sides.Length;
        double median = (sides[(n - 1) / 2] + sides[n / 2]) / 2;
        double variance = all.SelectMany(b => b.Sides).Average(s => s.Sigma * s.Sigma);
        return new(median, Math.Sqrt(Math.PI / 2 * variance / n));
    }
}
