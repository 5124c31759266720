using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>Lengths as they are typed: a number without a unit is in the reader's own.</summary>
public static class LengthReading
{
    /// <summary>Reads <c>12 1/2</c>, <c>12.5</c>, <c>318mm</c> or <c>12 in</c>; false where it is no length.</summary>
    /// <param name="words">What the reader measures in.</param>
    /// <param name="text">What was typed.</param>
    /// <param name="length">The length, or none.</param>
    public static bool TryRead(this LengthWords words, string? text, out Length length)
    {
        ArgumentNullException.ThrowIfNull(words);
        string typed = (text ?? "").Trim();
        bool bare = typed.Length > 0 && (char.IsAsciiDigit(typed[^1]) || typed[^1] == '.');
        return Length.TryParse(words.Units == LengthUnits.Millimeters && bare ? typed + "mm" : typed, out length);
    }

    /// <summary>A length as one would type it again, with its unit: no digit is lost that a ruler can show.</summary>
    /// <param name="words">What the reader measures in.</param>
    /// <param name="length">The length.</param>
    public static string Typed(this LengthWords words, Length length)
    {
        ArgumentNullException.ThrowIfNull(words);
        if (words.Units == LengthUnits.Millimeters)
        {
            return length.Millimeters.ToString("0.##", CultureInfo.InvariantCulture) + " mm";
        }

        bool sixteenths = Math.Abs(length.Inches * 16 - Math.Round(length.Inches * 16)) < 1e-6;
        return (sixteenths ? length.ToSixteenths() : length.Inches.ToString("0.####", CultureInfo.InvariantCulture))
            + " in";
    }
}
