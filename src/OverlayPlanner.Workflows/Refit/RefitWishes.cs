using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows;

/// <summary>One block as it lies on the cloth now: nudged corners, or sides and diagonals, or what was kept before.</summary>
public sealed record RefitWishes
{
    /// <summary>A quilt map's or a route's file.</summary>
    public required string File { get; init; }

    /// <summary>The block's id.</summary>
    public required string Block { get; init; }

    /// <summary>Its corners on the cloth, clockwise from the top left, inches; or null.</summary>
    public IReadOnlyList<Point<ClothSpace>>? Corners { get; init; }

    /// <summary>Its sides and diagonals by the tape; or null.</summary>
    public TapeWords? Tape { get; init; }
}

/// <summary>What re-fitting a block came to.</summary>
/// <param name="Block">The block's id.</param>
/// <param name="Mapped">Four sides and two diagonals as mapped.</param>
/// <param name="Now">The same on the cloth now.</param>
/// <param name="Contradiction">
/// By how much the measure that fits worst departs from what the other five make of it; null where corners were given.
/// </param>
/// <param name="Doubtful">That measure, for people; null where corners were given.</param>
/// <param name="Within95">95 % of the block's points are within this, the block laid on its place by hand.</param>
public sealed record RefitReport(
    string Block,
    IReadOnlyList<Length> Mapped,
    IReadOnlyList<Length> Now,
    Length? Contradiction,
    string? Doubtful,
    Length Within95
);
