using System.Globalization;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>A colour in CIE L*a*b* (D65, 2° observer).</summary>
/// <param name="L">Lightness, 0 black to 100 white.</param>
/// <param name="A">Green below 0, red above.</param>
/// <param name="B">Blue below 0, yellow above.</param>
public readonly record struct LabColor(double L, double A, double B)
{
    /// <summary>How far from grey.</summary>
    public double Chroma => Math.Sqrt(A * A + B * B);

    /// <summary>Hue angle, degrees from 0 (red) by 90 (yellow), below 360.</summary>
    public double Hue => (Math.Atan2(B, A) * 180 / Math.PI + 360) % 360;

    /// <summary>Reads <c>#rrggbb</c> (sRGB, IEC 61966-2-1); null for anything else.</summary>
    public static LabColor? Parse(string? hex)
    {
        if (
            hex is not { Length: 7 }
            || hex[0] != '#'
            || !int.TryParse(hex.AsSpan(1), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int rgb)
        )
        {
            return null;
        }

        return FromRgb(rgb >> 16 & 255, rgb >> 8 & 255, rgb & 255);
    }

    /// <summary>From sRGB, each channel 0 to 255 (fractions are allowed, for means).</summary>
    public static LabColor FromRgb(double red, double green, double blue)
    {
        double r = Linear(red / 255);
        double g = Linear(green / 255);
        double b = Linear(blue / 255);
        double x = Root((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047);
        double y = Root(0.2126729 * r + 0.7151522 * g + 0.0721750 * b);
        double z = Root((0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883);
        return new(116 * y - 16, 500 * (x - y), 200 * (y - z));

        static double Linear(double v) => v <= 0.04045 ? v / 12.92 : Math.Pow((v + 0.055) / 1.055, 2.4);

        static double Root(double t) => t > 216.0 / 24389 ? Math.Cbrt(t) : (24389.0 / 27 * t + 16) / 116;
    }

    /// <summary>The distance in L*a*b* (CIE 1976).</summary>
    public double DistanceTo(LabColor o) =>
        Math.Sqrt((L - o.L) * (L - o.L) + (A - o.A) * (A - o.A) + (B - o.B) * (B - o.B));
}
