using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>What the light shows at a seam, or at a part of one.</summary>
/// <param name="Left">Unit normal to the left of the way.</param>
/// <param name="Asymmetry">How much darker the left is than the right just beside the seam, relative.</param>
/// <param name="Error">One standard deviation of that, by its spread along the seam.</param>
/// <param name="Darkening">How much darker both are than the cloth farther off, relative.</param>
/// <param name="Contrast">Natural logarithm of the left cloth's light over the right one's.</param>
internal readonly record struct ShadedSeam(
    Vector<ClothSpace> Left,
    double Asymmetry,
    double Error,
    double Darkening,
    double Contrast
)
{
    /// <summary>The seam between two stretches of its profile.</summary>
    public static ShadedSeam Of(SeamProfile profile, int first, int end)
    {
        StepShading whole = StepShading.Fit(profile.Mean(first, end));
        double[] each =
        [
            .. Enumerable.Range(first, end - first).Select(k => StepShading.Fit(profile.Stretches[k], whole).Asymmetry),
        ];
        double mean = each.Average();
        double variance = each.Sum(a => (a - mean) * (a - mean)) / Math.Max(1, each.Length - 1) / each.Length;
        return new(profile.Left, whole.Asymmetry, Math.Sqrt(variance), whole.Darkening, whole.Contrast);
    }
}
