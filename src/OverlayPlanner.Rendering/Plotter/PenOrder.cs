using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Plotter;

/// <summary>In which order a pen draws its paths.</summary>
public enum PenOrder
{
    /// <summary>As they are stitched.</summary>
    AsStitched,

    /// <summary>Least travel with the pen up; each path is drawn the way it is stitched.</summary>
    KeepWay,

    /// <summary>Least travel with the pen up; a path may be drawn from either end.</summary>
    AnyWay,
}

/// <summary>Orders paths so that the pen travels little while it is up. Inside a path nothing changes.</summary>
/// <remarks>
/// A travelling salesman's path over the paths' ends, from the pen's home, its end free: nearest neighbour, then exchanges of
/// two links and moves of up to three paths over near neighbours (Lin and Kernighan 1973; Bentley 1992), then the same after
/// small local kicks, kept where they help (Johnson and McGeoch 1997). Deterministic; about n √n steps, so 5,000 paths take a
/// second or two.
/// </remarks>
internal static class PenTravel
{
    private const int Neighbours = 8;
    private const int KickReach = 30;
    private const double LeastGain = -1e-9;

    /// <summary>The order: which path, and whether it is drawn from its end.</summary>
    public static IReadOnlyList<(int Path, bool Backward)> Order(
        IReadOnlyList<(Point<PageSpace> From, Point<PageSpace> To)> paths,
        Point<PageSpace> home,
        PenOrder order
    )
    {
        if (order == PenOrder.AsStitched || paths.Count == 0)
        {
            return [.. Enumerable.Range(0, paths.Count).Select(i => (i, false))];
        }

        Tour tour = new(paths, home, order == PenOrder.AnyWay);
        tour.Improve();
        return tour.Result();
    }

    /// <summary>Travel with the pen up, from home to the last path's beginning.</summary>
    public static double Length(
        IReadOnlyList<(Point<PageSpace> From, Point<PageSpace> To)> paths,
        Point<PageSpace> home,
        IEnumerable<(int Path, bool Backward)> order
    )
    {
        double sum = 0;
        Point<PageSpace> at = home;
        foreach ((int path, bool backward) in order)
        {
            (Point<PageSpace> from, Point<PageSpace> to) = paths[path];
            sum += at.DistanceTo(backward ? to : from);
            at = backward ? from : to;
        }

        return sum;
    }

    /// <summary>Always the nearest path next: what the better order is measured against.</summary>
    public static IReadOnlyList<(int Path, bool Backward)> Greedy(
        IReadOnlyList<(Point<PageSpace> From, Point<PageSpace> To)> paths,
        Point<PageSpace> home,
        bool mayTurn
    )
    {
        EndGrid grid = new(paths, mayTurn);
        List<(int, bool)> order = [];
        Point<PageSpace> at = home;
        while (grid.TakeNearest(at) is { } end)
        {
            bool backward = (end & 1) == 1;
            order.Add((end >> 1, backward));
            at = backward ? paths[end >> 1].From : paths[end >> 1].To;
        }

        return order;
    }

    // An end of a path has the number 2 × path, or 2 × path + 1 for its second end; a path is entered by one end and left by
    // the other. Path 0 of the tour is the home itself.
    private sealed class Tour
    {
        private readonly Point<PageSpace>[] ends;
        private readonly int[] entry;
        private readonly int[] place;
        private readonly int[][] near;
        private readonly bool mayTurn;
        private readonly List<(int From, int To)> done = [];
        private readonly Queue<int> waiting = new();
        private readonly bool[] waits;

        public Tour(
            IReadOnlyList<(Point<PageSpace> From, Point<PageSpace> To)> paths,
            Point<PageSpace> home,
            bool mayTurn
        )
        {
            this.mayTurn = mayTurn;
            ends = new Point<PageSpace>[2 * paths.Count + 2];
            (ends[0], ends[1]) = (home, home);
            for (int i = 0; i < paths.Count; i++)
            {
                (ends[2 * i + 2], ends[2 * i + 3]) = paths[i];
            }

            entry = [0, .. Greedy(paths, home, mayTurn).Select(g => 2 * g.Path + 2 + (g.Backward ? 1 : 0))];
            place = new int[entry.Length];
            for (int i = 0; i < entry.Length; i++)
            {
                place[entry[i] >> 1] = i;
            }

            near = EndGrid.Near(ends, Neighbours);
            waits = new bool[entry.Length];
        }

        public IReadOnlyList<(int, bool)> Result() => [.. entry.Skip(1).Select(e => ((e >> 1) - 1, (e & 1) == 1))];

        public void Improve()
        {
            for (int i = 0; i < entry.Length; i++)
            {
                Wait(i);
            }

            Settle();
            int n = entry.Length;
            if (n < 5)
            {
                return;
            }

            // Kicks: two neighbouring short stretches change places. A linear congruential generator (Knuth 1997, 3.3.4)
            // chooses where, so that the same paths always give the same order.
            ulong state = 0x9E3779B97F4A7C15;
            int reach = Math.Min(KickReach, (n - 1) / 2);
            int kicks = Math.Clamp(12 * n, 2_000, 40_000);
            for (int k = 0; k < kicks; k++)
            {
                done.Clear();
                int a = 1 + Next(n - 1);
                int b = a + 1 + Next(reach);
                int c = b + 1 + Next(reach);
                if (c > n)
                {
                    continue;
                }

                double before = Link(a - 1) + Link(b - 1) + Link(c - 1);
                Swap(a, b, c);
                int m = a + c - b;
                double change = Link(a - 1) + Link(m - 1) + Link(c - 1) - before;
                foreach (int p in new[] { a - 1, a, m - 1, m, c - 1, c })
                {
                    if (p < n)
                    {
                        Wait(entry[p] >> 1);
                    }
                }

                change += Settle();
                if (change > -1e-9)
                {
                    for (int i = done.Count - 1; i >= 0; i--)
                    {
                        Reverse(done[i].From, done[i].To, log: false);
                    }
                }
            }

            int Next(int below)
            {
                state = state * 6364136223846793005 + 1442695040888963407;
                return (int)((state >> 33) % (ulong)below);
            }
        }

        private void Wait(int path)
        {
            if (!waits[path])
            {
                waits[path] = true;
                waiting.Enqueue(path);
            }
        }

        private double Settle()
        {
            double change = 0;
            while (waiting.TryDequeue(out int path))
            {
                waits[path] = false;
                while (Better(path) is { } gain)
                {
                    change += gain;
                }
            }

            return change;
        }

        private double? Better(int path)
        {
            for (int side = 0; side < 2; side++)
            {
                int x = 2 * path + side;
                foreach (int y in near[x])
                {
                    if (Exchange(x, y) is not null || MoveNear(x, y) is not null)
                    {
                        return lastGain;
                    }
                }
            }

            return null;
        }

        private double lastGain;

        // Two links are exchanged so that x and y become neighbours: only where paths may be turned.
        private double? Exchange(int x, int y)
        {
            if (!mayTurn)
            {
                return null;
            }

            int i = place[x >> 1];
            int j = place[y >> 1];
            bool xIn = entry[i] == x;
            if (xIn != (entry[j] == y) || i == j || (xIn && (i == 0 || j == 0)))
            {
                return null;
            }

            if (i > j)
            {
                (i, j) = (j, i);
            }

            // Both entries: the stretch i … j − 1 is reversed; both exits: i + 1 … j.
            (int from, int to) = xIn ? (i, j - 1) : (i + 1, j);
            double gain =
                Between(Exit(from - 1), Exit(to))
                + (to + 1 < entry.Length ? Between(entry[from], entry[to + 1]) : 0)
                - Link(from - 1)
                - Link(to);
            if (gain > LeastGain)
            {
                return null;
            }

            WaitAt(from - 1, from, to, to + 1);
            Reverse(from, to);
            return lastGain = gain;
        }

        // A stretch of up to three paths with x at its end goes beside y.
        private double? MoveNear(int x, int y)
        {
            int i = place[x >> 1];
            int j = place[y >> 1];
            bool xIn = entry[i] == x;
            bool yIn = entry[j] == y;
            if (i == 0 || (yIn && j == 0))
            {
                return null;
            }

            for (int length = 1; length <= 3; length++)
            {
                // x opens the stretch where it is an entry, and closes it where it is an exit.
                (int from, int to) = xIn ? (i, i + length - 1) : (i - length + 1, i);
                if (from < 1 || to >= entry.Length || (j >= from && j <= to))
                {
                    continue;
                }

                // It goes between gap and gap + 1, turned where x and y would otherwise not meet.
                int gap = yIn ? j - 1 : j;
                bool turned = xIn == yIn;
                if ((turned && !mayTurn) || gap == from - 1 || gap == to)
                {
                    continue;
                }

                int head = turned ? Exit(to) : entry[from];
                int tail = turned ? entry[from] : Exit(to);
                double gain =
                    Between(Exit(gap), head)
                    + (gap + 1 < entry.Length ? Between(tail, entry[gap + 1]) : 0)
                    + (to + 1 < entry.Length ? Between(Exit(from - 1), entry[to + 1]) : 0)
                    - Link(from - 1)
                    - Link(to)
                    - Link(gap);
                if (gain > LeastGain)
                {
                    continue;
                }

                WaitAt(from - 1, from, to, to + 1, gap, gap + 1);
                Move(from, to, gap, turned);
                return lastGain = gain;
            }

            return null;
        }

        // Paths from … to go behind the one at gap.
        private void Move(int from, int to, int gap, bool turned)
        {
            int size = to - from;
            int at = gap < from ? gap + 1 : gap - size;
            if (gap < from)
            {
                Swap(gap + 1, from, to + 1);
            }
            else
            {
                Swap(from, to + 1, gap + 1);
            }

            if (turned)
            {
                Reverse(at, at + size);
            }
        }

        private void WaitAt(params ReadOnlySpan<int> places)
        {
            foreach (int p in places)
            {
                if (p >= 0 && p < entry.Length)
                {
                    Wait(entry[p] >> 1);
                }
            }
        }

        private int Exit(int at) => entry[at] ^ 1;

        private double Between(int x, int y) => ends[x].DistanceTo(ends[y]);

        // From the path at this place to the next; nothing after the last.
        private double Link(int at) => at + 1 < entry.Length ? Between(Exit(at), entry[at + 1]) : 0;

        // Stretches a … b − 1 and b … c − 1 change places; each keeps its way.
        private void Swap(int a, int b, int c)
        {
            Reverse(a, b - 1);
            Reverse(b, c - 1);
            Reverse(a, c - 1);
        }

        private void Reverse(int from, int to, bool log = true)
        {
            if (log)
            {
                done.Add((from, to));
            }

            while (from < to)
            {
                (entry[from], entry[to]) = (Exit(to), Exit(from));
                place[entry[from] >> 1] = from;
                place[entry[to] >> 1] = to;
                from++;
                to--;
            }

            if (from == to)
            {
                entry[from] ^= 1;
            }
        }
    }

    // Ends in square cells, some two to a cell.
    private sealed class EndGrid
    {
        private readonly Dictionary<(int, int), List<int>> cells = [];
        private readonly Point<PageSpace>[] ends;
        private readonly bool mayTurn;
        private readonly double cell;
        private readonly int reach;
        private int left;

        public EndGrid(IReadOnlyList<(Point<PageSpace> From, Point<PageSpace> To)> paths, bool mayTurn)
            : this([.. paths.SelectMany(p => new[] { p.From, p.To })], mayTurn) { }

        private EndGrid(Point<PageSpace>[] ends, bool mayTurn)
        {
            this.ends = ends;
            this.mayTurn = mayTurn;
            left = ends.Length / 2;
            Box<PageSpace> box = ends.Length == 0 ? default : Box<PageSpace>.Around(ends);
            double side = Math.Max(Math.Max(box.Width, box.Height), 1e-6);
            cell = Math.Max(1, side / Math.Max(1, Math.Sqrt(ends.Length / 2.0)));
            reach = (int)Math.Ceiling(side / cell) + 2;
            for (int i = 0; i < ends.Length; i++)
            {
                if (mayTurn || (i & 1) == 0)
                {
                    (int, int) key = KeyOf(ends[i]);
                    if (!cells.TryGetValue(key, out List<int>? list))
                    {
                        cells[key] = list = [];
                    }

                    list.Add(i);
                }
            }
        }

        public static int[][] Near(Point<PageSpace>[] ends, int count)
        {
            EndGrid grid = new(ends, mayTurn: true);
            return
            [
                .. ends.Select(
                    (p, i) =>
                    {
                        List<int> found = [];
                        for (int ring = 0; ring <= grid.reach && found.Count < 2 * count; ring++)
                        {
                            found.AddRange(grid.Ring(p, ring).Where(e => e >> 1 != i >> 1));
                        }

                        return found.OrderBy(e => ends[e].DistanceTo(p)).ThenBy(e => e).Take(count).ToArray();
                    }
                ),
            ];
        }

        public int? TakeNearest(Point<PageSpace> at)
        {
            if (left == 0)
            {
                return null;
            }

            int best = -1;
            double least = double.PositiveInfinity;
            for (int ring = 0; ring <= reach && (best < 0 || (ring - 1) * cell < least); ring++)
            {
                Look(Ring(at, ring));
            }

            // The pen may stand far outside of what is drawn.
            if (best < 0 || reach * cell < least)
            {
                Look(cells.Values.SelectMany(list => list));
            }

            void Look(IEnumerable<int> some)
            {
                foreach (int e in some)
                {
                    double d = ends[e].DistanceTo(at);
                    if (d < least || (d == least && e < best))
                    {
                        (best, least) = (e, d);
                    }
                }
            }

            left--;
            foreach (int e in mayTurn ? new[] { best, best ^ 1 } : [best])
            {
                cells[KeyOf(ends[e])].Remove(e);
            }

            return best;
        }

        private (int, int) KeyOf(Point<PageSpace> p) => ((int)Math.Floor(p.X / cell), (int)Math.Floor(p.Y / cell));

        private IEnumerable<int> Ring(Point<PageSpace> at, int ring)
        {
            (int x, int y) = KeyOf(at);
            for (int i = -ring; i <= ring; i++)
            {
                int step = Math.Abs(i) == ring ? 1 : Math.Max(1, 2 * ring);
                for (int j = -ring; j <= ring; j += step)
                {
                    if (cells.TryGetValue((x + i, y + j), out List<int>? list))
                    {
                        foreach (int e in list)
                        {
                            yield return e;
                        }
                    }
                }
            }
        }
    }
}
