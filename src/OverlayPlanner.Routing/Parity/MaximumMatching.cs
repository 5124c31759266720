namespace OverlayPlanner.Routing.Parity;

/// <summary>A weighted edge of a matching problem.</summary>
internal readonly record struct MatchingEdge(int U, int V, long Weight);

/// <summary>
/// What proves a matching to be the best: prices of vertices and of odd sets, all doubled so that they are whole numbers.
/// </summary>
/// <param name="Prices">
/// Doubled price of each vertex. For every edge, price(u) + price(v) + 2 · (sum of the prices of odd sets that hold both ends)
/// ≥ 2 · weight, with equality for matched edges.
/// </param>
/// <param name="OddSets">Sets of an odd number of vertices, each full of matched edges but one vertex, and their prices ≥ 0.</param>
internal sealed record MatchingCertificate(
    IReadOnlyList<long> Prices,
    IReadOnlyList<(IReadOnlyList<int> Members, long Price)> OddSets
);

/// <summary>Maximum-weight matching in a general graph, exact for whole weights, with the dual solution as a certificate.</summary>
/// <remarks>
/// Primal-dual: trees grow from all free vertices at once, odd cycles shrink to blossoms, prices move until an augmenting path
/// is tight. Edmonds, "Maximum matching and a polyhedron with 0,1-vertices" (1965); the bookkeeping of least slack edges per
/// blossom is Galil's, "Efficient algorithms for finding maximum matching in graphs" (1986). O(n³) time, O(n + m) space.
/// Range: |weight| &lt; 2⁶⁰ ÷ n.
/// </remarks>
internal sealed class MaximumMatching
{
    private const int None = -1;
    private const byte Unlabelled = 0;
    private const byte Even = 1;
    private const byte Odd = 2;
    private const byte Crumb = 5;

    private readonly int n;
    private readonly MatchingEdge[] edges;
    private readonly int[] endpoint;
    private readonly int[][] remoteEnds;
    private readonly bool perfect;

    // mate[v] is the remote endpoint of v's matched edge.
    private readonly int[] mate;
    private readonly byte[] label;
    private readonly int[] labelEnd;
    private readonly int[] inBlossom;
    private readonly int[] parent;
    private readonly int[]?[] children;
    private readonly int[]?[] links;
    private readonly int[] root;
    private readonly int[] bestEdge;
    private readonly List<int>?[] bestEdges;
    private readonly Stack<int> unused = new();
    private readonly long[] price;
    private readonly bool[] tight;
    private readonly Stack<int> queue = new();
    private readonly List<int> leafBuffer = [];
    private readonly List<long> steps = [];
    private int mostFree;

    private MaximumMatching(int n, IReadOnlyList<MatchingEdge> given, bool perfect)
    {
        this.n = n;
        this.perfect = perfect;
        edges = [.. given];
        endpoint = new int[2 * edges.Length];
        int[] degree = new int[n];
        long greatest = 0;
        for (int k = 0; k < edges.Length; k++)
        {
            endpoint[2 * k] = edges[k].U;
            endpoint[2 * k + 1] = edges[k].V;
            degree[edges[k].U]++;
            degree[edges[k].V]++;
            greatest = Math.Max(greatest, edges[k].Weight);
        }

        remoteEnds = new int[n][];
        for (int v = 0; v < n; v++)
        {
            remoteEnds[v] = new int[degree[v]];
        }

        for (int k = edges.Length - 1; k >= 0; k--)
        {
            remoteEnds[edges[k].U][--degree[edges[k].U]] = 2 * k + 1;
            remoteEnds[edges[k].V][--degree[edges[k].V]] = 2 * k;
        }

        mate = Filled(n, None);
        label = new byte[2 * n];
        labelEnd = Filled(2 * n, None);
        inBlossom = [.. Enumerable.Range(0, n)];
        parent = Filled(2 * n, None);
        children = new int[]?[2 * n];
        links = new int[]?[2 * n];
        root = Filled(2 * n, None);
        bestEdge = Filled(2 * n, None);
        bestEdges = new List<int>?[2 * n];
        price = new long[2 * n];
        tight = new bool[edges.Length];
        for (int v = 0; v < n; v++)
        {
            root[v] = v;
            price[v] = greatest;
            unused.Push(2 * n - 1 - v);
        }
    }

    /// <summary>Finds the matching.</summary>
    /// <param name="vertices">Number of vertices.</param>
    /// <param name="edges">Edges with whole weights; no loops.</param>
    /// <param name="perfect">True for the heaviest among the matchings with most edges, false for the heaviest of all.</param>
    /// <param name="cancellation">Looked at once for each augmentation.</param>
    /// <returns>The partner of each vertex or −1, and the certificate.</returns>
    public static (int[] Partner, MatchingCertificate Certificate) Find(
        int vertices,
        IReadOnlyList<MatchingEdge> edges,
        bool perfect,
        CancellationToken cancellation = default
    )
    {
        MaximumMatching search = new(vertices, edges, perfect);
        search.Run(cancellation);
        int[] partner = new int[vertices];
        for (int v = 0; v < vertices; v++)
        {
            partner[v] = search.mate[v] == None ? None : search.endpoint[search.mate[v]];
        }

        return (partner, search.Certify());
    }

    /// <summary>
    /// The heaviest among the matchings with most edges, broken off as soon as no more than so many vertices are free.
    /// </summary>
    /// <remarks>
    /// All free vertices always have one price, the least of all. The matching at that moment is the heaviest that leaves this
    /// many free, and the certificate holds with each free vertex paying that price.
    /// </remarks>
    /// <param name="free">How many vertices may stay free, at least 0.</param>
    /// <returns>
    /// The partner of each vertex or −1; the certificate; and the doubled price of the free vertices at each augmentation, which
    /// never rises: the price below which one more pair pays.
    /// </returns>
    public static (int[] Partner, MatchingCertificate Certificate, IReadOnlyList<long> Steps) FindUntil(
        int vertices,
        IReadOnlyList<MatchingEdge> edges,
        int free,
        CancellationToken cancellation = default
    )
    {
        MaximumMatching search = new(vertices, edges, true) { mostFree = free };
        search.Run(cancellation);
        int[] partner = new int[vertices];
        for (int v = 0; v < vertices; v++)
        {
            partner[v] = search.mate[v] == None ? None : search.endpoint[search.mate[v]];
        }

        return (partner, search.Certify(), search.steps);
    }

    private static int[] Filled(int count, int value)
    {
        int[] a = new int[count];
        Array.Fill(a, value);
        return a;
    }

    private MatchingCertificate Certify()
    {
        List<(IReadOnlyList<int>, long)> sets = [];
        for (int b = n; b < 2 * n; b++)
        {
            if (root[b] != None && price[b] > 0)
            {
                List<int> members = [];
                CollectLeaves(b, members);
                sets.Add((members, price[b]));
            }
        }

        return new(price[..n], sets);
    }

    private long Slack(int k) => price[edges[k].U] + price[edges[k].V] - 2 * edges[k].Weight;

    private void CollectLeaves(int b, List<int> into)
    {
        if (b < n)
        {
            into.Add(b);
            return;
        }

        foreach (int c in children[b]!)
        {
            CollectLeaves(c, into);
        }
    }

    private void AssignLabel(int w, byte t, int p)
    {
        while (true)
        {
            int b = inBlossom[w];
            label[w] = label[b] = t;
            labelEnd[w] = labelEnd[b] = p;
            bestEdge[w] = bestEdge[b] = None;
            if (t == Even)
            {
                leafBuffer.Clear();
                CollectLeaves(b, leafBuffer);
                foreach (int leaf in leafBuffer)
                {
                    queue.Push(leaf);
                }

                return;
            }

            // An odd blossom's mate becomes even at once.
            int m = mate[root[b]];
            (w, t, p) = (endpoint[m], Even, m ^ 1);
        }
    }

    /// <summary>Walks back from both ends of a tight edge between even vertices: the common root blossom, or none.</summary>
    private int FindMeeting(int v, int w)
    {
        List<int> path = [];
        int found = None;
        while (v != None || w != None)
        {
            int b = inBlossom[v];
            if ((label[b] & 4) != 0)
            {
                found = root[b];
                break;
            }

            path.Add(b);
            label[b] = Crumb;
            if (labelEnd[b] == None)
            {
                v = None;
            }
            else
            {
                v = endpoint[labelEnd[b]];
                b = inBlossom[v];
                v = endpoint[labelEnd[b]];
            }

            if (w != None)
            {
                (v, w) = (w, v);
            }
        }

        foreach (int b in path)
        {
            label[b] = Even;
        }

        return found;
    }

    private void AddBlossom(int newRoot, int k)
    {
        int v = edges[k].U;
        int w = edges[k].V;
        int bb = inBlossom[newRoot];
        int bv = inBlossom[v];
        int bw = inBlossom[w];
        int b = unused.Pop();
        root[b] = newRoot;
        parent[b] = None;
        parent[bb] = b;
        List<int> path = [];
        List<int> ends = [];
        while (bv != bb)
        {
            parent[bv] = b;
            path.Add(bv);
            ends.Add(labelEnd[bv]);
            v = endpoint[labelEnd[bv]];
            bv = inBlossom[v];
        }

        path.Add(bb);
        path.Reverse();
        ends.Reverse();
        ends.Add(2 * k);
        while (bw != bb)
        {
            parent[bw] = b;
            path.Add(bw);
            ends.Add(labelEnd[bw] ^ 1);
            w = endpoint[labelEnd[bw]];
            bw = inBlossom[w];
        }

        children[b] = [.. path];
        links[b] = [.. ends];
        label[b] = Even;
        labelEnd[b] = labelEnd[bb];
        price[b] = 0;
        List<int> leaves = [];
        CollectLeaves(b, leaves);
        foreach (int leaf in leaves)
        {
            if (label[inBlossom[leaf]] == Odd)
            {
                queue.Push(leaf);
            }

            inBlossom[leaf] = b;
        }

        // Keep one least slack edge to every other even blossom.
        Dictionary<int, int> bestTo = [];
        foreach (int child in path)
        {
            if (bestEdges[child] is { } known)
            {
                foreach (int e in known)
                {
                    Offer(e);
                }
            }
            else
            {
                leaves.Clear();
                CollectLeaves(child, leaves);
                foreach (int leaf in leaves)
                {
                    foreach (int p in remoteEnds[leaf])
                    {
                        Offer(p >> 1);
                    }
                }
            }

            bestEdges[child] = null;
            bestEdge[child] = None;
        }

        List<int> kept = [.. bestTo.Values];
        bestEdges[b] = kept;
        bestEdge[b] = None;
        foreach (int e in kept)
        {
            if (bestEdge[b] == None || Slack(e) < Slack(bestEdge[b]))
            {
                bestEdge[b] = e;
            }
        }

        void Offer(int e)
        {
            int j = inBlossom[edges[e].V] == b ? edges[e].U : edges[e].V;
            int bj = inBlossom[j];
            if (bj != b && label[bj] == Even && (!bestTo.TryGetValue(bj, out int other) || Slack(e) < Slack(other)))
            {
                bestTo[bj] = e;
            }
        }
    }

    private void ExpandBlossom(int b, bool endOfStage)
    {
        int[] kids = children[b]!;
        int[] ends = links[b]!;
        foreach (int s in kids)
        {
            parent[s] = None;
            if (s < n)
            {
                inBlossom[s] = s;
            }
            else if (endOfStage && price[s] == 0)
            {
                ExpandBlossom(s, true);
            }
            else
            {
                List<int> leaves = [];
                CollectLeaves(s, leaves);
                foreach (int leaf in leaves)
                {
                    inBlossom[leaf] = s;
                }
            }
        }

        if (!endOfStage && label[b] == Odd)
        {
            // Relabel the even-length way from the entry child to the base; the other children fall off the tree.
            int entry = inBlossom[endpoint[labelEnd[b] ^ 1]];
            int j = Array.IndexOf(kids, entry);
            int step;
            int trick;
            if ((j & 1) != 0)
            {
                j -= kids.Length;
                step = 1;
                trick = 0;
            }
            else
            {
                step = -1;
                trick = 1;
            }

            int p = labelEnd[b];
            while (j != 0)
            {
                label[endpoint[p ^ 1]] = Unlabelled;
                label[endpoint[At(ends, j - trick) ^ trick ^ 1]] = Unlabelled;
                AssignLabel(endpoint[p ^ 1], Odd, p);
                tight[At(ends, j - trick) >> 1] = true;
                j += step;
                p = At(ends, j - trick) ^ trick;
                tight[p >> 1] = true;
                j += step;
            }

            int bv = At(kids, j);
            label[endpoint[p ^ 1]] = label[bv] = Odd;
            labelEnd[endpoint[p ^ 1]] = labelEnd[bv] = p;
            bestEdge[bv] = None;
            j += step;
            while (At(kids, j) != entry)
            {
                bv = At(kids, j);
                if (label[bv] == Even)
                {
                    j += step;
                    continue;
                }

                List<int> leaves = [];
                CollectLeaves(bv, leaves);
                foreach (int leaf in leaves)
                {
                    if (label[leaf] != Unlabelled)
                    {
                        label[leaf] = Unlabelled;
                        label[endpoint[mate[root[bv]]]] = Unlabelled;
                        AssignLabel(leaf, Odd, labelEnd[leaf]);
                        break;
                    }
                }

                j += step;
            }
        }

        label[b] = Unlabelled;
        labelEnd[b] = None;
        children[b] = null;
        links[b] = null;
        root[b] = None;
        bestEdges[b] = null;
        bestEdge[b] = None;
        price[b] = 0;
        unused.Push(b);
    }

    private static int At(int[] ring, int i) => ring[i < 0 ? i + ring.Length : i];

    /// <summary>Swaps matched and unmatched edges on the way from vertex v to the blossom's base, and makes v the base.</summary>
    private void AugmentBlossom(int b, int v)
    {
        int t = v;
        while (parent[t] != b)
        {
            t = parent[t];
        }

        if (t >= n)
        {
            AugmentBlossom(t, v);
        }

        int[] kids = children[b]!;
        int[] ends = links[b]!;
        int i = Array.IndexOf(kids, t);
        int j = i;
        int step;
        int trick;
        if ((i & 1) != 0)
        {
            j -= kids.Length;
            step = 1;
            trick = 0;
        }
        else
        {
            step = -1;
            trick = 1;
        }

        while (j != 0)
        {
            j += step;
            t = At(kids, j);
            int p = At(ends, j - trick) ^ trick;
            if (t >= n)
            {
                AugmentBlossom(t, endpoint[p]);
            }

            j += step;
            t = At(kids, j);
            if (t >= n)
            {
                AugmentBlossom(t, endpoint[p ^ 1]);
            }

            mate[endpoint[p]] = p ^ 1;
            mate[endpoint[p ^ 1]] = p;
        }

        children[b] = [.. kids[i..], .. kids[..i]];
        links[b] = [.. ends[i..], .. ends[..i]];
        root[b] = root[children[b]![0]];
    }

    private void Augment(int k)
    {
        foreach ((int start, int remote) in new[] { (edges[k].U, 2 * k + 1), (edges[k].V, 2 * k) })
        {
            int s = start;
            int p = remote;
            while (true)
            {
                int bs = inBlossom[s];
                if (bs >= n)
                {
                    AugmentBlossom(bs, s);
                }

                mate[s] = p;
                if (labelEnd[bs] == None)
                {
                    break;
                }

                int t = endpoint[labelEnd[bs]];
                int bt = inBlossom[t];
                s = endpoint[labelEnd[bt]];
                int j = endpoint[labelEnd[bt] ^ 1];
                if (bt >= n)
                {
                    AugmentBlossom(bt, j);
                }

                mate[j] = labelEnd[bt];
                p = labelEnd[bt] ^ 1;
            }
        }
    }

    private void Run(CancellationToken cancellation)
    {
        for (int stage = 0; stage < n && n - 2 * stage > mostFree; stage++)
        {
            cancellation.ThrowIfCancellationRequested();
            if (!RunStage())
            {
                return;
            }

            steps.Add(LeastVertexPrice());
            for (int b = n; b < 2 * n; b++)
            {
                if (parent[b] == None && root[b] != None && label[b] == Even && price[b] == 0)
                {
                    ExpandBlossom(b, true);
                }
            }
        }
    }

    private bool RunStage()
    {
        Array.Clear(label);
        Array.Fill(bestEdge, None);
        Array.Clear(bestEdges);
        Array.Clear(tight);
        queue.Clear();
        for (int v = 0; v < n; v++)
        {
            if (mate[v] == None && label[inBlossom[v]] == Unlabelled)
            {
                AssignLabel(v, Even, None);
            }
        }

        while (true)
        {
            while (queue.TryPop(out int v))
            {
                if (Scan(v))
                {
                    return true;
                }
            }

            if (!MovePrices())
            {
                return false;
            }
        }
    }

    /// <summary>Looks along all edges of an even vertex; true where an augmenting path was found and used.</summary>
    private bool Scan(int v)
    {
        foreach (int p in remoteEnds[v])
        {
            int k = p >> 1;
            int w = endpoint[p];
            if (inBlossom[v] == inBlossom[w])
            {
                continue;
            }

            long slack = 0;
            if (!tight[k])
            {
                slack = Slack(k);
                tight[k] = slack <= 0;
            }

            if (tight[k])
            {
                if (label[inBlossom[w]] == Unlabelled)
                {
                    AssignLabel(w, Odd, p ^ 1);
                }
                else if (label[inBlossom[w]] == Even)
                {
                    int meeting = FindMeeting(v, w);
                    if (meeting == None)
                    {
                        Augment(k);
                        return true;
                    }

                    AddBlossom(meeting, k);
                }
                else if (label[w] == Unlabelled)
                {
                    label[w] = Odd;
                    labelEnd[w] = p ^ 1;
                }
            }
            else if (label[inBlossom[w]] == Even)
            {
                int b = inBlossom[v];
                if (bestEdge[b] == None || slack < Slack(bestEdge[b]))
                {
                    bestEdge[b] = k;
                }
            }
            else if (label[w] == Unlabelled && (bestEdge[w] == None || slack < Slack(bestEdge[w])))
            {
                bestEdge[w] = k;
            }
        }

        return false;
    }

    private enum Event
    {
        None,
        Finished,
        Grow,
        Join,
        Expand,
    }

    /// <summary>Moves the prices by the largest step that keeps them feasible; false where the matching is the best.</summary>
    private bool MovePrices()
    {
        Event what = Event.None;
        long delta = 0;
        int which = None;
        if (!perfect)
        {
            what = Event.Finished;
            delta = LeastVertexPrice();
        }

        for (int v = 0; v < n; v++)
        {
            if (bestEdge[v] != None && label[inBlossom[v]] == Unlabelled)
            {
                Offer(Event.Grow, Slack(bestEdge[v]), bestEdge[v]);
            }
        }

        for (int b = 0; b < 2 * n; b++)
        {
            if (parent[b] == None && label[b] == Even && bestEdge[b] != None)
            {
                Offer(Event.Join, Slack(bestEdge[b]) / 2, bestEdge[b]);
            }
        }

        for (int b = n; b < 2 * n; b++)
        {
            if (root[b] != None && parent[b] == None && label[b] == Odd)
            {
                Offer(Event.Expand, price[b], b);
            }
        }

        if (what == Event.None)
        {
            // No more edges fit; the last step makes the prices feasible for the certificate.
            what = Event.Finished;
            delta = Math.Max(0, LeastVertexPrice());
        }

        for (int v = 0; v < n; v++)
        {
            byte l = label[inBlossom[v]];
            price[v] +=
                l == Even ? -delta
                : l == Odd ? delta
                : 0;
        }

        for (int b = n; b < 2 * n; b++)
        {
            if (root[b] != None && parent[b] == None)
            {
                price[b] +=
                    label[b] == Even ? delta
                    : label[b] == Odd ? -delta
                    : 0;
            }
        }

        switch (what)
        {
            case Event.Grow:
                tight[which] = true;
                queue.Push(label[inBlossom[edges[which].U]] == Unlabelled ? edges[which].V : edges[which].U);
                return true;
            case Event.Join:
                tight[which] = true;
                queue.Push(edges[which].U);
                return true;
            case Event.Expand:
                ExpandBlossom(which, false);
                return true;
            default:
                return false;
        }

        void Offer(Event e, long d, int item)
        {
            if (what == Event.None || d < delta)
            {
                (what, delta, which) = (e, d, item);
            }
        }
    }

    private long LeastVertexPrice()
    {
        long least = long.MaxValue;
        for (int v = 0; v < n; v++)
        {
            least = Math.Min(least, price[v]);
        }

        return n == 0 ? 0 : least;
    }
}
