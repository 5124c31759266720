using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.AcceptanceTests.Reference.Routing;

/// <summary>Least backtracking against answers that others computed.</summary>
public class PostmanTests
{
    [Fact]
    public void Sixty_random_plane_graphs_have_networkx_s_closed_and_open_answers()
    {
        using JsonDocument file = JsonDocument.Parse(File.ReadAllText(Beside("postman.json")));
        JsonElement.ArrayEnumerator graphs = file.RootElement.GetProperty("graphs").EnumerateArray();
        int count = 0;
        foreach (JsonElement g in graphs)
        {
            QuiltMap map = ToMap(g);
            RouteWishes one = new() { Lines = LineChoice.Seams, Thread = ThreadChoice.One };
            RouteCandidate open = Plan(map, one);
            Point<ClothSpace> home = map.JunctionOf(map.Seams[0].From).Place;
            RouteCandidate closed = Plan(map, one with { Start = home, End = home });

            // networkx sums the same doubles in another order.
            Assert.Equal(g.GetProperty("open").GetDouble(), open.Measures.Doubled.Inches, 1e-6);
            Assert.Equal(g.GetProperty("closed").GetDouble(), closed.Measures.Doubled.Inches, 1e-6);
            Assert.Equal(g.GetProperty("odd").GetInt32(), open.Proof.OddJunctions.Count);
            Assert.True(open.Proof.Optimal);
            Assert.Equal(1, open.Measures.Starts);
            Assert.Equal(1, closed.Measures.Starts);
            Assert.Equal(0, open.Measures.Crossings + closed.Measures.Crossings);
            Assert.Equal(home, closed.Runs[0].Moves[^1].Path.To);
            count++;
        }

        Assert.Equal(60, count);
    }

    [Fact]
    public void Published_and_computed_instances_whose_required_lines_hang_together_are_solved_to_the_optimum()
    {
        string folder = Path.GetFullPath(Path.Combine(Root, "..", "shared", "data", "routing", "graphs"));
        Assert.SkipUnless(
            Directory.Exists(folder),
            "The instances may not be copied and are not on this machine: ../shared/data/routing/graphs."
        );
        int count = 0;
        foreach (string path in Directory.GetFiles(folder, "*.json").Order(StringComparer.Ordinal))
        {
            using JsonDocument file = JsonDocument.Parse(File.ReadAllText(path));
            if (file.RootElement.GetProperty("requiredComponents").GetInt32() != 1)
            {
                continue;
            }

            (double found, double optimum) = Solve(file.RootElement);

            // Costs are whole, or miles to two decimals.
            Assert.True(
                Math.Abs(found - optimum) < 0.005,
                FormattableString.Invariant($"{Path.GetFileName(path)}: {found}, optimum {optimum}")
            );
            count++;
        }

        Assert.Equal(27, count);
    }

    private static (double Found, double Optimum) Solve(JsonElement g)
    {
        List<(int, int, double)> lines = [];
        HashSet<int> optional = [];
        double required = 0;
        foreach (JsonElement e in g.GetProperty("edges").EnumerateArray())
        {
            double cost = e[2].GetDouble();
            if (e[3].GetBoolean())
            {
                required += cost;
            }
            else
            {
                optional.Add(lines.Count);
            }

            lines.Add((e[0].GetInt32(), e[1].GetInt32(), cost));
        }

        LineNetwork network = new(g.GetProperty("nodes").GetInt32(), lines, optional);
        int home = Enumerable.Range(0, network.JunctionCount).First(v => network.PieceOf(v) == 0);
        Doubling least = new LeastDoubling(network, null, TestContext.Current.CancellationToken).For(
            ThreadChoice.One,
            home,
            home,
            0
        );
        return (required + least.Inches, g.GetProperty("optimum").GetDouble());
    }

    private static QuiltMap ToMap(JsonElement g)
    {
        Junction[] junctions =
        [
            .. g.GetProperty("points")
                .EnumerateArray()
                .Select(
                    (p, i) =>
                        new Junction(
                            "j" + i.ToString(CultureInfo.InvariantCulture),
                            Estimate<Point<ClothSpace>>.Exact(new(p[0].GetDouble(), p[1].GetDouble()))
                        )
                ),
        ];
        Seam[] seams =
        [
            .. g.GetProperty("lines")
                .EnumerateArray()
                .Select(
                    (l, i) =>
                        new Seam(
                            "s" + i.ToString(CultureInfo.InvariantCulture),
                            junctions[l[0].GetInt32()].Id,
                            junctions[l[1].GetInt32()].Id
                        )
                ),
        ];
        return new(Length.FromInches(24), Length.FromInches(24), junctions, seams);
    }

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken).Route.Candidates[0];

    private static string Beside(string name) =>
        Path.Combine(Root, "tests", "OverlayPlanner.AcceptanceTests", "Reference", "Routing", name);

    private static string Root
    {
        get
        {
            DirectoryInfo? at = new(AppContext.BaseDirectory);
            while (at is not null && !File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
            {
                at = at.Parent;
            }

            return at?.FullName ?? throw new InvalidOperationException("Run the tests from a checkout.");
        }
    }
}
