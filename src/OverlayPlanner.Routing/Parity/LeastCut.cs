namespace OverlayPlanner.Routing.Parity;

/// <summary>
/// Least cuts of a small undirected network with capacities: maximum flow by shortest augmenting layers (Dinic 1970), and cut
/// trees (Gusfield, "Very simple methods for all pairs network flow analysis", 1990).
/// </summary>
internal sealed class LeastCut
{
    private const double Nothing = 1e-9;
    private readonly int n;
    private readonly int[] head;
    private readonly int[] to;
    private readonly double[] capacity;
    private readonly double[] left;
    private readonly int[] next;
    private readonly int[] level;
    private readonly int[] at;

    public LeastCut(int nodes, IReadOnlyList<(int U, int V, double Capacity)> edges)
    {
        n = nodes;
        head = new int[n];
        Array.Fill(head, -1);
        to = new int[2 * edges.Count];
        capacity = new double[2 * edges.Count];
        left = new double[2 * edges.Count];
        next = new int[2 * edges.Count];
        level = new int[n];
        at = new int[n];
        for (int e = 0; e < edges.Count; e++)
        {
            (int u, int v, double c) = edges[e];
            (to[2 * e], capacity[2 * e], next[2 * e]) = (v, c, head[u]);
            head[u] = 2 * e;
            (to[2 * e + 1], capacity[2 * e + 1], next[2 * e + 1]) = (u, c, head[v]);
            head[v] = 2 * e + 1;
        }
    }

    /// <summary>
    /// A cut tree: for each node but the first its parent and the value of the least cut between the two. The nodes below a
    /// tree edge are one side of such a cut.
    /// </summary>
    public (int[] Parent, double[] Value) Tree()
    {
        int[] parent = new int[n];
        double[] value = new double[n];
        for (int s = 1; s < n; s++)
        {
            int t = parent[s];
            value[s] = Flow(s, t);
            for (int i = 0; i < n; i++)
            {
                if (i != s && level[i] >= 0 && parent[i] == t)
                {
                    parent[i] = s;
                }
            }

            if (t != 0 && level[parent[t]] >= 0)
            {
                parent[s] = parent[t];
                parent[t] = s;
                value[s] = value[t];
                value[t] = LastFlow;
            }
        }

        return (parent, value);
    }

    private double LastFlow { get; set; }

    private double Flow(int s, int t)
    {
        Array.Copy(capacity, left, left.Length);
        double flow = 0;
        while (Layer(s, t))
        {
            Array.Copy(head, at, n);
            for (double f = Push(s, t, double.PositiveInfinity); f > Nothing; f = Push(s, t, double.PositiveInfinity))
            {
                flow += f;
            }
        }

        // The last layering reached exactly the source's side.
        LastFlow = flow;
        return flow;
    }

    private bool Layer(int s, int t)
    {
        Array.Fill(level, -1);
        level[s] = 0;
        Queue<int> queue = new();
        queue.Enqueue(s);
        while (queue.TryDequeue(out int v))
        {
            for (int e = head[v]; e >= 0; e = next[e])
            {
                if (left[e] > Nothing && level[to[e]] < 0)
                {
                    level[to[e]] = level[v] + 1;
                    queue.Enqueue(to[e]);
                }
            }
        }

        return level[t] >= 0;
    }

    private double Push(int v, int t, double most)
    {
        if (v == t)
        {
            return most;
        }

        for (; at[v] >= 0; at[v] = next[at[v]])
        {
            int e = at[v];
            if (left[e] > Nothing && level[to[e]] == level[v] + 1)
            {
                double f = Push(to[e], t, Math.Min(most, left[e]));
                if (f > Nothing)
                {
                    left[e] -= f;
                    left[e ^ 1] += f;
                    return f;
                }
            }
        }

        return 0;
    }
}
