namespace OverlayPlanner.Routing.Memory;

/// <summary>
/// Trails that are cut at a few sites: how many there would be with other pairings there, without walking them all.
/// </summary>
/// <remarks>
/// A strand end is 2 × strand + 0 or 1; the other end of its strand differs in the last bit. Cut at the sites in question, the
/// trails fall into stretches, each known by its two ends; only those are joined anew and counted. O(k log k) for k ends at the
/// sites, where a walk takes all of them.
/// </remarks>
internal sealed class CutTrails
{
    private const int Loose = -1;

    private readonly int[] partner;
    private readonly int[][] sites;
    private readonly int[][] inOrder;
    private readonly int[][] present;
    private readonly int[] trail;
    private readonly int[] time;
    private readonly List<bool> isClosed = [];
    private readonly int[] indexOf;
    private readonly int[] next;
    private int[] merged = new int[64];
    private int[] stretch = new int[64];
    private int[] joined = new int[64];
    private bool[] seen = new bool[64];
    private long work;

    /// <param name="partner">The pairing, shared with the caller, who says when it has changed.</param>
    /// <param name="sites">The ends of each site.</param>
    public CutTrails(int[] partner, IEnumerable<int[]> sites)
    {
        this.partner = partner;
        this.sites = [.. sites];
        inOrder = new int[this.sites.Length][];
        present = new int[this.sites.Length][];
        trail = new int[partner.Length];
        time = new int[partner.Length];
        indexOf = new int[partner.Length];
        next = new int[partner.Length];
        Label();
    }

    /// <summary>Number of trails, closed ones included.</summary>
    public int Count => isClosed.Count;

    /// <summary>Reads the pairing anew. O(strands).</summary>
    public void Label()
    {
        work += 4 * partner.Length;
        Array.Fill(trail, -1);
        isClosed.Clear();
        int clock = 0;
        for (int pass = 0; pass < 2; pass++)
        {
            for (int h = 0; h < partner.Length; h++)
            {
                if (trail[h] >= 0 || (pass == 0 && partner[h] != Loose))
                {
                    continue;
                }

                int k = h;
                do
                {
                    trail[k] = trail[k ^ 1] = isClosed.Count;
                    time[k] = clock++;
                    time[k ^ 1] = clock++;
                    k = partner[k ^ 1];
                } while (k != Loose && k != h);

                isClosed.Add(pass == 1);
            }
        }

        for (int s = 0; s < sites.Length; s++)
        {
            present[s] = [.. sites[s].Select(e => partner[e])];
            inOrder[s] = [.. sites[s]];
            Array.Sort(inOrder[s], (a, b) => time[a] - time[b]);
        }
    }

    /// <summary>True where the site is paired so already.</summary>
    public bool IsPresent(int site, int[] choice) => present[site].AsSpan().SequenceEqual(choice);

    /// <summary>Pairs the site's ends so.</summary>
    public void Put(int site, int[] choice)
    {
        for (int i = 0; i < choice.Length; i++)
        {
            partner[sites[site][i]] = choice[i];
        }
    }

    /// <summary>Pairs the site's ends as they were when last read.</summary>
    public void Restore(int site) => Put(site, present[site]);

    /// <summary>Number of trails with one site, or two, paired otherwise.</summary>
    public int CountWith(int site, int[] choice, int other = -1, int[]? otherChoice = null)
    {
        int k = Merge(site, other);
        work += 12 * k;
        for (int i = 0; i < k; i++)
        {
            indexOf[merged[i]] = i;
            seen[i] = false;
        }

        SetNext(site, choice);
        if (other >= 0)
        {
            SetNext(other, otherChoice!);
        }

        int touched = FindStretches(k);
        for (int i = 0; i < k; i++)
        {
            joined[i] = next[merged[i]] == Loose ? Loose : indexOf[next[merged[i]]];
        }

        // Paths first: from stretches that lead to a thread's end elsewhere, and from ends that are loose here.
        for (int i = 0; i < k; i++)
        {
            if (!seen[i] && stretch[i] == Loose)
            {
                FollowFromStretch(i);
            }
        }

        for (int i = 0; i < k; i++)
        {
            if (!seen[i] && joined[i] == Loose)
            {
                FollowFromPoint(i);
            }
        }

        int closed = 0;
        for (int i = 0; i < k; i++)
        {
            if (!seen[i])
            {
                closed++;
                int at = i;
                do
                {
                    seen[at] = true;
                    at = joined[at];
                    seen[at] = true;
                    at = stretch[at];
                } while (at != i);
            }
        }

        return isClosed.Count - touched + closed;
    }

    /// <summary>The work since it was last asked for, in the units of the search.</summary>
    public long TakeWork()
    {
        long done = work;
        work = 0;
        return done;
    }

    private void SetNext(int site, int[] choice)
    {
        int[] ends = sites[site];
        for (int i = 0; i < ends.Length; i++)
        {
            next[ends[i]] = choice[i];
        }
    }

    private int Merge(int site, int other)
    {
        int[] a = inOrder[site];
        int[] b = other < 0 ? [] : inOrder[other];
        int k = a.Length + b.Length;
        if (merged.Length < k)
        {
            merged = new int[2 * k];
            stretch = new int[2 * k];
            joined = new int[2 * k];
            seen = new bool[2 * k];
        }

        int i = 0;
        int j = 0;
        for (int m = 0; m < k; m++)
        {
            merged[m] = j == b.Length || (i < a.Length && time[a[i]] < time[b[j]]) ? a[i++] : b[j++];
        }

        return k;
    }

    // A departure (even time) leads along its trail to the arrival that comes next. Returns how many closed trails are cut.
    private int FindStretches(int k)
    {
        int touchedClosed = 0;
        for (int from = 0; from < k; )
        {
            int to = from;
            while (to < k && trail[merged[to]] == trail[merged[from]])
            {
                to++;
            }

            bool closed = isClosed[trail[merged[from]]];
            touchedClosed += closed ? 1 : 0;
            for (int i = from; i < to; i++)
            {
                bool departs = (time[merged[i]] & 1) == 0;
                int mate =
                    departs
                        ? (
                            i + 1 < to ? i + 1
                            : closed ? from
                            : Loose
                        )
                    : i > from ? i - 1
                    : closed ? to - 1
                    : Loose;
                stretch[i] = mate;
            }

            from = to;
        }

        return touchedClosed;
    }

    private void FollowFromStretch(int i)
    {
        int at = i;
        while (at != Loose && !seen[at])
        {
            seen[at] = true;
            at = joined[at];
            if (at != Loose)
            {
                seen[at] = true;
                at = stretch[at];
            }
        }
    }

    private void FollowFromPoint(int i)
    {
        int at = i;
        while (at != Loose && !seen[at])
        {
            seen[at] = true;
            at = stretch[at];
            if (at != Loose)
            {
                seen[at] = true;
                at = joined[at];
            }
        }
    }
}
