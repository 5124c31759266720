using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The cloth's plane as a photograph shows it.</summary>
/// <param name="ClothFromPhoto">Photo pixels to inches.</param>
/// <param name="PhotoFromCloth">Inches to photo pixels.</param>
/// <param name="SigmaAt">
/// Standard deviation of a cloth position, one axis, that the errors of what the plane was fitted to bring with them.
/// </param>
/// <param name="PixelsPerInch">Median over the mapped area of √(photo pixels in a square inch).</param>
/// <param name="Findings">What a person should know.</param>
public sealed record PlaneFit(
    IMap<ClothSpace, PhotoSpace> ClothFromPhoto,
    IMap<PhotoSpace, ClothSpace> PhotoFromCloth,
    Func<Point<ClothSpace>, Length> SigmaAt,
    double PixelsPerInch,
    IReadOnlyList<Finding> Findings
);

/// <summary>Two maps, one after the other.</summary>
internal sealed class Chain<TTo, TMiddle, TFrom>(IMap<TTo, TMiddle> outer, IMap<TMiddle, TFrom> inner)
    : IMap<TTo, TFrom>
    where TTo : ISpace
    where TMiddle : ISpace
    where TFrom : ISpace
{
    public Point<TTo> Apply(Point<TFrom> point) => outer.Apply(inner.Apply(point));
}
