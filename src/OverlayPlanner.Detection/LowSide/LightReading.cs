using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>
/// How low sides show in one picture, learned from all its seams together, without being told any: the low side is darker by
/// one step, the same for all; light from one side adds what depends on the seam's direction alone; the camera's sharpening adds
/// what depends on the contrast of the two cloths alone.
/// </summary>
/// <remarks>
/// asymmetry = side · step + light · left normal + halo · contrast + noise, side being 1 (left is low), −1 (right) or 0 (pressed
/// open). A mixture of the three with Student's t as noise, fitted by expectation and maximisation (A. P. Dempster, N. M. Laird
/// and D. B. Rubin, "Maximum likelihood from incomplete data via the EM algorithm", 1977; K. L. Lange, R. J. A. Little and
/// J. M. G. Taylor, "Robust statistical modeling using the t distribution", 1989). That the low side is the darker one cannot
/// be learned from the picture; it follows from the step, which takes sky light from the low side whichever way the lamp stands.
/// O(seams × rounds).
/// </remarks>
internal sealed class LightReading
{
    // The step of shade against the darkening about the seams: their ratio was 0.65 ± 0.15 over made tops of every light.
    private const double StepPerDarkening = 0.65;
    private const double StepSpread = 0.25;
    private const double MostStep = 1.25;

    // What the model leaves out: folds, print that changes just at the seam. Most proposals that are wrong are of seams that
    // were pressed open; in a top where most were, fewer are right than is promised. The scoreboard states both.
    private const double Trust = 0.96;

    // Neighbouring stretches share their print, so their spread tells a little less than the whole error.
    private const double ErrorGrowth = 1.5;
    private const double PressedOpen = 0.1;
    private const double Freedom = 4;
    private const int Rounds = 40;
    private const double LeastNoise = 0.03;

    private double lightX;
    private double lightY;
    private double halo;
    private double step;
    private double noise;

    private LightReading() { }

    /// <summary>
    /// Where the light comes from, a vector on the cloth; its length is the shade that it adds across a seam, relative. What
    /// faces the light is brighter.
    /// </summary>
    public Vector<ClothSpace> Light => new(-lightX, -lightY);

    /// <summary>How much darker a low side is, relative; 0 where the seams throw no shade.</summary>
    public double Step => step;

    /// <summary>Learns from the seams of one picture; null where they are too few.</summary>
    public static LightReading? Of(IReadOnlyList<ShadedSeam> seams)
    {
        const int Fewest = 6;
        if (seams.Count < Fewest)
        {
            return null;
        }

        LightReading reading = new();
        double expected = StepPerDarkening * Math.Max(0, Median(seams.Select(s => s.Darkening)));
        reading.Start(seams);
        reading.step = expected;
        for (int i = 0; i < Rounds; i++)
        {
            reading.Improve(seams, expected);
        }

        return reading;
    }

    /// <summary>Probabilities that the left and that the right is low; what is missing to one is: pressed open.</summary>
    public (double Left, double Right) SidesOf(ShadedSeam seam)
    {
        double v = VarianceOf(seam);
        double x = seam.Asymmetry - Expected(seam);
        double left = (1 - PressedOpen) / 2 * Density(x - step, v);
        double open = PressedOpen * Density(x, v);
        double right = (1 - PressedOpen) / 2 * Density(x + step, v);
        double all = left + open + right;
        return (left / all, right / all);
    }

    /// <summary>Which side is low, and how likely that is, 0 to 1.</summary>
    public (Side Low, double Sure) LowSideOf(ShadedSeam seam)
    {
        (double left, double right) = SidesOf(seam);
        return left > right ? (Side.Left, Trust * left) : (Side.Right, Trust * right);
    }

    /// <summary>Logarithm of the likelihood that a part has this side low (1 left, −1 right).</summary>
    public double LogLikelihood(ShadedSeam part, int side)
    {
        double v = VarianceOf(part);
        return Math.Log(Density(part.Asymmetry - Expected(part) - side * step, v)) - Math.Log(v) / 2;
    }

    /// <summary>Solves a symmetric system of three equations, by Cramer's rule.</summary>
    public static (double X, double Y, double Z) Solve(
        double a,
        double b,
        double c,
        double d,
        double e,
        double f,
        double u,
        double v,
        double w
    )
    {
        // | a b c |   | u |
        // | b d e | = | v |
        // | c e f |   | w |
        double m0 = d * f - e * e;
        double m1 = c * e - b * f;
        double m2 = b * e - c * d;
        double det = a * m0 + b * m1 + c * m2;
        double m4 = a * f - c * c;
        double m5 = b * c - a * e;
        double m8 = a * d - b * b;
        return ((m0 * u + m1 * v + m2 * w) / det, (m1 * u + m4 * v + m5 * w) / det, (m2 * u + m5 * v + m8 * w) / det);
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted[sorted.Length / 2];
    }

    private static double Density(double x, double v) => Math.Pow(1 + x * x / (Freedom * v), -(Freedom + 1) / 2);

    private static double Grip(double x, double v) => (Freedom + 1) / (Freedom + x * x / v);

    private double VarianceOf(ShadedSeam s) => ErrorGrowth * s.Error * s.Error + noise * noise;

    private double Expected(ShadedSeam s) => lightX * s.Left.X + lightY * s.Left.Y + halo * s.Contrast;

    // Light and halo from all seams as if none had a low side, outliers held down.
    private void Start(IReadOnlyList<ShadedSeam> seams)
    {
        double[] weight = [.. seams.Select(s => 1 / (s.Error * s.Error + 0.05 * 0.05))];
        for (int i = 0; i < 10; i++)
        {
            FitLines(seams, weight, [.. seams.Select((s, k) => weight[k] * s.Asymmetry)], 1, 0.5);
            noise = Median(seams.Select(s => Math.Abs(s.Asymmetry - Expected(s)))) + 1e-3;
            for (int k = 0; k < weight.Length; k++)
            {
                double far = (seams[k].Asymmetry - Expected(seams[k])) / (2.5 * noise);
                weight[k] = 1 / (seams[k].Error * seams[k].Error + noise * noise) / (1 + far * far);
            }
        }
    }

    private void Improve(IReadOnlyList<ShadedSeam> seams, double expected)
    {
        int n = seams.Count;
        (double Left, double Right)[] share = [.. seams.Select(SidesOf)];
        double[] weight = new double[n];
        double[] target = new double[n];
        for (int k = 0; k < n; k++)
        {
            double v = VarianceOf(seams[k]);
            double x = seams[k].Asymmetry - Expected(seams[k]);
            double l = share[k].Left * Grip(x - step, v) / v;
            double r = share[k].Right * Grip(x + step, v) / v;
            double o = (1 - share[k].Left - share[k].Right) * Grip(x, v) / v;
            weight[k] = l + r + o;
            target[k] = weight[k] * seams[k].Asymmetry - (l - r) * step;
        }

        FitLines(seams, weight, target, 20, 10);

        // The step is drawn to what the darkening lets expect, the noise to what made tops have.
        const double UsualNoise = 0.1;
        const double UsualNoiseCount = 8;
        double prior = 1 / Math.Pow(StepSpread * expected + 1e-4, 2);
        double top = expected * prior;
        double bottom = prior;
        double spread = UsualNoiseCount * UsualNoise * UsualNoise;
        double count = UsualNoiseCount;
        for (int k = 0; k < n; k++)
        {
            double v = VarianceOf(seams[k]);
            double x = seams[k].Asymmetry - Expected(seams[k]);
            foreach ((double p, double d) in new[] { (share[k].Left, 1.0), (share[k].Right, -1.0) })
            {
                double g = Grip(x - d * step, v);
                top += p * g / v * d * x;
                bottom += p * g / v;
                spread += p * g * Math.Pow(x - d * step, 2) * noise * noise / v;
                count += p;
            }
        }

        step = Math.Clamp(top / bottom, 0, MostStep * expected);
        noise = Math.Max(LeastNoise, Math.Sqrt(spread / count));
    }

    private void FitLines(
        IReadOnlyList<ShadedSeam> seams,
        double[] weight,
        double[] target,
        double lightRidge,
        double haloRidge
    )
    {
        double xx = lightRidge;
        double yy = lightRidge;
        double cc = haloRidge;
        (double xy, double xc, double yc) = (0, 0, 0);
        (double u, double v, double w) = (0, 0, 0);
        for (int k = 0; k < weight.Length; k++)
        {
            ShadedSeam s = seams[k];
            xx += weight[k] * s.Left.X * s.Left.X;
            xy += weight[k] * s.Left.X * s.Left.Y;
            yy += weight[k] * s.Left.Y * s.Left.Y;
            xc += weight[k] * s.Left.X * s.Contrast;
            yc += weight[k] * s.Left.Y * s.Contrast;
            cc += weight[k] * s.Contrast * s.Contrast;
            u += target[k] * s.Left.X;
            v += target[k] * s.Left.Y;
            w += target[k] * s.Contrast;
        }

        (lightX, lightY, halo) = Solve(xx, xy, xc, yy, yc, cc, u, v, w);
    }
}
