using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A distance between two cards' middles, measured by tape.</summary>
/// <param name="From">Number of the one card.</param>
/// <param name="To">Number of the other.</param>
/// <param name="Distance">What the tape says.</param>
public sealed record TapeDistance(int From, int To, Length Distance)
{
    /// <summary>Standard deviation of a tape laid over soft cloth, read to 1/16 in (common practice, no source).</summary>
    public static readonly Length Sigma = Length.FromInches(1.0 / 16);

    /// <summary>Reads <c>3:7=40.25</c>: card 3 to card 7, 40 1/4 in.</summary>
    /// <exception cref="InputException">It is nothing of the kind.</exception>
    public static TapeDistance Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        string[] sides = text.Split('=');
        string[] cards = sides[0].Split(':');
        if (
            sides.Length == 2
            && cards.Length == 2
            && int.TryParse(cards[0], NumberStyles.None, CultureInfo.InvariantCulture, out int from)
            && int.TryParse(cards[1], NumberStyles.None, CultureInfo.InvariantCulture, out int to)
            && Length.TryParse(sides[1], out Length distance)
            && distance.Inches is > 1 and < 2_000
            && from != to
        )
        {
            return new(from, to, distance);
        }

        throw new InputException(
            "This is no distance between two cards",
            $"--tape {text}",
            "Give card:card=inches, from the middle of one to the middle of the other, for example 3:7=40.25."
        );
    }
}

/// <summary>
/// What the user measured on the printed page: the long check rulers, drawn 7 in across and 9 in down. Their ratio to the
/// drawn lengths is the printer's scale on both axes.
/// </summary>
/// <param name="Across">Measured length of the ruler drawn 7 in across.</param>
/// <param name="Down">Measured length of the ruler drawn 9 in down.</param>
public sealed record PrintedSize(Length Across, Length Down)
{
    /// <summary>Drawn length of the ruler across.</summary>
    public static readonly Length DrawnAcross = Length.FromInches(7);

    /// <summary>Drawn length of the ruler down.</summary>
    public static readonly Length DrawnDown = Length.FromInches(9);

    /// <summary>Standard deviation of a length read with a ruler of 1/64 in (common practice, no source).</summary>
    public static readonly Length Sigma = Length.FromInches(0.01);

    /// <summary>Reads <c>6.98x8.97</c>.</summary>
    /// <exception cref="InputException">It is no size, or no printer does that.</exception>
    public static PrintedSize Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        string[] sides = text.Split('x', '×');
        if (
            sides.Length != 2
            || !Length.TryParse(sides[0], out Length across)
            || !Length.TryParse(sides[1], out Length down)
        )
        {
            throw new InputException(
                "This is no measured size",
                $"--printed {text}",
                "Measure the two long check rulers on the page and give across x down in inches, for example 6.98x8.97."
            );
        }

        double a = across / DrawnAcross;
        double d = down / DrawnDown;
        if (a is < 0.8 or > 1.25 || d is < 0.8 or > 1.25 || a / d is < 0.97 or > 1.03)
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"No printer makes 7 in across {across.Inches:0.###} in and 9 in down {down.Inches:0.###} in"
                ),
                $"--printed {text}",
                "Measure again: first the long ruler across the page, then the one down it."
            );
        }

        return new(across, down);
    }
}

/// <summary>What is known beside the photos.</summary>
public sealed record CardWishes
{
    /// <summary>The lens, where it was calibrated.</summary>
    public LensProfile? Lens { get; init; }

    /// <summary>Distances between cards measured by tape.</summary>
    public IReadOnlyList<TapeDistance> Tapes { get; init; } = [];

    /// <summary>Measured size of the print; null where nobody measured.</summary>
    public PrintedSize? Printed { get; init; }
}
