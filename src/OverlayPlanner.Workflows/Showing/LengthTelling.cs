using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>Texts that were written in inches, told in the words of whoever reads them.</summary>
public static partial class LengthTelling
{
    /// <summary>
    /// A text with its lengths in the reader's unit: <c>4 to 12 in</c> becomes <c>102 to 305 mm</c>. Only numbers with the unit behind
    /// them are lengths; <c>3 in all</c> stays a count. Inches are left as they are written.
    /// </summary>
    public static string Retell(this LengthWords words, string text)
    {
        ArgumentNullException.ThrowIfNull(words);
        ArgumentNullException.ThrowIfNull(text);
        if (words.Units == LengthUnits.Inches)
        {
            return text;
        }

        string told = InInches()
            .Replace(text, m => Number().Replace(m.Groups["all"].Value, n => Metric(words, n.Value)) + " mm");
        return HalfInches()
            .Replace(AnInch().Replace(told, words.Say(Length.FromInches(1))), words.Say(Length.FromInches(0.5)));
    }

    /// <summary>A finding with its lengths in the reader's unit.</summary>
    public static Finding Retell(this LengthWords words, Finding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        return finding with { Where = words.Retell(finding.Where), Remedy = words.Retell(finding.Remedy) };
    }

    private static string Metric(LengthWords words, string number) =>
        Length.TryParse(number, out Length length) ? words.Say(length)[..^3] : number;

    // Numbers in a row share the unit of the last; after a count, "in" begins where it is.
    [GeneratedRegex(
        @"(?<all>(?<![\d/.,x])(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?:(?:, | and | or | to | × |–)(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?))*) in\b(?! (?:all|the|a|an|each|every|its|their|this|that|these|those|your|one|two|three|order|turn|row|column|block|pieces|both)\b)",
        RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture,
        1_000
    )]
    private static partial Regex InInches();

    [GeneratedRegex(@"\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Number();

    [GeneratedRegex(@"\b(?:an|one) inch\b", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex AnInch();

    [GeneratedRegex(@"\bhalf (?:an inch|inches)\b", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex HalfInches();
}
