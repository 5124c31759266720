namespace OverlayPlanner.Geometry;

/// <summary>
/// A plane graph: nodes, edges that meet at nodes only, and the cyclic order of the edges round each node.
/// </summary>
/// <remarks>
/// Half-edge 2e leaves edge e's first node, 2e + 1 its second; <c>h ^ 1</c> is the same edge seen from its other end. Round a
/// node half-edges are ordered anticlockwise as seen on the page (y down). Precondition: edges are noded (two edges share
/// nothing but nodes); <see cref="FindConflicts"/> tells where they are not. Copies of one edge are nested, so that the drawing
/// stays plane. Building is O(m log m).
/// </remarks>
public sealed class PlaneGraph<TSpace>
    where TSpace : ISpace
{
    // Edges that leave a node closer than this, in radians, are ordered farther out: a bulge rounded to four places turns the
    // tangent by up to 1e-4, which would put an arc that is drafted tangent to a seam on the wrong side of it.
    private const double NearTangent = 1e-3;

    private readonly Edge<TSpace>[] edges;
    private readonly int[] first;
    private readonly int[] second;
    private readonly int[][] rotation;
    private readonly int[] place;

    /// <summary>Builds the graph.</summary>
    /// <param name="nodes">Places of the nodes.</param>
    /// <param name="lines">The edges: first node, second node, bulge. Ends take the nodes' coordinates.</param>
    /// <exception cref="ArgumentOutOfRangeException">An edge names a node that does not exist.</exception>
    public PlaneGraph(IReadOnlyList<Point<TSpace>> nodes, IReadOnlyList<(int From, int To, double Bulge)> lines)
    {
        ArgumentNullException.ThrowIfNull(nodes);
        ArgumentNullException.ThrowIfNull(lines);
        Nodes = nodes;
        edges = new Edge<TSpace>[lines.Count];
        first = new int[lines.Count];
        second = new int[lines.Count];
        List<int>[] round = new List<int>[nodes.Count];
        for (int v = 0; v < nodes.Count; v++)
        {
            round[v] = [];
        }

        for (int e = 0; e < lines.Count; e++)
        {
            (int from, int to, double bulge) = lines[e];
            ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual((uint)from, (uint)nodes.Count, nameof(lines));
            ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual((uint)to, (uint)nodes.Count, nameof(lines));
            edges[e] = new(nodes[from], nodes[to], bulge);
            first[e] = from;
            second[e] = to;
            round[from].Add(2 * e);
            round[to].Add(2 * e + 1);
        }

        rotation = new int[nodes.Count][];
        place = new int[2 * lines.Count];
        for (int v = 0; v < nodes.Count; v++)
        {
            int[] sorted = [.. round[v].OrderBy(h => h, Comparer<int>.Create(CompareAround))];
            if (sorted.Length > 1 && sorted.Any(h => !edges[h >> 1].IsLine))
            {
                OrderTangents(sorted);
            }

            rotation[v] = sorted;
            for (int i = 0; i < sorted.Length; i++)
            {
                place[sorted[i]] = i;
            }
        }
    }

    /// <summary>Places of the nodes.</summary>
    public IReadOnlyList<Point<TSpace>> Nodes { get; }

    /// <summary>Number of edges.</summary>
    public int EdgeCount => edges.Length;

    /// <summary>Edge <paramref name="e"/> in the direction given.</summary>
    public Edge<TSpace> this[int e] => edges[e];

    /// <summary>The half-edge's edge, travelled away from its node.</summary>
    public Edge<TSpace> Along(int halfEdge) =>
        (halfEdge & 1) == 0 ? edges[halfEdge >> 1] : edges[halfEdge >> 1].Reversed;

    /// <summary>The node that the half-edge leaves.</summary>
    public int NodeOf(int halfEdge) => (halfEdge & 1) == 0 ? first[halfEdge >> 1] : second[halfEdge >> 1];

    /// <summary>Half-edges that leave a node, anticlockwise as seen.</summary>
    public IReadOnlyList<int> Around(int node) => rotation[node];

    /// <summary>Index of a half-edge in its node's rotation.</summary>
    public int PlaceOf(int halfEdge) => place[halfEdge];

    /// <summary>Number of edge ends at a node.</summary>
    public int DegreeOf(int node) => rotation[node].Length;

    /// <summary>The next half-edge round the face to the left of travel, as seen: arrive, then turn as far left as possible.</summary>
    public int NextRoundLeftFace(int halfEdge)
    {
        int arrived = halfEdge ^ 1;
        int[] around = rotation[NodeOf(arrived)];

        // Arriving with the twin, the leftmost way on is the one just clockwise of it.
        return around[(place[arrived] + around.Length - 1) % around.Length];
    }

    /// <summary>
    /// All faces as rings of half-edges, each with its face to the left of travel as seen; inner faces therefore run
    /// anticlockwise as seen, and every connected piece has one outer ring that runs clockwise.
    /// </summary>
    public IReadOnlyList<IReadOnlyList<int>> FindFaces()
    {
        bool[] seen = new bool[2 * edges.Length];
        List<IReadOnlyList<int>> faces = [];
        for (int h = 0; h < seen.Length; h++)
        {
            if (seen[h])
            {
                continue;
            }

            List<int> ring = [];
            for (int k = h; !seen[k]; k = NextRoundLeftFace(k))
            {
                seen[k] = true;
                ring.Add(k);
            }

            faces.Add(ring);
        }

        return faces;
    }

    /// <summary>Signed area of a ring, unit squared, positive where it runs anticlockwise as seen (an inner face).</summary>
    public double SignedArea(IReadOnlyList<int> ring)
    {
        ArgumentNullException.ThrowIfNull(ring);
        double twice = 0;
        foreach (int h in ring)
        {
            Edge<TSpace> e = Along(h);

            // Shoelace, y down: anticlockwise as seen is negative, so the sign is turned. An arc with a positive bulge bows into
            // the face on its left and takes its segment away.
            twice -= e.From.X * e.To.Y - e.To.X * e.From.Y;
            twice -= 2 * e.SegmentArea;
        }

        return twice / 2;
    }

    /// <summary>Number of each node's connected piece, 0 …; a node without edges is −1.</summary>
    public int[] FindPieces(out int count)
    {
        int[] piece = new int[Nodes.Count];
        Array.Fill(piece, -1);
        count = 0;
        Stack<int> open = new();
        for (int v = 0; v < piece.Length; v++)
        {
            if (piece[v] >= 0 || rotation[v].Length == 0)
            {
                continue;
            }

            piece[v] = count;
            open.Push(v);
            while (open.TryPop(out int u))
            {
                foreach (int h in rotation[u])
                {
                    int w = NodeOf(h ^ 1);
                    if (piece[w] < 0)
                    {
                        piece[w] = count;
                        open.Push(w);
                    }
                }
            }

            count++;
        }

        return piece;
    }

    /// <summary>
    /// Pairs of edges that are not noded: they cross, overlap, or one runs through an end of the other. Exact; an R-tree
    /// (NetTopologySuite's STR tree) finds the neighbours.
    /// </summary>
    public IReadOnlyList<(int A, int B, EdgeRelation Relation)> FindConflicts()
    {
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int e = 0; e < edges.Length; e++)
        {
            tree.Insert(Envelope(edges[e]), e);
        }

        List<(int, int, EdgeRelation)> found = [];
        for (int e = 0; e < edges.Length; e++)
        {
            foreach (int o in tree.Query(Envelope(edges[e])).Where(o => o > e).Order())
            {
                EdgeRelation relation = Exact.Relate(edges[e], edges[o]);
                if (relation is EdgeRelation.Cross or EdgeRelation.Overlap or EdgeRelation.Touch)
                {
                    found.Add((e, o, relation));
                }
            }
        }

        return found;

        static NetTopologySuite.Geometries.Envelope Envelope(Edge<TSpace> e)
        {
            Box<TSpace> b = e.Bounds().Grown(e.IsLine ? 0 : 1e-9 * (1 + e.Radius));
            return new(b.Left, b.Right, b.Top, b.Bottom);
        }
    }

    private int CompareAround(int a, int b)
    {
        int order = Exact.CompareDepartures(Along(a), Along(b));

        // Copies of one edge run in opposite order at its two ends, or else their drawing would cross itself.
        return order != 0 ? order
            : NodeOf(a) <= NodeOf(a ^ 1) ? a.CompareTo(b)
            : b.CompareTo(a);
    }

    // Orders each run of nearly tangent half-edges of one node by where they pass a circle about the node.
    private void OrderTangents(int[] around)
    {
        int n = around.Length;
        Edge<TSpace>[] ways = [.. around.Select(Along)];
        bool FollowsClosely(int i) =>
            Math.Abs(ways[(i + n - 1) % n].StartDirection.AngleTo(ways[i % n].StartDirection)) < NearTangent;

        int start = 0;
        while (start < n && FollowsClosely(start))
        {
            start++;
        }

        start = start == n ? 0 : start;
        int[] ordered = new int[n];
        for (int i = 0; i < n; )
        {
            int count = 1;
            while (i + count < n && FollowsClosely(start + i + count))
            {
                count++;
            }

            int[] run = [.. Enumerable.Range(start + i, count).Select(k => k % n)];
            IEnumerable<int> inOrder = run;
            if (count > 1 && run.Any(k => !ways[k].IsLine))
            {
                double radius = run.Min(k => ways[k].Chord) / 2;
                Vector<TSpace> zero = ways[run[0]].StartDirection;
                inOrder = run.OrderBy(k => Math.Round(LeftOf(zero, ways[k], radius), 12));
            }

            foreach (int k in inOrder)
            {
                ordered[i++] = around[k];
            }
        }

        ordered.CopyTo(around, 0);
    }

    // The angle, positive to the left as seen, from a direction to the point where the edge has come so far from its start.
    private static double LeftOf(Vector<TSpace> zero, Edge<TSpace> way, double distance)
    {
        double tangent = -zero.AngleTo(way.StartDirection);

        // A chord of an arc leaves its tangent by half the angle it subtends.
        return way.IsLine ? tangent : tangent - Math.Sign(way.Bulge) * Math.Asin(distance / (2 * way.Radius));
    }
}
