namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>Matches found things to true ones, one to one.</summary>
public static class OneToOne
{
    /// <summary>
    /// A matching with the most pairs among those closer than a tolerance (maximum bipartite matching by augmenting paths,
    /// H. Kuhn, 1955), begun with the nearest pairs so that the pairs are the natural ones where there is a choice.
    /// </summary>
    /// <param name="found">How many things were found.</param>
    /// <param name="truth">How many there are.</param>
    /// <param name="distance">Distance of a found and a true one, any unit.</param>
    /// <param name="tolerance">Greatest distance of a pair.</param>
    /// <returns>For each found thing the true one, or −1.</returns>
    public static int[] Match(int found, int truth, Func<int, int, double> distance, double tolerance)
    {
        ArgumentNullException.ThrowIfNull(distance);
        List<(double Distance, int Found, int Truth)> pairs = [];
        List<int>[] near = new List<int>[found];
        for (int f = 0; f < found; f++)
        {
            near[f] = [];
            for (int t = 0; t < truth; t++)
            {
                double d = distance(f, t);
                if (d <= tolerance)
                {
                    pairs.Add((d, f, t));
                    near[f].Add(t);
                }
            }
        }

        int[] ofFound = new int[found];
        int[] ofTruth = new int[truth];
        Array.Fill(ofFound, -1);
        Array.Fill(ofTruth, -1);
        pairs.Sort();
        foreach ((_, int f, int t) in pairs)
        {
            if (ofFound[f] < 0 && ofTruth[t] < 0)
            {
                (ofFound[f], ofTruth[t]) = (t, f);
            }
        }

        for (int f = 0; f < found; f++)
        {
            if (ofFound[f] < 0)
            {
                TryPlace(f, new bool[truth]);
            }
        }

        return ofFound;

        bool TryPlace(int f, bool[] seen)
        {
            foreach (int t in near[f])
            {
                if (seen[t])
                {
                    continue;
                }

                seen[t] = true;
                if (ofTruth[t] < 0 || TryPlace(ofTruth[t], seen))
                {
                    (ofFound[f], ofTruth[t]) = (t, f);
                    return true;
                }
            }

            return false;
        }
    }
}

/// <summary>Hits, misses and false finds.</summary>
/// <param name="Hits">Pairs.</param>
/// <param name="Missed">True ones without a found one.</param>
/// <param name="False">Found ones without a true one.</param>
public readonly record struct Tally(int Hits, int Missed, int False)
{
    /// <summary>Harmonic mean of precision and recall; 1 where there is nothing to find and nothing was found.</summary>
    public double F1 => Hits + Missed + False == 0 ? 1 : 2.0 * Hits / (2 * Hits + Missed + False);

    /// <summary>Sum.</summary>
    public static Tally operator +(Tally a, Tally b) => new(a.Hits + b.Hits, a.Missed + b.Missed, a.False + b.False);
}
