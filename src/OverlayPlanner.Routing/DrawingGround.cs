using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing;

/// <summary>
/// A map made ready to be drawn on: what <see cref="DrawnRoute"/> needs to know of its lines, for many strokes or for one stroke that
/// is read again with each new point. Not for several threads at once.
/// </summary>
public sealed class DrawingGround
{
    private readonly NetTopologySuite.Index.Strtree.STRtree<int> tree = new();

    // As many points as that, a row of distances for each is smaller than the tables that it is read from.
    private const int MostInRows = 4096;

    private readonly Dictionary<int, Dictionary<int, (double Distance, int By)>> near = [];
    private readonly double[]?[] rows;
    private readonly Dictionary<(int, int), int[]> squares = [];

    /// <summary>Looks at the lines of a map.</summary>
    public DrawingGround(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        Map = map;
        Plane = map.ToPlaneGraph();
        rows = new double[]?[Plane.Nodes.Count <= MostInRows ? Plane.Nodes.Count : 0];
        Lengths = [.. Enumerable.Range(0, Plane.EdgeCount).Select(e => Plane[e].Length)];
        for (int e = 0; e < Plane.EdgeCount; e++)
        {
            Box<ClothSpace> b = Plane[e].Bounds();
            tree.Insert(new(b.Left, b.Right, b.Top, b.Bottom), e);
        }

        // A finger on a sheet is off by a quarter inch; small blocks are drawn more finely.
        double small = Lengths.Length == 0 ? 1 : Lengths.Order().ElementAt(Lengths.Length / 5);
        Sigma = Math.Min(0.2, 0.12 * small);
        Slack = Math.Min(0.4, 0.3 * small);
    }

    /// <summary>The map.</summary>
    public QuiltMap Map { get; }

    internal PlaneGraph<ClothSpace> Plane { get; }

    internal double[] Lengths { get; }

    /// <summary>How far the hand is off its line, one deviation, inches.</summary>
    internal double Sigma { get; }

    /// <summary>How far along a line the hand may be off, inches.</summary>
    internal double Slack { get; }

    /// <summary>How far off a line the hand is still following it, inches.</summary>
    internal double Reach => 4 * Sigma;

    /// <summary>Lines that may come within <see cref="Reach"/> of a place, and some more; looked up once for each small square of the cloth.</summary>
    internal int[] Near(Point<ClothSpace> p)
    {
        // A hand lingers in a square for several samples, and comes back to it.
        (int, int) square = ((int)Math.Floor(p.X / Reach), (int)Math.Floor(p.Y / Reach));
        if (!squares.TryGetValue(square, out int[]? lines))
        {
            (double left, double top) = (square.Item1 * Reach, square.Item2 * Reach);
            squares[square] = lines = [
                .. tree.Query(new(left - Reach, left + 2 * Reach, top - Reach, top + 2 * Reach)),
            ];
        }

        return lines;
    }

    /// <summary>The way along the lines from one point to another; infinite where that is out of reach.</summary>
    internal double Between(int from, int to)
    {
        if (rows.Length == 0)
        {
            return Around(from).TryGetValue(to, out (double Distance, int By) way)
                ? way.Distance
                : double.PositiveInfinity;
        }

        return (rows[from] ??= RowOf(from))[to];
    }

    private double[] RowOf(int from)
    {
        double[] row = new double[rows.Length];
        Array.Fill(row, double.PositiveInfinity);
        foreach ((int to, (double distance, _)) in Around(from))
        {
            row[to] = distance;
        }

        return row;
    }

    /// <summary>Points within a few steps' reach of one, with the way to each along the lines.</summary>
    internal Dictionary<int, (double Distance, int By)> Around(int node)
    {
        if (near.TryGetValue(node, out Dictionary<int, (double, int)>? known))
        {
            return known;
        }

        double reach = Math.Max(8 * Slack, 20 * Sigma);
        Dictionary<int, (double Distance, int By)> found = new() { [node] = (0, -1) };
        PriorityQueue<int, double> open = new();
        open.Enqueue(node, 0);
        while (open.TryDequeue(out int v, out double d))
        {
            if (d > found[v].Distance)
            {
                continue;
            }

            foreach (int h in Plane.Around(v))
            {
                int w = Plane.NodeOf(h ^ 1);
                double dw = d + Lengths[h >> 1];
                if (dw <= reach && (!found.TryGetValue(w, out (double Distance, int By) old) || dw < old.Distance))
                {
                    found[w] = (dw, h);
                    open.Enqueue(w, dw);
                }
            }
        }

        return near[node] = found;
    }
}
