using OverlayPlanner.Geometry;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing.Trails;

/// <summary>What a pass through a junction costs the hands; less is better. Only sums are compared.</summary>
internal static class PassCost
{
    /// <summary>A new placement of the ruler.</summary>
    public const int Step = 1000;

    // Handbook 3.2: stop or almost stop at each sharp point. A full turn back weighs as much as a third of a placement.
    private const double TurnPerRadian = 330 / Math.PI;

    // As in StitchStep: a hand follows a bend of two degrees without placing the ruler anew (common practice, no source).
    private const double StraightWithin = 2 * Math.PI / 180;

    /// <summary>Cost of arriving along one half-edge's line and leaving by another's.</summary>
    public static int Of(Edge<ClothSpace> leaving1, Edge<ClothSpace> leaving2)
    {
        double turn = Math.PI - Math.Abs(leaving1.StartDirection.AngleTo(leaving2.StartDirection));
        return leaving1.IsLine && leaving2.IsLine && turn <= StraightWithin ? 0 : Step + (int)(turn * TurnPerRadian);
    }

    /// <summary>True where the two lines run straight on through the junction, so that one ruler serves both.</summary>
    public static bool IsStraight(Edge<ClothSpace> leaving1, Edge<ClothSpace> leaving2) =>
        Math.PI - Math.Abs(leaving1.StartDirection.AngleTo(leaving2.StartDirection)) <= StraightWithin;
}

/// <summary>
/// Pairs the ends of strands at every junction so that they become trails which never cross, one for each wanted run, with
/// little turning.
/// </summary>
/// <remarks>
/// <para>
/// A strand is one stitching of a line; a doubled line is two strands side by side (the order of the two is turned round at
/// the other end, as in a ribbon). At each junction the pairing is a non-crossing matching of the ends around it, some ends
/// staying loose. The cheapest such matching at each junction alone is an interval recursion; it may leave closed loops. A
/// loop meets the rest of its piece at a junction where two neighbouring ends belong to different trails, and pairing those
/// two, and their old partners, joins the trails and crosses nothing; so the wanted number of runs is always reached. Loops
/// are joined where that costs least, first. Where every junction has two or four ends this is Kruskal's rule on the graph
/// whose points are the dark faces (theory: non-crossing circuits are spanning trees, Las Vergnas 1983), hence the least
/// possible cost; elsewhere exchanges of two re-pairings improve it until none helps.
/// </para>
/// <para>O(ends³) for one junction's recursion; joining is O(k·n) for k loops and n strands.</para>
/// </remarks>
internal sealed class TrailSystem
{
    private const int Loose = -1;
    private const int Forced = -1_000_000;
    private const int CrossingStitched = 100_000;

    // Exchanges compare all pairs of re-pairings; beyond this many comparisons the joined trails are kept as they are.
    private const long MostExchanges = 3_000_000;

    // Each is a whole order of the runs.
    private const int MostTailExchanges = 300;

    private readonly StitchGraph graph;
    private readonly int[] lineOf;
    private readonly int[][] rotation;
    private readonly int[] place;
    private readonly int[] nodeOf;
    private readonly int[] partner;
    private readonly int[] loose;
    private readonly TrailStyle style;
    private readonly int[] trail;
    private readonly int[] time;
    private readonly List<bool> isLoop = [];
    private readonly int[][] cost;
    private readonly HashSet<int> pinned;
    private readonly CancellationToken cancellation;

    private TrailSystem(
        StitchGraph graph,
        IReadOnlyList<int> doubled,
        int[] loose,
        TrailWishes wishes,
        CancellationToken cancellation
    )
    {
        this.graph = graph;
        this.loose = loose;
        style = wishes.Style;
        this.cancellation = cancellation;
        int lines = graph.Lines.Count;
        int[] copy = new int[lines];
        Array.Fill(copy, -1);
        int strands = lines + doubled.Count;
        lineOf = new int[strands];
        for (int e = 0; e < lines; e++)
        {
            lineOf[e] = e;
        }

        for (int k = 0; k < doubled.Count; k++)
        {
            lineOf[lines + k] = doubled[k];
            copy[doubled[k]] = lines + k;
        }

        int nodes = graph.Plane.Nodes.Count;
        rotation = new int[nodes][];
        nodeOf = new int[2 * strands];
        place = new int[2 * strands];
        cost = new int[nodes][];
        for (int v = 0; v < nodes; v++)
        {
            List<int> around = [];
            foreach (int h in graph.Plane.Around(v))
            {
                int second = copy[h >> 1];
                if (second < 0)
                {
                    around.Add(h);
                }
                else if ((h & 1) == 0)
                {
                    around.Add(h);
                    around.Add(2 * second);
                }
                else
                {
                    around.Add(2 * second + 1);
                    around.Add(h);
                }
            }

            rotation[v] = [.. around];
            for (int i = 0; i < around.Count; i++)
            {
                nodeOf[around[i]] = v;
                place[around[i]] = i;
            }
        }

        pinned = [];
        foreach (LooseEnd end in wishes.LooseEnds)
        {
            // The anticlockwise later strand of a doubled line is the second at its first junction, the first at its other.
            int second = copy[end.HalfEdge >> 1];
            bool takeSecond = second >= 0 && end.Later == ((end.HalfEdge & 1) == 0);
            pinned.Add(takeSecond ? 2 * second + (end.HalfEdge & 1) : end.HalfEdge);
        }

        partner = new int[2 * strands];
        trail = new int[2 * strands];
        time = new int[2 * strands];
        for (int v = 0; v < nodes; v++)
        {
            int d = rotation[v].Length;
            cost[v] = new int[d * d];
            for (int i = 0; i < d; i++)
            {
                for (int j = i + 1; j < d; j++)
                {
                    int price = wishes.PassPrice?.Invoke(HalfEdge(rotation[v][i]), HalfEdge(rotation[v][j])) ?? 0;
                    cost[v][i * d + j] = cost[v][j * d + i] =
                        PassCost.Of(Along(rotation[v][i]), Along(rotation[v][j])) + price;
                }
            }
        }

        foreach ((int v, Edge<ClothSpace> @in, Edge<ClothSpace> @out) in wishes.Passed)
        {
            ChargeForCrossing(v, @in, @out);
        }
    }

    // Crossing what is stitched already can't always be avoided; it costs more than any turning, less than a forced end.
    private void ChargeForCrossing(int v, Edge<ClothSpace> @in, Edge<ClothSpace> @out)
    {
        int d = rotation[v].Length;
        for (int i = 0; i < d; i++)
        {
            for (int j = i + 1; j < d; j++)
            {
                if (CrossingCounter.Alternate(@in, @out, Along(rotation[v][i]), Along(rotation[v][j])))
                {
                    cost[v][i * d + j] = cost[v][j * d + i] = cost[v][i * d + j] + CrossingStitched;
                }
            }
        }
    }

    /// <summary>
    /// The trails: each a list of strand ends in order of travel, where end h means its strand travelled from h's junction;
    /// h / 2 is a line's index, or a doubled line's second strand.
    /// </summary>
    /// <param name="graph">The lines.</param>
    /// <param name="doubled">Lines stitched twice.</param>
    /// <param name="loose">Thread ends at each junction.</param>
    /// <param name="wishes">How to pass, ends that must stay loose, wished start and end.</param>
    /// <param name="cancellation">Looked at between loops.</param>
    public static IReadOnlyList<Trail> Trace(
        StitchGraph graph,
        IReadOnlyList<int> doubled,
        int[] loose,
        TrailWishes wishes,
        CancellationToken cancellation = default
    )
    {
        TrailSystem system = Solve(graph, doubled, loose, wishes, cancellation);
        return system.Collect();
    }

    /// <summary>The pairing that <see cref="Trace"/> makes trails of, for those who choose among its equals.</summary>
    public static StrandPairing PairUp(
        StitchGraph graph,
        IReadOnlyList<int> doubled,
        int[] loose,
        TrailWishes wishes,
        CancellationToken cancellation = default
    )
    {
        TrailSystem system = Solve(graph, doubled, loose, wishes, cancellation);
        return new(system.lineOf, system.rotation, system.partner, system.pinned);
    }

    private static TrailSystem Solve(
        StitchGraph graph,
        IReadOnlyList<int> doubled,
        int[] loose,
        TrailWishes wishes,
        CancellationToken cancellation
    )
    {
        TrailSystem system = new(graph, doubled, loose, wishes, cancellation);
        system.PairCheaply();
        system.JoinLoops();
        system.Exchange();
        if (wishes.Start is { } start && wishes.End is { } end)
        {
            system.PartStartFromEnd(start, end);
        }

        if (wishes.Links.Count > 0)
        {
            system.Link(wishes.Links);
        }

        if (wishes.Restarts is { } restarts)
        {
            system.ExchangeTails(restarts);
        }

        return system;
    }

    /// <summary>
    /// Exchanges tails of open trails, one or two at a time, until trails lead between the wished ends or no exchange brings
    /// more of them about.
    /// </summary>
    private void Link(IReadOnlyList<(int From, int To)> links)
    {
        const int MostTried = 400;
        Label();
        while (Linked() < links.Count)
        {
            cancellation.ThrowIfCancellationRequested();
            int now = Linked();
            Repairing[] options = [.. Exchanges().OrderBy(r => r.Change).Take(MostTried)];
            if (!options.Any(r => TryOne(r, now)) && !options.Any(r => TryTwo(r, now)))
            {
                return;
            }
        }

        bool TryOne(Repairing r, int now)
        {
            Apply(r);
            Label();
            if (Linked() > now)
            {
                return true;
            }

            Undo(r);
            Label();
            return false;
        }

        bool TryTwo(Repairing r, int now)
        {
            Apply(r);
            Label();
            foreach (Repairing second in Exchanges().Where(x => nodeOf[x.A] != nodeOf[r.A]).Take(MostTried))
            {
                if (TryOne(second, now))
                {
                    return true;
                }
            }

            Undo(r);
            Label();
            return false;
        }

        // Exchanges between two open trails, and turnings of a stretch of one.
        IEnumerable<Repairing> Exchanges() => FindRepairings().Where(r => r.D != Loose && LoopChange(r) == 0);

        int Linked()
        {
            Dictionary<int, (int, int)> ends = [];
            for (int h = 0; h < partner.Length; h++)
            {
                if (partner[h] == Loose)
                {
                    ends[trail[h]] = ends.TryGetValue(trail[h], out (int First, int Second) known)
                        ? (known.First, nodeOf[h])
                        : (nodeOf[h], -1);
                }
            }

            List<(int First, int Second)> free = [.. ends.Values];
            int count = 0;
            foreach ((int from, int to) in links)
            {
                int i = free.FindIndex(t => t == (from, to) || t == (to, from));
                if (i >= 0)
                {
                    count++;
                    free.RemoveAt(i);
                }
            }

            return count;
        }
    }

    /// <summary>
    /// Where two runs meet at a point they may go on along each other's lines: tries such exchanges, those that turn the hands
    /// least first, as long as one of them leaves fewer restarts. The runs stay as many, and cross nothing.
    /// </summary>
    private void ExchangeTails(Func<IReadOnlyList<Trail>, int> restarts)
    {
        int now = restarts(Collect());
        int tries = 0;
        for (bool better = true; better && now > 1 && tries < MostTailExchanges; )
        {
            better = false;
            Label();
            foreach (Repairing r in FindRepairings().OrderBy(r => r.Change))
            {
                if (r.D == Loose || trail[r.A] == trail[r.C] || isLoop[trail[r.A]] || isLoop[trail[r.C]])
                {
                    continue;
                }

                cancellation.ThrowIfCancellationRequested();
                Apply(r);
                int then = restarts(Collect());
                if (then < now)
                {
                    (now, better) = (then, true);
                    break;
                }

                Undo(r);
                Label();
                if (++tries >= MostTailExchanges)
                {
                    break;
                }
            }
        }
    }

    /// <summary>
    /// Where several runs are made and one leads from the wished start to the wished end, it would be first and last at once:
    /// exchanges tails with another run of its piece.
    /// </summary>
    private void PartStartFromEnd(int start, int end)
    {
        Label();
        if (isLoop.Count < 2 || !Leads())
        {
            return;
        }

        foreach (Repairing r in FindRepairings().OrderBy(r => r.Change))
        {
            if (r.D == Loose || trail[r.A] == trail[r.C] || isLoop[trail[r.A]] || isLoop[trail[r.C]])
            {
                continue;
            }

            Apply(r);
            Label();
            if (!Leads())
            {
                return;
            }

            Undo(r);
            Label();
        }

        // True where no order of the runs has one that starts at the start before another that ends at the end.
        bool Leads()
        {
            int[] starts = [.. rotation[start].Where(h => partner[h] == Loose).Select(h => trail[h])];
            int[] ends = [.. rotation[end].Where(h => partner[h] == Loose).Select(h => trail[h])];
            return !starts.Any(s => ends.Any(e => e != s));
        }
    }

    private Edge<ClothSpace> Along(int h)
    {
        Edge<ClothSpace> path = graph.Lines[lineOf[h >> 1]].Path;
        return (h & 1) == 0 ? path : path.Reversed;
    }

    private int HalfEdge(int h) => 2 * lineOf[h >> 1] + (h & 1);

    private int CostOf(int a, int b)
    {
        int v = nodeOf[a];
        return cost[v][place[a] * rotation[v].Length + place[b]];
    }

    private void PairCheaply()
    {
        for (int v = 0; v < rotation.Length; v++)
        {
            if (rotation[v].Length == 0)
            {
                continue;
            }

            if (style == TrailStyle.Smooth)
            {
                PairSmoothly(v);
                continue;
            }

            if (style == TrailStyle.Through && PairThrough(v))
            {
                continue;
            }

            PairWithoutCrossing(v);
        }
    }

    /// <summary>Least turning at one junction alone, crossings or not: an exact matching of its ends.</summary>
    private void PairSmoothly(int v)
    {
        int[] around = rotation[v];
        int d = around.Length;
        List<MatchingEdge> edges = [];
        for (int i = 0; i < d; i++)
        {
            for (int j = i + 1; j < d; j++)
            {
                edges.Add(new(i, j, 10_000 - cost[v][i * d + j]));
            }

            for (int k = 0; k < loose[v]; k++)
            {
                edges.Add(new(i, d + k, 10_000));
            }
        }

        (int[] match, _) = MaximumMatching.Find(d + loose[v], edges, true, cancellation);
        for (int i = 0; i < d; i++)
        {
            partner[around[i]] = match[i] < d ? around[match[i]] : Loose;
        }
    }

    private bool PairThrough(int v)
    {
        int[] around = rotation[v];
        if (
            around.Length != 4
            || loose[v] != 0
            || !IsStraightPair(around[0], around[2])
            || !IsStraightPair(around[1], around[3])
        )
        {
            return false;
        }

        Pair(around[0], around[2]);
        Pair(around[1], around[3]);
        return true;
    }

    private bool IsStraightPair(int a, int b) =>
        lineOf[a >> 1] != lineOf[b >> 1] && PassCost.IsStraight(Along(a), Along(b));

    /// <summary>Cheapest non-crossing matching of the ends round one junction that leaves the wanted number loose.</summary>
    private void PairWithoutCrossing(int v)
    {
        int[] around = rotation[v];
        int d = around.Length;
        int wanted = loose[v];
        int[] c = cost[v];
        const int Never = int.MaxValue / 4;

        // best[i, j, k]: ends i … j − 1 among themselves, k of them loose.
        int[,,] best = new int[d + 1, d + 1, wanted + 1];
        int[,,] choice = new int[d + 1, d + 1, wanted + 1];
        for (int i = d; i >= 0; i--)
        {
            for (int j = i; j <= d; j++)
            {
                for (int k = 0; k <= wanted; k++)
                {
                    int value = i == j ? (k == 0 ? 0 : Never) : Never;
                    int chosen = Loose;
                    if (i < j && k > 0)
                    {
                        int rest = best[i + 1, j, k - 1];
                        if (rest < Never)
                        {
                            value = rest + (pinned.Contains(around[i]) ? Forced : 0);
                        }
                    }

                    for (int m = i + 1; m < j; m++)
                    {
                        for (int inside = 0; inside <= k; inside++)
                        {
                            int a = best[i + 1, m, inside];
                            int b = best[m + 1, j, k - inside];
                            if (a < Never && b < Never && a + b + c[i * d + m] < value)
                            {
                                value = a + b + c[i * d + m];
                                chosen = m * (wanted + 1) + inside;
                            }
                        }
                    }

                    best[i, j, k] = value;
                    choice[i, j, k] = chosen;
                }
            }
        }

        Unfold(0, d, wanted);

        void Unfold(int i, int j, int k)
        {
            while (i < j)
            {
                int chosen = choice[i, j, k];
                if (chosen == Loose)
                {
                    partner[around[i]] = Loose;
                    i++;
                    k--;
                    continue;
                }

                int m = chosen / (wanted + 1);
                int inside = chosen % (wanted + 1);
                Pair(around[i], around[m]);
                Unfold(i + 1, m, inside);
                i = m + 1;
                k -= inside;
            }
        }
    }

    private void Pair(int a, int b)
    {
        partner[a] = b;
        partner[b] = a;
    }

    /// <summary>Numbers the trails and says when each strand end is passed.</summary>
    private void Label()
    {
        Array.Fill(trail, -1);
        isLoop.Clear();
        for (int h = 0; h < partner.Length; h++)
        {
            if (partner[h] == Loose && trail[h] < 0)
            {
                Walk(h, isLoop.Count);
                isLoop.Add(false);
            }
        }

        for (int h = 0; h < partner.Length; h++)
        {
            if (trail[h] < 0)
            {
                Walk(h, isLoop.Count);
                isLoop.Add(true);
            }
        }
    }

    private void Walk(int start, int id)
    {
        int t = 0;
        int h = start;
        do
        {
            trail[h] = trail[h ^ 1] = id;
            time[h] = t++;
            time[h ^ 1] = t++;
            h = partner[h ^ 1];
        } while (h != Loose && h != start);
    }

    // Loops beyond the one that a piece without loose ends needs.
    private int ExcessLoops()
    {
        bool[] hasOpen = new bool[graph.PieceCount];
        int[] loops = new int[graph.PieceCount];
        bool[] seen = new bool[isLoop.Count];
        for (int h = 0; h < partner.Length; h++)
        {
            int id = trail[h];
            if (seen[id])
            {
                continue;
            }

            seen[id] = true;
            int piece = graph.PieceOf(nodeOf[h]);
            if (isLoop[id])
            {
                loops[piece]++;
            }
            else
            {
                hasOpen[piece] = true;
            }
        }

        int excess = 0;
        for (int p = 0; p < loops.Length; p++)
        {
            excess += hasOpen[p] ? loops[p] : Math.Max(0, loops[p] - 1);
        }

        return excess;
    }

    /// <summary>
    /// Two passes (A, B), (C, D) become (A, C), (B, D); or, where D is none, the pass (A, B) and the loose end C become the
    /// pass (A, C) and the loose end B.
    /// </summary>
    private readonly record struct Repairing(int A, int B, int C, int D, int Change);

    private List<Repairing> FindRepairings()
    {
        List<Repairing> found = [];
        for (int v = 0; v < rotation.Length; v++)
        {
            FindRepairingsAt(v, found);
        }

        return found;
    }

    private void FindRepairingsAt(int v, List<Repairing> found)
    {
        int[] around = rotation[v];
        if (around.Length < 3)
        {
            return;
        }

        for (int i = 0; i < around.Length; i++)
        {
            int a = around[i];
            int b = partner[a];
            if (b != Loose && place[b] < i)
            {
                continue;
            }

            for (int j = i + 1; j < around.Length; j++)
            {
                int c = around[j];
                int d = partner[c];
                if (c == b || (d != Loose && place[d] < j))
                {
                    continue;
                }

                if (b == Loose && d == Loose)
                {
                    continue;
                }

                if (b != Loose && d != Loose)
                {
                    Offer(a, b, c, d);
                    Offer(a, b, d, c);
                }
                else
                {
                    (int p, int q, int end) = b == Loose ? (c, d, a) : (a, b, c);
                    if (!pinned.Contains(end))
                    {
                        Offer(p, q, end, Loose);
                        Offer(q, p, end, Loose);
                    }
                }
            }
        }

        void Offer(int a, int b, int c, int d)
        {
            if (IsAllowed(v, a, b, c, d))
            {
                int before = CostOf(a, b) + (d == Loose ? 0 : CostOf(c, d));
                int after = CostOf(a, c) + (d == Loose ? 0 : CostOf(b, d));
                found.Add(new(a, b, c, d, after - before));
            }
        }
    }

    private bool IsAllowed(int v, int a, int b, int c, int d)
    {
        if (style == TrailStyle.Smooth)
        {
            return true;
        }

        // The two new passes against each other, then against every other pass of the junction.
        if (d != Loose && Alternate(a, c, b, d) && !MayCross(v, a, c, b, d))
        {
            return false;
        }

        foreach (int x in rotation[v])
        {
            int y = partner[x];
            if (y == Loose || place[y] < place[x] || x == a || x == b || x == c || x == d)
            {
                continue;
            }

            if (
                (Alternate(a, c, x, y) && !MayCross(v, a, c, x, y))
                || (d != Loose && Alternate(b, d, x, y) && !MayCross(v, b, d, x, y))
            )
            {
                return false;
            }
        }

        return true;
    }

    private bool MayCross(int v, int a, int b, int c, int d) =>
        style == TrailStyle.Through && rotation[v].Length == 4 && IsStraightPair(a, b) && IsStraightPair(c, d);

    private bool Alternate(int a, int b, int c, int d)
    {
        int low = Math.Min(place[a], place[b]);
        int high = Math.Max(place[a], place[b]);
        bool cInside = place[c] > low && place[c] < high;
        bool dInside = place[d] > low && place[d] < high;
        return cInside != dInside;
    }

    private bool Stands(in Repairing r) =>
        partner[r.A] == r.B && (r.D == Loose ? partner[r.C] == Loose : partner[r.C] == r.D);

    /// <summary>How many loops the re-pairing makes (+1) or joins (−1) on the labelled trails.</summary>
    private int LoopChange(in Repairing r)
    {
        int one = trail[r.A];
        int two = trail[r.C];
        if (one != two)
        {
            return isLoop[one] || isLoop[two] ? -1 : 0;
        }

        if (r.D == Loose)
        {
            // The end C closes onto A: a loop where the trail, coming from C, reaches A before B.
            bool fromC = time[r.C] == 0;
            bool aFirst = time[r.A] < time[r.B];
            return fromC == aFirst ? 1 : 0;
        }

        // Going along the trail, each pass has an end where it arrives and one where it leaves. Pairing arrival with
        // arrival turns a stretch round; pairing arrival with departure cuts a loop off.
        return Arrives(r.A) == Arrives(r.C) ? 0 : 1;
    }

    // Time 2t is a departure, 2t + 1 an arrival.
    private bool Arrives(int h) => (time[h] & 1) == 1;

    private void Apply(in Repairing r)
    {
        Pair(r.A, r.C);
        if (r.D == Loose)
        {
            partner[r.B] = Loose;
        }
        else
        {
            Pair(r.B, r.D);
        }
    }

    private void Undo(in Repairing r)
    {
        Pair(r.A, r.B);
        if (r.D == Loose)
        {
            partner[r.C] = Loose;
        }
        else
        {
            Pair(r.C, r.D);
        }
    }

    private void JoinLoops()
    {
        Label();
        int excess = ExcessLoops();
        while (excess > 0)
        {
            cancellation.ThrowIfCancellationRequested();
            List<Repairing> options = FindRepairings();
            options.Sort((x, y) => x.Change.CompareTo(y.Change));
            int before = excess;
            HashSet<int> touched = [];
            foreach (Repairing r in options)
            {
                if (excess == 0)
                {
                    break;
                }

                // One re-pairing at a junction can make another there cross; each junction once in a sweep.
                if (touched.Contains(nodeOf[r.A]) || !Stands(r) || LoopChange(r) >= 0)
                {
                    continue;
                }

                int kept = trail[r.A];
                int gone = trail[r.C];
                Apply(r);
                touched.Add(nodeOf[r.A]);
                Relabel(
                    r.A,
                    isLoop[kept] && isLoop[gone] ? kept
                        : isLoop[kept] ? gone
                        : kept
                );
                excess--;
            }

            if (excess == before && pinned.Count > 0)
            {
                // A pinned end that a loop hangs on alone must give way; the caller sees that it is no longer loose.
                pinned.Clear();
            }
            else if (excess == before)
            {
                throw new InvalidOperationException("A loop of the route meets nothing that it could be joined to.");
            }
        }
    }

    private void Relabel(int through, int id)
    {
        // Walk back to a loose end, or once round.
        int h = through;
        do
        {
            int back = partner[h];
            if (back == Loose)
            {
                break;
            }

            h = back ^ 1;
        } while (h != through);

        Walk(h, id);
    }

    /// <summary>Re-pairings, alone or two together, that keep the number of runs and cost less, until none is left.</summary>
    private void Exchange()
    {
        for (int sweep = 0; sweep < 50; sweep++)
        {
            cancellation.ThrowIfCancellationRequested();
            Label();
            List<Repairing> options = FindRepairings();
            if (ApplySingles(options))
            {
                continue;
            }

            if ((long)options.Count * (options.Count + partner.Length) > MostExchanges || !ApplyBestOfPairs(options))
            {
                return;
            }
        }
    }

    private bool ApplySingles(List<Repairing> options)
    {
        Repairing best = default;
        foreach (Repairing r in options)
        {
            if (r.Change < best.Change && LoopChange(r) <= 0)
            {
                best = r;
            }
        }

        if (best.Change < 0)
        {
            Apply(best);
            return true;
        }

        return false;
    }

    private bool ApplyBestOfPairs(List<Repairing> options)
    {
        int least = options.Count == 0 ? 0 : options.Min(o => o.Change);

        // Read on the present labels, before the first trial moves them.
        int[] changes = [.. options.Select(o => LoopChange(o))];
        for (int i = 0; i < options.Count; i++)
        {
            Repairing first = options[i];
            if (first.Change + least >= 0 && first.Change >= 0)
            {
                continue;
            }

            int change = changes[i];
            Apply(first);
            Label();
            Repairing best = default;
            bool any = false;
            foreach (Repairing second in options)
            {
                if (
                    first.Change + second.Change < (any ? first.Change + best.Change : 0)
                    && nodeOf[second.A] != nodeOf[first.A]
                    && change + LoopChange(second) <= 0
                )
                {
                    best = second;
                    any = true;
                }
            }

            if (any)
            {
                Apply(best);
                return true;
            }

            Undo(first);
        }

        Label();
        return false;
    }

    private List<Trail> Collect()
    {
        Label();
        List<Trail> trails = [];
        bool[] done = new bool[isLoop.Count];
        for (int pass = 0; pass < 2; pass++)
        {
            for (int h = 0; h < partner.Length; h++)
            {
                if (done[trail[h]] || (pass == 0 && partner[h] != Loose))
                {
                    continue;
                }

                done[trail[h]] = true;
                List<int> ends = [];
                int k = h;
                do
                {
                    ends.Add(k);
                    k = partner[k ^ 1];
                } while (k != Loose && k != h);

                trails.Add(new([.. ends.Select(e => new TrailLeg(lineOf[e >> 1], (e & 1) == 0))], isLoop[trail[h]]));
            }
        }

        return trails;
    }
}

/// <summary>Which strand ends follow one another at the points.</summary>
/// <param name="LineOf">Line of each strand; a doubled line has two strands, the second after all first ones.</param>
/// <param name="Rotation">Strand ends round each junction, anticlockwise as seen; end 2s leaves strand s's first junction.</param>
/// <param name="Partner">The end that an end is paired with, −1 where a thread's end lies.</param>
/// <param name="Pinned">Ends that must stay loose.</param>
internal sealed record StrandPairing(int[] LineOf, int[][] Rotation, int[] Partner, IReadOnlySet<int> Pinned);

/// <summary>One line travelled.</summary>
/// <param name="Line">Index of the line.</param>
/// <param name="Forward">True from its first junction to its second.</param>
internal readonly record struct TrailLeg(int Line, bool Forward)
{
    /// <summary>The same line travelled the other way.</summary>
    public TrailLeg Reversed => new(Line, !Forward);
}

/// <summary>What one thread stitches, in order.</summary>
/// <param name="Legs">Lines in order of travel.</param>
/// <param name="IsClosed">True where it ends where it began and may begin at any of its junctions.</param>
internal sealed record Trail(IReadOnlyList<TrailLeg> Legs, bool IsClosed);

/// <summary>One end of a line at a junction that a thread's end must lie on.</summary>
/// <param name="HalfEdge">2 × line + 0 at its first junction, + 1 at its second.</param>
/// <param name="Later">Of a doubled line's two strands: the one later, anticlockwise as seen.</param>
internal readonly record struct LooseEnd(int HalfEdge, bool Later);

/// <summary>How trails pass through junctions.</summary>
internal enum TrailStyle
{
    /// <summary>Never crossing.</summary>
    NoCrossing,

    /// <summary>Straight through four-way points, crossing there; never crossing elsewhere.</summary>
    Through,

    /// <summary>With the least turning, crossing or not.</summary>
    Smooth,
}

/// <summary>What is asked of the trails.</summary>
/// <param name="Style">How they pass through junctions.</param>
/// <param name="LooseEnds">Ends that must stay loose.</param>
/// <param name="Start">Junction where the first run starts, or null.</param>
/// <param name="End">Junction where the last run ends, or null.</param>
/// <param name="PassPrice">
/// What passing from one half-edge to another costs beside the turn, in the measure of <see cref="PassCost"/>; or null.
/// </param>
/// <param name="Restarts">How many of some runs are no hop, the first one included; null where none can be.</param>
internal sealed record TrailWishes(
    TrailStyle Style,
    IReadOnlyList<LooseEnd> LooseEnds,
    int? Start,
    int? End,
    Func<int, int, int>? PassPrice = null,
    Func<IReadOnlyList<Trail>, int>? Restarts = null
)
{
    /// <summary>
    /// Passes of what is stitched already, both lines leaving the junction; they are crossed only where it can't be helped.
    /// </summary>
    public IReadOnlyList<(int Junction, Edge<ClothSpace> In, Edge<ClothSpace> Out)> Passed { get; init; } = [];

    /// <summary>Junctions between which a run should lead, where thread ends lie at both; kept where exchanges reach it.</summary>
    public IReadOnlyList<(int From, int To)> Links { get; init; } = [];
}
