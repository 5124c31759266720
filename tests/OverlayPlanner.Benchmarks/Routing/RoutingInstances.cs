using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>
/// Postman problems as JSON files: <c>{"name","nodes","edges":[[u,v,cost,required]],"optimum"}</c>, the optimum being the least
/// cost of a closed walk over every required edge.
/// </summary>
internal sealed record RoutingInstance(
    string Name,
    int Nodes,
    IReadOnlyList<RuralLine> Lines,
    double? Optimum,
    int Pieces
)
{
    /// <summary>All instances of a folder and the folders in it, by name; files of another form are passed over.</summary>
    public static IReadOnlyList<RoutingInstance> ReadFolder(string folder) =>
        [
            .. Directory
                .EnumerateFiles(folder, "*.json", SearchOption.AllDirectories)
                .Select(Read)
                .OfType<RoutingInstance>()
                .OrderBy(i => i.Name, StringComparer.Ordinal),
        ];

    /// <summary>The published instances beside the repository, or null where they are absent.</summary>
    public static string? SharedFolder
    {
        get
        {
            string folder = Path.GetFullPath(Path.Combine(Bench.Root(), "..", "shared", "data", "routing", "graphs"));
            return Directory.Exists(folder) ? folder : null;
        }
    }

    /// <summary>Runs a folder and prints <c>name found bound optimum</c>, one instance a line.</summary>
    /// <returns>The exit status: 0; 1 where a walk beats its published optimum or a bound exceeds it; 2 for no such folder.</returns>
    public static int PrintFolder(string folder, TimeSpan limit)
    {
        if (!Directory.Exists(folder))
        {
            Console.Error.WriteLine($"There is no folder \"{folder}\". Give one that holds instances as JSON files.");
            return 2;
        }

        IReadOnlyList<RoutingInstance> instances = ReadFolder(folder);
        if (instances.Count == 0)
        {
            Console.Error.WriteLine(
                $"No file in \"{folder}\" has the fields nodes and edges [[u,v,cost,required], …]. Nothing was run."
            );
            return 2;
        }

        bool contradicted = false;
        Console.WriteLine("name found bound optimum");
        foreach ((RoutingInstance i, RuralWalk walk) in Solve(instances, limit))
        {
            contradicted |= i.Optimum is { } o && (walk.Cost < o - 0.005 || walk.Bound > o + 0.005);
            string optimum = i.Optimum is { } known ? Number(known) : "-";
            Console.WriteLine($"{i.Name} {Number(walk.Cost)} {Number(walk.Bound)} {optimum}");
        }

        return contradicted ? 1 : 0;
    }

    /// <summary>Solves two at a time, in order; each walk is checked to be one.</summary>
    public static IEnumerable<(RoutingInstance Instance, RuralWalk Walk)> Solve(
        IEnumerable<RoutingInstance> instances,
        TimeSpan limit
    ) =>
        instances
            .AsParallel()
            .AsOrdered()
            .WithDegreeOfParallelism(2)
            .WithMergeOptions(ParallelMergeOptions.NotBuffered)
            .Select(i =>
            {
                RuralWalk walk = RuralPostman.Solve(i.Nodes, i.Lines, limit);
                i.RequireWalk(walk);
                return (i, walk);
            });

    private void RequireWalk(RuralWalk walk)
    {
        HashSet<int> travelled = [];
        double cost = 0;
        (int first, int at) = (-1, -1);
        foreach ((int line, bool forward) in walk.Steps)
        {
            RuralLine l = Lines[line];
            (int from, int to) = forward ? (l.From, l.To) : (l.To, l.From);
            first = first < 0 ? from : first;
            if (at >= 0 && at != from)
            {
                throw new InvalidOperationException($"{Name}: the walk has a gap.");
            }

            at = to;
            cost += l.Cost;
            travelled.Add(line);
        }

        if (
            at != first
            || Math.Abs(cost - walk.Cost) > 1e-6 * (1 + cost)
            || Enumerable.Range(0, Lines.Count).Any(e => Lines[e].IsRequired && !travelled.Contains(e))
        )
        {
            throw new InvalidOperationException($"{Name}: the walk is not closed, not whole, or not of its cost.");
        }
    }

    private static string Number(double x) => Math.Round(x, 6).ToString(CultureInfo.InvariantCulture);

    private static RoutingInstance? Read(string path)
    {
        using JsonDocument file = JsonDocument.Parse(File.ReadAllText(path));
        if (
            file.RootElement.ValueKind != JsonValueKind.Object
            || !file.RootElement.TryGetProperty("edges", out JsonElement edges)
            || !file.RootElement.TryGetProperty("nodes", out JsonElement nodes)
            || nodes.ValueKind != JsonValueKind.Number
            || edges.EnumerateArray().Any(e => e.GetArrayLength() < 4)
        )
        {
            return null;
        }

        List<RuralLine> lines =
        [
            .. edges
                .EnumerateArray()
                .Select(e => new RuralLine(e[0].GetInt32(), e[1].GetInt32(), e[2].GetDouble(), e[3].GetBoolean())),
        ];
        return new(
            file.RootElement.TryGetProperty("name", out JsonElement name)
                ? name.GetString()!
                : Path.GetFileNameWithoutExtension(path),
            nodes.GetInt32(),
            lines,
            file.RootElement.TryGetProperty("optimum", out JsonElement o) && o.ValueKind == JsonValueKind.Number
                ? o.GetDouble()
                : null,
            CountPieces(nodes.GetInt32(), lines)
        );
    }

    private static int CountPieces(int nodes, List<RuralLine> lines)
    {
        int[] label = [.. Enumerable.Range(0, nodes)];
        bool[] asked = new bool[nodes];
        for (bool changed = true; changed; )
        {
            changed = false;
            foreach (RuralLine l in lines.Where(l => l.IsRequired))
            {
                asked[l.From] = asked[l.To] = true;
                int least = Math.Min(label[l.From], label[l.To]);
                changed |= label[l.From] != least || label[l.To] != least;
                label[l.From] = label[l.To] = least;
            }
        }

        return Enumerable.Range(0, nodes).Where(v => asked[v]).Select(v => label[v]).Distinct().Count();
    }
}
