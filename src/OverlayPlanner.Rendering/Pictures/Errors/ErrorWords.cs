using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Pictures.Errors;

/// <summary>What stands over the picture.</summary>
internal static class ErrorWords
{
    /// <summary>What the lines mean.</summary>
    public const string Title = "95 of 100 positions are off by less than this";

    /// <summary>From where to where, what paleness means, and where there is no number.</summary>
    /// <param name="within95">Inches over the mapped area.</param>
    /// <param name="drawn">The fractions that have a line.</param>
    public static string Headline(ScalarGrid<ClothSpace> within95, IReadOnlyList<ErrorLevel> drawn)
    {
        double[] known = [.. within95.Values.Where(double.IsFinite)];
        if (known.Length == 0)
        {
            return "No photograph shows the mapped area, so no number is known.";
        }

        string range = string.Create(
            CultureInfo.InvariantCulture,
            $"From {known.Min():0.000} in where the map is surest to {known.Max():0.000} in where it is least sure."
        );
        string lines =
            drawn.Count > 0
                ? " On a line it is that fraction of an inch; the paler the cloth, the less sure."
                : " " + Between(ErrorLevel.BandOf(known.Max())) + ", so no line is drawn.";
        string hatched =
            known.Length < within95.Values.Count ? " Hatched: no photograph shows it, so no number is known." : "";
        return range + lines + hatched;
    }

    private static string Between(int band)
    {
        IReadOnlyList<ErrorLevel> all = ErrorLevel.All;
        return band == 0 ? $"All of it is under {all[0].Fraction} in"
            : band == all.Count ? $"All of it is over {all[^1].Fraction} in"
            : $"All of it is between {all[band - 1].Fraction} and {all[band].Fraction} in";
    }
}
