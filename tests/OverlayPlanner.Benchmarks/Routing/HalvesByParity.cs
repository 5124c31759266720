using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>
/// A bound that owes nothing to the planner: the fewest threads that a row of equal blocks can take where every block is
/// stitched by the same two halves and nothing is stitched twice.
/// </summary>
/// <remarks>
/// Half out and half home are two trails through the block, from its left side to its right side at one height each (the next
/// block goes on where this one ends). They end four lines at four places; every other point that is left with an odd number
/// of ends, and every piece that has no end at all, is the business of a further thread, in each block again (Euler's parity).
/// </remarks>
internal static class HalvesByParity
{
    // As close to a side as a drafted point lies to it, in.
    private const double OnSide = 0.05;

    /// <summary>The bound for a row; <see cref="int.MaxValue"/> where no thread gets through a block.</summary>
    /// <param name="block">One block as a map of its own, its sides as outline.</param>
    /// <param name="across">How many blocks the row has.</param>
    public static int LeastStarts(QuiltMap block, int across)
    {
        Dictionary<string, int> degree = [];
        Dictionary<string, string> above = [];
        foreach (Seam s in block.Seams.Where(s => s.Role != SeamRole.Edge))
        {
            foreach (string j in new[] { s.From, s.To })
            {
                degree[j] = degree.GetValueOrDefault(j) + 1;
                above.TryAdd(j, j);
            }

            above[PieceOf(s.From)] = PieceOf(s.To);
        }

        string[] left = [.. degree.Keys.Where(j => block.JunctionOf(j).Place.X < OnSide)];
        string[] right = [.. degree.Keys.Where(j => block.JunctionOf(j).Place.X > block.Width.Inches - OnSide)];
        (string Left, string Right)[] through =
        [
            .. left.SelectMany(l => right.Select(r => (l, r)))
                .Where(p => Math.Abs(HeightOf(p.l) - HeightOf(p.r)) < OnSide && PieceOf(p.l) == PieceOf(p.r)),
        ];
        int least = int.MaxValue;
        foreach ((string Left, string Right) o in through)
        {
            foreach ((string Left, string Right) h in through)
            {
                string[] ends = [o.Left, o.Right, h.Left, h.Right];
                if (ends.Any(e => degree[e] < ends.Count(x => x == e)))
                {
                    continue;
                }

                int odd = degree.Count(d => (d.Value - ends.Count(e => e == d.Key)) % 2 != 0);
                int closed = degree
                    .GroupBy(d => PieceOf(d.Key))
                    .Count(p => p.All(d => d.Value % 2 == 0 && !ends.Contains(d.Key)));

                // Where home does not begin where out ends, the thread is cut between them.
                least = Math.Min(least, (o == h ? 1 : 2) + across * (odd / 2 + closed));
            }
        }

        return least;

        double HeightOf(string junction) => block.JunctionOf(junction).Place.Y;

        string PieceOf(string j)
        {
            while (above[j] != j)
            {
                j = above[j];
            }

            return j;
        }
    }
}
