using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Which seams beside those asked for a thread stitches on its way.</summary>
internal static class TravelledSeams
{
    /// <summary>
    /// Lines that join the pieces of the required ones, nearest pieces first, and that mend their parity where going along
    /// them is shorter than going back.
    /// </summary>
    /// <remarks>
    /// A rural postman problem: exact where the required lines hang together (a T-join over all lines, Edmonds and Johnson
    /// 1973); else pieces are joined by shortest ways first (Frederickson 1979), which is not proven the least.
    /// </remarks>
    /// <param name="junctions">Number of junctions.</param>
    /// <param name="lines">All lines that may be travelled: ends and lengths.</param>
    /// <param name="required">Indices of those asked for.</param>
    /// <param name="thread">One thread joins all it can; a mixed one joins where that costs less than a start.</param>
    /// <param name="inchesPerStart">For a mixed thread.</param>
    /// <param name="cancellation">Looked at for each way.</param>
    /// <returns>Indices of further lines to stitch.</returns>
    public static IReadOnlyList<int> Find(
        int junctions,
        IReadOnlyList<(int From, int To, double Inches)> lines,
        IReadOnlySet<int> required,
        ThreadChoice thread,
        double inchesPerStart,
        CancellationToken cancellation
    )
    {
        HashSet<int> optional = [.. Enumerable.Range(0, lines.Count).Where(e => !required.Contains(e))];
        double limit = thread == ThreadChoice.Mixed ? inchesPerStart : double.PositiveInfinity;
        List<int> joined = [];
        while (true)
        {
            cancellation.ThrowIfCancellationRequested();
            LineNetwork network = new(junctions, lines, optional);
            List<int>? way = network.PieceCount < 2 ? null : NearestWay(network, lines, limit);
            if (way is null)
            {
                Doubling d = new LeastDoubling(network, null, cancellation).For(thread, null, null, inchesPerStart);
                return [.. joined.Concat(d.Doubled.Where(optional.Contains)).Distinct().Order()];
            }

            optional.ExceptWith(way);
            joined.AddRange(way.Where(e => !required.Contains(e)));
        }
    }

    // The shortest of all ways from one piece to another.
    private static List<int>? NearestWay(
        LineNetwork network,
        IReadOnlyList<(int From, int To, double Inches)> lines,
        double limit
    )
    {
        // In steps of 2⁻²⁰ in, so that equal ways tie.
        const double StepsPerInch = 1 << 20;
        ShortestWays search = new(network, [.. lines.Select(l => (long)Math.Round(l.Inches * StepsPerInch))]);
        List<int>? best = null;
        long least = double.IsPositiveInfinity(limit) ? long.MaxValue : (long)(limit * StepsPerInch);
        for (int v = 0; v < network.JunctionCount; v++)
        {
            if (network.PieceOf(v) < 0)
            {
                continue;
            }

            foreach ((int w, long d) in search.From(v))
            {
                if (d >= least)
                {
                    break;
                }

                if (network.PieceOf(w) >= 0 && network.PieceOf(w) != network.PieceOf(v))
                {
                    (best, least) = (search.LinesBack(w), d);
                    break;
                }
            }
        }

        return best;
    }
}
