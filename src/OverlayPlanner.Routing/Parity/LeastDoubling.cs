namespace OverlayPlanner.Routing.Parity;

/// <summary>
/// Which lines to stitch twice, and where threads begin and end, so that the doubled length is the least.
/// </summary>
/// <param name="Doubled">Indices of the lines stitched a second time, each once.</param>
/// <param name="Loose">
/// How many thread ends lie at each junction; its lines, doubled ones counted twice, less this number, are even.
/// </param>
/// <param name="Inches">Doubled length.</param>
internal sealed record Doubling(IReadOnlyList<int> Doubled, int[] Loose, double Inches);

/// <summary>
/// Least doubling by minimum-weight T-joins: shortest paths along the lines and an exact matching of the odd points
/// (Edmonds and Johnson, "Matching, Euler tours and the Chinese postman", 1973).
/// </summary>
/// <remarks>
/// Lengths are rounded to 2⁻²⁷ in (7 · 10⁻⁹ in) and held as whole numbers, so that equal choices tie exactly. Matching starts
/// from each odd point's nearest neighbours; the dual prices then show whether a pair that was left out could do better, and
/// such pairs join in until none can (pricing, as Cook and Rohe, "Computing minimum-weight perfect matchings", 1999).
/// </remarks>
internal sealed class LeastDoubling
{
    // Below one step of length lie finer ones of taste, which choose among equal lengths where tails hide better.
    private const double StepsPerInch = 1L << 27;
    private const int TastePerStep = 1 << 10;
    private const int FullBelow = 40;
    private const int Neighbours = 6;

    private readonly LineNetwork network;
    private readonly long[] weight;
    private readonly Func<int, int> taste;
    private readonly CancellationToken cancellation;

    /// <summary>Prepares the lines' weights.</summary>
    /// <param name="network">The lines.</param>
    /// <param name="taste">
    /// 0 to 255 for a junction where a thread would begin or end, less is better; decides only between equal lengths.
    /// </param>
    /// <param name="cancellation">Looked at once for each augmentation.</param>
    public LeastDoubling(LineNetwork network, Func<int, int>? taste = null, CancellationToken cancellation = default)
    {
        this.network = network;
        this.taste = taste ?? (_ => 0);
        this.cancellation = cancellation;
        weight =
        [
            .. Enumerable
                .Range(0, network.LineCount)
                .Select(e => Math.Max(1, (long)Math.Round(network.InchesOf(e) * StepsPerInch)) * TastePerStep),
        ];
    }

    /// <summary>
    /// What a thread choice makes of the odd points, exactly: nothing doubled; least doubling with one run in each piece; or
    /// the least of start cost × runs + inch cost × doubled inches.
    /// </summary>
    /// <remarks>
    /// A wished start or end at junction v is a thread's end there, and turns the parity of v: the rest is a T-join again. With
    /// a mixed thread the gain of joining two odd points is a start's price less the way's, the heaviest matching of gains is
    /// the answer, and one run in each piece costs nothing extra.
    /// </remarks>
    /// <param name="thread">The choice.</param>
    /// <param name="start">Junction where the first run of its piece starts, or null.</param>
    /// <param name="end">Junction where the last run of its piece ends, or null.</param>
    /// <param name="inchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
    public Doubling For(ThreadChoice thread, int? start, int? end, double inchesPerStart)
    {
        long? gain =
            thread == ThreadChoice.Mixed
                ? (long)Math.Round(Math.Clamp(inchesPerStart, 0, 1e5) * StepsPerInch) * TastePerStep
                : null;
        return Gather(p =>
        {
            (int[] ends, HashSet<int> t) = OddAfter(p, start, end);

            if (thread == ThreadChoice.Free)
            {
                return ([], [.. ends, .. t]);
            }

            int open = Math.Min(2 - ends.Length, t.Count);
            return Join([.. t.Order()], open, ends, gain);
        });
    }

    /// <summary>
    /// The least of what thread ends and doubled inches cost together, where an end at some points runs off the top and costs
    /// next to nothing: every other end costs half a start.
    /// </summary>
    /// <remarks>
    /// An odd point that stays an end costs a(v): half a start, or the way to the nearest such point and the end there. Joining
    /// two odd points gains a(v) + a(w) less their way; a piece that is left without ends needs a closed thread, so the first
    /// two ends gain its price. The heaviest matching of these gains is the answer, exactly.
    /// </remarks>
    /// <param name="start">Junction where the first run of its piece starts, or null.</param>
    /// <param name="end">Junction where the last run of its piece ends, or null.</param>
    /// <param name="inchesPerStart">How many doubled inches one start is worth.</param>
    /// <param name="inchesPerOffTop">How many an end off the top is worth.</param>
    /// <param name="isOffTop">Where ends run off the top.</param>
    /// <returns>What to double, and the cost of ends and doubled length in inches.</returns>
    public (Doubling Doubling, double Inches) WithEndsOffTop(
        int? start,
        int? end,
        double inchesPerStart,
        double inchesPerOffTop,
        Func<int, bool> isOffTop
    )
    {
        long tail = (long)Math.Round(Math.Clamp(inchesPerStart / 2, 0, 1e5) * StepsPerInch) * TastePerStep;
        long offTop = Math.Min(
            tail,
            (long)Math.Round(Math.Clamp(inchesPerOffTop, 0, 1e5) * StepsPerInch) * TastePerStep
        );
        HashSet<int> touching =
        [
            .. Enumerable.Range(0, network.JunctionCount).Where(isOffTop).Select(network.PieceOf).Where(p => p >= 0),
        ];
        double cost = 0;
        Doubling doubling = Gather(p =>
        {
            (int[] ends, HashSet<int> t) = OddAfter(p, start, end);

            long closed =
                ends.Length > 0 ? 0
                : touching.Contains(p) ? 2 * offTop
                : 2 * tail;
            (List<int> lines, List<int> found) = JoinOrLeave([.. t.Order()], tail, offTop, closed, isOffTop);
            found.AddRange(ends);
            long priced = found.Sum(v => isOffTop(v) ? offTop : tail) + (found.Count == 0 ? closed : 0);
            cost += priced / (StepsPerInch * TastePerStep) + InchesOfLines(lines);
            return (lines, found);
        });
        return (doubling, cost);
    }

    // Wished ends in a piece, and its odd points once these are: a wished end at an odd point uses it, at an even one makes it odd.
    private (int[] Ends, HashSet<int> Odd) OddAfter(int piece, int? start, int? end)
    {
        int[] ends =
        [
            .. new[] { start, end }.Where(e => e is { } v && network.PieceOf(v) == piece).Select(e => e!.Value),
        ];
        HashSet<int> odd = [.. OddOf(piece)];
        foreach (int e in ends.Where(e => !odd.Remove(e)))
        {
            odd.Add(e);
        }

        return (ends, odd);
    }

    private (List<int> Lines, List<int> Ends) JoinOrLeave(
        List<int> t,
        long tail,
        long offTop,
        long closed,
        Func<int, bool> isOffTop
    )
    {
        if (t.Count == 0)
        {
            return ([], []);
        }

        int[] indexOf = new int[network.JunctionCount];
        Array.Fill(indexOf, -1);
        for (int i = 0; i < t.Count; i++)
        {
            indexOf[t[i]] = i;
        }

        ShortestWays search = new(network, weight);
        long[] leave = new long[t.Count];
        (int Node, IReadOnlyList<int> Lines)[] endOf = new (int, IReadOnlyList<int>)[t.Count];
        Dictionary<(int, int), Way> ways = [];
        for (int i = 0; i < t.Count; i++)
        {
            (leave[i], endOf[i]) = (tail, (t[i], []));
            foreach ((int v, long d) in search.From(t[i]))
            {
                // No pair is worth more than two tails.
                if (d >= 2 * tail && d + offTop >= leave[i])
                {
                    break;
                }

                if (isOffTop(v) && d + offTop < leave[i])
                {
                    (leave[i], endOf[i]) = (d + offTop, (v, search.LinesBack(v)));
                }

                if (indexOf[v] > i && d < 2 * tail)
                {
                    ways[(i, indexOf[v])] = new(d, search.LinesBack(v));
                }
            }
        }

        List<MatchingEdge> edges =
        [
            .. ways.Where(w => w.Value.Distance < leave[w.Key.Item1] + leave[w.Key.Item2])
                .Select(w => new MatchingEdge(
                    w.Key.Item1,
                    w.Key.Item2,
                    leave[w.Key.Item1] + leave[w.Key.Item2] - w.Value.Distance
                )),
        ];
        int dummies = closed > 0 ? 2 : 0;
        for (int d = 0; d < dummies; d++)
        {
            for (int i = 0; i < t.Count; i++)
            {
                edges.Add(new(i, t.Count + d, Math.Max(1, closed / 2 - taste(endOf[i].Node))));
            }
        }

        (int[] partner, _) = MaximumMatching.Find(t.Count + dummies, edges, false, cancellation);
        HashSet<int> lines = [];
        List<int> ends = [];
        for (int i = 0; i < t.Count; i++)
        {
            int j = partner[i];
            if (j < 0 || j >= t.Count)
            {
                ends.Add(endOf[i].Node);
                Turn(endOf[i].Lines);
            }
            else if (i < j)
            {
                Turn(ways[(i, j)].Lines);
            }
        }

        return ([.. lines], ends);

        // Two ways that share a line cancel on it: parity stays, length falls or ties.
        void Turn(IReadOnlyList<int> way)
        {
            foreach (int e in way)
            {
                if (!lines.Remove(e))
                {
                    lines.Add(e);
                }
            }
        }
    }

    /// <summary>
    /// Least doubled length of any route with at most so many runs in all: runs are dealt to the pieces where they save most.
    /// The saving of each further run in a piece never grows (matching weight is concave in the number of pairs), so dealing
    /// one by one is exact.
    /// </summary>
    public double LeastInches(int runs)
    {
        if (runs >= network.LeastStarts)
        {
            return 0;
        }

        if (network.PieceCount == 1)
        {
            // Nothing to deal: one matching, not one for each further run.
            return InchesOf(0, runs);
        }

        int[] dealt = [.. Enumerable.Repeat(1, network.PieceCount)];
        double[] now = new double[network.PieceCount];
        double[] next = new double[network.PieceCount];
        for (int p = 0; p < network.PieceCount; p++)
        {
            now[p] = InchesOf(p, 1);
            next[p] = runs > network.PieceCount ? InchesOf(p, 2) : now[p];
        }

        for (int left = runs - network.PieceCount; left > 0; left--)
        {
            int best = Enumerable.Range(0, network.PieceCount).MaxBy(p => now[p] - next[p]);
            if (now[best] - next[best] <= 0)
            {
                break;
            }

            dealt[best]++;
            now[best] = next[best];
            next[best] = InchesOf(best, dealt[best] + 1);
        }

        return now.Sum();

        double InchesOf(int p, int r)
        {
            List<int> odd = OddOf(p);
            return odd.Count <= 2 * r ? 0 : InchesOfLines(Join(odd, 2 * r, null).Lines);
        }
    }

    /// <summary>
    /// Joins an even set of junctions of one connected network, less those left open as thread ends, by least ways over any
    /// line, required or not: a minimum-weight T-join.
    /// </summary>
    /// <param name="t">Junctions whose parity must turn.</param>
    /// <param name="open">How many of them may stay as free thread ends.</param>
    /// <param name="gain">Null where all others must be joined; else a pair is joined only where its way is shorter.</param>
    /// <returns>The lines travelled once more, and the junctions left open.</returns>
    public (IReadOnlyList<int> Lines, IReadOnlyList<int> Ends) JoinAcross(
        IEnumerable<int> t,
        int open,
        double? gain = null
    )
    {
        (List<int> lines, List<int> ends) = Join(
            [.. t.Order()],
            open,
            null,
            gain is { } g ? (long)Math.Round(Math.Clamp(g, 0, 1e5) * StepsPerInch) * TastePerStep : null
        );
        lines.Sort();
        return (lines, ends);
    }

    private double InchesOfLines(IEnumerable<int> lines) => lines.Sum(e => network.InchesOf(e));

    private List<int> OddOf(int p) => [.. network.Odd.Where(v => network.PieceOf(v) == p)];

    private Doubling Gather(Func<int, (List<int> Lines, List<int> Ends)> ofPiece)
    {
        List<int> doubled = [];
        int[] loose = new int[network.JunctionCount];
        for (int p = 0; p < network.PieceCount; p++)
        {
            (List<int> lines, List<int> ends) = ofPiece(p);
            doubled.AddRange(lines);
            foreach (int v in ends)
            {
                loose[v]++;
            }
        }

        doubled.Sort();
        return new(doubled, loose, InchesOfLines(doubled));
    }

    /// <summary>
    /// Joins the junctions of <paramref name="t"/> in pairs by least ways, leaving <paramref name="open"/> of them as free
    /// thread ends.
    /// </summary>
    /// <param name="gain">Null where all others must be joined; else joining a pair is optional and worth this much.</param>
    private (List<int> Lines, List<int> Ends) Join(
        List<int> t,
        int open,
        IReadOnlyList<int>? fixedEnds,
        long? gain = null
    )
    {
        List<int> ends = [.. fixedEnds ?? []];
        if (t.Count == 0)
        {
            return ([], ends);
        }

        if (t.Count <= open)
        {
            ends.AddRange(t);
            return ([], ends);
        }

        (int[] partner, _, Dictionary<(int, int), Way> ways) = Match(t, open, gain);
        HashSet<int> lines = [];
        for (int i = 0; i < t.Count; i++)
        {
            int j = partner[i];
            if (j < 0 || j >= t.Count)
            {
                ends.Add(t[i]);
            }
            else if (i < j)
            {
                foreach (int e in ways[(i, j)].Lines)
                {
                    // Two ways that share a line cancel on it: parity stays, length falls or ties.
                    if (!lines.Remove(e))
                    {
                        lines.Add(e);
                    }
                }
            }
        }

        return ([.. lines], ends);
    }

    /// <summary>Exact matching over the odd points with so many dummies that take a thread's end for nothing.</summary>
    internal (int[] Partner, MatchingCertificate Certificate, Dictionary<(int, int), Way> Ways) Match(
        List<int> t,
        int open,
        long? gain
    )
    {
        int[] indexOf = new int[network.JunctionCount];
        Array.Fill(indexOf, -1);
        for (int i = 0; i < t.Count; i++)
        {
            indexOf[t[i]] = i;
        }

        Dictionary<(int, int), Way> ways = [];
        ShortestWays search = new(network, weight);
        bool full = t.Count <= FullBelow;
        long farthest = gain ?? long.MaxValue;
        for (int i = 0; i < t.Count; i++)
        {
            int found = 0;
            foreach ((int v, long d) in search.From(t[i]))
            {
                if (d >= farthest || (!full && found >= Neighbours))
                {
                    break;
                }

                int j = indexOf[v];
                if (j >= 0 && j != i)
                {
                    found++;
                    Keep(i, j, d);
                }
            }
        }

        if (!full && gain is null)
        {
            // Sparse neighbours alone may have no perfect matching; a spanning tree's pairing always is one.
            foreach ((int i, int j) in PairAlongTree(t, indexOf))
            {
                Keep(i, j, search.From(t[i]).First(x => x.Node == t[j]).Distance);
            }
        }

        int n = t.Count + open;
        while (true)
        {
            // Whole positive weights: heaviest gain = least way. The taste of an end is worth less than any length.
            long top = gain ?? 1 + ways.Values.Select(w => w.Distance).DefaultIfEmpty(0).Max() + TastePerStep;
            List<MatchingEdge> edges = new(ways.Count + open * t.Count);
            foreach (((int i, int j), Way way) in ways)
            {
                if (way.Distance < top)
                {
                    edges.Add(new(i, j, top - way.Distance));
                }
            }

            // Dummies must be used before any gain counts, so their edges outweigh all others.
            long dummyTop = gain is null ? top : 4 * (top + TastePerStep);
            for (int d = 0; d < open; d++)
            {
                for (int i = 0; i < t.Count; i++)
                {
                    edges.Add(new(i, t.Count + d, dummyTop - taste(t[i])));
                }
            }

            (int[] partner, MatchingCertificate certificate) = MaximumMatching.Find(
                n,
                edges,
                gain is null,
                cancellation
            );
            if (full || AddDearPairs(certificate.Prices, top) == 0)
            {
                return (partner, certificate, ways);
            }
        }

        // A pair that was left out can only help where its weight exceeds its two prices.
        int AddDearPairs(IReadOnlyList<long> prices, long top)
        {
            long least = Enumerable.Range(0, t.Count).Min(i => prices[i]);
            int added = 0;
            for (int i = 0; i < t.Count; i++)
            {
                // 2 (top − d) > price(i) + price(j), so d < top − (price(i) + least) ÷ 2.
                long reach = top - (prices[i] + least) / 2;
                foreach ((int v, long d) in search.From(t[i]))
                {
                    if (d > reach)
                    {
                        break;
                    }

                    int j = indexOf[v];
                    if (j > i && !ways.ContainsKey((i, j)) && 2 * (top - d) > prices[i] + prices[j])
                    {
                        Keep(i, j, d);
                        added++;
                    }
                }
            }

            return added;
        }

        void Keep(int i, int j, long d)
        {
            (int, int) key = i < j ? (i, j) : (j, i);
            if (!ways.ContainsKey(key))
            {
                ways[key] = new(d, search.LinesBack(t[j]));
            }
        }
    }

    // Pairs of T whose tree ways are disjoint: walking up from the leaves, each unpaired point is handed to the parent.
    private IEnumerable<(int, int)> PairAlongTree(List<int> t, int[] indexOf)
    {
        int[] waiting = new int[network.JunctionCount];
        Array.Fill(waiting, -1);
        int[] above = new int[network.JunctionCount];
        Array.Fill(above, -2);
        List<int> order = [];
        Stack<int> open = new();
        open.Push(t[0]);
        above[t[0]] = -1;
        while (open.TryPop(out int v))
        {
            order.Add(v);
            foreach (int h in network.Around(v))
            {
                int w = network.NodeOf(h ^ 1);
                if (above[w] == -2)
                {
                    above[w] = v;
                    open.Push(w);
                }
            }
        }

        for (int k = order.Count - 1; k >= 0; k--)
        {
            int v = order[k];
            int mine = waiting[v];
            if (indexOf[v] >= 0)
            {
                if (mine >= 0)
                {
                    yield return (mine, indexOf[v]);
                    mine = -1;
                }
                else
                {
                    mine = indexOf[v];
                }
            }

            if (mine < 0 || above[v] < 0)
            {
                continue;
            }

            if (waiting[above[v]] >= 0)
            {
                yield return (waiting[above[v]], mine);
                waiting[above[v]] = -1;
            }
            else
            {
                waiting[above[v]] = mine;
            }
        }
    }

    /// <summary>A shortest way between two odd points: its weight and its lines.</summary>
    internal sealed record Way(long Distance, IReadOnlyList<int> Lines);
}

/// <summary>Shortest ways along the lines from one junction at a time (Dijkstra 1959), lazily: nearest first.</summary>
internal sealed class ShortestWays
{
    private readonly LineNetwork network;
    private readonly IReadOnlyList<long> weight;
    private readonly long[] distance;
    private readonly int[] cameBy;
    private readonly int[] round;
    private readonly bool[] settled;
    private int current;

    public ShortestWays(LineNetwork network, IReadOnlyList<long> weight)
    {
        this.network = network;
        this.weight = weight;
        distance = new long[network.JunctionCount];
        cameBy = new int[network.JunctionCount];
        round = new int[network.JunctionCount];
        settled = new bool[network.JunctionCount];
    }

    /// <summary>
    /// Junctions in order of their distance from <paramref name="source"/>, itself first. Only one walk at a time; a new one
    /// ends the last.
    /// </summary>
    public IEnumerable<(int Node, long Distance)> From(int source)
    {
        int mine = ++current;
        PriorityQueue<int, long> open = new();
        Reach(source, 0, -1);
        while (mine == current && open.TryDequeue(out int v, out long d))
        {
            if (settled[v] || d > distance[v])
            {
                continue;
            }

            settled[v] = true;
            yield return (v, d);
            foreach (int h in network.Around(v))
            {
                Reach(network.NodeOf(h ^ 1), d + weight[h >> 1], h);
            }
        }

        void Reach(int v, long d, int by)
        {
            if (round[v] != mine)
            {
                round[v] = mine;
                settled[v] = false;
            }
            else if (d >= distance[v])
            {
                return;
            }

            distance[v] = d;
            cameBy[v] = by;
            open.Enqueue(v, d);
        }
    }

    /// <summary>The lines of the shortest way back from a settled junction to the source of the last walk.</summary>
    public List<int> LinesBack(int node)
    {
        List<int> lines = [];
        for (int h = cameBy[node]; h >= 0; h = cameBy[network.NodeOf(h)])
        {
            lines.Add(h >> 1);
        }

        return lines;
    }
}
