using System.Globalization;
using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>
/// What the planner says is written in inches; whoever reads millimetres gets the same sentence with its lengths turned over.
/// </summary>
public static partial class MetricWords
{
    private const string Number = @"(?:\d+ \d+/\d+|\d+/\d+|\d[\d,]*\d(?:\.\d+)?|\d+(?:\.\d+)?)";

    /// <summary>The text in the reader's own unit: for inches, only places on the cloth are put into words.</summary>
    /// <param name="words">What the reader measures in.</param>
    /// <param name="text">A sentence of the program's own; lengths in it are <c>4 1/2 in</c>, <c>0.06 in</c>, <c>36x24 in</c>.</param>
    public static string Tell(this LengthWords words, string text)
    {
        ArgumentNullException.ThrowIfNull(words);
        ArgumentNullException.ThrowIfNull(text);
        text = Places().Replace(text, m => $"{m.Groups["at"].Value} {Place(words, m)}");
        if (words.Units == LengthUnits.Inches)
        {
            return text;
        }

        text = Density()
            .Replace(text, m => words.SayPixels(double.Parse(m.Groups[1].Value, CultureInfo.InvariantCulture)));
        text = Lengths().Replace(text, m => OneNumber().Replace(m.Groups[1].Value, n => Metric(n.Value)) + " mm");
        text = Same().Replace(text, "$1");
        text = text.Replace("half inches", "13 mm", StringComparison.Ordinal);
        text = Plural().Replace(text, "millimetres");
        return Single().Replace(text, "millimetre");
    }

    /// <summary>A finding with its lengths in the reader's unit.</summary>
    public static Finding Tell(this LengthWords words, Finding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        return finding with { Where = words.Tell(finding.Where), Remedy = words.Tell(finding.Remedy) };
    }

    private static string Place(LengthWords words, Match place) =>
        PartWords.SayPlace(new(Inches(place.Groups["x"].Value), Inches(place.Groups["y"].Value)), words);

    private static double Inches(string number) => double.Parse(number, CultureInfo.InvariantCulture);

    private static string Metric(string inches)
    {
        double mm = Length.TryParse(inches.Replace(",", "", StringComparison.Ordinal), out Length length)
            ? length.Millimeters
            : 0;
        return mm.ToString(
            Math.Abs(mm) switch
            {
                < 9.95 => "0.0",
                < 99.5 => "0.#",
                _ => "0",
            },
            CultureInfo.InvariantCulture
        );
    }

    // "near (3.5, 7.2) in", "j4 at 12,6", "open at 3.1,4"; a photograph's corners are pixels and stay, and so does a count of thousands.
    [GeneratedRegex(
        @"(?<!corners? \d(?: and \d)?,? )\b(?<at>near|at) (?:\((?<x>-?\d+(?:\.\d+)?), ?(?<y>-?\d+(?:\.\d+)?)\) in\b|(?<x>-?\d+(?:\.\d+)?),(?!\d{3}(?![.\d]))(?<y>-?\d+(?:\.\d+)?)(?: in\b)?)(?![\d.]*\d)",
        RegexOptions.CultureInvariant,
        1_000
    )]
    private static partial Regex Places();

    [GeneratedRegex(@"(\d+(?:\.\d+)?) (?:photo )?pixels to the inch", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Density();

    // One length, two of a size, or several before one unit; not the word "in" between a count and its place.
    [GeneratedRegex(
        "((?:(?:"
            + Number
            + ", )*"
            + Number
            + " (?:to|or|and|by) )?"
            + Number
            + "(?: ?[x×] ?"
            + Number
            + ")?)"
            + @" ?(?:in|inch|inches)\b(?! (?:all|the|a|an|its|it|this|that|these|those|your|their|every|which|one|two|three|both|patch|pieces|row|column|block [a-z]\d|order|place|turn)\b)"
            + "(?!-)",
        RegexOptions.CultureInvariant,
        1_000
    )]
    private static partial Regex Lengths();

    [GeneratedRegex(Number, RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex OneNumber();

    // A text that named both units names one.
    [GeneratedRegex(@"(?<![\d.])(\d[\d.]* mm), \1", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Same();

    [GeneratedRegex(@"\binches\b", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Plural();

    [GeneratedRegex(@"\binch\b", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Single();
}
