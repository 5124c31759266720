using System.Globalization;
using System.Text.Json;
using Google.OrTools.LinearSolver;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Tests.Routing;

/// <summary>The same questions put to an integer program, and to published counts.</summary>
public class OutsideSolverTests
{
    [Fact]
    public void Least_doubled_length_for_any_number_of_runs_is_an_integer_program_s()
    {
        for (int seed = 0; seed < 25; seed++)
        {
            QuiltMap map = PlaneGraphs.Random(seed, 9);
            Dictionary<string, int> index = [];
            foreach (Junction j in map.Junctions)
            {
                index[j.Id] = index.Count;
            }

            LineNetwork network = new(
                map.Junctions.Count,
                [.. map.Seams.Select(s => (index[s.From], index[s.To], map.EdgeOf(s).Length))]
            );
            int span = network.LeastStarts - network.PieceCount;
            foreach (int runs in new[] { 0, span / 3, 2 * span / 3 }.Distinct().Select(k => network.PieceCount + k))
            {
                double expected = SolveProgram(network, runs);
                Assert.Equal(expected, new LeastDoubling(network).LeastInches(runs), 1e-5);
                CutPacking? proof = CutPacking.ForRuns(network, runs, TestContext.Current.CancellationToken);
                Assert.NotNull(proof);
                Assert.Equal(expected, proof.LeastInches, 1e-5);
            }
        }
    }

    [Theory]
    // Circles through the corners of each cell of a grid; counts of Project Euler problem 289.
    [InlineData("circle-grid-1x2")]
    [InlineData("circle-grid-2x2")]
    public void Circuits_that_never_cross_are_as_many_as_published(string name)
    {
        using JsonDocument file = JsonDocument.Parse(
            File.ReadAllText(SharedData.PathOf($"routing/noncrossing/{name}.json"))
        );
        Point<ClothSpace>[] nodes =
        [
            .. file
                .RootElement.GetProperty("nodes")
                .EnumerateArray()
                .Select(p => new Point<ClothSpace>(p[0].GetDouble(), p[1].GetDouble())),
        ];
        (int From, int To, double Bulge)[] edges =
        [
            .. file
                .RootElement.GetProperty("edges")
                .EnumerateArray()
                .Select(e => (e[0].GetInt32(), e[1].GetInt32(), e[2].GetDouble())),
        ];
        Edge<ClothSpace>[] leaving =
        [
            .. edges.SelectMany(e =>
            {
                Edge<ClothSpace> path = new(nodes[e.From], nodes[e.To], e.Bulge);
                return new[] { path, path.Reversed };
            }),
        ];
        List<List<(int, int)[]>> choices = [];
        for (int v = 0; v < nodes.Length; v++)
        {
            int[] here =
            [
                .. Enumerable
                    .Range(0, leaving.Length)
                    .Where(h => ((h & 1) == 0 ? edges[h >> 1].From : edges[h >> 1].To) == v),
            ];
            choices.Add([.. Pairings(here).Where(p => NoneCross(p, leaving))]);
        }

        int count = 0;
        int[] partner = new int[leaving.Length];
        Choose(0);
        Assert.Equal(file.RootElement.GetProperty("optimum").GetInt32(), count);

        // The planner's own route over the same circles is one of them.
        QuiltMap map = new(
            Length.FromInches(9),
            Length.FromInches(9),
            [.. nodes.Select((p, i) => new Junction(Named("j", i), Estimate<Point<ClothSpace>>.Exact(p)))],
            [.. edges.Select((e, i) => new Seam(Named("s", i), Named("j", e.From), Named("j", e.To), e.Bulge))]
        );
        RouteCandidate route = RoutePlanner
            .Plan(map, new() { Lines = LineChoice.Seams }, TestContext.Current.CancellationToken)
            .Route.Candidates[0];
        Assert.Equal(1, route.Measures.Starts);
        Assert.Equal(0, route.Measures.Crossings);
        Assert.Equal(edges.Length, route.Measures.Moves);

        void Choose(int v)
        {
            if (v == choices.Count)
            {
                count += IsOneCircuit() ? 1 : 0;
                return;
            }

            foreach ((int, int)[] pairing in choices[v])
            {
                foreach ((int a, int b) in pairing)
                {
                    (partner[a], partner[b]) = (b, a);
                }

                Choose(v + 1);
            }
        }

        bool IsOneCircuit()
        {
            int length = 0;
            int h = 0;
            do
            {
                h = partner[h ^ 1];
                length++;
            } while (h != 0);

            return length == edges.Length;
        }
    }

    private static string Named(string kind, int number) => kind + number.ToString(CultureInfo.InvariantCulture);

    private static bool NoneCross((int A, int B)[] pairing, Edge<ClothSpace>[] leaving)
    {
        for (int i = 0; i < pairing.Length; i++)
        {
            for (int k = i + 1; k < pairing.Length; k++)
            {
                if (
                    CrossingCounter.Alternate(
                        leaving[pairing[i].A],
                        leaving[pairing[i].B],
                        leaving[pairing[k].A],
                        leaving[pairing[k].B]
                    )
                )
                {
                    return false;
                }
            }
        }

        return true;
    }

    private static IEnumerable<(int, int)[]> Pairings(int[] ends)
    {
        if (ends.Length == 0)
        {
            yield return [];
            yield break;
        }

        for (int i = 1; i < ends.Length; i++)
        {
            int[] rest = [.. ends.Where((_, k) => k != 0 && k != i)];
            foreach ((int, int)[] others in Pairings(rest))
            {
                yield return [(ends[0], ends[i]), .. others];
            }
        }
    }

    // Doubled lines x, thread ends u: the lines, doubled ones twice, and the ends are even at every junction.
    private static double SolveProgram(LineNetwork network, int runs)
    {
        using Solver solver = Solver.CreateSolver("SCIP");
        Variable[] x = [.. Enumerable.Range(0, network.LineCount).Select(_ => solver.MakeIntVar(0, 1, ""))];
        Variable[] runsIn = [.. Enumerable.Range(0, network.PieceCount).Select(_ => solver.MakeIntVar(1, runs, ""))];
        Constraint all = solver.MakeConstraint(double.NegativeInfinity, runs);
        Constraint[] ends =
        [
            .. runsIn.Select(r =>
            {
                all.SetCoefficient(r, 1);
                Constraint c = solver.MakeConstraint(double.NegativeInfinity, 0);
                c.SetCoefficient(r, -2);
                return c;
            }),
        ];
        HashSet<int> odd = [.. network.Odd];
        for (int v = 0; v < network.JunctionCount; v++)
        {
            if (network.PieceOf(v) < 0)
            {
                continue;
            }

            Constraint even = solver.MakeConstraint(odd.Contains(v) ? 1 : 0, odd.Contains(v) ? 1 : 0);
            Variable end = solver.MakeIntVar(0, 1, "");
            even.SetCoefficient(end, 1);
            ends[network.PieceOf(v)].SetCoefficient(end, 1);
            even.SetCoefficient(solver.MakeIntVar(0, 20, ""), -2);
            foreach (int h in network.Around(v))
            {
                even.SetCoefficient(x[h >> 1], 1);
            }
        }

        for (int e = 0; e < x.Length; e++)
        {
            solver.Objective().SetCoefficient(x[e], network.InchesOf(e));
        }

        solver.Objective().SetMinimization();
        Assert.Equal(Solver.ResultStatus.OPTIMAL, solver.Solve());
        return solver.Objective().Value();
    }
}
