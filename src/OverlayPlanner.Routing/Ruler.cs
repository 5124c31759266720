using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing;

/// <summary>The side of a curved ruler that the foot runs along.</summary>
public enum RulerEdge
{
    /// <summary>The outside of the curve (convex): the stitched radius is the edge's plus the foot's offset.</summary>
    Outside,

    /// <summary>The inside of the curve (concave): the stitched radius is the edge's less the foot's offset.</summary>
    Inside,
}

/// <summary>A curved ruler's edge, as measured with another ruler.</summary>
/// <param name="Name">What its owner calls it.</param>
/// <param name="Chord">Straight distance between the two places measured.</param>
/// <param name="Rise">Height of the edge over the middle of that chord, above 0 and at most half of it.</param>
/// <param name="Edge">Which side of the curve it is.</param>
/// <param name="UsableLength">How much of the edge the foot can run along without the ruler being moved.</param>
public sealed record Ruler(string Name, Length Chord, Length Rise, RulerEdge Edge, Length UsableLength)
{
    /// <summary>Radius of the edge: (c²/4 + h²) ÷ 2h for chord c and rise h (handbook 3.4).</summary>
    public Length EdgeRadius => ArcShape.RadiusOf(Chord, Rise);

    /// <summary>Radius that the needle stitches with a foot of this offset; at most 0 where the foot does not fit inside.</summary>
    public Length StitchedRadius(Length footOffset) =>
        Edge == RulerEdge.Outside ? EdgeRadius + footOffset : EdgeRadius - footOffset;

    /// <summary>The edge in a word, as files have it.</summary>
    public string EdgeWord => Edge == RulerEdge.Outside ? "outside" : "inside";

    /// <summary>Name and edge: "6 in circle, outside".</summary>
    public string FullName => $"{Name}, {EdgeWord}";

    /// <summary>
    /// The set assumed where no rulers are listed: circles of 2 to 12 in diameter in steps of 1/2 in, used on the outside and
    /// as a cut-out on the inside, and shallow arcs with a rise of an eighth of their chord for chords of 4, 6, 8, 10 and
    /// 12 in, both edges. Handbook 3.3; common practice, no source.
    /// </summary>
    public static IReadOnlyList<Ruler> GenericSet { get; } = MakeGenericSet();

    private static List<Ruler> MakeGenericSet()
    {
        List<Ruler> set = [];
        foreach (RulerEdge edge in new[] { RulerEdge.Outside, RulerEdge.Inside })
        {
            for (double d = 2; d <= 12; d += 0.5)
            {
                // A half circle is the longest stretch that one placement serves.
                set.Add(
                    new(
                        string.Create(CultureInfo.InvariantCulture, $"{d:0.#} in circle"),
                        Length.FromInches(d),
                        Length.FromInches(d / 2),
                        edge,
                        Length.FromInches(d * Math.PI / 2)
                    )
                );
            }

            foreach (double c in new double[] { 4, 6, 8, 10, 12 })
            {
                Length chord = Length.FromInches(c);
                Length rise = Length.FromInches(c / 8);
                set.Add(
                    new(
                        string.Create(CultureInfo.InvariantCulture, $"{c:0} in shallow arc"),
                        chord,
                        rise,
                        edge,
                        ArcShape.LengthOf(chord, rise)
                    )
                );
            }
        }

        return set;
    }
}

/// <summary>A straight ruler.</summary>
/// <param name="Name">What its owner calls it.</param>
/// <param name="UsableLength">How far the foot runs along it without its being moved.</param>
public sealed record StraightRuler(string Name, Length UsableLength);

/// <summary>Arc geometry from chord, rise and radius (handbook 3.4).</summary>
public static class ArcShape
{
    /// <summary>Radius from chord and rise: (c²/4 + h²) ÷ 2h; infinite for no rise.</summary>
    public static Length RadiusOf(Length chord, Length rise) =>
        Length.FromInches((chord.Inches * chord.Inches / 4 + rise.Inches * rise.Inches) / (2 * rise.Inches));

    /// <summary>Rise of the shallow arc of this radius over a chord; not a number where the chord is wider than the circle.</summary>
    public static Length RiseOf(Length chord, Length radius)
    {
        double half = chord.Inches / 2;
        double r = radius.Inches;

        // h = r − √(r² − c²/4), written so that a flat arc loses no digits.
        return Length.FromInches(half * half / (r + Math.Sqrt(r * r - half * half)));
    }

    /// <summary>Length along the arc from chord and rise.</summary>
    public static Length LengthOf(Length chord, Length rise) =>
        Length.FromInches(new Edge<ClothSpace>(new(0, 0), new(chord.Inches, 0), 2 * rise.Inches / chord.Inches).Length);
}
