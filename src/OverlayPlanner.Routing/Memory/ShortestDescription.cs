using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>The shortest way to say a list of steps in the grammar of docs/CALL.md.</summary>
/// <remarks>
/// <para>
/// A call is a row of items. An item is a step (length 1); a row said n times (1 for the count); or a row X, perhaps another
/// row Y, and X again mirrored, backwards or both (1 for each mark; the backward marks carry the turn into their first step).
/// A row of more than one item that is said again stands in brackets (1); so does every pair of X and Y.
/// </para>
/// <para>
/// Exact by dynamic programming over intervals: for each the least length as one item and as a row. An interval is one item
/// where it has a period, or where its end repeats its beginning in one of the three ways, which tables of longest common
/// extensions tell in constant time. Time O(n³), memory O(n²) for n steps.
/// </para>
/// <para>
/// Sources: codes of iteration, symmetry and alternation, whose shortest form is the load (van der Helm &amp; Leeuwenberg
/// 1991; van der Helm, van Lier &amp; Leeuwenberg, Perception 21, 1992, 517–544), with the minimum over parts that makes
/// interval recursion exact; shortest programs with repetition and nesting predict what people remember of a sequence
/// (Planton et al., PLoS Comput. Biol. 2021; Al Roumi et al. 2021). None of these studied stitched routes.
/// </para>
/// </remarks>
internal sealed class ShortestDescription
{
    private const int Never = int.MaxValue / 4;
    private const int Token = -1;
    private const int Row = -2;

    private readonly int[] forward;
    private readonly int n;
    private readonly int[] item;
    private readonly int[] row;
    private readonly int[] itemChoice;
    private readonly int[] rowChoice;

    private ShortestDescription(int[] forward, int[] backward, int most)
    {
        this.forward = forward;
        n = forward.Length;
        int size = (n + 1) * (n + 1);
        item = new int[size];
        row = new int[size];
        itemChoice = new int[size];
        rowChoice = new int[size];
        Solve(backward, most);
    }

    /// <summary>The length of the shortest description.</summary>
    public int Length => n == 0 ? 0 : row[n];

    /// <summary>Solves for steps that read as <paramref name="forward"/>, and backwards as <paramref name="backward"/>.</summary>
    public static ShortestDescription Of(int[] forward, int[] backward) => new(forward, backward, forward.Length);

    /// <summary>
    /// The lengths for a closed thread, whose first step's turn is the one from its last: entry i for the thread begun at
    /// step i. Where the steps repeat all round, one period is solved for and counted.
    /// </summary>
    public static int[] OfClosed(int[] forward, int[] backward)
    {
        int n = forward.Length;
        int period = PeriodOf(forward);
        int[] twice = new int[2 * period];
        int[] twiceBack = new int[2 * period];
        for (int i = 0; i < twice.Length; i++)
        {
            twice[i] = forward[i % period];
            twiceBack[i] = backward[i % period];
        }

        ShortestDescription d = new(twice, twiceBack, period);
        int[] lengths = new int[n];
        for (int i = 0; i < n; i++)
        {
            int k = i % period;
            lengths[i] = period < n ? 1 + d.Bracketed(k, k + period) : d.row[d.At(k, k + n)];
        }

        return lengths;
    }

    /// <summary>The least number of steps after which all of them come again, round and round.</summary>
    public static int PeriodOf(int[] forward)
    {
        int n = forward.Length;
        for (int p = 1; p < n; p++)
        {
            if (n % p == 0 && forward.AsSpan(p).SequenceEqual(forward.AsSpan(0, n - p)))
            {
                return p;
            }
        }

        return n;
    }

    /// <summary>The shortest description itself.</summary>
    public IReadOnlyList<CallItem> Write() => WriteRow(0, n);

    private int At(int i, int j) => i * (n + 1) + j;

    // What stands before a count or a mark: one item, or a row in brackets.
    private int Bracketed(int i, int j) => Math.Min(item[At(i, j)], row[At(i, j)] + 1);

    private void Solve(int[] backward, int most)
    {
        (ushort[] same, ushort[] mirror, ushort[] back, ushort[] backMirror) = Extensions(backward);
        for (int length = 1; length <= most; length++)
        {
            for (int i = 0; i + length <= n; i++)
            {
                int j = i + length;
                int at = At(i, j);
                int best = length == 1 ? 1 : Never;
                int choice = Token;
                for (int p = 1; p <= length / 2; p++)
                {
                    if (length % p == 0 && same[At(i, i + p)] >= length - p)
                    {
                        int cost = 1 + Bracketed(i, i + p);
                        if (cost < best)
                        {
                            (best, choice) = (cost, p);
                        }
                    }
                }

                for (int k = 1; k <= length / 2; k++)
                {
                    // Two marks cost 2, so that the mirror and the way back alone win where they fit too.
                    int kind =
                        mirror[At(i, j - k)] >= k ? 1
                        : backMirror[At(i + k - 1, j - k)] >= k ? 2
                        : back[At(i + k - 1, j - k)] >= k ? 3
                        : 0;
                    if (kind == 0)
                    {
                        continue;
                    }

                    int cost =
                        (kind == 3 ? 2 : 1)
                        + (2 * k == length ? Bracketed(i, i + k) : row[At(i, i + k)] + row[At(i + k, j - k)] + 1);
                    if (cost < best)
                    {
                        (best, choice) = (cost, n * kind + k);
                    }
                }

                item[at] = best;
                itemChoice[at] = choice;
                int least = best;
                int split = Row;
                for (int m = i + 1; m < j; m++)
                {
                    int cost = item[At(i, m)] + row[At(m, j)];
                    if (cost < least)
                    {
                        (least, split) = (cost, m);
                    }
                }

                row[at] = least;
                rowChoice[at] = split;
            }
        }
    }

    /// <summary>
    /// How many steps from b on repeat those from a on: as they are, mirrored; or those from a back, as travelled backwards, and
    /// the mirror image of that (where the first one's turn is free).
    /// </summary>
    private (ushort[] Same, ushort[] Mirror, ushort[] Back, ushort[] BackMirror) Extensions(int[] backward)
    {
        int size = (n + 1) * (n + 1);
        ushort[] same = new ushort[size];
        ushort[] mirror = new ushort[size];
        ushort[] back = new ushort[size];
        ushort[] backMirror = new ushort[size];
        int[] mirrored = [.. forward.Select(CallCode.Mirrored)];
        int[] backMirrored = [.. backward.Select(CallCode.Mirrored)];
        for (int a = n - 1; a >= 0; a--)
        {
            for (int b = n - 1; b > a; b--)
            {
                same[At(a, b)] = forward[b] == forward[a] ? (ushort)(same[At(a + 1, b + 1)] + 1) : (ushort)0;
                mirror[At(a, b)] = forward[b] == mirrored[a] ? (ushort)(mirror[At(a + 1, b + 1)] + 1) : (ushort)0;
            }
        }

        // inner: with its turn compared; the tables asked from outside leave the first turn free.
        ushort[] inner = new ushort[size];
        ushort[] innerMirror = new ushort[size];
        for (int a = 0; a < n; a++)
        {
            for (int b = n - 1; b > a; b--)
            {
                int rest = a > 0 ? inner[At(a - 1, b + 1)] : 0;
                int restMirror = a > 0 ? innerMirror[At(a - 1, b + 1)] : 0;
                inner[At(a, b)] = forward[b] == backward[a] ? (ushort)(rest + 1) : (ushort)0;
                innerMirror[At(a, b)] = forward[b] == backMirrored[a] ? (ushort)(restMirror + 1) : (ushort)0;
                back[At(a, b)] = ((forward[b] ^ backward[a]) & ~CallCode.TurnBits) == 0 ? (ushort)(rest + 1) : (ushort)0;
                backMirror[At(a, b)] =
                    ((forward[b] ^ backMirrored[a]) & ~CallCode.TurnBits) == 0 ? (ushort)(restMirror + 1) : (ushort)0;
            }
        }

        return (same, mirror, back, backMirror);
    }

    private List<CallItem> WriteRow(int i, int j)
    {
        List<CallItem> items = [];
        while (i < j)
        {
            int split = rowChoice[At(i, j)];
            int end = split == Row ? j : split;
            items.Add(WriteItem(i, end));
            i = end;
        }

        return items;
    }

    private CallItem WriteItem(int i, int j)
    {
        int choice = itemChoice[At(i, j)];
        if (choice == Token)
        {
            return CallCode.StepOf(forward[i]);
        }

        if (choice < n)
        {
            return new CallRepeat((j - i) / choice, WriteRow(i, i + choice));
        }

        // k is at most n / 2, so n × kind + k tells both.
        (int kind, int k) = (choice / n, choice % n);
        AgainKind how = kind switch
        {
            1 => AgainKind.Mirrored,
            2 => AgainKind.Backwards,
            _ => AgainKind.BackwardsMirrored,
        };
        int turn = forward[j - k];
        return new CallAgain(
            how,
            WriteRow(i, i + k),
            WriteRow(i + k, j - k),
            how == AgainKind.Mirrored ? null : CallCode.TurnOf(turn),
            how != AgainKind.Mirrored && CallCode.StepsAcross(turn)
        );
    }

    /// <summary>The length of a description, by the rules above.</summary>
    public static int LengthOf(IReadOnlyList<CallItem> items) => items.Sum(LengthOf);

    private static int LengthOf(CallItem item) =>
        item switch
        {
            CallRepeat r => 1 + LengthOf(r.Items) + (r.Items.Count > 1 ? 1 : 0),
            CallAgain a => (a.Kind == AgainKind.BackwardsMirrored ? 2 : 1)
                + LengthOf(a.Items)
                + LengthOf(a.Between)
                + (a.Items.Count > 1 || a.Between.Count > 0 ? 1 : 0),
            _ => 1,
        };
}
