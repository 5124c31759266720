using System.Globalization;
using System.Text;
using System.Text.Json;

namespace OverlayPlanner.Benchmarks;

/// <summary>One row of a scoreboard.</summary>
/// <param name="Case">What was measured, and on what.</param>
/// <param name="Number">The number, with its unit.</param>
/// <param name="Target">The target, or a dash for information.</param>
/// <param name="Met">True where the target is met, and for information.</param>
public sealed record Score(string Case, string Number, string Target, bool Met);

/// <summary>Prints the scoreboards, keeps them in bench/latest.json and in the README's table.</summary>
internal static class Bench
{
    private const string Begin = "<!-- scoreboard: written by ./dev bench -->";
    private const string End = "<!-- end of scoreboard -->";

    private static readonly (string Name, Func<bool, IEnumerable<(string, string, string, bool)>> Run)[] Boards =
    [
        ("routing", Routing.RoutingScoreboard.Run),
        ("quilting", Routing.QuiltingScoreboard.Run),
        ("calibration", Calibration.CalibrationScoreboard.Run),
        ("rendering", Rendering.RenderingScoreboard.Run),
        ("detection", Detection.DetectionScoreboard.Run),
        ("report", Detection.ReportScoreboard.Run),
        ("speed", SpeedScoreboard.Run),
        ("keeping", Keeping.KeepingScoreboard.Run),
        ("workroom", Screens.WorkroomScoreboard.Run),
    ];

    private static readonly JsonSerializerOptions Indented = new()
    {
        WriteIndented = true,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static int Run(string[] arguments)
    {
        if (arguments is ["routing", "--data", string folder])
        {
            return Routing.RoutingInstance.PrintFolder(folder, TimeSpan.FromSeconds(60));
        }

        if (arguments is ["keep-saving", string store])
        {
            Keeping.KillWhileSaving.SaveForEver(store);
        }

        if (arguments is [Calibration.MosaicCost.Verb, string photos])
        {
            Calibration.MosaicCost.Join(photos);
            return 0;
        }

        if (arguments is ["peers"])
        {
            Detection.PeerTuning.Print();
            return 0;
        }

        bool quick = arguments.Contains("--quick");
        string[] names = [.. arguments.Where(a => !a.StartsWith('-'))];
        string? unknown = names.FirstOrDefault(n => Boards.All(b => b.Name != n));
        if (unknown is not null)
        {
            Console.Error.WriteLine(
                $"There is no scoreboard \"{unknown}\". There are: {string.Join(", ", Boards.Select(b => b.Name))}."
            );
            return 2;
        }

        List<(string Board, Score Score)> scores = [];
        foreach ((string name, Func<bool, IEnumerable<(string, string, string, bool)>> run) in Boards)
        {
            if (names.Length > 0 && !names.Contains(name))
            {
                continue;
            }

            Console.WriteLine($"== {name}");
            foreach ((string what, string number, string target, bool met) in run(quick))
            {
                Score score = new(what, number, target, met);
                scores.Add((name, score));
                Console.WriteLine($"{(met ? "  " : "! ")}{what, -78} {number, 24}   target {target}");
            }
        }

        int missed = scores.Count(s => !s.Score.Met);
        Console.WriteLine(
            string.Create(
                CultureInfo.InvariantCulture,
                $"{scores.Count} figures, {missed} below target{(quick ? " (quick run: fewer cases)" : "")}"
            )
        );
        if (!quick)
        {
            Keep(scores, names.Length == 0);
        }

        return missed == 0 ? 0 : 1;
    }

    private static void Keep(List<(string Board, Score Score)> scores, bool whole)
    {
        string root = Root();
        string path = Path.Combine(root, "bench", "latest.json");
        Dictionary<string, List<Score>> boards = [];
        if (!whole && File.Exists(path))
        {
            boards = JsonSerializer.Deserialize<Dictionary<string, List<Score>>>(File.ReadAllBytes(path)) ?? [];
        }

        foreach (IGrouping<string, (string Board, Score Score)> g in scores.GroupBy(s => s.Board))
        {
            boards[g.Key] = [.. g.Select(s => s.Score)];
        }

        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        File.WriteAllText(path, JsonSerializer.Serialize(boards, Indented) + "\n");

        StringBuilder table = new();
        table.AppendLine(Begin).AppendLine();
        foreach ((string board, List<Score> rows) in boards)
        {
            table.AppendLine($"**{board}**").AppendLine();
            table.AppendLine("| what | measured | target | met |").AppendLine("|---|---|---|---|");
            foreach (Score s in rows)
            {
                string met =
                    s.Target is "-" or "" ? ""
                    : s.Met ? "yes"
                    : "**no**";
                table.AppendLine($"| {s.Case} | {s.Number} | {s.Target} | {met} |");
            }

            table.AppendLine();
        }

        table.Append(End);
        string readme = Path.Combine(root, "README.md");
        if (!File.Exists(readme))
        {
            return;
        }

        string text = File.ReadAllText(readme);
        int from = text.IndexOf(Begin, StringComparison.Ordinal);
        int to = text.IndexOf(End, StringComparison.Ordinal);
        if (from >= 0 && to > from)
        {
            File.WriteAllText(
                readme,
                text[..from]
                    + table.ToString().Replace("\r\n", "\n", StringComparison.Ordinal)
                    + text[(to + End.Length)..]
            );
        }
    }

    internal static string Root()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "OverlayPlanner.sln")))
        {
            folder = Path.GetDirectoryName(folder);
        }

        return folder ?? throw new InvalidOperationException("The repository's root was not found above the program.");
    }
}
