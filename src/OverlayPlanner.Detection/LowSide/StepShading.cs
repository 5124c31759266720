namespace OverlayPlanner.Detection.LowSide;

/// <summary>
/// Shade beside a seam with the cloths' own colours taken out: what is multiplied onto a step from the right cloth's colour to
/// the left one's.
/// </summary>
/// <param name="Left">Relative light just left of the seam, above 0 brighter than the cloth farther off.</param>
/// <param name="Right">The same just right of it.</param>
/// <param name="Valley">The same in the seam itself.</param>
/// <param name="Place">Where the step lies against the mapped seam, in, positive left.</param>
/// <param name="Contrast">Natural logarithm of left light over right light, farther off.</param>
internal readonly record struct StepShading(double Left, double Right, double Valley, double Place, double Contrast)
{
    // Widths, in: a step of cloth is about as high as the cloth is thick (0.01 in); its shade fades over some multiples of it.
    private const double Fade = 0.05;
    private const double Blur = 0.022;
    private const double ValleyWidth = 0.0284;
    private const double FarFrom = 0.15;
    private const double FarTo = 0.235;
    private const double PlaceStep = 0.004;
    private const int PlaceReach = 10;

    // A shade of a few hundredths is what is looked for; far larger ones are print.
    private const double Ridge = 0.02;
    private const double PlacePrior = 2.5;
    private const double DarkFloor = 0.02;

    private static readonly Basis[] Bases =
    [
        .. Enumerable.Range(-PlaceReach, 2 * PlaceReach + 1).Select(i => new Basis(i * PlaceStep)),
    ];

    /// <summary>How much darker it is left of the seam than right of it, relative.</summary>
    public double Asymmetry => Right - Left;

    /// <summary>How much darker it is about the seam than farther off, relative.</summary>
    public double Darkening => -(Left + Right + Valley) / 2;

    /// <summary>
    /// Least squares over the three channels, the step's place by search. O(places).
    /// </summary>
    /// <param name="profile">Linear light for each channel and place.</param>
    /// <param name="like">Where the step lies, taken from a fit of more of the seam; null to look for it.</param>
    public static StepShading Fit(double[][] profile, StepShading? like = null)
    {
        double[] left = new double[3];
        double[] right = new double[3];
        for (int c = 0; c < 3; c++)
        {
            int n = 0;
            for (int j = 0; j < SeamProfile.Places; j++)
            {
                double u = SeamProfile.Across(j);
                if (u is >= FarFrom and <= FarTo)
                {
                    left[c] += profile[c][j];
                    right[c] += profile[c][SeamProfile.Places - 1 - j];
                    n++;
                }
            }

            left[c] /= n;
            right[c] /= n;
        }

        double contrast = Math.Log((Luminance(left) + 0.01) / (Luminance(right) + 0.01));
        StepShading best = default;
        double least = double.PositiveInfinity;
        foreach (Basis basis in Bases)
        {
            if (like is { } known && Math.Abs(known.Place - basis.Place) > PlaceStep / 2)
            {
                continue;
            }

            (double misfit, double l, double r, double v) = basis.Solve(profile, left, right);
            if (misfit < least)
            {
                least = misfit;
                best = new(l, r, v, basis.Place, contrast);
            }
        }

        return best;
    }

    // CIE 1931 luminance of linear sRGB (IEC 61966-2-1).
    private static double Luminance(double[] rgb) => 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];

    private sealed class Basis
    {
        private const int Skip = 2;
        private readonly double[] step = new double[SeamProfile.Places];
        private readonly double[][] shades;

        public Basis(double place)
        {
            Place = place;
            shades = [new double[SeamProfile.Places], new double[SeamProfile.Places], new double[SeamProfile.Places]];
            for (int j = 0; j < SeamProfile.Places; j++)
            {
                double u = SeamProfile.Across(j) - place;
                step[j] = Normal(u / Blur);
                shades[0][j] = Fading(u);
                shades[1][j] = Fading(-u);
                shades[2][j] = Math.Exp(-u * u / (2 * ValleyWidth * ValleyWidth));
            }
        }

        public double Place { get; }

        public (double Misfit, double Left, double Right, double Valley) Solve(
            double[][] profile,
            double[] left,
            double[] right
        )
        {
            // Normal equations of three unknowns, upper triangle.
            Span<double> a = stackalloc double[6];
            Span<double> b = stackalloc double[3];
            double all = 0;
            for (int c = 0; c < 3; c++)
            {
                double scale = 1 / ((left[c] + right[c]) / 2 + DarkFloor);
                for (int j = Skip; j < SeamProfile.Places - Skip; j++)
                {
                    double cloth = (right[c] + (left[c] - right[c]) * step[j]) * scale;
                    double y = profile[c][j] * scale - cloth;
                    double x0 = cloth * shades[0][j];
                    double x1 = cloth * shades[1][j];
                    double x2 = cloth * shades[2][j];
                    all += y * y;
                    b[0] += x0 * y;
                    b[1] += x1 * y;
                    b[2] += x2 * y;
                    a[0] += x0 * x0;
                    a[1] += x0 * x1;
                    a[2] += x0 * x2;
                    a[3] += x1 * x1;
                    a[4] += x1 * x2;
                    a[5] += x2 * x2;
                }
            }

            (double x, double yy, double z) = LightReading.Solve(
                a[0] + Ridge,
                a[1],
                a[2],
                a[3] + Ridge,
                a[4],
                a[5] + Ridge,
                b[0],
                b[1],
                b[2]
            );
            double misfit = all - (x * b[0] + yy * b[1] + z * b[2]) + PlacePrior * Place * Place;
            return (misfit, x, yy, z);
        }

        // exp(−u / Fade) where u is above 0, blurred.
        private static double Fading(double u) =>
            Math.Exp(Blur * Blur / (2 * Fade * Fade) - u / Fade) * Normal(u / Blur - Blur / Fade);

        // The normal distribution function (Abramowitz and Stegun, 1964, 26.2.17; error below 1e-7).
        private static double Normal(double x)
        {
            double t = 1 / (1 + 0.2316419 * Math.Abs(x));
            double tail =
                Math.Exp(-x * x / 2)
                / Math.Sqrt(2 * Math.PI)
                * t
                * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
            return x >= 0 ? 1 - tail : tail;
        }
    }
}
