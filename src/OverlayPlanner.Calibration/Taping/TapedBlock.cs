using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A block's shape from its measures.</summary>
/// <param name="Corners">Clockwise from the top left, inches.</param>
/// <param name="Contradiction">
/// By how much the measure that fits worst departs from what the other five make of it; its sign is that of measured − implied.
/// </param>
/// <param name="Doubtful">That measure, for people.</param>
/// <param name="Spreads">
/// The corners again, each time with one measure longer by its standard deviation: what the tape leaves open.
/// </param>
/// <param name="Findings">What a person should know.</param>
public sealed record TapedBlock(
    IReadOnlyList<Point<ClothSpace>> Corners,
    Length Contradiction,
    string Doubtful,
    IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> Spreads,
    IReadOnlyList<Finding> Findings
);
