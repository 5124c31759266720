using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Finishing;

/// <summary>How often each line is travelled, and where threads end.</summary>
/// <param name="Copies">Times that each line is travelled.</param>
/// <param name="Loose">Thread ends at each junction.</param>
/// <param name="Inches">Length travelled beyond the required lines once each.</param>
/// <param name="IsLeast">True where no other way does better by the thread wish.</param>
internal sealed record TravelPlan(int[] Copies, int[] Loose, double Inches, bool IsLeast);

/// <summary>
/// Which lines to travel again so that the required ones can be stitched between given thread ends; lines stitched before may
/// be travelled at their length.
/// </summary>
/// <remarks>
/// A rural postman's problem. The least travel that sets the parity right is a T-join over all lines, T = odd junctions of what
/// is required with the given ends turned (Edmonds and Johnson 1973): the answer whenever the required lines and the travel
/// hang together, and a lower bound always. Where they do not, pieces are tied in along shortest ways, both there and back and
/// by a tree that is then matched (Frederickson 1979), and the shorter is taken.
/// </remarks>
internal sealed class LineTravel
{
    private readonly StitchGraph graph;
    private readonly Func<int, int> taste;
    private readonly CancellationToken cancellation;

    public LineTravel(StitchGraph graph, Func<int, int> taste, CancellationToken cancellation)
    {
        this.graph = graph;
        this.taste = taste;
        this.cancellation = cancellation;
    }

    /// <summary>Solves it for every connected piece of the graph.</summary>
    /// <param name="required">True for the lines to stitch; the others may be travelled.</param>
    /// <param name="ends">Junctions where a thread is given to begin or end; one may stand twice.</param>
    /// <param name="open">Further thread ends that cost nothing, in a piece that has given ends; others have two.</param>
    /// <param name="thread">Starts against backtracking.</param>
    /// <param name="inchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
    public TravelPlan Solve(
        IReadOnlyList<bool> required,
        IReadOnlyList<int> ends,
        int open,
        ThreadChoice thread,
        double inchesPerStart
    )
    {
        int[] copies = [.. required.Select(r => r ? 1 : 0)];
        int[] loose = new int[graph.Plane.Nodes.Count];
        if (thread == ThreadChoice.Free)
        {
            Loosen(copies, ends, loose);
            return new(copies, loose, 0, true);
        }

        bool least = true;
        double inches = 0;
        for (int r = 0; r < graph.PieceCount; r++)
        {
            cancellation.ThrowIfCancellationRequested();
            int[] here = [.. ends.Where(v => graph.PieceOf(v) == r)];
            (double more, bool proven) = Region(
                r,
                copies,
                here,
                here.Length > 0 ? open : 2,
                thread == ThreadChoice.Mixed ? inchesPerStart : null,
                loose
            );
            inches += more;
            least &= proven;
        }

        return new(copies, loose, inches, least);
    }

    // Nothing twice: each odd junction is a thread's end. An end given at an odd point is the one that it has; at an even
    // point a second lies beside it.
    private void Loosen(int[] copies, IReadOnlyList<int> ends, int[] loose)
    {
        bool[] asked = new bool[loose.Length];
        int[] odd = new int[loose.Length];
        for (int e = 0; e < copies.Length; e++)
        {
            if (copies[e] > 0)
            {
                Touch(graph.Lines[e].From);
                Touch(graph.Lines[e].To);
            }
        }

        foreach (int v in ends.Where(v => asked[v]))
        {
            odd[v] ^= 1;
            loose[v]++;
        }

        for (int v = 0; v < loose.Length; v++)
        {
            loose[v] += odd[v];
        }

        void Touch(int v)
        {
            odd[v] ^= 1;
            asked[v] = true;
        }
    }

    private (double Inches, bool IsLeast) Region(int r, int[] copies, int[] given, int open, double? price, int[] loose)
    {
        int[] own = [.. Enumerable.Range(0, copies.Length).Where(e => graph.PieceOf(graph.Lines[e].From) == r)];
        if (!own.Any(e => copies[e] > 0))
        {
            return (0, true);
        }

        (int[] Copies, int[] Ends, double Ways, double Cost) best = ([], [], 0, double.PositiveInfinity);
        bool hangsTogether = true;
        double bound = double.PositiveInfinity;
        for (int attempt = 0; attempt < 2; attempt++)
        {
            int[] here = [.. copies];
            int[] ends = new int[loose.Length];

            // Frederickson: tie the pieces in once along shortest ways first, then mend the parity of the whole.
            double ways = attempt == 0 ? 0 : TieIn(r, here, given, price, Back.No);
            ways += Mend(here, ends);
            if (attempt == 0)
            {
                bound = ways;
                hangsTogether = HangTogether(r, here, ends, given, price);
            }

            ways += TieIn(r, here, given, price, Back.Yes);
            double cost = ways + (price ?? 0) * ThreadsOf(r, here, ends, given);
            if (cost < best.Cost - 1e-9)
            {
                best = (here, ends, ways, cost);
            }

            if (attempt == 0 && hangsTogether)
            {
                break;
            }
        }

        foreach (int e in own)
        {
            copies[e] = best.Copies[e];
        }

        for (int v = 0; v < loose.Length; v++)
        {
            loose[v] += best.Ends[v];
        }

        return (best.Ways, hangsTogether || (price is null && best.Ways <= bound + 1e-9));

        // Turns the parity right with the least travel; marks where threads begin and end.
        double Mend(int[] here, int[] ends)
        {
            HashSet<int> t = [];
            foreach (int e in own.Where(e => here[e] % 2 == 1))
            {
                Turn(graph.Lines[e].From);
                Turn(graph.Lines[e].To);
            }

            foreach (int g in given)
            {
                Turn(g);
                ends[g]++;
            }

            (IReadOnlyList<int> lines, IReadOnlyList<int> free) = new LeastDoubling(
                graph.Network,
                taste,
                cancellation
            ).JoinAcross(t, Math.Min(open, t.Count), price);
            foreach (int e in lines)
            {
                here[e]++;
            }

            foreach (int f in free)
            {
                ends[f]++;
            }

            return lines.Sum(e => graph.Lines[e].Inches);

            void Turn(int w)
            {
                if (!t.Remove(w))
                {
                    t.Add(w);
                }
            }
        }
    }

    // With a price for a start, pieces that each have thread ends of their own need not be joined: their ends are paid for.
    private bool HangTogether(int r, int[] copies, int[] ends, int[] given, double? price)
    {
        int[] piece = PiecesOf(r, copies, given);
        int[] pieces = [.. piece.Where(p => p >= 0).Distinct()];
        return pieces.Length <= 1
            || (
                price is not null
                && pieces.All(p => Enumerable.Range(0, piece.Length).Any(v => piece[v] == p && ends[v] > 0))
            );
    }

    private enum Back
    {
        No,
        Yes,
    }

    // Half the ends of each piece, at least one thread; those of the given ends are counted too, in every way alike.
    private int ThreadsOf(int r, int[] copies, int[] ends, int[] given)
    {
        int[] piece = PiecesOf(r, copies, given);
        Dictionary<int, int> endsOf = [];
        for (int v = 0; v < piece.Length; v++)
        {
            if (piece[v] >= 0)
            {
                endsOf[piece[v]] = endsOf.GetValueOrDefault(piece[v]) + ends[v];
            }
        }

        return endsOf.Values.Sum(k => Math.Max(1, k / 2));
    }

    /// <summary>
    /// Ties pieces together along shortest ways, nearest first, once or there and back; with a price for a start only where
    /// that is shorter.
    /// </summary>
    /// <returns>Length added.</returns>
    private double TieIn(int r, int[] copies, int[] given, double? price, Back back)
    {
        double added = 0;
        int times = back == Back.Yes ? 2 : 1;
        while (true)
        {
            int[] piece = PiecesOf(r, copies, given);
            if (piece.Where(p => p >= 0).Distinct().Count() <= 1)
            {
                return added;
            }

            (List<int>? way, double inches) = ShortestBetween(piece);
            if (way is null || (price is { } p && times * inches >= p))
            {
                return added;
            }

            foreach (int e in way)
            {
                copies[e] += times;
            }

            added += times * inches;
        }
    }

    // The shortest way over the lines between two pieces of one region, by growing all pieces at once.
    private (List<int>? Lines, double Inches) ShortestBetween(int[] piece)
    {
        int n = piece.Length;
        double[] distance = new double[n];
        int[] by = new int[n];
        int[] root = new int[n];
        Array.Fill(distance, double.PositiveInfinity);
        PriorityQueue<int, double> open = new();
        for (int v = 0; v < n; v++)
        {
            by[v] = -1;
            root[v] = piece[v];
            if (piece[v] >= 0)
            {
                distance[v] = 0;
                open.Enqueue(v, 0);
            }
        }

        while (open.TryDequeue(out int v, out double d))
        {
            if (d > distance[v])
            {
                continue;
            }

            foreach (int h in graph.Plane.Around(v))
            {
                int w = graph.Plane.NodeOf(h ^ 1);
                double dw = d + graph.Lines[h >> 1].Inches;
                if (dw < distance[w])
                {
                    (distance[w], by[w], root[w]) = (dw, h, root[v]);
                    open.Enqueue(w, dw);
                }
            }
        }

        int best = -1;
        double least = double.PositiveInfinity;
        for (int e = 0; e < graph.Lines.Count; e++)
        {
            (int a, int b) = (graph.Lines[e].From, graph.Lines[e].To);
            double d = distance[a] + distance[b] + graph.Lines[e].Inches;
            if (root[a] != root[b] && root[a] >= 0 && root[b] >= 0 && d < least)
            {
                (best, least) = (e, d);
            }
        }

        if (best < 0)
        {
            return (null, 0);
        }

        List<int> lines = [best];
        foreach (int v in new[] { graph.Lines[best].From, graph.Lines[best].To })
        {
            for (int u = v; by[u] >= 0; u = graph.Plane.NodeOf(by[u]))
            {
                lines.Add(by[u] >> 1);
            }
        }

        return (lines, least);
    }

    // Piece of each junction of a region over the lines that are travelled, −1 where none is; a given end is a piece too.
    private int[] PiecesOf(int r, int[] copies, int[] given)
    {
        int[] piece = new int[graph.Plane.Nodes.Count];
        Array.Fill(piece, -1);
        int count = 0;
        Stack<int> open = new();
        for (int e = 0; e < copies.Length; e++)
        {
            if (copies[e] > 0 && graph.PieceOf(graph.Lines[e].From) == r)
            {
                Grow(graph.Lines[e].From);
            }
        }

        foreach (int v in given)
        {
            Grow(v);
        }

        return piece;

        void Grow(int from)
        {
            if (piece[from] >= 0)
            {
                return;
            }

            piece[from] = count;
            open.Push(from);
            while (open.TryPop(out int v))
            {
                foreach (int h in graph.Plane.Around(v))
                {
                    int w = graph.Plane.NodeOf(h ^ 1);
                    if (copies[h >> 1] > 0 && piece[w] < 0)
                    {
                        piece[w] = count;
                        open.Push(w);
                    }
                }
            }

            count++;
        }
    }
}
