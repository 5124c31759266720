using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>A marker card as it lay when the photograph was taken.</summary>
/// <param name="Number">Its printed number.</param>
/// <param name="Outline">Its corners in order, inches.</param>
/// <param name="Use">Whether the inches were taken from it.</param>
public sealed record CardOnCloth(int Number, IReadOnlyList<Point<ClothSpace>> Outline, CardUse Use);

/// <summary>What became of a card that was seen.</summary>
public enum CardUse
{
    /// <summary>The inches were taken from it and the others.</summary>
    Used,

    /// <summary>It disagreed with the others and was left out.</summary>
    LeftOut,
}
