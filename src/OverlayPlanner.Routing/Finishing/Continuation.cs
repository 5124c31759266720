using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Finishing;

/// <summary>How the lines that are left are stitched.</summary>
/// <param name="OnThread">What the thread on the needle goes on with; empty where it is cut.</param>
/// <param name="NewThreads">What new threads stitch, in order.</param>
/// <param name="DoubledInches">Length stitched again, over old lines or new.</param>
/// <param name="IsLeast">True where no other way of stitching what is left does better by the thread wish.</param>
internal sealed record Continuation(
    IReadOnlyList<TrailLeg> OnThread,
    IReadOnlyList<Trail> NewThreads,
    double DoubledInches,
    bool IsLeast
);

/// <summary>
/// Completes a half-stitched design: which lines to go over again and in which order the rest is stitched, from where the
/// needle is.
/// </summary>
/// <remarks>
/// <para>
/// The lines left are required, those stitched may be travelled again at their length: a rural postman's problem. With the
/// needle at v and a free end, the least travel is a T-join over all lines for T = odd junctions of what is left, v turned
/// (Edmonds and Johnson 1973); it is the answer whenever the lines left and the travel hang together, and a lower bound
/// always. Where they do not, pieces are tied in along shortest ways, both there and back and by a tree that is then matched
/// (Frederickson 1979), and the shorter is taken.
/// </para>
/// <para>Passes stitched before are crossed only where every way would; the planner pays for it in its pairing costs.</para>
/// </remarks>
internal sealed class ContinuationPlanner
{
    private readonly StitchGraph graph;
    private readonly bool[] done;
    private readonly PointTaste taste;
    private readonly IReadOnlyList<IReadOnlyList<TrailLeg>> stitched;
    private readonly CancellationToken cancellation;
    private readonly int[] region;
    private readonly int regions;

    /// <summary>Prepares.</summary>
    /// <param name="graph">All lines of the design, stitched and to stitch.</param>
    /// <param name="stitched">What each thread so far has stitched.</param>
    /// <param name="taste">Where tails hide.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    public ContinuationPlanner(
        StitchGraph graph,
        IReadOnlyList<IReadOnlyList<TrailLeg>> stitched,
        PointTaste taste,
        CancellationToken cancellation
    )
    {
        this.graph = graph;
        this.stitched = stitched;
        this.taste = taste;
        this.cancellation = cancellation;
        done = new bool[graph.Lines.Count];
        foreach (TrailLeg leg in stitched.SelectMany(t => t))
        {
            done[leg.Line] = true;
        }

        region = [.. Enumerable.Range(0, graph.Plane.Nodes.Count).Select(graph.PieceOf)];
        regions = graph.PieceCount;
    }

    /// <summary>Plans what is left.</summary>
    /// <param name="needle">Junction where the thread on the needle is, or null where there is none.</param>
    /// <param name="end">Junction where the last thread should end, or null.</param>
    /// <param name="thread">Starts against backtracking.</param>
    /// <param name="inchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
    public Continuation Plan(int? needle, int? end, ThreadChoice thread, double inchesPerStart)
    {
        int[] copies = [.. done.Select(d => d ? 0 : 1)];
        if (copies.All(c => c == 0))
        {
            return new([], [], 0, true);
        }

        int[] loose = new int[graph.Plane.Nodes.Count];
        bool least = true;
        if (thread == ThreadChoice.Free)
        {
            LooseFree(copies, needle, end, loose);
        }
        else
        {
            for (int r = 0; r < regions; r++)
            {
                cancellation.ThrowIfCancellationRequested();
                int? here = needle is { } n && region[n] == r ? n : null;
                int? endHere = end is { } e && region[e] == r ? e : null;
                least &= Region(r, copies, here, endHere, thread, inchesPerStart, loose);
            }
        }

        double doubled = Enumerable
            .Range(0, copies.Length)
            .Sum(e => (copies[e] - (done[e] ? 0 : 1)) * graph.Lines[e].Inches);
        (IReadOnlyList<TrailLeg> onThread, List<Trail> rest) = Trace(copies, loose, needle, end);
        return new(onThread, InOrder(rest, onThread, needle, end), doubled, least);
    }

    // Nothing twice: each odd junction of what is left is a thread's end; the needle's own end counts for nothing new.
    private void LooseFree(int[] copies, int? needle, int? end, int[] loose)
    {
        bool[] asked = new bool[loose.Length];
        foreach (int e in Enumerable.Range(0, copies.Length).Where(e => copies[e] > 0))
        {
            foreach (int v in new[] { graph.Lines[e].From, graph.Lines[e].To })
            {
                loose[v] ^= 1;
                asked[v] = true;
            }
        }

        // An end wished at an odd point is the one that it has; at an even point a second must lie beside it.
        int[] odd = [.. loose];
        foreach (int v in new[] { needle, end }.OfType<int>().Where(v => asked[v]))
        {
            odd[v] ^= 1;
            loose[v] = 0;
        }

        foreach (int v in new[] { needle, end }.OfType<int>().Where(v => asked[v]))
        {
            loose[v] += 1 + odd[v];
            odd[v] = 0;
        }
    }

    private bool Region(
        int r,
        int[] copies,
        int? needle,
        int? end,
        ThreadChoice thread,
        double inchesPerStart,
        int[] loose
    )
    {
        int[] own = [.. Enumerable.Range(0, copies.Length).Where(e => region[graph.Lines[e].From] == r)];
        int[] left = [.. own.Where(e => copies[e] > 0)];
        if (left.Length == 0)
        {
            return true;
        }

        double? gain = thread == ThreadChoice.Mixed ? inchesPerStart : null;
        (int[] Copies, int[] Loose, double Inches) best = ([], [], double.PositiveInfinity);
        bool hangsTogether = true;
        double bound = double.PositiveInfinity;
        for (int attempt = 0; attempt < 2; attempt++)
        {
            int[] here = [.. copies];
            int[] ends = new int[loose.Length];
            double ways = 0;
            if (attempt == 1)
            {
                // Frederickson: tie the pieces in once along shortest ways first, then mend the parity of the whole.
                ways = TieIn(r, here, needle, gain, Back.No);
            }

            ways += Mend(here, needle, end, gain, ends);
            bool together = HangTogether(r, here, ends, needle, gain);
            if (attempt == 0)
            {
                bound = ways;
                hangsTogether = together;
            }

            ways += TieIn(r, here, needle, gain, Back.Yes);
            double cost = ways + (gain ?? 0) * ThreadsOf(r, here, ends, needle);
            if (cost < best.Inches - 1e-9)
            {
                best = (here, ends, cost);
            }

            if (attempt == 0 && together)
            {
                break;
            }
        }

        for (int e = 0; e < copies.Length; e++)
        {
            copies[e] = best.Copies[e];
        }

        for (int v = 0; v < loose.Length; v++)
        {
            loose[v] += best.Loose[v];
        }

        return hangsTogether || (gain is null && best.Inches <= bound + 1e-9);

        // Turns the parity right with the least travel; marks where threads begin and end.
        double Mend(int[] here, int? v, int? last, double? price, int[] ends)
        {
            HashSet<int> t = [];
            foreach (int e in own)
            {
                for (int k = 0; k < here[e] % 2; k++)
                {
                    Turn(graph.Lines[e].From);
                    Turn(graph.Lines[e].To);
                }
            }

            int[] given = [.. new[] { v, last }.OfType<int>()];
            foreach (int g in given)
            {
                Turn(g);
                ends[g]++;
            }

            int open = Math.Min(2 - given.Length, t.Count);
            (IReadOnlyList<int> lines, IReadOnlyList<int> free) = new LeastDoubling(
                graph.Network,
                taste.Of,
                cancellation
            ).JoinAcross(t, open, price);
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
    private bool HangTogether(int r, int[] copies, int[] ends, int? needle, double? price)
    {
        int[] piece = PiecesOf(r, copies, needle);
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

    // How many new threads what is to travel takes: half the ends of each piece, the needle's own thread for nothing.
    private int ThreadsOf(int r, int[] copies, int[] ends, int? needle)
    {
        int[] piece = PiecesOf(r, copies);
        Dictionary<int, int> endsOf = [];
        for (int v = 0; v < piece.Length; v++)
        {
            if (piece[v] >= 0)
            {
                endsOf[piece[v]] = endsOf.GetValueOrDefault(piece[v]) + ends[v];
            }
        }

        int threads = endsOf.Values.Sum(k => Math.Max(1, k / 2));
        return needle is { } n && piece[n] >= 0 ? threads - 1 : threads;
    }

    /// <summary>
    /// Ties pieces together along shortest ways, nearest first, once or there and back; with a price for a start only where
    /// that is shorter.
    /// </summary>
    /// <returns>Length added.</returns>
    private double TieIn(int r, int[] copies, int? needle, double? price, Back back)
    {
        double added = 0;
        double times = back == Back.Yes ? 2 : 1;
        while (true)
        {
            int[] piece = PiecesOf(r, copies, needle);
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
                copies[e] += (int)times;
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

    // Piece of each junction of a region over the lines that are travelled, −1 where none is; the needle's own point is a
    // piece too.
    private int[] PiecesOf(int r, int[] copies, int? needle = null)
    {
        int[] piece = new int[graph.Plane.Nodes.Count];
        Array.Fill(piece, -1);
        int count = 0;
        Stack<int> open = new();
        for (int e = 0; e < copies.Length; e++)
        {
            if (copies[e] == 0 || region[graph.Lines[e].From] != r || piece[graph.Lines[e].From] >= 0)
            {
                continue;
            }

            open.Push(graph.Lines[e].From);
            piece[graph.Lines[e].From] = count;
            while (open.TryPop(out int v))
            {
                foreach (int h in graph.Plane.Around(v).Where(h => copies[h >> 1] > 0))
                {
                    int w = graph.Plane.NodeOf(h ^ 1);
                    if (piece[w] < 0)
                    {
                        piece[w] = count;
                        open.Push(w);
                    }
                }
            }

            count++;
        }

        if (needle is { } n && piece[n] < 0)
        {
            piece[n] = count;
        }

        return piece;
    }

    /// <summary>
    /// Orders what is to travel into trails. The half of the last line that the needle has just stitched takes part as a stub
    /// from a point of its own, so that the way on crosses nothing at the needle's point either.
    /// </summary>
    private (IReadOnlyList<TrailLeg> OnThread, List<Trail> Others) Trace(
        int[] copies,
        int[] loose,
        int? needle,
        int? end
    )
    {
        TrailLeg? stub = needle is { } n && loose[n] > 0 && stitched is [.., [.., { } latest]] ? latest : null;
        int[] travelled = [.. Enumerable.Range(0, copies.Length).Where(e => copies[e] > 0)];
        List<StitchLine> lines = [.. travelled.Select(e => graph.Lines[e])];
        int[] ends = [.. loose];
        QuiltMap map = graph.Map;
        int? from = needle;
        if (stub is { } last)
        {
            Edge<ClothSpace> half = PathOf(last).Piece(0.5, 1);
            from = map.Junctions.Count;
            map = map.With(junctions: [.. map.Junctions, new("needle", new(half.From, Length.Zero))]);
            lines.Add(new(from.Value, needle!.Value, half, MoveKind.Ditch, null, null));
            ends[needle.Value]--;
            ends = [.. ends, 1];
        }

        IReadOnlyList<Trail> trails = TrailSystem.Trace(
            new(map, lines),
            [.. Enumerable.Range(0, travelled.Length).Where(k => copies[travelled[k]] >= 2)],
            ends,
            new(TrailStyle.NoCrossing, [], from, end) { Passed = Passed() },
            cancellation
        );
        List<Trail> all = [.. trails];
        List<TrailLeg> onThread = [];
        if (from is { } v && ends[v] > 0)
        {
            int i = all.FindIndex(t => !t.IsClosed && (NodeBefore(t.Legs[0]) == v || NodeAfter(t.Legs[^1]) == v));
            if (i >= 0)
            {
                Trail mine = NodeBefore(all[i].Legs[0]) == v ? all[i] : Reversed(all[i]);
                onThread = [.. mine.Legs.Skip(stub is null ? 0 : 1).Select(Own)];
                all.RemoveAt(i);
            }
        }

        return (onThread, [.. all.Select(t => t with { Legs = [.. t.Legs.Select(Own)] })]);

        int NodeBefore(TrailLeg l) => l.Forward ? lines[l.Line].From : lines[l.Line].To;

        int NodeAfter(TrailLeg l) => l.Forward ? lines[l.Line].To : lines[l.Line].From;

        TrailLeg Own(TrailLeg l) => l with { Line = travelled[l.Line] };
    }

    private List<(int, Edge<ClothSpace>, Edge<ClothSpace>)> Passed()
    {
        List<(int, Edge<ClothSpace>, Edge<ClothSpace>)> passed = [];
        foreach (IReadOnlyList<TrailLeg> thread in stitched)
        {
            for (int i = 1; i < thread.Count; i++)
            {
                passed.Add((NodeBefore(thread[i]), PathOf(thread[i - 1]).Reversed, PathOf(thread[i])));
            }
        }

        return passed;
    }

    private Edge<ClothSpace> PathOf(TrailLeg leg) =>
        leg.Forward ? graph.Lines[leg.Line].Path : graph.Lines[leg.Line].Path.Reversed;

    private int NodeBefore(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].From : graph.Lines[leg.Line].To;

    private int NodeAfter(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].To : graph.Lines[leg.Line].From;

    private static Trail Reversed(Trail t) => t with { Legs = [.. t.Legs.Reverse().Select(l => l.Reversed)] };

    // Each new thread starts near where the last one ended; one that can end at the wished place comes last.
    private List<Trail> InOrder(List<Trail> left, IReadOnlyList<TrailLeg> onThread, int? needle, int? end)
    {
        List<Trail> ordered = [];
        Trail? last = null;
        if (end is { } e)
        {
            int i = left.FindIndex(t => !t.IsClosed && (NodeAfter(t.Legs[^1]) == e || NodeBefore(t.Legs[0]) == e));
            if (i >= 0)
            {
                last = NodeAfter(left[i].Legs[^1]) == e ? left[i] : Reversed(left[i]);
                left.RemoveAt(i);
            }
        }

        int? at = onThread.Count > 0 ? NodeAfter(onThread[^1]) : needle;
        while (left.Count > 0)
        {
            (int Index, Trail Trail) next = left.SelectMany((t, i) => Ways(t).Select(w => (Index: i, Trail: w)))
                .MinBy(x => Key(NodeBefore(x.Trail.Legs[0])));
            left.RemoveAt(next.Index);
            ordered.Add(next.Trail);
            at = NodeAfter(next.Trail.Legs[^1]);
        }

        double Key(int v) =>
            at is { } from
                ? graph.Plane.Nodes[v].DistanceTo(graph.Plane.Nodes[from]) + 0.001 * taste.Of(v)
                : taste.Of(v);

        if (last is not null)
        {
            ordered.Add(last);
        }

        return ordered;
    }

    private static IEnumerable<Trail> Ways(Trail t)
    {
        if (!t.IsClosed)
        {
            yield return t;
            yield return Reversed(t);
            yield break;
        }

        for (int i = 0; i < t.Legs.Count; i++)
        {
            yield return t with
            {
                Legs = [.. t.Legs.Skip(i), .. t.Legs.Take(i)],
            };
        }
    }
}
