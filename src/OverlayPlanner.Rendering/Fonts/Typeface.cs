using System.Reflection;
using OverlayPlanner.Rendering.Drawing;
using SkiaSharp;

namespace OverlayPlanner.Rendering.Fonts;

/// <summary>
/// The one typeface of every page and picture: Atkinson Hyperlegible (Braille Institute, SIL Open Font License), bundled. No
/// output depends on the machine's fonts.
/// </summary>
internal static class Typeface
{
    /// <summary>Height of figures and capitals in sizes (the font's OS/2 sCapHeight, 668 of 1,000 units).</summary>
    public const double CapHeight = 0.668;

    /// <summary>How far letters reach below the baseline, in sizes.</summary>
    public const double Descent = 0.21;

    private static readonly Lazy<SKTypeface> Regular = new(() => Load(Weight.Regular));
    private static readonly Lazy<SKTypeface> Bold = new(() => Load(Weight.Bold));

    /// <summary>The font file's bytes.</summary>
    public static byte[] FileOf(Weight weight)
    {
        string name =
            weight == Weight.Bold ? "AtkinsonHyperlegible_700Bold.ttf" : "AtkinsonHyperlegible_400Regular.ttf";
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(name)!;
        using MemoryStream copy = new();
        stream.CopyTo(copy);
        return copy.ToArray();
    }

    /// <summary>The font as Skia wants it; shared, never disposed.</summary>
    public static SKTypeface SkiaOf(Weight weight) => weight == Weight.Bold ? Bold.Value : Regular.Value;

    /// <summary>Advance width of a line of words in points; no kerning, which no format here applies.</summary>
    public static double Measure(string text, double size, Weight weight)
    {
        // Measured at the design size, so that no rounding to pixels enters.
        const float Design = 1000;
        using SKFont font = new(SkiaOf(weight), Design) { Hinting = SKFontHinting.None, Subpixel = true };
        return font.MeasureText(text) * size / Design;
    }

    private static SKTypeface Load(Weight weight) =>
        SKTypeface.FromData(SKData.CreateCopy(FileOf(weight)))
        ?? throw new InvalidOperationException("The bundled font does not load.");
}
