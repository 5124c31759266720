using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows;

/// <summary>What a tape says of a block, as it was typed.</summary>
/// <param name="Sides">Top, right, bottom, left.</param>
/// <param name="Diagonals">From the top left, then from the top right.</param>
public sealed record TapeWords(IReadOnlyList<Length> Sides, IReadOnlyList<Length> Diagonals)
{
    internal BlockMeasures ToMeasures() => new(Sides, Diagonals);
}
