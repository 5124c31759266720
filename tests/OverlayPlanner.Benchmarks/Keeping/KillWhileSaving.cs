using System.Diagnostics;
using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Text;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Benchmarks.Keeping;

/// <summary>What is left of a quilt after the program that saves it is killed, again and again.</summary>
/// <param name="Kills">How often it was killed.</param>
/// <param name="Saves">How many saves were reported done in all.</param>
/// <param name="LostQuilts">Times that the quilt could not be opened afterwards.</param>
/// <param name="BrokenFiles">Files that were no whole JSON document afterwards.</param>
/// <param name="MixedSaves">Times that the files of one save were not all there, or not all absent.</param>
/// <param name="MostSavesLost">The most saves that were reported done and are gone.</param>
public sealed record KillWhileSaving(
    int Kills,
    long Saves,
    int LostQuilts,
    int BrokenFiles,
    int MixedSaves,
    long MostSavesLost
)
{
    private const string Id = "killed";
    private static readonly string[] Files = [QuiltStore.MapFile, QuiltStore.RouteFile];

    /// <summary>Starts a child that saves, kills it (SIGKILL) up to 0.15 s after its first save, and looks; so often.</summary>
    public static KillWhileSaving Run(string folder, int kills, int seed)
    {
        Random random = new(seed);
        new QuiltStore(folder).Create(Id);
        KillWhileSaving all = new(kills, 0, 0, 0, 0, 0);
        long before = 0;
        for (int i = 0; i < kills; i++)
        {
            long said = KillOne(folder, TimeSpan.FromMilliseconds(150 * random.NextDouble()));
            all = all with { Saves = all.Saves + said - before };
            KeptQuilt quilt;
            try
            {
                quilt = new QuiltStore(folder).Open(Id);
            }
            catch (InputException)
            {
                all = all with { LostQuilts = all.LostQuilts + 1 };
                continue;
            }

            long?[] found = [.. Files.Select(f => NumberIn(quilt.PathOf(f)))];
            long least = found.Min() ?? 0;
            all = all with
            {
                BrokenFiles = all.BrokenFiles + found.Count(n => n is null),
                MixedSaves = all.MixedSaves + (found.Distinct().Count() > 1 ? 1 : 0),
                MostSavesLost = Math.Max(all.MostSavesLost, said - least),
            };
            before = least;
        }

        return all;
    }

    /// <summary>The child: saves two files with the same number, prints the number when the save has returned, and goes on.</summary>
    [DoesNotReturn]
    public static void SaveForEver(string folder)
    {
        QuiltStore store = new(folder);
        KeptQuilt quilt = store.Open(Id);
        byte[] padding = new byte[20_000];
        using Stream output = Console.OpenStandardOutput();
        for (long n = (NumberIn(quilt.PathOf(Files[0])) ?? 0) + 1; ; n++)
        {
            byte[] bytes = JsonSerializer.SerializeToUtf8Bytes(new { padding, n });
            quilt = store.SaveIfUnchanged(quilt, [.. Files.Select(f => (f, (ReadOnlyMemory<byte>)bytes))]);
            output.Write(Encoding.ASCII.GetBytes(string.Create(CultureInfo.InvariantCulture, $"{n}\n")));
            output.Flush();
        }
    }

    private static long KillOne(string folder, TimeSpan after)
    {
        ProcessStartInfo info = new("dotnet") { UseShellExecute = false, RedirectStandardOutput = true };
        info.ArgumentList.Add(typeof(KillWhileSaving).Assembly.Location);
        info.ArgumentList.Add("keep-saving");
        info.ArgumentList.Add(folder);
        using Process child = Process.Start(info)!;
        StringBuilder said = new();
        said.AppendLine(child.StandardOutput.ReadLine());
        Task<string> rest = child.StandardOutput.ReadToEndAsync();
        Thread.Sleep(after);
        child.Kill();
        child.WaitForExit();
        said.Append(rest.GetAwaiter().GetResult());

        // What stands behind the last line break was cut short.
        string[] lines = said.ToString().Split('\n')[..^1];
        return long.Parse(lines[^1].Trim(), CultureInfo.InvariantCulture);
    }

    private static long? NumberIn(string path)
    {
        try
        {
            using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(path));
            return document.RootElement.GetProperty("n").GetInt64();
        }
        catch (Exception e) when (e is JsonException or IOException or KeyNotFoundException)
        {
            return null;
        }
    }
}
