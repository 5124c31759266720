using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Memory;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>How easy the library's recommended routes are to stitch and to remember.</summary>
internal static class MemoryScoreboard
{
    private const int Seed = 20_250_117;

    /// <summary>The rows; the quick run draws 100 random trails a block instead of 1,000.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        int trails = quick ? 100 : 1_000;
        List<double> steps = [];
        List<double> decisions = [];
        List<double> shares = [];
        List<double> stepShares = [];
        List<string> worse = [];
        List<string> many = [];
        int verses = 0;
        int better = 0;
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = BlockDrafting.Draft(block, Length.FromInches(12), 1, 1, Length.Zero);
            RoutePlan plan = RoutePlanner.Plan(map, new());
            RouteCandidate best = plan.Route.Candidates[0];
            RouteCall call = best.Call!;
            steps.Add(call.Steps);
            decisions.Add(call.DecisionPoints);
            shares.Add((double)call.DescriptionLength / call.PlainLength);
            stepShares.Add((double)call.DescriptionLength / call.Steps);
            verses = Math.Max(verses, call.Verses.Count);
            if (call.Verses.Count > 7)
            {
                many.Add(block.Id);
            }

            int random = RandomTrails.LeastOf(plan.Route.Quilt, best, trails, new Random(Seed));
            better += random > call.DescriptionLength ? 1 : 0;
            if (random < call.DescriptionLength)
            {
                worse.Add(Text($"{block.Id} {call.DescriptionLength} > {random}"));
            }
        }

        int n = shares.Count;
        yield return ("steps a block, library median", Text($"{Median(steps):0}"), "<= 20", Median(steps) <= 20);
        yield return (
            "decision points a block, library median",
            Text($"{Median(decisions):0}"),
            "<= 5",
            Median(decisions) <= 5
        );
        yield return (
            "description length against the plain list of moves, library median",
            Text($"{100 * Median(shares):0} %"),
            "<= 40 %",
            Median(shares) <= 0.4
        );
        yield return (
            "description length against a list of steps, library median",
            Text($"{100 * Median(stepShares):0} %"),
            "-",
            true
        );
        yield return (
            Text($"blocks said longer than the best of {trails} random optimal trails (seed {Seed})"),
            worse.Count == 0 ? "0" : Text($"{worse.Count} of {n}: {string.Join(", ", worse)}"),
            "0",
            worse.Count == 0
        );
        yield return (Text($"blocks said shorter than the best of those"), Text($"{better} of {n}"), "-", true);
        yield return (
            "verses of a call, most",
            many.Count == 0 ? Text($"{verses}") : Text($"{verses}; over 7: {string.Join(", ", many)}"),
            "<= 7",
            verses <= 7
        );
    }

    private static double Median(List<double> values)
    {
        values.Sort();
        return values[values.Count / 2];
    }

    private static string Text(FormattableString s) => FormattableString.Invariant(s);
}

/// <summary>Optimal trails drawn at random: the same lines, starts and thread ends, no crossing, and no other choice made.</summary>
/// <remarks>
/// Round each point the ends are paired at random without crossing; loops are then joined at random points until the threads
/// are as many as the route's. Routes that go over a line twice are not drawn.
/// </remarks>
internal sealed class RandomTrails
{
    private readonly Random random;
    private readonly CallLines lines;
    private readonly int[][] rotation;
    private readonly int[] partner;
    private readonly int[] trail;
    private readonly int[] loose;
    private readonly int wanted;
    private readonly int[] tails;
    private readonly int ownTails;

    private RandomTrails(QuiltMap quilt, CallLines lines, IReadOnlyList<int[]> runs, Random random)
    {
        this.lines = lines;
        PointTaste taste = new(quilt);
        tails = new int[lines.NodeCount];
        for (int v = 0; v < tails.Length; v++)
        {
            Point<ClothSpace> at = lines.Along(lines.Around(v)[0]).From;
            tails[v] = taste.Of(Enumerable.Range(0, quilt.Junctions.Count).First(j => quilt.Junctions[j].Place == at));
        }

        ownTails = tails[lines.NodeOf(runs[0][0])];
        this.random = random;
        rotation = new int[lines.NodeCount][];
        PlaneGraph<ClothSpace> plane = PlaneOf(lines);
        loose = new int[lines.NodeCount];
        for (int v = 0; v < rotation.Length; v++)
        {
            rotation[v] = [.. plane.Around(v)];
            loose[v] = rotation[v].Length % 2;
        }

        wanted = runs.Count;
        partner = new int[2 * lines.LineCount];
        trail = new int[partner.Length];
    }

    /// <summary>The least description length of so many random trails; the greatest number where none can be drawn.</summary>
    public static int LeastOf(QuiltMap quilt, RouteCandidate c, int count, Random random)
    {
        (CallLines lines, IReadOnlyList<int[]> runs) = FollowedRoute.Of(quilt, c);
        if (c.AllMoves.Any(m => m.Kind == MoveKind.Retrace))
        {
            return int.MaxValue;
        }

        RandomTrails draw = new(quilt, lines, runs, random);
        int least = int.MaxValue;
        for (int i = 0; i < count; i++)
        {
            least = Math.Min(least, draw.DrawOne(quilt, c));
        }

        return least;
    }

    private static PlaneGraph<ClothSpace> PlaneOf(CallLines lines)
    {
        Point<ClothSpace>[] nodes = new Point<ClothSpace>[lines.NodeCount];
        (int, int, double)[] edges = new (int, int, double)[lines.LineCount];
        for (int e = 0; e < edges.Length; e++)
        {
            Edge<ClothSpace> path = lines.Along(2 * e);
            (int from, int to) = (lines.NodeOf(2 * e), lines.NodeOf(2 * e + 1));
            (nodes[from], nodes[to]) = (path.From, path.To);
            edges[e] = (from, to, path.Bulge);
        }

        return new(nodes, edges);
    }

    private int DrawOne(QuiltMap quilt, RouteCandidate c)
    {
        for (int v = 0; v < rotation.Length; v++)
        {
            List<int> ends = [.. rotation[v]];
            for (int k = 0; k < loose[v]; k++)
            {
                int at = random.Next(ends.Count);
                partner[ends[at]] = -1;
                ends.RemoveAt(at);
            }

            PairAtRandom(ends);
        }

        List<(List<int> HalfEdges, bool IsClosed)> threads = Trails();
        while (threads.Count > wanted)
        {
            if (!JoinAtRandom())
            {
                return int.MaxValue;
            }

            threads = Trails();
        }

        if (threads is [{ IsClosed: true } only])
        {
            return LeastClosed(only.HalfEdges);
        }

        // One open thread starts at the end where its tail hides better, as the route's own does; else either way.
        List<int> way = threads[0].HalfEdges;
        int order = tails[lines.NodeOf(way[0])].CompareTo(tails[lines.NodeOf(way[^1] ^ 1)]);
        List<int> back = [.. way.AsEnumerable().Reverse().Select(h => h ^ 1)];
        IEnumerable<RouteCandidate> ways =
            threads.Count > 1 ? [Written(c, [.. threads.Select(t => t.HalfEdges)])]
            : order < 0 ? [Written(c, [way])]
            : order > 0 ? [Written(c, [back])]
            : [Written(c, [way]), Written(c, [back])];
        return ways.Min(w => CallWriter.Write(quilt, w).DescriptionLength);
    }

    // A random end for the first, at an odd distance so that both sides can be paired; then the same within and beyond.
    private void PairAtRandom(List<int> ends)
    {
        if (ends.Count == 0)
        {
            return;
        }

        int to = 2 * random.Next(ends.Count / 2) + 1;
        partner[ends[0]] = ends[to];
        partner[ends[to]] = ends[0];
        PairAtRandom(ends[1..to]);
        PairAtRandom(ends[(to + 1)..]);
    }

    private List<(List<int> HalfEdges, bool IsClosed)> Trails()
    {
        Array.Fill(trail, -1);
        List<(List<int>, bool)> found = [];
        for (int pass = 0; pass < 2; pass++)
        {
            for (int h = 0; h < partner.Length; h++)
            {
                if (trail[h] >= 0 || (pass == 0 && partner[h] >= 0))
                {
                    continue;
                }

                List<int> way = [];
                int k = h;
                do
                {
                    trail[k] = trail[k ^ 1] = found.Count;
                    way.Add(k);
                    k = partner[k ^ 1];
                } while (k >= 0 && k != h);

                found.Add((way, pass == 1));
            }
        }

        return found;
    }

    private bool JoinAtRandom()
    {
        int[] points = [.. Enumerable.Range(0, rotation.Length)];
        random.Shuffle(points);
        foreach (int v in points)
        {
            int d = rotation[v].Length;
            int turn = d == 0 ? 0 : random.Next(d);
            for (int i = 0; i < d; i++)
            {
                int a = rotation[v][(i + turn) % d];
                int b = rotation[v][(i + turn + 1) % d];
                if (trail[a] == trail[b] || (partner[a] < 0 && partner[b] < 0))
                {
                    continue;
                }

                (int pa, int pb) = (partner[a], partner[b]);
                partner[a] = b;
                partner[b] = a;
                if (pa >= 0)
                {
                    partner[pa] = pb;
                }

                if (pb >= 0)
                {
                    partner[pb] = pa;
                }

                return true;
            }
        }

        return false;
    }

    // A closed trail may begin at any point where its tails hide as well as the route's own, and go either way round.
    private int LeastClosed(List<int> halfEdges)
    {
        int least = int.MaxValue;
        foreach (int[] way in new[] { halfEdges.ToArray(), [.. halfEdges.AsEnumerable().Reverse().Select(h => h ^ 1)] })
        {
            int first = Enumerable
                .Range(0, way.Length)
                .First(i =>
                    !lines.RunsOn(
                        way[(i + way.Length - 1) % way.Length],
                        way[(i + way.Length - 1) % way.Length],
                        way[i]
                    )
                );
            ThreadSteps steps = ThreadSteps.Read(lines, [.. way[first..], .. way[..first]], new bool[lines.LineCount]);
            steps.Name(ReachWords.ToTheEnd, lines.TurnOf(steps.LastOf(steps.Count - 1) ^ 1, steps.FirstOf(0)));
            steps.CloseBackward();
            int[] lengths = ShortestDescription.OfClosed(steps);
            for (int i = 0; i < lengths.Length; i++)
            {
                if (tails[lines.NodeOf(steps.FirstOf(i))] <= ownTails)
                {
                    least = Math.Min(least, lengths[i]);
                }
            }
        }

        return least;
    }

    private RouteCandidate Written(RouteCandidate c, IReadOnlyList<List<int>> threads)
    {
        Dictionary<Edge<ClothSpace>, Move> moves = [];
        foreach (Move m in c.AllMoves)
        {
            moves[m.Path] = m;
            moves[m.Path.Reversed] = m with { Path = m.Path.Reversed };
        }

        return c with
        {
            Runs = [.. threads.Select(t => new Run([.. t.Select(h => moves[lines.Along(h)])]))],
        };
    }
}
