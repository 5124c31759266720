namespace OverlayPlanner.Routing.Parity;

/// <summary>One cut of a <see cref="CutPacking"/>: the junctions on its inner side, and what each passage costs at least.</summary>
/// <param name="Inches">The cut's price, above 0.</param>
/// <param name="Within">Indices of earlier cuts whose inner sides lie inside this one's, and in no other of this list.</param>
/// <param name="Junctions">The junctions of the inner side that lie in none of those.</param>
internal sealed record PricedCut(double Inches, IReadOnlyList<int> Within, IReadOnlyList<int> Junctions);

/// <summary>
/// A proof that no route doubles less: cuts with prices, each with an odd number of odd points on its inner side, such that no
/// line carries cuts of a greater price than its length.
/// </summary>
/// <remarks>
/// <para>
/// The lines that a route doubles, together with the two ends of each of its threads, leave or end inside every such cut at
/// least once: an odd number of odd points can't be paired among themselves. Added over all cuts, the doubled length plus
/// what the ends pay is at least the sum of prices; an end at a junction pays the prices of the cuts around it, at most the
/// greatest such sum of its connected piece, the piece's end price λ. A piece with r runs therefore doubles at least
/// (sum of its prices) − 2 r λ; all pieces together, with one run each and the others where they pay most, at least
/// Σ (sum of prices − 2 λ) − 2 (runs − pieces) · (the greatest λ).
/// </para>
/// <para>
/// That such a packing reaches the least doubled length exactly is the duality of T-joins (Edmonds and Johnson, "Matching,
/// Euler tours and the Chinese postman", 1973). It is drawn from the matching's prices as discs round the odd points and moats
/// round the odd sets (Jünger and Pulleyblank, "Geometric duality and combinatorial optimization", 1993); the matching is
/// stopped when the wanted number of odd points is left free, and the radius at that moment is λ.
/// </para>
/// </remarks>
/// <param name="Cuts">Every cut after those within it.</param>
/// <param name="LeastInches">Doubled length that the cuts prove for the number of runs asked for.</param>
internal sealed record CutPacking(IReadOnlyList<PricedCut> Cuts, double LeastInches)
{
    // A thousand doubled lines, each rounded by half a step, stray by a ten-millionth of an inch.
    private const double StepsPerInch = 1L << 32;
    private const int FullBelow = 40;
    private const int Neighbours = 8;
    private const int MostRounds = 20;

    /// <summary>
    /// The packing for the least doubled length with at most so many runs, or null where rounding or a shortcut of the search
    /// left it short of the value it should prove.
    /// </summary>
    /// <param name="network">The lines; optional ones are not allowed for.</param>
    /// <param name="runs">Runs in all, at least one for each piece.</param>
    /// <param name="cancellation">Looked at once for each augmentation.</param>
    /// <remarks>O(n³) for n odd points in one piece at worst; for maps of quilts near O(n²).</remarks>
    public static CutPacking? ForRuns(LineNetwork network, int runs, CancellationToken cancellation = default) =>
        new Search(network, cancellation).Pack(runs, null);

    /// <summary>
    /// The packing for the least of start price × runs + doubled inches: no end pays more than half a start.
    /// </summary>
    /// <param name="inchesPerStart">How many doubled inches one start is worth.</param>
    /// <inheritdoc cref="ForRuns"/>
    public static CutPacking? ForStartPrice(
        LineNetwork network,
        int runs,
        double inchesPerStart,
        CancellationToken cancellation = default
    ) => new Search(network, cancellation).Pack(runs, inchesPerStart);

    private sealed class Search
    {
        private readonly LineNetwork network;
        private readonly CancellationToken cancellation;
        private readonly long[] weight;
        private readonly ShortestWays ways;
        private readonly int[] indexOf;
        private readonly List<PricedCut> cuts = [];
        private readonly bool[] isWithin;

        public Search(LineNetwork network, CancellationToken cancellation)
        {
            this.network = network;
            this.cancellation = cancellation;
            weight =
            [
                .. Enumerable
                    .Range(0, network.LineCount)
                    .Select(e => Math.Max(1, (long)Math.Round(network.InchesOf(e) * StepsPerInch))),
            ];
            ways = new(network, weight);
            isWithin = new bool[network.JunctionCount];
            indexOf = new int[network.JunctionCount];
            Array.Fill(indexOf, -1);
        }

        public CutPacking? Pack(int runs, double? inchesPerStart)
        {
            List<int>[] odd = [.. Enumerable.Range(0, network.PieceCount).Select(_ => new List<int>())];
            foreach (int v in network.Odd)
            {
                odd[network.PieceOf(v)].Add(v);
            }

            if (inchesPerStart is null && runs >= network.LeastStarts)
            {
                return new([], 0);
            }

            // Radii are doubled, so that they stay whole.
            long? common = inchesPerStart is { } inches
                ? (long)Math.Round(Math.Clamp(inches, 0, 1e5) * StepsPerInch)
                : null;
            List<Dual> duals = [];
            foreach (List<int> t in odd)
            {
                if (t.Count <= 2)
                {
                    // Two odd points are the two ends of one run.
                    continue;
                }

                if (Solve(t, 2, null) is not { } dual)
                {
                    return null;
                }

                duals.Add(dual);
            }

            if (common is null)
            {
                // Further runs go where the last pair saved most; the first pair that gets none sets the common end price.
                long[] savings = [.. duals.SelectMany(d => d.Steps).OrderDescending()];
                int further = runs - network.PieceCount;
                common = further >= savings.Length ? 0 : savings[further];
            }

            double sum = 0;
            double greatest = 0;
            foreach (Dual first in duals)
            {
                Dual? dual = first.Radius > common ? Solve(first.Points, 0, common) : first;
                if (dual is null)
                {
                    return null;
                }

                double end = dual.Radius / (2 * StepsPerInch);
                greatest = Math.Max(greatest, end);
                sum += Draw(dual) - 2 * end;
            }

            return Holds() ? new(cuts, sum - 2 * (runs - network.PieceCount) * greatest) : null;
        }

        /// <param name="Points">The odd points of one piece.</param>
        /// <param name="Radii">Doubled radius of each odd point's own disc.</param>
        /// <param name="OddSets">Odd sets by index into the points, with the doubled widths of their moats.</param>
        /// <param name="Radius">Doubled radius that the free points reached: their end price.</param>
        /// <param name="Steps">The doubled radius at which each pair was joined.</param>
        private sealed record Dual(
            List<int> Points,
            long[] Radii,
            IReadOnlyList<(IReadOnlyList<int> Members, long Price)> OddSets,
            long Radius,
            IReadOnlyList<long> Steps
        );

        /// <summary>Grows all radii alike until so many points are free, or up to a greatest radius.</summary>
        private Dual? Solve(List<int> t, int free, long? greatest)
        {
            for (int i = 0; i < t.Count; i++)
            {
                indexOf[t[i]] = i;
            }

            try
            {
                return Grow(t, free, greatest);
            }
            finally
            {
                foreach (int v in t)
                {
                    indexOf[v] = -1;
                }
            }
        }

        private Dual? Grow(List<int> t, int free, long? greatest)
        {
            Dictionary<(int, int), long> pairs = [];
            bool full = t.Count <= FullBelow;
            for (int i = 0; i < t.Count; i++)
            {
                int found = 0;
                foreach ((int v, long d) in ways.From(t[i]))
                {
                    if (d >= (greatest ?? long.MaxValue) || (!full && found >= Neighbours))
                    {
                        break;
                    }

                    int j = indexOf[v];
                    if (j >= 0 && j != i)
                    {
                        found++;
                        pairs.TryAdd(i < j ? (i, j) : (j, i), d);
                    }
                }
            }

            for (int round = 0; round < MostRounds; round++)
            {
                // A pair's weight is what it falls short of twice the greatest radius.
                long top = greatest ?? 1 + pairs.Values.DefaultIfEmpty(0).Max();
                List<MatchingEdge> edges =
                [
                    .. pairs
                        .Where(p => p.Value < top)
                        .Select(p => new MatchingEdge(p.Key.Item1, p.Key.Item2, top - p.Value)),
                ];
                MatchingCertificate prices;
                IReadOnlyList<long> steps = [];
                int left = 0;
                if (greatest is null)
                {
                    (int[] partner, prices, steps) = MaximumMatching.FindUntil(t.Count, edges, free, cancellation);
                    left = partner.Count(p => p < 0);
                }
                else
                {
                    (_, prices) = MaximumMatching.Find(t.Count, edges, false, cancellation);
                }

                if (left > free)
                {
                    // The nearest neighbours alone can't be paired: longer ways join in.
                    if (!AddFarther(t, pairs))
                    {
                        return null;
                    }

                    continue;
                }

                long[] radii = [.. prices.Prices.Select(p => top - p)];
                long radius = greatest ?? (radii.Length == 0 ? 0 : radii.Max());
                foreach ((IReadOnlyList<int> members, long price) in prices.OddSets)
                {
                    foreach (int i in members)
                    {
                        radii[i] -= price;
                    }
                }

                if (full || !AddMissing(t, pairs, top, prices.Prices, radii))
                {
                    return radii.Any(r => r < 0)
                        ? null
                        : new(t, radii, prices.OddSets, radius, [.. steps.Select(p => top - p)]);
                }
            }

            return null;
        }

        // Pairs that were left out and whose discs overlap, and around each point with a negative radius all its neighbours.
        private bool AddMissing(
            List<int> t,
            Dictionary<(int, int), long> pairs,
            long top,
            IReadOnlyList<long> prices,
            long[] radii
        )
        {
            int before = pairs.Count;
            long least = prices.Min();
            for (int i = 0; i < t.Count; i++)
            {
                long reach = top - (prices[i] + least) / 2;
                foreach ((int v, long d) in ways.From(t[i]))
                {
                    if (d > reach)
                    {
                        break;
                    }

                    int j = indexOf[v];
                    if (j > i && 2 * (top - d) > prices[i] + prices[j])
                    {
                        pairs.TryAdd((i, j), d);
                    }
                }
            }

            if (radii.Any(r => r < 0))
            {
                ILookup<int, int> near = pairs
                    .Keys.SelectMany(p => new[] { p, (p.Item2, p.Item1) })
                    .ToLookup(p => p.Item1, p => p.Item2);
                foreach (int i in Enumerable.Range(0, t.Count).Where(i => radii[i] < 0))
                {
                    HashSet<int> wanted = [.. near[i]];
                    foreach (int a in near[i])
                    {
                        int left = wanted.Count - 1;
                        foreach ((int v, long d) in ways.From(t[a]))
                        {
                            int b = indexOf[v];
                            if (b >= 0 && b != a && wanted.Contains(b))
                            {
                                pairs.TryAdd(a < b ? (a, b) : (b, a), d);
                                left--;
                            }

                            if (left == 0)
                            {
                                break;
                            }
                        }
                    }
                }
            }

            return pairs.Count > before;
        }

        private bool AddFarther(List<int> t, Dictionary<(int, int), long> pairs)
        {
            int before = pairs.Count;
            int[] known = new int[t.Count];
            foreach ((int i, int j) in pairs.Keys)
            {
                known[i]++;
                known[j]++;
            }

            for (int i = 0; i < t.Count; i++)
            {
                int wanted = 2 * known[i];
                foreach ((int v, long d) in ways.From(t[i]))
                {
                    int j = indexOf[v];
                    if (j >= 0 && j != i)
                    {
                        pairs.TryAdd(i < j ? (i, j) : (j, i), d);
                        if (--wanted <= 0)
                        {
                            break;
                        }
                    }
                }
            }

            return pairs.Count > before;
        }

        /// <summary>Turns discs and moats into cuts, from the inside out; the sum of their prices.</summary>
        private double Draw(Dual dual)
        {
            // What an odd set grows from: the outermost cut so far round each of its points, and the radius there.
            long[] reached = new long[dual.Points.Count];
            int[] outermost = new int[dual.Points.Count];
            Array.Fill(outermost, -1);
            double total = 0;
            for (int i = 0; i < reached.Length; i++)
            {
                Ring([i], dual.Radii[i]);
            }

            foreach ((IReadOnlyList<int> members, long width) in dual.OddSets.OrderBy(s => s.Members.Count))
            {
                Ring(members, width);
            }

            return total;

            // One cut for each distance at which junctions join in.
            void Ring(IReadOnlyList<int> members, long width)
            {
                if (width <= 0)
                {
                    return;
                }

                int[] within = [.. members.Select(i => outermost[i]).Where(c => c >= 0).Distinct().Order()];
                List<(int Junction, long Level)> near = Near(members, width);
                for (int k = 0; k < near.Count; )
                {
                    long level = Math.Max(0, near[k].Level);
                    List<int> joined = [];
                    for (; k < near.Count && near[k].Level <= level; k++)
                    {
                        if (!isWithin[near[k].Junction])
                        {
                            isWithin[near[k].Junction] = true;
                            joined.Add(near[k].Junction);
                        }
                    }

                    long next = k < near.Count ? near[k].Level : width;
                    if (joined.Count == 0 && within.Length == 1)
                    {
                        // Nothing joined in: the same cut, dearer.
                        cuts[within[0]] = cuts[within[0]] with
                        {
                            Inches = cuts[within[0]].Inches + (next - level) / (2 * StepsPerInch),
                        };
                        continue;
                    }

                    cuts.Add(new((next - level) / (2 * StepsPerInch), within, joined));
                    within = [cuts.Count - 1];
                }

                foreach (int i in members)
                {
                    outermost[i] = within[0];
                    reached[i] += width;
                }

                total += width / (2 * StepsPerInch);
            }

            // Junctions by their doubled distance from what the members' cuts reach already, below the width.
            List<(int Junction, long Level)> Near(IReadOnlyList<int> members, long width)
            {
                Dictionary<int, long> least = [];
                PriorityQueue<int, long> open = new();
                HashSet<int> settled = [];
                List<(int, long)> near = [];
                foreach (int i in members)
                {
                    least[dual.Points[i]] = -reached[i];
                    open.Enqueue(dual.Points[i], -reached[i]);
                }

                while (open.TryDequeue(out int v, out long d))
                {
                    if (!settled.Add(v))
                    {
                        continue;
                    }

                    near.Add((v, d));
                    foreach (int h in network.Around(v))
                    {
                        int w = network.NodeOf(h ^ 1);
                        long dw = d + 2 * weight[h >> 1];
                        if (dw < width && (!least.TryGetValue(w, out long old) || dw < old))
                        {
                            least[w] = dw;
                            open.Enqueue(w, dw);
                        }
                    }
                }

                return near;
            }
        }

        // A last look with the lines' true lengths: no line overloaded, every cut odd. Rounding may stray by half a step a line.
        private bool Holds()
        {
            int[] cutOf = new int[network.JunctionCount];
            int[] above = new int[cuts.Count];
            int[] odd = new int[cuts.Count];
            Array.Fill(cutOf, -1);
            Array.Fill(above, -1);
            HashSet<int> isOdd = [.. network.Odd];
            double[] outward = new double[cuts.Count];
            int[] depth = new int[cuts.Count];
            for (int c = 0; c < cuts.Count; c++)
            {
                foreach (int v in cuts[c].Junctions)
                {
                    cutOf[v] = c;
                    odd[c] += isOdd.Contains(v) ? 1 : 0;
                }

                foreach (int w in cuts[c].Within)
                {
                    above[w] = c;
                    odd[c] += odd[w];
                }
            }

            for (int c = cuts.Count - 1; c >= 0; c--)
            {
                outward[c] = cuts[c].Inches + (above[c] < 0 ? 0 : outward[above[c]]);
                depth[c] = above[c] < 0 ? 1 : depth[above[c]] + 1;
            }

            for (int e = 0; e < network.LineCount; e++)
            {
                int a = cutOf[network.NodeOf(2 * e)];
                int b = cutOf[network.NodeOf(2 * e + 1)];
                double load = Outward(a) + Outward(b);
                while (a != b)
                {
                    if (Depth(a) >= Depth(b))
                    {
                        a = above[a];
                    }
                    else
                    {
                        b = above[b];
                    }
                }

                if (load - 2 * Outward(a) > network.InchesOf(e) + 1 / StepsPerInch)
                {
                    return false;
                }
            }

            return odd.All(o => o % 2 == 1);

            double Outward(int c) => c < 0 ? 0 : outward[c];

            int Depth(int c) => c < 0 ? 0 : depth[c];
        }
    }
}
