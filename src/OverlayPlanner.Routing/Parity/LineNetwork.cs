namespace OverlayPlanner.Routing.Parity;

/// <summary>
/// Lines between junctions, as parity sees them: lengths, connected pieces, odd junctions. No geometry, so it need not be
/// plane; two lines may join the same junctions.
/// </summary>
internal sealed class LineNetwork
{
    private readonly int[] from;
    private readonly int[] to;
    private readonly double[] inches;
    private readonly int[][] around;
    private readonly int[] piece;

    /// <summary>Builds the network.</summary>
    /// <param name="junctions">Number of junctions.</param>
    /// <param name="lines">Ends and length of each line.</param>
    /// <param name="optional">
    /// Lines that need not be stitched but may be travelled, at their length; pieces and odd junctions leave them out. Null
    /// for none.
    /// </param>
    public LineNetwork(
        int junctions,
        IReadOnlyList<(int From, int To, double Inches)> lines,
        IReadOnlySet<int>? optional = null
    )
    {
        from = [.. lines.Select(l => l.From)];
        to = [.. lines.Select(l => l.To)];
        inches = [.. lines.Select(l => l.Inches)];
        int[] degree = new int[junctions];
        int[] asked = new int[junctions];
        piece = new int[junctions];
        Array.Fill(piece, -1);
        for (int e = 0; e < from.Length; e++)
        {
            degree[from[e]]++;
            degree[to[e]]++;
            if (optional?.Contains(e) != true)
            {
                asked[from[e]]++;
                asked[to[e]]++;
            }
        }

        around = [.. degree.Select(d => new int[d])];
        for (int e = from.Length - 1; e >= 0; e--)
        {
            around[from[e]][--degree[from[e]]] = 2 * e;
            around[to[e]][--degree[to[e]]] = 2 * e + 1;
        }

        int pieces = 0;
        Stack<int> open = new();
        for (int v = 0; v < junctions; v++)
        {
            if (piece[v] >= 0 || asked[v] == 0)
            {
                continue;
            }

            piece[v] = pieces;
            open.Push(v);
            while (open.TryPop(out int u))
            {
                foreach (int h in around[u])
                {
                    int w = NodeOf(h ^ 1);
                    if (piece[w] < 0 && optional?.Contains(h >> 1) != true)
                    {
                        piece[w] = pieces;
                        open.Push(w);
                    }
                }
            }

            pieces++;
        }

        PieceCount = pieces;
        Odd = [.. Enumerable.Range(0, junctions).Where(v => asked[v] % 2 == 1)];
        int[] odd = new int[pieces];
        foreach (int v in Odd)
        {
            odd[piece[v]]++;
        }

        LeastStarts = odd.Sum(k => Math.Max(1, k / 2));
    }

    /// <summary>Number of junctions.</summary>
    public int JunctionCount => around.Length;

    /// <summary>Number of lines.</summary>
    public int LineCount => from.Length;

    /// <summary>Number of connected pieces.</summary>
    public int PieceCount { get; }

    /// <summary>Junctions where an odd number of lines meet.</summary>
    public IReadOnlyList<int> Odd { get; }

    /// <summary>Sum over pieces of max(1, odd ÷ 2): nothing stitched twice takes no fewer starts (Listing 1847).</summary>
    public int LeastStarts { get; }

    /// <summary>Length of a line.</summary>
    public double InchesOf(int line) => inches[line];

    /// <summary>Number of the piece that a junction belongs to, −1 where no line meets it.</summary>
    public int PieceOf(int junction) => piece[junction];

    /// <summary>Half-edges at a junction: 2 × line + 0 at its first end, + 1 at its second; in order of their lines.</summary>
    public IReadOnlyList<int> Around(int junction) => around[junction];

    /// <summary>The junction that a half-edge leaves.</summary>
    public int NodeOf(int halfEdge) => (halfEdge & 1) == 0 ? from[halfEdge >> 1] : to[halfEdge >> 1];
}
