using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Pictures.Errors;

/// <summary>A fraction of the ruler, and the line that is drawn where positions may be off by it.</summary>
/// <param name="Inches">The fraction.</param>
/// <param name="Fraction">The same in words, without the unit.</param>
/// <param name="Ink">Its colour.</param>
/// <param name="Width">Its width, pixels.</param>
/// <param name="Dash">Its dashes and gaps; null for a whole line.</param>
internal sealed record ErrorLevel(double Inches, string Fraction, Ink Ink, double Width, IReadOnlyList<double>? Dash)
{
    /// <summary>All of them, the finest first: from chalk through ink to madder, thin to thick, each with dashes of its own.</summary>
    public static IReadOnlyList<ErrorLevel> All { get; } =
    [
        new(1.0 / 64, "1/64", Palette.Chalk, 1.6, [1.2, 4.2]),
        new(1.0 / 32, "1/32", Palette.Chalk, 2.2, null),
        new(1.0 / 16, "1/16", Palette.Ink, 2.2, [9, 4.5]),
        new(1.0 / 8, "1/8", Palette.Ochre, 3, null),
        new(1.0 / 4, "1/4", Palette.Madder, 3, [13, 5, 2.5, 5]),
        new(1.0 / 2, "1/2", Palette.Madder, 4.2, null),
    ];

    /// <summary>How many of the fractions a position may be off by; −1 where the number is not known.</summary>
    public static int BandOf(double inches) => double.IsFinite(inches) ? All.Count(l => l.Inches <= inches) : -1;
}
