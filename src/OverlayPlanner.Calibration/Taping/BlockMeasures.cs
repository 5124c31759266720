using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Six tape measures of a block with four corners: one more than its shape needs, so that a slip shows.</summary>
/// <param name="Sides">Top, right, bottom, left.</param>
/// <param name="Diagonals">From the top left to the bottom right, then from the top right to the bottom left.</param>
public sealed record BlockMeasures(IReadOnlyList<Length> Sides, IReadOnlyList<Length> Diagonals)
{
    // A tape is read to 1/16 in, and cloth gives by a thousandth under the hand.
    private const double ReadInches = 1.0 / 32;
    private const double GivesBy = 0.001;

    // No block is smaller than a postage stamp, and none larger than a quilt.
    private const double LeastInches = 0.5;
    private const double MostInches = 400;

    private static readonly string[] Names =
    [
        "top side",
        "right side",
        "bottom side",
        "left side",
        "diagonal from the top left",
        "diagonal from the top right",
    ];

    // Corners that each measure joins, clockwise from the top left.
    private static readonly (int A, int B)[] Ends = [(0, 1), (1, 2), (3, 2), (0, 3), (0, 2), (1, 3)];

    /// <summary>How many measures there are.</summary>
    internal const int Count = 6;

    /// <summary>All six, inches: sides, then diagonals.</summary>
    internal double[] Inches => [.. Sides.Concat(Diagonals).Select(l => l.Inches)];

    /// <summary>The measure's name, for people.</summary>
    internal static string NameOf(int measure) => Names[measure];

    /// <summary>The option that the measure is given by.</summary>
    internal static string OptionOf(int measure) => measure < 4 ? "--sides" : "--diagonals";

    /// <summary>The corners that the measure joins.</summary>
    internal static (int A, int B) EndsOf(int measure) => Ends[measure];

    /// <summary>Standard deviation of a tape measure of this length, inches.</summary>
    internal static double SigmaOf(double inches) =>
        Math.Sqrt(ReadInches * ReadInches + GivesBy * GivesBy * inches * inches);

    /// <summary>The six of four corners, inches.</summary>
    internal static double[] Of(IReadOnlyList<Point<ClothSpace>> corners) =>
        [.. Ends.Select(e => corners[e.A].DistanceTo(corners[e.B]))];

    /// <summary>Refuses what no block measures.</summary>
    /// <exception cref="InputException">A measure is missing, or is no length of a block.</exception>
    internal void Check()
    {
        if (Sides.Count != 4)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There are {Sides.Count} sides, not four"),
                "--sides",
                "Give top, right, bottom and left with commas between: \"12, 11 15/16, 12, 11 7/8\"."
            );
        }

        if (Diagonals.Count != 2)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There are {Diagonals.Count} diagonals, not two"),
                "--diagonals",
                "Give the one from the top left, then the one from the top right: \"17, 16 15/16\"."
            );
        }

        double[] all = Inches;
        for (int i = 0; i < Count; i++)
        {
            if (!(all[i] >= LeastInches && all[i] <= MostInches))
            {
                throw new InputException(
                    string.Create(CultureInfo.InvariantCulture, $"The {Names[i]} can't be {all[i]:0.###} in"),
                    OptionOf(i),
                    "Give what the tape says from corner to corner, 1/2 to 400 in."
                );
            }
        }
    }
}
