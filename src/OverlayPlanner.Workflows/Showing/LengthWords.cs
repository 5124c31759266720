using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>What lengths are read in.</summary>
public enum LengthUnits
{
    /// <summary>Inches with fractions, to the sixteenth.</summary>
    Inches,

    /// <summary>Millimetres.</summary>
    Millimeters,
}

/// <summary>Lengths in the words of whoever reads them.</summary>
/// <param name="Units">What they are read in.</param>
public sealed record LengthWords(LengthUnits Units)
{
    /// <summary>A length with its unit: <c>12 3/16 in</c> or <c>310 mm</c>; below ten millimetres with one decimal.</summary>
    public string Say(Length length) =>
        Units == LengthUnits.Inches ? length.ToSixteenths() + " in" : Metric(length) + " mm";

    /// <summary>A length with how far off it may be, 19 times in 20: <c>12 3/16 in, within 1/16</c>.</summary>
    /// <param name="length">The length.</param>
    /// <param name="sigma">One standard deviation of it.</param>
    public string Say(Length length, Length sigma) => $"{Say(length)}, within {Error(sigma)}";

    /// <summary>How far off something may be, 19 times in 20, rounded up: <c>1/16 in</c> or <c>1.3 mm</c>.</summary>
    /// <param name="sigma">One standard deviation.</param>
    public string SayError(Length sigma) => Error(sigma) + (Units == LengthUnits.Inches ? " in" : " mm");

    /// <summary>A size: <c>12 1/16 × 12 in</c>.</summary>
    public string SaySize(Length across, Length down) =>
        Units == LengthUnits.Inches
            ? $"{across.ToSixteenths()} × {down.ToSixteenths()} in"
            : $"{Metric(across)} × {Metric(down)} mm";

    /// <summary>How large the cloth is in a photograph: <c>30 pixels to the inch</c> or <c>12 pixels to the centimetre</c>.</summary>
    /// <param name="pixelsPerInch">Photo pixels along an inch of cloth.</param>
    public string SayPixels(double pixelsPerInch) =>
        Units == LengthUnits.Inches
            ? string.Create(CultureInfo.InvariantCulture, $"{pixelsPerInch:0} pixels to the inch")
            : string.Create(CultureInfo.InvariantCulture, $"{pixelsPerInch / 2.54:0} pixels to the centimetre");

    // An error is never made smaller than it is: up to the next sixteenth, or tenth of a millimetre.
    private string Error(Length sigma)
    {
        // 95 % of a normal error lies within 1.96 standard deviations.
        Length wide = sigma * 1.96;
        return Units == LengthUnits.Inches
            ? Length.FromInches(Math.Max(1, Math.Ceiling(wide.Inches * 16 - 1e-9)) / 16).ToSixteenths()
            : (Math.Max(1, Math.Ceiling(wide.Millimeters * 10 - 1e-9)) / 10).ToString(
                "0.0",
                CultureInfo.InvariantCulture
            );
    }

    private static string Metric(Length length) =>
        length.Millimeters.ToString(Math.Abs(length.Millimeters) < 9.95 ? "0.0" : "0", CultureInfo.InvariantCulture);
}
