using System.Globalization;

namespace OverlayPlanner.Routing.Designs;

/// <summary>A patch's colour in CIE L*a*b* (D65, 2° observer), for asking whether two patches are one fabric.</summary>
internal readonly record struct PatchColor(double L, double A, double B)
{
    // A mean colour of one fabric in two patches differs by a few units from light and print; two fabrics that a person tells
    // apart across a room by 15 and more (common practice, no source).
    private const double OneFabric = 12;

    /// <summary>Reads <c>#rrggbb</c> (sRGB, IEC 61966-2-1); null for anything else.</summary>
    public static PatchColor? Parse(string? hex)
    {
        if (
            hex is not { Length: 7 }
            || hex[0] != '#'
            || !int.TryParse(hex.AsSpan(1), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int rgb)
        )
        {
            return null;
        }

        double r = Linear(rgb >> 16 & 255);
        double g = Linear(rgb >> 8 & 255);
        double b = Linear(rgb & 255);
        double x = Root((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047);
        double y = Root(0.2126729 * r + 0.7151522 * g + 0.0721750 * b);
        double z = Root((0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883);
        return new(116 * y - 16, 500 * (x - y), 200 * (y - z));

        static double Linear(int v) => v <= 10 ? v / 255.0 / 12.92 : Math.Pow((v / 255.0 + 0.055) / 1.055, 2.4);

        static double Root(double t) => t > 216.0 / 24389 ? Math.Cbrt(t) : (24389.0 / 27 * t + 16) / 116;
    }

    /// <summary>True where the two pass for one fabric.</summary>
    public bool IsLike(PatchColor other) => DistanceTo(other) <= OneFabric;

    /// <summary>CIEDE2000 colour difference (Sharma, Wu and Dalal, 2005).</summary>
    public double DistanceTo(PatchColor o)
    {
        const double Deg = Math.PI / 180;
        double c7 = Math.Pow((Math.Sqrt(A * A + B * B) + Math.Sqrt(o.A * o.A + o.B * o.B)) / 2, 7);
        double gray = 0.5 * (1 - Math.Sqrt(c7 / (c7 + Math.Pow(25, 7))));
        (double c1, double h1) = Polar(A * (1 + gray), B);
        (double c2, double h2) = Polar(o.A * (1 + gray), o.B);
        double turn = c1 * c2 == 0 ? 0 : h2 - h1;
        turn =
            turn > 180 ? turn - 360
            : turn < -180 ? turn + 360
            : turn;
        double dl = o.L - L;
        double dc = c2 - c1;
        double dh = 2 * Math.Sqrt(c1 * c2) * Math.Sin(turn / 2 * Deg);
        double l = (L + o.L) / 2;
        double c = (c1 + c2) / 2;
        double h =
            c1 * c2 == 0 ? h1 + h2
            : Math.Abs(h1 - h2) <= 180 ? (h1 + h2) / 2
            : h1 + h2 < 360 ? (h1 + h2 + 360) / 2
            : (h1 + h2 - 360) / 2;
        double t =
            1
            - 0.17 * Math.Cos((h - 30) * Deg)
            + 0.24 * Math.Cos(2 * h * Deg)
            + 0.32 * Math.Cos((3 * h + 6) * Deg)
            - 0.20 * Math.Cos((4 * h - 63) * Deg);
        double sl = 1 + 0.015 * (l - 50) * (l - 50) / Math.Sqrt(20 + (l - 50) * (l - 50));
        double sc = 1 + 0.045 * c;
        double sh = 1 + 0.015 * c * t;
        double m7 = Math.Pow(c, 7);
        double rt =
            -2 * Math.Sqrt(m7 / (m7 + Math.Pow(25, 7))) * Math.Sin(60 * Math.Exp(-Math.Pow((h - 275) / 25, 2)) * Deg);
        return Math.Sqrt(dl / sl * (dl / sl) + dc / sc * (dc / sc) + dh / sh * (dh / sh) + rt * (dc / sc) * (dh / sh));

        static (double C, double H) Polar(double a, double b)
        {
            double angle = a == 0 && b == 0 ? 0 : Math.Atan2(b, a) / Deg;
            return (Math.Sqrt(a * a + b * b), angle < 0 ? angle + 360 : angle);
        }
    }
}
