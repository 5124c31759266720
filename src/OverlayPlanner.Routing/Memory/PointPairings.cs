using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Memory;

/// <summary>All ways to pair the ends round one point so that no two passes cross and the wanted number stay loose.</summary>
internal static class PointPairings
{
    private const int MostMade = 1_500;

    /// <summary>The pairings, those that turn least first: for each the partner's place round the point, −1 where loose.</summary>
    /// <param name="ends">Number of ends round the point.</param>
    /// <param name="loose">How many of them stay loose.</param>
    /// <param name="pinned">True for those that must stay loose.</param>
    /// <param name="cost">What it costs to pair two places.</param>
    /// <returns>Empty where there are more than 1,500: 16 ends, none loose, have 1,430 (a Catalan number).</returns>
    public static IReadOnlyList<int[]> Of(int ends, int loose, Func<int, bool> pinned, Func<int, int, int> cost)
    {
        List<int[]> found = [];
        int[] partner = new int[ends];
        Array.Fill(partner, -2);
        Extend(0, loose);
        if (found.Count > MostMade)
        {
            return [];
        }

        return [.. found.OrderBy(CostOf)];

        int CostOf(int[] p)
        {
            int sum = 0;
            for (int i = 0; i < p.Length; i++)
            {
                sum += p[i] > i ? cost(i, p[i]) : 0;
            }

            return sum;
        }

        void Extend(int at, int left)
        {
            while (at < ends && partner[at] != -2)
            {
                at++;
            }

            if (found.Count > MostMade)
            {
                return;
            }

            if (at == ends)
            {
                if (left == 0)
                {
                    found.Add([.. partner]);
                }

                return;
            }

            if (left > 0)
            {
                partner[at] = -1;
                Extend(at + 1, left - 1);
                partner[at] = -2;
            }

            if (pinned(at))
            {
                return;
            }

            for (int b = at + 1; b < ends; b++)
            {
                // Beyond a place that is paired across, every pass would cross that pair.
                if (partner[b] != -2)
                {
                    if (partner[b] >= 0 && partner[b] < at)
                    {
                        break;
                    }

                    continue;
                }

                if (pinned(b))
                {
                    continue;
                }

                partner[at] = b;
                partner[b] = at;
                Extend(at + 1, left);
                partner[at] = partner[b] = -2;
            }
        }
    }
}
