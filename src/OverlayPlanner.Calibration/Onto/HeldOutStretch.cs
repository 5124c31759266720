using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Chooses how freely a registration may stretch: a step more only where points that it was not fitted to lie nearer.</summary>
internal static class HeldOutStretch
{
    private const int Folds = 5;

    /// <summary>The fit, and what is left of the points' spread beyond their own errors, inches, one axis.</summary>
    public static (StretchFit<SeenSpace, ClothSpace> Fit, double LackInches) Choose(
        IReadOnlyList<MarkPair<SeenSpace, ClothSpace>> pairs
    )
    {
        StretchOrder kept = StretchOrder.Similarity;
        double[] least = HeldOut(pairs, kept);
        foreach (StretchOrder order in Enum.GetValues<StretchOrder>().Skip(1))
        {
            if (2 * pairs.Count < 3 * StretchFit<SeenSpace, ClothSpace>.TermsOf(order))
            {
                break;
            }

            // Better by more than the standard error of the paired difference, so that chance alone adds no terms.
            double[] off = HeldOut(pairs, order);
            double[] gain = [.. least.Zip(off, (a, b) => a - b)];
            double mean = gain.Average();
            double error = Math.Sqrt(gain.Average(g => (g - mean) * (g - mean)) / gain.Length);
            if (mean > error)
            {
                (kept, least) = (order, off);
            }
        }

        StretchFit<SeenSpace, ClothSpace> fit = StretchFit<SeenSpace, ClothSpace>.Solve(pairs, kept);
        double lack = LackOf(fit, pairs);
        return lack > 0 ? (StretchFit<SeenSpace, ClothSpace>.Solve(pairs, kept, lack), lack) : (fit, lack);
    }

    // Squared distances of the points held out, each weighted by its own error.
    private static double[] HeldOut(IReadOnlyList<MarkPair<SeenSpace, ClothSpace>> pairs, StretchOrder order)
    {
        double[] off = new double[pairs.Count];
        int[] places = [.. Enumerable.Range(0, pairs.Count).OrderBy(i => pairs[i].From.X).ThenBy(i => pairs[i].From.Y)];
        for (int fold = 0; fold < Folds; fold++)
        {
            StretchFit<SeenSpace, ClothSpace> fit = StretchFit<SeenSpace, ClothSpace>.Solve(
                [.. places.Where((_, n) => n % Folds != fold).Select(i => pairs[i])],
                order
            );
            foreach (int i in places.Where((_, n) => n % Folds == fold))
            {
                double d = fit.Apply(pairs[i].From).DistanceTo(pairs[i].To) / pairs[i].SigmaInches;
                off[i] = Math.Min(d * d, 100);
            }
        }

        return off;
    }

    private static double LackOf(
        StretchFit<SeenSpace, ClothSpace> fit,
        IReadOnlyList<MarkPair<SeenSpace, ClothSpace>> pairs
    )
    {
        double free = Math.Max(2.0 * pairs.Count - StretchFit<SeenSpace, ClothSpace>.TermsOf(fit.Order), 1);
        double spread = 0;
        double stated = 0;
        foreach (MarkPair<SeenSpace, ClothSpace> p in pairs)
        {
            double d = fit.Apply(p.From).DistanceTo(p.To);
            spread += d * d / free;
            stated += p.SigmaInches * p.SigmaInches / pairs.Count;
        }

        return Math.Sqrt(Math.Max(spread - stated, 0));
    }
}
