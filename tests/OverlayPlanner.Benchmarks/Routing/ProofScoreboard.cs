using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>What is proven: the library's bounds, peers on the same lines, and published instances.</summary>
internal static class ProofScoreboard
{
    private const int Seed = 20_250_117;

    /// <summary>The rows; <paramref name="quick"/> takes fewer graphs, four instances in many pieces, and less time for each.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run(bool quick) =>
        [.. Library(), .. RandomGraphs(quick ? 100 : 1000), .. Instances(quick)];

    private static IEnumerable<(string, string, string, bool)> Library()
    {
        int starts = 0;
        int doubled = 0;
        int certified = 0;
        int all = 0;
        double ours = 0;
        double closed = 0;
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = BlockDrafting.Draft(block, Length.FromInches(12), 1, 1, Length.Zero);
            foreach (OutlineChoice outline in new[] { OutlineChoice.None, OutlineChoice.Any })
            {
                RouteWishes wishes = new() { Lines = LineChoice.Seams, Outline = outline };
                LineNetwork network = NetworkOf(map, outline);
                if (network.LineCount == 0)
                {
                    continue;
                }

                all++;
                RouteCandidate free = Plan(map, wishes);
                RouteCandidate one = Plan(map, wishes with { Thread = ThreadChoice.One });
                starts += free.Measures.Starts == network.LeastStarts && free.Measures.Doubled == Length.Zero ? 1 : 0;
                CutPacking? proof = CutPacking.ForRuns(network, network.PieceCount);
                certified += proof is null ? 0 : 1;
                doubled +=
                    proof is not null
                    && one.Measures.Starts == network.PieceCount
                    && Math.Abs(one.Measures.Doubled.Inches - proof.LeastInches) <= 1e-6
                        ? 1
                        : 0;
                ours += one.Measures.Doubled.Inches;
                closed += RouteInspection(network);
            }
        }

        yield return (
            "library, nothing added: starts equal to the proven least, nothing doubled",
            Text($"{starts} of {all}"),
            "100 %",
            starts == all
        );
        yield return (
            Text($"library, nothing added: doubled length equal to the bound of {certified} cut packings"),
            Text($"{doubled} of {all}"),
            "100 %",
            doubled == all
        );
        yield return (
            "library, one thread, doubled: ours, route inspection that pairs all odd points",
            Text($"{ours:0} in, {closed:0} in"),
            "ours no more",
            ours <= closed + 1e-6
        );
    }

    private static IEnumerable<(string, string, string, bool)> RandomGraphs(int count)
    {
        Random random = new(Seed);
        int met = 0;
        int most = 0;
        double ours = 0;
        double closed = 0;
        for (int i = 0; i < count; i++)
        {
            QuiltMap map = RandomMap(random);
            most = Math.Max(most, map.Seams.Count);
            LineNetwork network = NetworkOf(map, OutlineChoice.Any);
            RouteCandidate one = Plan(map, new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One });
            CutPacking? proof = CutPacking.ForRuns(network, network.PieceCount);
            met +=
                proof is not null
                && Math.Abs(one.Measures.Doubled.Inches - proof.LeastInches) <= 1e-6
                && one.Measures.Crossings == 0
                    ? 1
                    : 0;
            ours += one.Measures.Doubled.Inches;
            closed += RouteInspection(network);
        }

        yield return (
            Text($"random plane graphs to {most} lines, bent ones too (seed {Seed}): bound certified, no crossing"),
            Text($"{met} of {count}"),
            "100 %",
            met == count
        );
        yield return (
            "these, one thread, doubled: ours, route inspection that pairs all odd points",
            Text($"{ours:0} in, {closed:0} in"),
            "ours no more",
            ours <= closed + 1e-6
        );
    }

    private static IEnumerable<(string, string, string, bool)> Instances(bool quick)
    {
        if (RoutingInstance.SharedFolder is not { } folder)
        {
            yield return ("published instances", "not on this machine: ../shared/data/routing/graphs", "-", true);
            yield break;
        }

        RoutingInstance[] all = [.. RoutingInstance.ReadFolder(folder)];
        RoutingInstance[] whole = [.. all.Where(i => i.Pieces == 1)];
        int optimal = RoutingInstance
            .Solve(whole, TimeSpan.FromSeconds(60))
            .Count(s => Math.Abs(s.Walk.Cost - s.Instance.Optimum!.Value) < 0.005);
        yield return (
            "instances with all lines required, or one required piece: optimum",
            Text($"{optimal} of {whole.Length}"),
            "100 %",
            optimal == whole.Length
        );

        string[] few = ["UR537", "egl-e1-A-rpp", "egl-e3-A-rpp", "egl-s2-A-rpp"];
        RoutingInstance[] rural = [.. all.Where(i => i.Pieces > 1 && (!quick || few.Contains(i.Name)))];
        int seconds = quick ? 20 : 60;
        int near = 0;
        int proven = 0;
        int found = 0;
        bool contradicted = false;
        (double Gap, string Name) worst = (0, "none");
        foreach ((RoutingInstance i, RuralWalk walk) in RoutingInstance.Solve(rural, TimeSpan.FromSeconds(seconds)))
        {
            near += walk.Gap <= 0.01 ? 1 : 0;
            proven += walk.Gap == 0 ? 1 : 0;
            found += walk.Cost <= i.Optimum + 0.005 ? 1 : 0;
            worst = walk.Gap > worst.Gap ? (walk.Gap, i.Name) : worst;
            contradicted |= walk.Cost < i.Optimum - 0.005 || walk.Bound > i.Optimum + 0.005;
        }

        yield return (
            Text($"rural postman, many pieces, {seconds} s each: proven gap of at most 1 %"),
            Text($"{near} of {rural.Length}, worst {100 * worst.Gap:0.00} % ({worst.Name})"),
            "100 %",
            near == rural.Length
        );
        yield return (
            "these: the optimum found, and proven; nothing published contradicted",
            Text($"{found} and {proven} of {rural.Length}{(contradicted ? ", CONTRADICTED" : "")}"),
            "no contradiction",
            !contradicted
        );
    }

    /// <summary>
    /// The textbook's answer: all odd points of a piece paired by least ways, so that the walk ends where it began. Distances
    /// between all pairs of points, then a least perfect matching of the odd ones.
    /// </summary>
    private static double RouteInspection(LineNetwork network)
    {
        const double Steps = 1 << 20;
        int n = network.JunctionCount;
        double[,] d = new double[n, n];
        for (int a = 0; a < n; a++)
        {
            for (int b = 0; b < n; b++)
            {
                d[a, b] = a == b ? 0 : double.PositiveInfinity;
            }
        }

        for (int e = 0; e < network.LineCount; e++)
        {
            (int a, int b) = (network.NodeOf(2 * e), network.NodeOf(2 * e + 1));
            d[a, b] = d[b, a] = Math.Min(d[a, b], network.InchesOf(e));
        }

        for (int k = 0; k < n; k++)
        {
            for (int a = 0; a < n; a++)
            {
                for (int b = 0; b < n; b++)
                {
                    d[a, b] = Math.Min(d[a, b], d[a, k] + d[k, b]);
                }
            }
        }

        List<MatchingEdge> pairs = [];
        for (int i = 0; i < network.Odd.Count; i++)
        {
            for (int k = i + 1; k < network.Odd.Count; k++)
            {
                double way = d[network.Odd[i], network.Odd[k]];
                if (double.IsFinite(way))
                {
                    pairs.Add(new(i, k, (long)((10_000 - way) * Steps)));
                }
            }
        }

        (int[] partner, _) = MaximumMatching.Find(network.Odd.Count, pairs, true);
        return Enumerable
            .Range(0, partner.Length)
            .Where(i => i < partner[i])
            .Sum(i => d[network.Odd[i], network.Odd[partner[i]]]);
    }

    private static LineNetwork NetworkOf(QuiltMap map, OutlineChoice outline)
    {
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        return new(
            map.Junctions.Count,
            [
                .. map
                    .Seams.Where(s => s.Role != SeamRole.Edge || outline != OutlineChoice.None)
                    .Select(s => (index[s.From], index[s.To], map.EdgeOf(s).Length)),
            ]
        );
    }

    // A jittered lattice with some of its sides, a third of them bent, and one diagonal in some of its cells; at most 200 lines.
    private static QuiltMap RandomMap(Random random)
    {
        int columns = random.Next(2, 12);
        int rows = random.Next(2, 12);
        double share = 0.3 + 0.65 * random.NextDouble();
        List<Junction> junctions = [];
        for (int i = 0; i < rows * columns; i++)
        {
            Point<ClothSpace> p = new(
                2 * (i % columns + 0.5) + 0.5 * (random.NextDouble() - 0.5),
                2 * (i / columns + 0.5) + 0.5 * (random.NextDouble() - 0.5)
            );
            junctions.Add(new("j" + i.ToString(CultureInfo.InvariantCulture), Estimate<Point<ClothSpace>>.Exact(p)));
        }

        List<Seam> seams = [new("s0", "j0", "j1")];
        for (int v = 0; v < junctions.Count; v++)
        {
            bool right = v % columns + 1 < columns;
            bool down = v / columns + 1 < rows;
            Add(right && v > 0, v, v + 1, 0.15);
            Add(down, v, v + columns, 0.15);
            Add(right && down, v, v + columns + 1, 0);
        }

        return new(Length.FromInches(2 * columns), Length.FromInches(2 * rows), junctions, seams);

        void Add(bool fits, int a, int b, double bend)
        {
            if (fits && seams.Count < 200 && random.NextDouble() < share)
            {
                double bulge = random.Next(3) == 0 ? bend * (2 * random.NextDouble() - 1) : 0;
                string id = "s" + seams.Count.ToString(CultureInfo.InvariantCulture);
                seams.Add(new(id, junctions[a].Id, junctions[b].Id, bulge));
            }
        }
    }

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes).Route.Candidates[0];

    private static string Text(FormattableString s) => FormattableString.Invariant(s);
}
