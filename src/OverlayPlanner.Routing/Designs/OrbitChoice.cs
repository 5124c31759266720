using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing.Designs;

/// <summary>Lines that are taken together or not at all, because the block's symmetry carries one into the other.</summary>
/// <param name="Lines">Indices of its lines.</param>
/// <param name="Inches">Their length together.</param>
internal sealed record Orbit(IReadOnlyList<int> Lines, double Inches);

/// <summary>
/// The orbits of one block under a subgroup of its symmetry, and the shortest choice of them that lets one thread stitch
/// everything.
/// </summary>
/// <remarks>
/// An orbit of lines joins at most two orbits of junctions, so choosing orbits that mend the parity is a T-join in the
/// quotient graph, whose nodes are the orbits of junctions, with one ground node for lines that turn the parity of one orbit
/// alone. It is solved exactly by shortest ways and matching. Two things lie outside the reduction and are branched on, best
/// bound first: orbits that get in each other's way, and designs that stay in several pieces.
/// </remarks>
internal sealed class OrbitChoice
{
    private const int MostNodes = 400;

    private readonly int nodes;
    private readonly int ground;
    private readonly IReadOnlyList<Orbit> orbits;
    private readonly (int U, int V)[] columns;
    private readonly HashSet<int>[] conflicts;
    private readonly bool[] odd;
    private readonly int[] size;
    private readonly Func<IReadOnlyCollection<int>, IReadOnlyList<int>?> joinsPieces;
    private readonly List<int>[] touching;
    private readonly Effort effort;
    private readonly CancellationToken cancellation;

    /// <param name="orbits">The orbits.</param>
    /// <param name="turns">For each orbit the junction orbits whose parity it turns; none, one or two.</param>
    /// <param name="conflicts">For each orbit those that it can't stand beside.</param>
    /// <param name="odd">For each junction orbit: its junctions are odd without any added line.</param>
    /// <param name="size">For each junction orbit: how many junctions it has.</param>
    /// <param name="joinsPieces">
    /// For a choice of orbits: null where the design hangs together as far as it can, else the orbits of which at least one
    /// is needed.
    /// </param>
    /// <param name="effort">How long the search may go on.</param>
    /// <param name="cancellation">Looked at for each branch.</param>
    public OrbitChoice(
        IReadOnlyList<Orbit> orbits,
        IReadOnlyList<IReadOnlyList<int>> turns,
        HashSet<int>[] conflicts,
        bool[] odd,
        int[] size,
        Func<IReadOnlyCollection<int>, IReadOnlyList<int>?> joinsPieces,
        Effort effort,
        CancellationToken cancellation
    )
    {
        this.effort = effort;
        this.orbits = orbits;
        this.conflicts = conflicts;
        this.odd = odd;
        this.size = size;
        this.joinsPieces = joinsPieces;
        this.cancellation = cancellation;
        nodes = odd.Length + 1;
        ground = odd.Length;
        columns =
        [
            .. turns.Select(t =>
                t.Count == 0 ? (-1, -1)
                : t.Count == 1 ? (t[0], ground)
                : (t[0], t[1])
            ),
        ];
        touching = [.. Enumerable.Range(0, nodes).Select(_ => new List<int>())];
        for (int i = 0; i < columns.Length; i++)
        {
            if (columns[i].U >= 0)
            {
                touching[columns[i].U].Add(i);
                touching[columns[i].V].Add(i);
            }
        }
    }

    /// <summary>
    /// The shortest choices that leave at most two junctions odd and everything in one piece, shortest first; at most
    /// <paramref name="most"/>, which differ in their orbits.
    /// </summary>
    /// <param name="most">How many.</param>
    /// <param name="given">Orbits that are in the design anyway.</param>
    /// <param name="barred">Orbits that may not be used.</param>
    public List<IReadOnlyList<int>> Shortest(int most, IReadOnlyCollection<int> given, IReadOnlyCollection<int> barred)
    {
        List<IReadOnlyList<int>> found = [];
        HashSet<string> seen = [];
        PriorityQueue<Branch, (double, int)> open = new();
        int order = 0;
        HashSet<int> outFirst = [.. barred];
        foreach (int g in given)
        {
            outFirst.UnionWith(conflicts[g]);
        }

        if (outFirst.Overlaps(given))
        {
            return found;
        }

        // Two odd junctions may stay, a start and an end: both of one orbit of two, or two that are orbits of their own.
        Push([.. given], outFirst, -1);
        for (int j = 0; j < odd.Length; j++)
        {
            if (size[j] == 2)
            {
                Push([.. given], outFirst, j);
            }
        }

        int looked = 0;
        // Branches come shortest first, so the first that passes is the shortest of all.
        while (open.TryDequeue(out Branch? b, out _) && found.Count < most && looked++ < MostNodes && !effort.IsSpent)
        {
            cancellation.ThrowIfCancellationRequested();
            int[] chosen = [.. b.In.Concat(b.Free).Distinct().Order()];
            (int First, int Second)? clash = FindClash(chosen);
            if (clash is { } c)
            {
                (int i, int k) = b.In.Contains(c.First) ? (c.Second, c.First) : (c.First, c.Second);
                Push(b.In, [.. b.Out, i], b.Left);
                if (!b.In.Contains(k))
                {
                    Push([.. b.In, i], [.. b.Out, .. conflicts[i]], b.Left);
                }

                continue;
            }

            if (joinsPieces(chosen) is { } needed)
            {
                BranchOn([.. needed.Where(o => !b.Out.Contains(o) && !b.In.Contains(o))], b);
                continue;
            }

            if (seen.Add(string.Join(' ', chosen)))
            {
                found.Add(chosen);
            }

            // The next best differs in at least one of the orbits that were chosen freely.
            List<int> kept = [];
            foreach (int f in b.Free)
            {
                Push([.. b.In, .. kept], [.. b.Out, f], b.Left);
                kept.Add(f);
            }
        }

        return found;

        void BranchOn(IReadOnlyList<int> options, Branch b)
        {
            HashSet<int> before = [];
            foreach (int o in options)
            {
                Push([.. b.In, o], [.. b.Out, .. before, .. conflicts[o]], b.Left);
                before.Add(o);
            }
        }

        void Push(HashSet<int> inside, HashSet<int> outside, int left)
        {
            if (inside.Overlaps(outside) || effort.IsSpent)
            {
                return;
            }

            if (Join(inside, outside, left) is { } free)
            {
                double inches = inside.Sum(o => orbits[o].Inches) + free.Sum(o => orbits[o].Inches);

                // Equal lengths: fewer orbits first.
                open.Enqueue(
                    new(inside, outside, left, free),
                    (Math.Round(inches, 6), (inside.Count + free.Count) * 100_000 + order++)
                );
            }
        }
    }

    private (int, int)? FindClash(int[] chosen)
    {
        for (int i = 0; i < chosen.Length; i++)
        {
            for (int k = i + 1; k < chosen.Length; k++)
            {
                if (conflicts[chosen[i]].Contains(chosen[k]))
                {
                    return (chosen[i], chosen[k]);
                }
            }
        }

        return null;
    }

    /// <summary>The shortest free orbits that mend the parity beside those already in; null where none do.</summary>
    private List<int>? Join(HashSet<int> inside, HashSet<int> outside, int left)
    {
        bool[] t = new bool[nodes];
        for (int j = 0; j < odd.Length; j++)
        {
            t[j] = odd[j] != (j == left);
        }

        foreach (int o in inside)
        {
            if (columns[o].U >= 0)
            {
                t[columns[o].U] = !t[columns[o].U];
                t[columns[o].V] = !t[columns[o].V];
            }
        }

        t[ground] = false;
        int[] terminals = [.. Enumerable.Range(0, nodes).Where(v => t[v])];
        if (terminals.Length % 2 == 1)
        {
            terminals = [.. terminals, ground];
        }

        if (terminals.Length == 0)
        {
            return [];
        }

        // Whole weights: thousandths of a thousandth of an inch.
        const double Steps = 1e6;
        int count = terminals.Length;
        long[][] distance = new long[count][];
        int[][] cameBy = new int[count][];
        for (int i = 0; i < count; i++)
        {
            (distance[i], cameBy[i]) = Ways(terminals[i]);
        }

        // With no junction orbit left odd, two single junctions may stay odd instead, or a pair may leave through them.
        bool single = left < 0 && size.Any(s => s == 1);
        (long D, int At)[] leave = new (long, int)[count];
        long top = 1;
        for (int i = 0; i < count; i++)
        {
            leave[i] = (long.MaxValue, -1);
            for (int j = 0; j < odd.Length && single; j++)
            {
                if (size[j] == 1 && distance[i][j] < leave[i].D)
                {
                    leave[i] = (distance[i][j], j);
                }
            }

            top = Math.Max(top, leave[i].D == long.MaxValue ? 0 : leave[i].D + 1);
            for (int k = 0; k < count; k++)
            {
                top = Math.Max(top, distance[i][terminals[k]] == long.MaxValue ? 0 : distance[i][terminals[k]] + 1);
            }
        }

        List<MatchingEdge> edges = [];
        for (int i = 0; i < count; i++)
        {
            for (int k = i + 1; k < count; k++)
            {
                if (distance[i][terminals[k]] < long.MaxValue)
                {
                    edges.Add(new(i, k, top - distance[i][terminals[k]]));
                }
            }

            if (leave[i].D < long.MaxValue && terminals[i] != ground)
            {
                edges.Add(new(i, count, top - leave[i].D));
                edges.Add(new(i, count + 1, top - leave[i].D));
            }
        }

        if (single)
        {
            edges.Add(new(count, count + 1, top));
        }

        effort.Spend((long)edges.Count * count / 2);
        (int[] partner, _) = MaximumMatching.Find(single ? count + 2 : count, edges, true, cancellation);
        HashSet<int> chosen = [];
        for (int i = 0; i < count; i++)
        {
            if (partner[i] < 0)
            {
                return null;
            }

            int target =
                partner[i] >= count ? leave[i].At
                : partner[i] > i ? terminals[partner[i]]
                : -1;
            if (target < 0)
            {
                continue;
            }

            for (int v = target; cameBy[i][v] >= 0; )
            {
                int o = cameBy[i][v];
                if (!chosen.Remove(o))
                {
                    chosen.Add(o);
                }

                v = columns[o].U == v ? columns[o].V : columns[o].U;
            }
        }

        return [.. chosen.Order()];

        (long[], int[]) Ways(int from)
        {
            long[] d = new long[nodes];
            int[] by = new int[nodes];
            Array.Fill(d, long.MaxValue);
            Array.Fill(by, -1);
            d[from] = 0;
            PriorityQueue<int, long> open = new();
            open.Enqueue(from, 0);
            while (open.TryDequeue(out int v, out long dv))
            {
                if (dv > d[v])
                {
                    continue;
                }

                effort.Spend(touching[v].Count);
                foreach (int o in touching[v])
                {
                    if (inside.Contains(o) || outside.Contains(o))
                    {
                        continue;
                    }

                    int w = columns[o].U == v ? columns[o].V : columns[o].U;
                    long dw = dv + 1 + (long)Math.Round(orbits[o].Inches * Steps);
                    if (dw < d[w])
                    {
                        d[w] = dw;
                        by[w] = o;
                        open.Enqueue(w, dw);
                    }
                }
            }

            return (d, by);
        }
    }

    private sealed record Branch(HashSet<int> In, HashSet<int> Out, int Left, List<int> Free);
}

/// <summary>A search's allowance of steps: the same on every machine, unlike a clock.</summary>
internal sealed class Effort(long steps)
{
    private long left = steps;

    /// <summary>True once the allowance is used up.</summary>
    public bool IsSpent => left <= 0;

    /// <summary>Takes steps off.</summary>
    public void Spend(long count) => left -= count;
}
