using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing;

/// <summary>A fault of a drawn route.</summary>
/// <param name="Seam">Id of the seam that it concerns, or null.</param>
/// <param name="At">Where, inches.</param>
/// <param name="Length">How much of it: length missed, doubled or off every line; zero for a crossing.</param>
public sealed record DrawnFault(string? Seam, Point<ClothSpace> At, Length Length);

/// <summary>What a drawn route does well and badly.</summary>
public sealed record DrawnJudgement(
    IReadOnlyList<DrawnFault> Missed,
    IReadOnlyList<DrawnFault> Doubled,
    IReadOnlyList<DrawnFault> Crossed,
    IReadOnlyList<DrawnFault> Broken,
    double Score
);
