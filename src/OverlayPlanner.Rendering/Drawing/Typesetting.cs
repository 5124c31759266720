using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Fonts;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>Sets lines of words with fractions as fractions: <c>12 3/8</c> becomes 12⅜ whatever glyphs the font has.</summary>
internal static partial class Typesetting
{
    private const double FractionSize = 0.62;
    private const double NumeratorRise = 0.30;

    /// <summary>Width of the set line, points.</summary>
    public static double Measure(string text, double size, Weight weight) =>
        Pieces(text, size, weight).Sum(p => p.Advance);

    /// <summary>The line as items, from the left end of its baseline.</summary>
    public static IEnumerable<Words> Set(
        Layer layer,
        Point<PageSpace> at,
        string text,
        double size,
        Weight weight,
        Ink ink
    )
    {
        double x = at.X;
        foreach (Piece piece in Pieces(text, size, weight))
        {
            yield return new(layer, new(x + piece.Shift, at.Y - piece.Rise), piece.Text, piece.Size, weight, ink);
            x += piece.Advance;
        }
    }

    /// <summary>The line set round a middle.</summary>
    public static IEnumerable<Words> SetCentered(
        Layer layer,
        Point<PageSpace> at,
        string text,
        double size,
        Weight weight,
        Ink ink
    ) => Set(layer, new(at.X - Measure(text, size, weight) / 2, at.Y), text, size, weight, ink);

    /// <summary>Breaks a text into lines no wider than this; a single word that is wider stands alone.</summary>
    public static IReadOnlyList<string> Wrap(string text, double size, Weight weight, double width)
    {
        List<string> lines = [];
        string line = "";
        foreach (string word in BreakPoints().Split(text))
        {
            string longer = line.Length == 0 ? word : line + " " + word;
            if (line.Length > 0 && Measure(longer, size, weight) > width)
            {
                lines.Add(line);
                line = word;
            }
            else
            {
                line = longer;
            }
        }

        lines.Add(line);
        return lines;
    }

    private static IEnumerable<Piece> Pieces(string text, double size, Weight weight)
    {
        int done = 0;
        foreach (Match m in Fractions().Matches(text))
        {
            string before = text[done..m.Index] + m.Groups[1].Value;
            if (before.Length > 0)
            {
                yield return Plain(before);
            }

            double small = size * FractionSize;
            string slash = "⁄";
            double numerator = Typeface.Measure(m.Groups[2].Value, small, weight);
            double bar = Typeface.Measure(slash, size, weight);
            double denominator = Typeface.Measure(m.Groups[3].Value, small, weight);
            double lead = before.Length > 0 && char.IsAsciiDigit(before[^1]) ? size * 0.08 : 0;
            yield return new(m.Groups[2].Value, small, lead, size * NumeratorRise, lead + numerator);

            // The bar tucks under both figures.
            double tuck = size * 0.02;
            yield return new(slash, size, -tuck, 0, bar - 2 * tuck);
            yield return new(m.Groups[3].Value, small, 0, 0, denominator);
            done = m.Index + m.Length;
        }

        if (done < text.Length)
        {
            yield return Plain(text[done..]);
        }

        Piece Plain(string t) => new(t, size, 0, 0, Typeface.Measure(t, size, weight));
    }

    private sealed record Piece(string Text, double Size, double Shift, double Rise, double Advance);

    // A whole number before a fraction belongs to it.
    [GeneratedRegex(@"(?<![\d/])(?:(\d+) )?(\d{1,2})/(\d{1,2})(?![\d/])")]
    private static partial Regex Fractions();

    [GeneratedRegex(@" (?!\d{1,2}/\d{1,2}|in\b)")]
    private static partial Regex BreakPoints();
}
