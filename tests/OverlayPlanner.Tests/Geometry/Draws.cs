using CsCheck;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

/// <summary>Generators for the property tests of this folder.</summary>
internal static class Draws
{
    private static readonly double[] Exactly = [1, -1, 0.5, -0.25, 2, -3];

    /// <summary>Points of a quilt-sized plane, inches.</summary>
    public static readonly Gen<Point<ClothSpace>> Point = Gen.Select(
        Gen.Double[-120, 120],
        Gen.Double[-120, 120],
        (x, y) => new Point<ClothSpace>(x, y)
    );

    /// <summary>Points on a small grid, so that coincidences and collinear points are common.</summary>
    public static readonly Gen<Point<ClothSpace>> GridPoint = Gen.Select(
        Gen.Int[0, 6],
        Gen.Int[0, 6],
        (x, y) => new Point<ClothSpace>(x, y)
    );

    /// <summary>Bulges of every kind: nearly straight, ordinary, half circles, and arcs of more than half a circle.</summary>
    public static readonly Gen<double> Bulge = Gen.OneOf(
        Gen.Double[-1, 1],
        Gen.Double[-8, 8],
        Gen.Int[0, 5].Select(i => Exactly[i]),
        Gen.Select(Gen.Double[-12, -2], Gen.Bool, (e, left) => (left ? 1 : -1) * Math.Pow(10, e))
    );

    /// <summary>Arcs of some length.</summary>
    public static readonly Gen<Edge<ClothSpace>> Arc = Gen.Select(
            Point,
            Point,
            Bulge,
            (a, b, bulge) => new Edge<ClothSpace>(a, b, bulge)
        )
        .Where(e => e.Chord > 1e-3 && !e.IsLine);

    /// <summary>Lines and arcs of some length.</summary>
    public static readonly Gen<Edge<ClothSpace>> Edge = Gen.OneOf(Arc, Arc.Select(e => e with { Bulge = 0 }));
}
