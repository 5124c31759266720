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
/// where it has a period, or where its end says its beginning again in one of the three ways. All such intervals are found
/// beforehand along the diagonals of the comparison of the steps with themselves, and few intervals are any, so a row is tried
/// to begin with one step or one of those items only. Time O(n² + n·c) and memory O(n² + c) for n steps and c intervals that
/// are items; c is O(n³) at worst, where all steps are one.
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
    private const int Whole = 0;

    private readonly int[] forward;
    private readonly int n;
    private readonly int most;
    private readonly int[] item;
    private readonly int[] row;
    private readonly int[] itemChoice;
    private readonly int[] rowChoice;

    // Ways in which intervals are items: a list for each interval, chained.
    private readonly int[] firstWay;
    private readonly List<(int Way, int Next)> ways = [];

    private ShortestDescription(int[] forward, int[] counted, int[] backward, int most)
    {
        this.forward = forward;
        this.most = most;
        n = forward.Length;
        int size = n * (most + 1) + most + 2;
        item = new int[size];
        row = new int[size];
        itemChoice = new int[size];
        rowChoice = new int[size];
        firstWay = new int[size];
        FindRepeats();
        FindMirrors();
        FindBackwards(counted, [.. backward.Select(CallCode.Mirrored)], AgainKind.Backwards);
        FindBackwards(counted, backward, AgainKind.BackwardsMirrored);
        Solve();
    }

    /// <summary>The length of the shortest description.</summary>
    public int Length => n == 0 ? 0 : row[At(0, n)];

    /// <summary>Solves for the steps of one thread.</summary>
    public static ShortestDescription Of(ThreadSteps steps) => Of(steps, 0, steps.Count);

    /// <summary>Solves for the steps from one on and before another.</summary>
    public static ShortestDescription Of(ThreadSteps steps, int from, int to) =>
        new(steps.Forward[from..to], steps.Counted[from..to], steps.Backward[from..to], to - from);

    /// <summary>
    /// True where the description leads as it should: what is said backwards takes as many pieces as it took, also where it
    /// is said several times and the lines run to ends of different lengths.
    /// </summary>
    public static bool Leads(IReadOnlyList<CallItem> items, Func<int, int> movesOf)
    {
        int at = 0;
        return LeadsRow(items);

        bool LeadsRow(IReadOnlyList<CallItem> told)
        {
            foreach (CallItem part in told)
            {
                switch (part)
                {
                    case CallRepeat r:
                        for (int i = 0; i < r.Times; i++)
                        {
                            if (!LeadsRow(r.Items))
                            {
                                return false;
                            }
                        }

                        break;
                    case CallAgain a:
                        int begin = at;
                        if (!LeadsRow(a.Items))
                        {
                            return false;
                        }

                        int end = at;
                        if (!LeadsRow(a.Between))
                        {
                            return false;
                        }

                        if (a.Kind == AgainKind.Mirrored)
                        {
                            if (!LeadsRow(a.Items))
                            {
                                return false;
                            }

                            break;
                        }

                        for (int i = end - 1; i >= begin; i--, at++)
                        {
                            if (movesOf(at) != movesOf(i))
                            {
                                return false;
                            }
                        }

                        break;
                    default:
                        at++;
                        break;
                }
            }

            return true;
        }
    }

    /// <summary>
    /// The lengths for a closed thread, whose first step's turn is the one from its last: entry i for the thread begun at
    /// step i. Where the steps repeat all round, one period is solved for and counted.
    /// </summary>
    public static int[] OfClosed(ThreadSteps steps)
    {
        int[] named = steps.Forward;
        int count = named.Length;
        int period = PeriodOf(named);
        int[] twice = new int[2 * period];
        int[] twiceCounted = new int[2 * period];
        int[] twiceBack = new int[2 * period];
        for (int i = 0; i < twice.Length; i++)
        {
            twice[i] = named[i % period];
            twiceCounted[i] = steps.Counted[i % period];
            twiceBack[i] = steps.Backward[i % period];
        }

        ShortestDescription d = new(twice, twiceCounted, twiceBack, period);
        int[] lengths = new int[count];
        for (int i = 0; i < count; i++)
        {
            int k = i % period;
            lengths[i] = period < count ? 1 + d.Bracketed(k, k + period) : d.row[d.At(k, k + count)];
        }

        return lengths;
    }

    /// <summary>The least number of steps after which all of them come again, round and round.</summary>
    public static int PeriodOf(int[] named)
    {
        int count = named.Length;
        for (int p = 1; p < count; p++)
        {
            if (count % p == 0 && named.AsSpan(p).SequenceEqual(named.AsSpan(0, count - p)))
            {
                return p;
            }
        }

        return count;
    }

    /// <summary>The shortest description itself.</summary>
    public IReadOnlyList<CallItem> Write() => WriteRow(0, n);

    private int At(int i, int j) => i * (most + 1) + j - i;

    // What stands before a count or a mark: one item, or a row in brackets.
    private int Bracketed(int i, int j) => Math.Min(item[At(i, j)], row[At(i, j)] + 1);

    // A way is 4 × the steps that are said again + how: 0 repeated, 1 mirrored, 2 backwards, 3 backwards and mirrored.
    private void Note(int i, int length, int said, int how)
    {
        int at = At(i, i + length);
        ways.Add((4 * said + how, firstWay[at]));
        firstWay[at] = ways.Count;
    }

    private void FindRepeats()
    {
        for (int p = 1; p <= most / 2; p++)
        {
            int alike = 0;
            for (int i = n - p - 1; i >= 0; i--)
            {
                alike = forward[i] == forward[i + p] ? alike + 1 : 0;
                for (int length = 2 * p; length <= most && length - p <= alike; length += p)
                {
                    Note(i, length, p, 0);
                }
            }
        }
    }

    private void FindMirrors()
    {
        int[] mirrored = [.. forward.Select(CallCode.Mirrored)];
        for (int shift = 1; shift < most; shift++)
        {
            int alike = 0;
            for (int i = n - shift - 1; i >= 0; i--)
            {
                alike = mirrored[i] == forward[i + shift] ? alike + 1 : 0;
                for (int k = Math.Min(alike, Math.Min(shift, most - shift)); k > 0; k--)
                {
                    NoteAgain(i, shift + k, k, AgainKind.Mirrored);
                }
            }
        }
    }

    // backward: how each step reads when it is come back to from the next.
    private void FindBackwards(int[] counted, int[] backward, AgainKind kind)
    {
        for (int sum = 1; sum <= 2 * n - 3; sum++)
        {
            // Steps a and b = sum − a, from the outermost pair inwards; the innermost pair's turn is free.
            int alike = 0;
            for (int a = Math.Max(0, sum - n + 1); 2 * a < sum; a++)
            {
                int b = sum - a;
                if (b - a + 1 <= most && ((counted[b] ^ backward[a]) & ~CallCode.TurnBits) == 0)
                {
                    for (int k = Math.Min(alike + 1, (most - (b - a - 1)) / 2); k > 0; k--)
                    {
                        NoteAgain(a - k + 1, b - a + 2 * k - 1, k, kind);
                    }
                }

                alike = counted[b] == backward[a] ? alike + 1 : 0;
            }
        }
    }

    // One step said again round others costs what it saves.
    private void NoteAgain(int i, int length, int said, AgainKind kind)
    {
        if (said > 1 || length == 2)
        {
            Note(i, length, said, 1 + (int)kind);
        }
    }

    private void Solve()
    {
        List<int> shorter = [];
        for (int i = n - 1; i >= 0; i--)
        {
            shorter.Clear();
            int longest = Math.Min(most, n - i);
            for (int length = 1; length <= longest; length++)
            {
                int j = i + length;
                int at = At(i, j);
                int best = length == 1 ? 1 : Never;
                int choice = Token;
                for (int w = firstWay[at]; w > 0; w = ways[w - 1].Next)
                {
                    int way = ways[w - 1].Way;
                    int cost = CostOf(i, j, way >> 2, way & 3);

                    // Of ways that cost the same: repeats, mirrors, backwards; the shorter part first.
                    if (cost < best || (cost == best && Order(way) < Order(choice)))
                    {
                        (best, choice) = (cost, way);
                    }
                }

                item[at] = best;
                itemChoice[at] = choice;
                int least = best;
                int split = Whole;
                if (length > 1 && 1 + row[At(i + 1, j)] < least)
                {
                    (least, split) = (1 + row[At(i + 1, j)], 1);
                }

                foreach (int part in shorter)
                {
                    int cost = item[At(i, i + part)] + row[At(i + part, j)];
                    if (cost < least)
                    {
                        (least, split) = (cost, part);
                    }
                }

                row[at] = least;
                rowChoice[at] = split;
                if (best < length)
                {
                    shorter.Add(length);
                }
            }
        }

        int Order(int way) => way == Token ? int.MaxValue : (way & 3) * n + (way >> 2);
    }

    private int CostOf(int i, int j, int said, int how)
    {
        int one = Bracketed(i, i + said);
        if (how == 0)
        {
            return 1 + one;
        }

        int marks = how == 3 ? 2 : 1;
        return 2 * said == j - i ? one + marks : row[At(i, i + said)] + row[At(i + said, j - said)] + 1 + marks;
    }

    private List<CallItem> WriteRow(int i, int j)
    {
        List<CallItem> items = [];
        while (i < j)
        {
            int split = rowChoice[At(i, j)];
            int end = split == Whole ? j : i + split;
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

        (int k, int kind) = (choice >> 2, choice & 3);
        if (kind == 0)
        {
            return new CallRepeat((j - i) / k, WriteRow(i, i + k));
        }

        AgainKind how = (AgainKind)(kind - 1);
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
