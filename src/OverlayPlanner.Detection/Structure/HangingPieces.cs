using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Finds edges that hang on the rest by one point or one seam, or not at all. Cloth can't be pieced so: cutting a top at any
/// one point leaves it whole. Prints and appliqué make such shapes.
/// </summary>
/// <remarks>
/// Kept are the biconnected component that holds the outline, and any so large that it is a top lying free inside the mapped
/// area: J. Hopcroft and R. Tarjan, "Algorithm 447: efficient algorithms
/// for graph manipulation" (1973). O(n + m).
/// </remarks>
internal static class HangingPieces
{
    private const double LeastShareOfArea = 0.15;

    /// <summary>Removes them.</summary>
    public static void Remove(SeamGraph graph)
    {
        Dictionary<GraphPoint, int> index = [];
        foreach (GraphPoint p in graph.Points)
        {
            index[p] = index.Count;
        }

        // The outline is one ring through all points that are pinned to it; a first node stands for a ring without any.
        int first = index.Count;
        List<(int A, int B, GraphEdge? Edge)> edges =
        [
            .. graph.Edges.Select(e => (index[e.From], index[e.To], (GraphEdge?)e)),
        ];
        int[] ring =
        [
            first,
            .. graph.Points.Where(p => p.OnOutline).OrderBy(p => PlaceOnOutline(graph.Frame, p)).Select(p => index[p]),
            first + 1,
        ];
        for (int i = 0; i < ring.Length; i++)
        {
            edges.Add((ring[i], ring[(i + 1) % ring.Length], null));
        }

        HashSet<int> kept = [];
        foreach (List<int> component in ComponentsOf(edges, first + 2))
        {
            if (
                component.Exists(i => edges[i].Edge is null)
                || IsLarge(graph.Frame, component.Select(i => edges[i].Edge!))
            )
            {
                kept.UnionWith(component);
            }
        }

        for (int i = 0; i < edges.Count; i++)
        {
            if (edges[i].Edge is GraphEdge e && !kept.Contains(i))
            {
                graph.Remove(e);
            }
        }

        graph.RemoveDangling();
    }

    private static double PlaceOnOutline(PixelFrame f, GraphPoint p)
    {
        double w = f.Right - f.Left;
        double h = f.Bottom - f.Top;
        return p.PinnedY && p.Y == f.Top ? p.X - f.Left
            : p.PinnedX && p.X == f.Right ? w + p.Y - f.Top
            : p.PinnedY && p.Y == f.Bottom ? w + h + f.Right - p.X
            : 2 * w + h + f.Bottom - p.Y;
    }

    private static bool IsLarge(PixelFrame frame, IEnumerable<GraphEdge> component)
    {
        Box<PictureSpace> box = Box<PictureSpace>.Around(component.SelectMany(e => new[] { e.From.Place, e.To.Place }));
        return box.Width * box.Height >= LeastShareOfArea * (frame.Right - frame.Left) * (frame.Bottom - frame.Top);
    }

    // Biconnected components as lists of edges; depth first, without recursion.
    private static List<List<int>> ComponentsOf(List<(int A, int B, GraphEdge? Edge)> edges, int nodes)
    {
        List<int>[] around = new List<int>[nodes];
        for (int v = 0; v < nodes; v++)
        {
            around[v] = [];
        }

        for (int i = 0; i < edges.Count; i++)
        {
            around[edges[i].A].Add(i);
            around[edges[i].B].Add(i);
        }

        List<List<int>> components = [];
        int[] depth = new int[nodes];
        int[] low = new int[nodes];
        int[] next = new int[nodes];
        int clock = 0;
        Stack<int> open = new();
        Stack<(int Node, int By)> path = new();
        for (int root = 0; root < nodes; root++)
        {
            if (depth[root] > 0)
            {
                continue;
            }

            depth[root] = low[root] = ++clock;
            path.Push((root, -1));
            while (path.TryPeek(out (int Node, int By) at))
            {
                if (next[at.Node] < around[at.Node].Count)
                {
                    int e = around[at.Node][next[at.Node]++];
                    int other = edges[e].A == at.Node ? edges[e].B : edges[e].A;
                    if (e == at.By || other == at.Node)
                    {
                        continue;
                    }

                    if (depth[other] == 0)
                    {
                        open.Push(e);
                        depth[other] = low[other] = ++clock;
                        path.Push((other, e));
                    }
                    else if (depth[other] < depth[at.Node])
                    {
                        open.Push(e);
                        low[at.Node] = Math.Min(low[at.Node], depth[other]);
                    }

                    continue;
                }

                path.Pop();
                if (!path.TryPeek(out (int Node, int By) parent))
                {
                    break;
                }

                low[parent.Node] = Math.Min(low[parent.Node], low[at.Node]);
                if (low[at.Node] >= depth[parent.Node])
                {
                    List<int> component = [];
                    int e;
                    do
                    {
                        e = open.Pop();
                        component.Add(e);
                    } while (e != at.By);

                    components.Add(component);
                }
            }
        }

        return components;
    }
}
