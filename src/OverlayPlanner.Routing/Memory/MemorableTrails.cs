using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Memory;

/// <summary>
/// Of all trails over the same lines with the same thread ends, none crossing, one that is short to say, then of few steps,
/// then of few turns, then easy for the hands.
/// </summary>
/// <remarks>
/// <para>
/// A choice is a non-crossing pairing of the strand ends at each point, such that the wanted number of threads results. The
/// pairings that a symmetry of the lines keeps give threads that say the same again after each quarter or half turn, or in a
/// mirror; so they are tried first, for each group of symmetries from the largest down: all of them where there are few, else
/// by descent. Then, from the best so far, pairings are exchanged at one or two points (or whole orbits of them) as long as
/// that shortens the call.
/// </para>
/// <para>
/// The effort is bounded by counted work, never by a clock, so the same lines always give the same trail. It is a search: no
/// claim that no trail is shorter to say, except where all pairings were few enough to try. Starts, doubled length and the
/// absence of crossings do not depend on it.
/// </para>
/// </remarks>
internal sealed class MemorableTrails
{
    private const int Loose = -1;

    // Larger designs keep the trails of least turning; no one remembers 400 strands as one call.
    private const int MostStrands = 400;

    // Work is counted in units of about a nanosecond, from the sizes of what is walked and described, never by a clock.
    private const long ShortWork = 300_000;
    private const long ThoroughWork = 2_000_000;
    private const long FewLinesWork = 3_000_000;
    private const int FewLines = 80;
    private const int ManyLines = 150;
    private const int MostEnumerated = 1500;
    private const int Seed = 20_250_117;
    private const int MostChoices = 150;
    private const int MostChoicesAlone = 42;
    private const int MostRounds = 40;

    private readonly long mostWork;
    private readonly StitchGraph graph;
    private readonly StrandPairing given;
    private readonly int[] loose;
    private readonly TrailWishes wishes;
    private readonly double[] effort;
    private readonly Func<int, int> tails;
    private readonly CallLines lines;
    private readonly int wanted;
    private readonly int[] nodeOf;
    private readonly int[] partner;
    private readonly int[] seen;
    private readonly int[] local;
    private int stamp;
    private long work;
    private int[] best;
    private Score bestScore;
    private readonly HashSet<ulong> weighed = [];

    private MemorableTrails(
        StitchGraph graph,
        StrandPairing given,
        int[] loose,
        TrailWishes wishes,
        EaseTaste ease,
        Func<int, int> tails,
        long mostWork
    )
    {
        this.mostWork = mostWork;
        this.graph = graph;
        this.given = given;
        this.loose = loose;
        this.wishes = wishes;
        this.tails = tails;
        lines = CallLines.Of(graph);
        effort = [.. Enumerable.Range(0, 2 * lines.LineCount).Select(h => EaseReader.EffortOf(lines.Along(h), ease))];
        partner = [.. given.Partner];
        seen = new int[partner.Length];
        local = new int[partner.Length];
        nodeOf = new int[partner.Length];
        for (int v = 0; v < given.Rotation.Length; v++)
        {
            for (int i = 0; i < given.Rotation[v].Length; i++)
            {
                nodeOf[given.Rotation[v][i]] = v;
            }
        }

        wanted = CountThreads();
        best = [.. partner];
        bestScore = Weigh();
    }

    /// <summary>What is compared: less is better, the first that differs decides.</summary>
    private readonly record struct Score(int Length, int Steps, int Turns, double Effort) : IComparable<Score>
    {
        public int CompareTo(Score o) =>
            Length != o.Length ? Length.CompareTo(o.Length)
            : Steps != o.Steps ? Steps.CompareTo(o.Steps)
            : Turns != o.Turns ? Turns.CompareTo(o.Turns)
            : Math.Abs(Effort - o.Effort) <= 1e-6 ? 0
            : Effort.CompareTo(o.Effort);
    }

    /// <summary>Traces trails as <see cref="TrailSystem.Trace"/> does, and chooses among their equals.</summary>
    /// <param name="graph">The lines.</param>
    /// <param name="doubled">Lines stitched twice.</param>
    /// <param name="loose">Thread ends at each junction.</param>
    /// <param name="wishes">How to pass, ends that must stay loose, wished start and end.</param>
    /// <param name="ease">The quilter's taste.</param>
    /// <param name="tails">How badly a thread's tail hides at a junction; a closed thread begins where it hides best.</param>
    /// <param name="search">How long to look for a trail that is short to say.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    public static IReadOnlyList<Trail> Trace(
        StitchGraph graph,
        IReadOnlyList<int> doubled,
        int[] loose,
        TrailWishes wishes,
        EaseTaste ease,
        Func<int, int> tails,
        CallSearch search = CallSearch.Thorough,
        CancellationToken cancellation = default
    )
    {
        int strands = graph.Lines.Count + doubled.Count;
        if (search == CallSearch.None || wishes.Style != TrailStyle.NoCrossing || strands > MostStrands)
        {
            return TrailSystem.Trace(graph, doubled, loose, wishes, cancellation);
        }

        StrandPairing pairing = TrailSystem.PairUp(graph, doubled, loose, wishes, cancellation);
        long most =
            search == CallSearch.Short ? ShortWork
            : strands <= FewLines ? FewLinesWork
            : strands <= ManyLines ? ThoroughWork
            : ShortWork;
        MemorableTrails choice = new(graph, pairing, loose, wishes, ease, tails, most);
        choice.Search(cancellation);
        return choice.Collect();
    }

    /// <summary>A point, or an orbit of points whose pairings follow from one another, and what it can be.</summary>
    /// <param name="Ends">The strand ends of all its points.</param>
    /// <param name="Choices">For each choice the partners of those ends.</param>
    private sealed record Site(int[] Ends, int[][] Choices);

    private void Search(CancellationToken cancellation)
    {
        if (given.Rotation.All(r => r.Length < 3))
        {
            return;
        }

        LineSymmetry symmetry = LineSymmetry.Find(graph);
        Dictionary<int, int[]> strandImages = [];
        foreach (int g in symmetry.Elements)
        {
            strandImages[g] = ImageOfStrands(g, symmetry.ImageUnder(g));
        }

        IReadOnlyList<int[]>[] pairings = [.. Enumerable.Range(0, given.Rotation.Length).Select(v => PairingsAt(v))];
        List<List<Site>> bySymmetry = [];
        foreach (IReadOnlyList<int> group in GroupsUpToImages(symmetry.Elements))
        {
            cancellation.ThrowIfCancellationRequested();
            List<Site> sites = SitesUnder(group, strandImages, pairings);
            bySymmetry.Add(sites);
            TryAll(sites, mostWork * 4 / 10, cancellation);
        }

        long each = mostWork * 3 / 10 / bySymmetry.Count;
        foreach (List<Site> sites in bySymmetry)
        {
            Draw(sites, work + each, cancellation);
        }

        Descend(bySymmetry, cancellation);
        TakeEasiestImage(strandImages);
    }

    // What one mirror gives, its image under a turn gives too, laid otherwise; the easiest image is taken in the end.
    private static IEnumerable<IReadOnlyList<int>> GroupsUpToImages(IReadOnlyCollection<int> elements)
    {
        HashSet<int> known = [];
        foreach (IReadOnlyList<int> group in SquareTurns.SubgroupsOf(elements))
        {
            int least = elements.Min(g =>
                group.Sum(k => 1 << SquareTurns.Compose(SquareTurns.Compose(g, k), SquareTurns.Inverse(g)))
            );
            if (known.Add(least))
            {
                yield return group;
            }
        }
    }

    private IReadOnlyList<int[]> PairingsAt(int v)
    {
        int[] around = given.Rotation[v];
        if (around.Length == 0)
        {
            return [];
        }

        return PointPairings.Of(
            around.Length,
            loose[v],
            i => given.Pinned.Contains(around[i]),
            (i, j) => PassCost.Of(Along(around[i]), Along(around[j]))
        );
    }

    private Edge<ClothSpace> Along(int end) => lines.Along(HalfEdge(end));

    private int HalfEdge(int end) => 2 * given.LineOf[end >> 1] + (end & 1);

    // Where a strand end goes, −1 where the lines laid on one another are not doubled alike.
    private int[] ImageOfStrands(int element, int[] ofLines)
    {
        int lineCount = graph.Lines.Count;
        int[] second = new int[lineCount];
        Array.Fill(second, -1);
        for (int s = lineCount; s < given.LineOf.Length; s++)
        {
            second[given.LineOf[s]] = s;
        }

        int[] image = new int[partner.Length];
        for (int end = 0; end < image.Length; end++)
        {
            int strand = end >> 1;
            int line = given.LineOf[strand];
            int to = ofLines[2 * line + (end & 1)];
            if (second[line] < 0 || second[to >> 1] < 0)
            {
                image[end] = second[line] < 0 && second[to >> 1] < 0 ? to : -1;
                continue;
            }

            // Anticlockwise round its first junction a line's strands lie first, second; round its other the other way, and a
            // mirror turns the order round.
            bool reversed = (ofLines[2 * line] & 1) == 1;
            bool isSecond = strand >= lineCount;
            bool toSecond = isSecond != (reversed != SquareTurns.IsMirror(element));
            image[end] = 2 * (toSecond ? second[to >> 1] : to >> 1) + (to & 1);
        }

        return image;
    }

    private List<Site> SitesUnder(
        IReadOnlyList<int> group,
        Dictionary<int, int[]> images,
        IReadOnlyList<int[]>[] pairings
    )
    {
        List<Site> sites = [];
        bool[] done = new bool[given.Rotation.Length];
        for (int v = 0; v < given.Rotation.Length; v++)
        {
            if (done[v] || given.Rotation[v].Length == 0)
            {
                continue;
            }

            Site? site = null;
            if (IsUniform(v, group, images))
            {
                int[] orbit = [.. group.Select(g => nodeOf[images[g][given.Rotation[v][0]]]).Distinct()];
                site = SiteOf(orbit, v, pairings[v], group, images, MostChoices);
                if (site is not null)
                {
                    foreach (int w in orbit)
                    {
                        done[w] = true;
                    }
                }
            }

            // No pairing looks the same all round (four lines in the middle): each point by itself.
            done[v] = true;
            site ??= SiteOf([v], v, pairings[v], [0], images, MostChoicesAlone);
            if (site is not null)
            {
                sites.Add(site);
            }
        }

        return sites;
    }

    // The pairings of v that a group carries round its orbit and back to themselves; null where none does.
    private Site? SiteOf(
        int[] orbit,
        int v,
        IReadOnlyList<int[]> pairings,
        IReadOnlyList<int> group,
        Dictionary<int, int[]> images,
        int most
    )
    {
        int[] ends = [.. orbit.SelectMany(w => given.Rotation[w])];
        for (int i = 0; i < ends.Length; i++)
        {
            local[ends[i]] = i;
        }

        int[] around = given.Rotation[v];
        List<int[]> choices = [];
        foreach (int[] pairing in pairings)
        {
            work += 4 * ends.Length;
            int[] partners = new int[ends.Length];
            Array.Fill(partners, -2);
            if (Spread(pairing, partners))
            {
                choices.Add(partners);
                if (choices.Count == most)
                {
                    break;
                }
            }
        }

        return choices.Count == 0 ? null : new(ends, [.. choices]);

        bool Spread(int[] pairing, int[] partners)
        {
            foreach (int g in group)
            {
                int[] image = images[g];
                for (int i = 0; i < around.Length; i++)
                {
                    int from = local[image[around[i]]];
                    int to = pairing[i] < 0 ? Loose : image[around[pairing[i]]];
                    if (partners[from] != -2 && partners[from] != to)
                    {
                        return false;
                    }

                    partners[from] = to;
                }
            }

            // Lines of sewn cloth lie on their images only nearly: an end that is nobody's image has no partner.
            return Array.IndexOf(partners, -2) < 0;
        }
    }

    private bool IsUniform(int v, IReadOnlyList<int> group, Dictionary<int, int[]> images)
    {
        foreach (int g in group)
        {
            int w = -1;
            foreach (int end in given.Rotation[v])
            {
                int to = images[g][end];
                if (to < 0 || given.Pinned.Contains(to) != given.Pinned.Contains(end))
                {
                    return false;
                }

                w = nodeOf[to];
            }

            if (loose[w] != loose[v] || given.Rotation[w].Length != given.Rotation[v].Length)
            {
                return false;
            }
        }

        return true;
    }

    private void Apply(Site site, int choice)
    {
        int[] to = site.Choices[choice];
        for (int i = 0; i < to.Length; i++)
        {
            partner[site.Ends[i]] = to[i];
        }
    }

    /// <summary>All combinations where they are few.</summary>
    private void TryAll(List<Site> sites, long until, CancellationToken cancellation)
    {
        long product = 1;
        foreach (Site s in sites)
        {
            product *= s.Choices.Length;
            if (product > MostEnumerated)
            {
                return;
            }
        }

        int[] choice = new int[sites.Count];
        foreach (Site s in sites)
        {
            Apply(s, 0);
        }

        while (true)
        {
            if (work > until)
            {
                cancellation.ThrowIfCancellationRequested();
                return;
            }

            Consider();
            int k = 0;
            while (k < choice.Length && ++choice[k] == sites[k].Choices.Length)
            {
                choice[k] = 0;
                Apply(sites[k], 0);
                k++;
            }

            if (k == choice.Length)
            {
                return;
            }

            Apply(sites[k], choice[k]);
        }
    }

    /// <summary>
    /// Pairings drawn at random, the same ones every time, with threads joined at random until they are as many as wanted.
    /// </summary>
    private void Draw(List<Site> sites, long until, CancellationToken cancellation)
    {
        if (sites.All(s => s.Choices.Length == 1))
        {
            return;
        }

        Random random = new(Seed);
        Site[] order = [.. sites];
        CutTrails cut = new(partner, order.Select(s => s.Ends));
        int[] places = [.. Enumerable.Range(0, order.Length)];
        while (work < until)
        {
            cancellation.ThrowIfCancellationRequested();
            for (int s = 0; s < order.Length; s++)
            {
                cut.Put(s, order[s].Choices[random.Next(order[s].Choices.Length)]);
            }

            random.Shuffle(places);
            cut.Label();
            foreach (int s in places)
            {
                if (cut.Count == wanted)
                {
                    break;
                }

                int[][] choices = order[s].Choices;
                int turn = random.Next(choices.Length);
                for (int c = 0; c < choices.Length && cut.Count > wanted; c++)
                {
                    int[] choice = choices[(c + turn) % choices.Length];
                    int count = cut.CountWith(s, choice);
                    if (count < cut.Count && count >= wanted)
                    {
                        cut.Put(s, choice);
                        cut.Label();
                    }
                }
            }

            work += cut.TakeWork() + 40 * order.Length;
            if (cut.Count == wanted)
            {
                Consider();
            }
        }
    }

    /// <summary>Keeps the present pairing where it makes the wanted threads and says shorter.</summary>
    /// <returns>Its score; null where it does not make the wanted threads, or was weighed before.</returns>
    private Score? Consider()
    {
        if (CountThreads() != wanted || !weighed.Add(HashOf(partner)) || !EndsStayApart())
        {
            return null;
        }

        Score score = Weigh();
        if (score.CompareTo(bestScore) < 0)
        {
            bestScore = score;
            partner.CopyTo(best, 0);
        }

        return score;
    }

    // Sixty-four bits: among a thousand pairings two that differ share a number once in 10¹³ searches, and then one is passed over.
    private static ulong HashOf(int[] partners)
    {
        ulong hash = 14695981039346656037;
        foreach (int p in partners)
        {
            hash = (hash ^ (uint)p) * 1099511628211;
            hash ^= hash >> 29;
        }

        return hash;
    }

    private void Descend(List<List<Site>> bySymmetry, CancellationToken cancellation)
    {
        foreach (List<Site> sites in bySymmetry)
        {
            // Each group: join what it can from the pairing of least turning, then exchange.
            int[] start = [.. best];
            Symmetrize(sites);
            JoinThreads(sites);
            if (CountThreads() == wanted && EndsStayApart())
            {
                Consider();
                Exchange(sites, [.. partner], cancellation);
            }

            if (work > mostWork)
            {
                start.CopyTo(partner, 0);
                return;
            }
        }

        for (int round = 0; round < MostRounds && work <= mostWork; round++)
        {
            Score before = bestScore;
            foreach (List<Site> sites in bySymmetry)
            {
                Exchange(sites, [.. best], cancellation);
            }

            if (bestScore.CompareTo(before) == 0)
            {
                return;
            }
        }
    }

    // Each site takes its choice nearest to the given pairing, so that what need not change does not.
    private void Symmetrize(List<Site> sites)
    {
        given.Partner.CopyTo(partner, 0);
        foreach (Site s in sites)
        {
            int nearest = 0;
            int least = int.MaxValue;
            for (int c = 0; c < s.Choices.Length; c++)
            {
                int off = 0;
                for (int i = 0; i < s.Ends.Length; i++)
                {
                    off += given.Partner[s.Ends[i]] == s.Choices[c][i] ? 0 : 1;
                }

                if (off < least)
                {
                    (nearest, least) = (c, off);
                }
            }

            Apply(s, nearest);
        }
    }

    private void JoinThreads(List<Site> sites)
    {
        CutTrails cut = new(partner, sites.Select(s => s.Ends));
        while (cut.Count > wanted && work <= mostWork)
        {
            (int Site, int Choice) to = (-1, -1);
            int least = cut.Count;
            for (int s = 0; s < sites.Count; s++)
            {
                for (int c = 0; c < sites[s].Choices.Length; c++)
                {
                    int count = cut.CountWith(s, sites[s].Choices[c]);
                    if (count < least && count >= wanted)
                    {
                        (to, least) = ((s, c), count);
                    }
                }
            }

            work += cut.TakeWork();
            if (to.Site < 0)
            {
                return;
            }

            Apply(sites[to.Site], to.Choice);
            cut.Label();
        }
    }

    /// <summary>Changes at one site or two, as long as the call gets shorter; from the pairing given.</summary>
    private void Exchange(List<Site> sites, int[] from, CancellationToken cancellation)
    {
        from.CopyTo(partner, 0);
        CutTrails cut = new(partner, sites.Select(s => s.Ends));
        if (cut.Count != wanted)
        {
            return;
        }

        Score at = Weigh();
        for (int round = 0; round < MostRounds; round++)
        {
            cancellation.ThrowIfCancellationRequested();
            if (work > mostWork || (!ExchangeOne(sites, cut, ref at) && !ExchangeTwo(sites, cut, ref at)))
            {
                return;
            }

            cut.Label();
        }
    }

    private bool ExchangeOne(List<Site> sites, CutTrails cut, ref Score at)
    {
        for (int s = 0; s < sites.Count; s++)
        {
            for (int c = 0; c < sites[s].Choices.Length; c++)
            {
                if (!cut.IsPresent(s, sites[s].Choices[c]) && cut.CountWith(s, sites[s].Choices[c]) == wanted)
                {
                    Apply(sites[s], c);
                    if (Improves(ref at))
                    {
                        return true;
                    }

                    cut.Restore(s);
                }
            }
        }

        work += cut.TakeWork();
        return false;
    }

    private bool ExchangeTwo(List<Site> sites, CutTrails cut, ref Score at)
    {
        for (int s = 0; s < sites.Count; s++)
        {
            for (int t = s + 1; t < sites.Count; t++)
            {
                work += cut.TakeWork();
                if (work > mostWork)
                {
                    return false;
                }

                foreach (int[] first in sites[s].Choices)
                {
                    if (cut.IsPresent(s, first))
                    {
                        continue;
                    }

                    foreach (int[] second in sites[t].Choices)
                    {
                        if (cut.IsPresent(t, second) || cut.CountWith(s, first, t, second) != wanted)
                        {
                            continue;
                        }

                        cut.Put(s, first);
                        cut.Put(t, second);
                        if (Improves(ref at))
                        {
                            return true;
                        }

                        cut.Restore(s);
                        cut.Restore(t);
                    }
                }
            }
        }

        return false;
    }

    private bool Improves(ref Score at)
    {
        if (work > mostWork || Consider() is not { } score || score.CompareTo(at) >= 0)
        {
            return false;
        }

        at = score;
        return true;
    }

    private void TakeEasiestImage(Dictionary<int, int[]> images)
    {
        // The same call laid on the lines in another way: as short, but perhaps easier for this hand.
        int[] found = [.. best];
        foreach (int[] image in images.Values)
        {
            if (image.Contains(-1))
            {
                continue;
            }

            for (int end = 0; end < found.Length; end++)
            {
                partner[image[end]] = found[end] == Loose ? Loose : image[found[end]];
            }

            if (
                Enumerable
                    .Range(0, found.Length)
                    .All(e => (partner[e] == Loose) == (found[e] == Loose) || given.Pinned.Count == 0)
            )
            {
                Consider();
            }
        }
    }

    /// <summary>Number of trails, closed ones included.</summary>
    private int CountThreads()
    {
        stamp++;
        work += 2 * partner.Length;
        int count = 0;
        for (int pass = 0; pass < 2; pass++)
        {
            for (int h = 0; h < partner.Length; h++)
            {
                if (seen[h] == stamp || (pass == 0 && partner[h] != Loose))
                {
                    continue;
                }

                count++;
                int k = h;
                do
                {
                    seen[k] = seen[k ^ 1] = stamp;
                    k = partner[k ^ 1];
                } while (k != Loose && k != h);
            }
        }

        return count;
    }

    // With several threads none may lead from the wished start to the wished end; it would be first and last at once.
    private bool EndsStayApart()
    {
        if (wanted < 2 || wishes.Start is not { } start || wishes.End is not { } end)
        {
            return true;
        }

        int[] starts = [.. given.Rotation[start].Where(h => partner[h] == Loose)];
        int[] ends = [.. given.Rotation[end].Where(h => partner[h] == Loose)];
        return starts.Length == 0 || ends.Length == 0 || starts.Any(s => ends.Any(e => OtherEndOf(s) != e && s != e));
    }

    private int OtherEndOf(int h)
    {
        while (true)
        {
            h ^= 1;
            if (partner[h] == Loose)
            {
                return h;
            }

            h = partner[h];
        }
    }

    private List<(int[] HalfEdges, bool IsClosed)> Threads()
    {
        List<(int[], bool)> threads = [];
        bool[] done = new bool[partner.Length];
        for (int pass = 0; pass < 2; pass++)
        {
            for (int h = 0; h < partner.Length; h++)
            {
                if (done[h] || (pass == 0 && partner[h] != Loose))
                {
                    continue;
                }

                List<int> ends = [];
                int k = h;
                do
                {
                    done[k] = done[k ^ 1] = true;
                    ends.Add(HalfEdge(k));
                    k = partner[k ^ 1];
                } while (k != Loose && k != h);

                threads.Add(([.. ends], pass == 1));
            }
        }

        return threads;
    }

    private Score Weigh()
    {
        List<(int[] HalfEdges, bool IsClosed)> threads = Threads();
        if (threads is [{ IsClosed: true } only])
        {
            return WeighClosed(only.HalfEdges, out _);
        }

        if (threads.Count == 1)
        {
            return WeighOpen(threads[0].HalfEdges);
        }

        return WeighSeveral(threads);
    }

    /// <summary>A closed thread, begun where its tails hide best and then where the call is shortest.</summary>
    private Score WeighClosed(int[] halfEdges, out int begin)
    {
        int n = halfEdges.Length;
        int turned = 0;
        for (int i = 0; i < n; i++)
        {
            // Begin at the end of a step, or the step across the seam of the list would be two.
            if (!lines.RunsOn(halfEdges[(i + n - 1) % n], halfEdges[(i + n - 1) % n], halfEdges[i]))
            {
                turned = i;
                break;
            }
        }

        int[] inOrder = [.. halfEdges[turned..], .. halfEdges[..turned]];
        ThreadSteps steps = ThreadSteps.Read(lines, inOrder, new bool[lines.LineCount]);
        int closing = lines.TurnOf(steps.LastOf(steps.Count - 1) ^ 1, steps.FirstOf(0));
        steps.Name(ReachWords.ToTheEnd, closing);
        steps.CloseBackward();
        int period = ShortestDescription.PeriodOf(steps.Forward);
        work += 4_000 + 150L * n + 25L * period * period;
        int[] lengths = ShortestDescription.OfClosed(steps);
        if (steps.IsPlainerCounted())
        {
            steps.Name(ReachWords.Pieces, closing);
            steps.CloseBackward();
            int[] counted = ShortestDescription.OfClosed(steps);
            work += 4_000 + 150L * n + 25L * period * period;
            for (int i = 0; i < lengths.Length; i++)
            {
                lengths[i] = Math.Min(lengths[i], counted[i]);
            }
        }

        int bestTail = int.MaxValue;
        for (int i = 0; i < steps.Count; i++)
        {
            bestTail = Math.Min(bestTail, tails(lines.NodeOf(steps.FirstOf(i))));
        }

        begin = 0;
        int least = int.MaxValue;
        int at = 0;
        (double, double) bestPlace = default;
        for (int i = 0; i < steps.Count; i++)
        {
            Point<ClothSpace> p = lines.Along(steps.FirstOf(i)).From;
            (double, double) here = (Math.Round(p.Y + p.X, 3), Math.Round(p.X, 3));
            if (
                tails(lines.NodeOf(steps.FirstOf(i))) == bestTail
                && (lengths[i] < least || (lengths[i] == least && here.CompareTo(bestPlace) < 0))
            )
            {
                (least, begin, bestPlace) = (lengths[i], (turned + at) % n, here);
            }

            at += steps.MovesOf(i);
        }

        return new(least, steps.Count, TurnsOf(steps, true), EffortOf(halfEdges));
    }

    private Score WeighOpen(int[] halfEdges)
    {
        ThreadSteps steps = ThreadSteps.Read(lines, halfEdges, new bool[lines.LineCount]);
        return new(LengthOf(steps), steps.Count, TurnsOf(steps, false), EffortOf(halfEdges));
    }

    private int LengthOf(ThreadSteps steps)
    {
        int least = LengthOf(steps, ReachWords.ToTheEnd);
        return steps.IsPlainerCounted() ? Math.Min(least, LengthOf(steps, ReachWords.Pieces)) : least;
    }

    // The first turn is free: the way one faces. The commonest turn into such a line serves the call best.
    private int LengthOf(ThreadSteps steps, ReachWords reach)
    {
        steps.Name(reach, 0);
        int line = steps.Forward[0] & ~CallCode.TurnBits;
        int[] alike = [.. steps.Forward.Skip(1).Where(c => (c & ~CallCode.TurnBits) == line)];
        if (alike.Length > 0)
        {
            int turn = alike.GroupBy(c => c).OrderByDescending(g => g.Count()).First().Key;
            steps.Name(reach, turn & CallCode.TurnBits & ~CallCode.Across);
        }

        int n = steps.Count;
        work += 4_000 + 150L * n + 25L * n * n;
        return ShortestDescription.Of(steps).Length;
    }

    private Score WeighSeveral(List<(int[] HalfEdges, bool IsClosed)> threads)
    {
        // Threads that do the same, either way or mirrored, are said once.
        bool[] stitched = new bool[lines.LineCount];
        Dictionary<string, int> said = new(StringComparer.Ordinal);
        int length = threads.Count - 1;
        int count = 0;
        int turns = 0;
        double efforts = 0;
        foreach ((int[] halfEdges, bool isClosed) in threads)
        {
            ThreadSteps steps = ThreadSteps.Read(lines, halfEdges, stitched);
            ThreadSteps back = ThreadSteps.Read(
                lines,
                [.. halfEdges.Reverse().Select(h => h ^ 1)],
                new bool[lines.LineCount]
            );
            count += steps.Count;
            turns += TurnsOf(steps, isClosed);
            efforts += EffortOf(halfEdges);
            steps.Name(ReachWords.ToTheEnd, 0);
            back.Name(ReachWords.ToTheEnd, 0);
            string key = new[]
            {
                string.Join(' ', steps.Forward),
                string.Join(' ', steps.Forward.Select(CallCode.Mirrored)),
                string.Join(' ', back.Forward),
                string.Join(' ', back.Forward.Select(CallCode.Mirrored)),
            }.Min(StringComparer.Ordinal)!;
            int times = said.GetValueOrDefault(key);
            said[key] = times + 1;
            length += times switch
            {
                0 => LengthOf(steps),
                1 => steps.Count > 1 ? 2 : 1,
                _ => 0,
            };
        }

        return new(length, count, turns, efforts);
    }

    private int TurnsOf(ThreadSteps steps, bool isClosed)
    {
        int turns = 0;
        for (int i = isClosed ? 0 : 1; i < steps.Count; i++)
        {
            int before = steps.LastOf(i == 0 ? steps.Count - 1 : i - 1) ^ 1;
            turns += CallCode.SizeOf(lines.TurnOf(before, steps.FirstOf(i))) == TurnSize.Straight ? 0 : 1;
        }

        return turns;
    }

    // The easier of the two ways round; which one it is is settled at the end.
    private double EffortOf(int[] halfEdges)
    {
        double there = 0;
        double back = 0;
        foreach (int h in halfEdges)
        {
            there += effort[h];
            back += effort[h ^ 1];
        }

        return Math.Min(there, back);
    }

    private List<Trail> Collect()
    {
        best.CopyTo(partner, 0);
        List<(int[] HalfEdges, bool IsClosed)> threads = Threads();
        if (threads is [var only])
        {
            int[] back = [.. only.HalfEdges.Reverse().Select(h => h ^ 1)];
            int[] way = only.IsClosed ? Begun(only.HalfEdges) : only.HalfEdges;
            int[] other = only.IsClosed ? Begun(back) : back;
            return [TrailOf(IsBetter(other, way) ? other : way, only.IsClosed)];
        }

        return [.. threads.Select(t => TrailOf(t.HalfEdges, t.IsClosed))];
    }

    private int[] Begun(int[] halfEdges)
    {
        WeighClosed(halfEdges, out int begin);
        return [.. halfEdges[begin..], .. halfEdges[..begin]];
    }

    // Tails first, as for every thread: the start counts twice; then the call, then the hands, then reading order.
    private bool IsBetter(int[] a, int[] b)
    {
        int tailsOrder = TailsOf(a).CompareTo(TailsOf(b));
        if (tailsOrder != 0)
        {
            return tailsOrder < 0;
        }

        int lengthOrder = WeighOpen(a).Length.CompareTo(WeighOpen(b).Length);
        if (lengthOrder != 0)
        {
            return lengthOrder < 0;
        }

        double harder = a.Sum(h => effort[h]) - b.Sum(h => effort[h]);
        if (Math.Abs(harder) > 1e-6)
        {
            return harder < 0;
        }

        Point<ClothSpace> p = lines.Along(a[0]).From;
        Point<ClothSpace> q = lines.Along(b[0]).From;
        return p.Y * 1.001 + p.X < q.Y * 1.001 + q.X - 1e-9;

        int TailsOf(int[] h) => 2 * tails(lines.NodeOf(h[0])) + tails(lines.NodeOf(h[^1] ^ 1));
    }

    private static Trail TrailOf(int[] halfEdges, bool isClosed) =>
        new([.. halfEdges.Select(h => new TrailLeg(h >> 1, (h & 1) == 0))], isClosed);
}

/// <summary>How long a trail that is short to say is looked for.</summary>
internal enum CallSearch
{
    /// <summary>Not at all: the trail of least turning.</summary>
    None,

    /// <summary>A moment, for choices beside the recommended one.</summary>
    Short,

    /// <summary>As long as a quilter does not notice.</summary>
    Thorough,
}
