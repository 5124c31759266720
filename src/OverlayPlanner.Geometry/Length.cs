using System.Globalization;

namespace OverlayPlanner.Geometry;

/// <summary>A signed length on the cloth or on paper. The unit is in the factory and in the property, never implied.</summary>
/// <remarks>Held as inches in a double: a thousandth of an inch is exact to 13 digits at quilt size.</remarks>
public readonly record struct Length : IComparable<Length>
{
    /// <summary>Millimetres in an inch, exact by definition (international yard and pound agreement, 1959).</summary>
    public const double MillimetersPerInch = 25.4;

    /// <summary>PDF points in an inch (ISO 32000).</summary>
    public const double PointsPerInch = 72;

    private Length(double inches) => Inches = inches;

    /// <summary>No length.</summary>
    public static Length Zero => default;

    /// <summary>The length in inches.</summary>
    public double Inches { get; }

    /// <summary>The length in millimetres.</summary>
    public double Millimeters => Inches * MillimetersPerInch;

    /// <summary>The length in points, 1/72 in.</summary>
    public double Points => Inches * PointsPerInch;

    /// <summary>A length of so many inches.</summary>
    public static Length FromInches(double inches) => new(inches);

    /// <summary>A length of so many millimetres.</summary>
    public static Length FromMillimeters(double millimeters) => new(millimeters / MillimetersPerInch);

    /// <summary>A length of so many points, 1/72 in.</summary>
    public static Length FromPoints(double points) => new(points / PointsPerInch);

    /// <summary>Sum.</summary>
    public static Length operator +(Length a, Length b) => new(a.Inches + b.Inches);

    /// <summary>Difference.</summary>
    public static Length operator -(Length a, Length b) => new(a.Inches - b.Inches);

    /// <summary>Scaled.</summary>
    public static Length operator *(Length a, double s) => new(a.Inches * s);

    /// <summary>Scaled down.</summary>
    public static Length operator /(Length a, double s) => new(a.Inches / s);

    /// <summary>Ratio of two lengths.</summary>
    public static double operator /(Length a, Length b) => a.Inches / b.Inches;

    /// <summary>Shorter than.</summary>
    public static bool operator <(Length a, Length b) => a.Inches < b.Inches;

    /// <summary>Longer than.</summary>
    public static bool operator >(Length a, Length b) => a.Inches > b.Inches;

    /// <summary>At most.</summary>
    public static bool operator <=(Length a, Length b) => a.Inches <= b.Inches;

    /// <summary>At least.</summary>
    public static bool operator >=(Length a, Length b) => a.Inches >= b.Inches;

    /// <inheritdoc/>
    public int CompareTo(Length other) => Inches.CompareTo(other.Inches);

    /// <summary>
    /// Reads a user's length: a number of inches (<c>12</c>, <c>12.5</c>, <c>12in</c>, <c>12"</c>), a fraction as a quilter
    /// writes it (<c>12 1/2</c>, <c>3/8</c>), or millimetres (<c>305mm</c>). A sign stands in front and holds for the whole:
    /// <c>-1 1/2</c> is −1.5. A comma is never a decimal sign.
    /// </summary>
    /// <returns>False where the text is no finite length; <paramref name="length"/> is zero then.</returns>
    public static bool TryParse(string? text, out Length length)
    {
        length = Zero;
        string s = (text ?? "").Trim();
        double unit = 1;
        if (s.EndsWith("mm", StringComparison.OrdinalIgnoreCase))
        {
            unit = MillimetersPerInch;
            s = s[..^2].TrimEnd();
        }
        else if (s.EndsWith("in", StringComparison.OrdinalIgnoreCase))
        {
            s = s[..^2].TrimEnd();
        }
        else if (s.EndsWith('"'))
        {
            s = s[..^1].TrimEnd();
        }

        bool negative = s.StartsWith('-');
        if (negative || s.StartsWith('+'))
        {
            s = s[1..];
        }

        // What is left is a number, a fraction, or a whole number and a fraction.
        string[] parts = s.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
        double value = 0;
        bool read = parts.Length switch
        {
            1 => TryNumber(parts[0], out value) || TryFraction(parts[0], out value),
            2 => TryMixed(parts[0], parts[1], out value),
            _ => false,
        };
        if (!read || char.IsWhiteSpace(s[0]))
        {
            return false;
        }

        length = new((negative ? -value : value) / unit);
        return true;

        static bool TryNumber(string t, out double v) =>
            double.TryParse(
                t,
                NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent,
                CultureInfo.InvariantCulture,
                out v
            ) && double.IsFinite(v);

        static bool TryWhole(string t, out double v)
        {
            bool whole = int.TryParse(t, NumberStyles.None, CultureInfo.InvariantCulture, out int i);
            v = i;
            return whole;
        }

        static bool TryFraction(string t, out double v)
        {
            v = 0;
            int slash = t.IndexOf('/', StringComparison.Ordinal);
            if (slash < 0 || !TryWhole(t[..slash], out double over) || !TryWhole(t[(slash + 1)..], out double under))
            {
                return false;
            }

            v = over / under;
            return under != 0;
        }

        static bool TryMixed(string first, string second, out double v)
        {
            bool both = TryWhole(first, out double whole) & TryFraction(second, out double rest);
            v = whole + rest;
            return both;
        }
    }

    /// <summary>The length to the nearest sixteenth, as a quilter reads it: <c>12 3/16</c>, without a unit.</summary>
    public string ToSixteenths()
    {
        long sixteenths = (long)Math.Round(Math.Abs(Inches) * 16, MidpointRounding.AwayFromZero);
        string sign = Inches < 0 && sixteenths > 0 ? "-" : "";
        (long whole, long rest) = Math.DivRem(sixteenths, 16);
        long denominator = 16;
        while (rest > 0 && rest % 2 == 0)
        {
            rest /= 2;
            denominator /= 2;
        }

        string wholeText = whole.ToString(CultureInfo.InvariantCulture);
        return rest == 0
            ? sign + wholeText
            : string.Create(
                CultureInfo.InvariantCulture,
                $"{sign}{(whole > 0 ? wholeText + " " : "")}{rest}/{denominator}"
            );
    }

    /// <inheritdoc/>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Inches:0.####} in");
}
