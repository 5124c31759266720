using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Tells by the patches' colours which of two ways is the right one; equal fabrics say nothing.</summary>
internal static class ColorAgreement
{
    private const double Within = 0.4;
    private const int LeastPatches = 8;

    // A difference in L*a*b* that light, folds and a print's cut make by themselves, and how clear it has to be.
    private const double LeastGain = 3;
    private const double Clearly = 3.5;

    /// <summary>Distance in L*a*b* of each seen patch from the known one it lies on, the light's change taken out; null where none does.</summary>
    public static double?[] Distances(
        ClothScene<ClothSpace> known,
        ClothScene<SeenSpace> seen,
        Func<Point<SeenSpace>, Point<ClothSpace>> knownFromSeen
    )
    {
        MarkIndex<ClothSpace> index = new([.. known.Colors.Select(c => c.At)]);
        int[] on = [.. seen.Colors.Select(c => index.Nearest(knownFromSeen(c.At), Within))];
        double?[] squares = [.. on.Select(k => k < 0 ? (double?)null : 0)];
        Func<ClothColor<SeenSpace>, double>[] seenOf = [c => c.L, c => c.A, c => c.B];
        Func<ClothColor<ClothSpace>, double>[] knownOf = [c => c.L, c => c.A, c => c.B];
        for (int channel = 0; channel < 3; channel++)
        {
            (double Seen, double Known, int Place)[] both =
            [
                .. on.Select((k, i) => (k, i))
                    .Where(p => p.k >= 0)
                    .Select(p => (seenOf[channel](seen.Colors[p.i]), knownOf[channel](known.Colors[p.k]), p.i)),
            ];
            if (both.Length < LeastPatches)
            {
                return new double?[seen.Colors.Count];
            }

            double meanSeen = both.Average(b => b.Seen);
            double meanKnown = both.Average(b => b.Known);
            double variance = both.Sum(b => (b.Seen - meanSeen) * (b.Seen - meanSeen));
            double together = both.Sum(b => (b.Seen - meanSeen) * (b.Known - meanKnown));

            // Light makes colours stronger or weaker by a half at most, and never turns them round.
            double gain = variance > 0 ? Math.Clamp(together / variance, 0.6, 1.6) : 1;
            foreach ((double s, double k, int place) in both)
            {
                double off = k - meanKnown - gain * (s - meanSeen);
                squares[place] += off * off;
            }
        }

        return [.. squares.Select(s => s is { } v ? Math.Sqrt(v) : (double?)null)];
    }

    /// <summary>True where the first distances are smaller by more than chance, patch by patch.</summary>
    public static bool Prefers(double?[] first, double?[] second)
    {
        double[] gain =
        [
            .. first
                .Zip(second)
                .Where(p => p.First is not null && p.Second is not null)
                .Select(p => p.Second!.Value - p.First!.Value),
        ];
        if (gain.Length < LeastPatches)
        {
            return false;
        }

        double mean = gain.Average();
        double error = Math.Sqrt(gain.Average(g => (g - mean) * (g - mean)) / gain.Length);
        return mean > LeastGain && mean > Clearly * error;
    }
}
