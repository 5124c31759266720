using System.Diagnostics;
using System.Text.Json;
using OverlayPlanner.Cli;

namespace OverlayPlanner.AcceptanceTests.Support;

/// <summary>The command line, in this process or as its own.</summary>
internal static class Tool
{
    public static async Task<Outcome> RunAsync(params string[] arguments)
    {
        using StringWriter output = new();
        using StringWriter error = new();
        int exit = await OverlayPlannerProgram.RunAsync(arguments, output, error);
        return new(exit, output.ToString(), error.ToString());
    }

    /// <summary>Path of the program's assembly, to be run as <c>dotnet PATH</c>.</summary>
    public static string Program => typeof(OverlayPlannerProgram).Assembly.Location;

    public static Process Start(IEnumerable<string> arguments, string? workingFolder = null)
    {
        ProcessStartInfo info = new("dotnet")
        {
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = workingFolder ?? Directory.GetCurrentDirectory(),
        };
        info.ArgumentList.Add(Program);
        foreach (string argument in arguments)
        {
            info.ArgumentList.Add(argument);
        }

        return Process.Start(info)!;
    }

    internal sealed record Outcome(int Exit, string Output, string Error)
    {
        public JsonElement Json => JsonDocument.Parse(Output).RootElement;

        public Outcome MustBeDone()
        {
            Assert.True(Exit == 0, FormattableString.Invariant($"exit {Exit}: {Error}"));
            return this;
        }

        /// <summary>One to three clear lines: what, where, how to mend it; nothing on standard output.</summary>
        public Outcome MustRefuse(params string[] words)
        {
            Assert.True(Exit == 1, FormattableString.Invariant($"exit {Exit} instead of 1: {Output} {Error}"));
            string[] lines = Error
                .Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
                .Where(l => !l.EndsWith('…'))
                .ToArray();
            Assert.True(lines.Length is >= 1 and <= 3, FormattableString.Invariant($"{lines.Length} lines: {Error}"));
            Assert.Contains("where:", Error, StringComparison.Ordinal);
            Assert.Contains("remedy:", Error, StringComparison.Ordinal);
            Assert.DoesNotContain("   at ", Error, StringComparison.Ordinal);
            Assert.Equal("", Output);
            foreach (string word in words)
            {
                Assert.Contains(word, Error, StringComparison.OrdinalIgnoreCase);
            }

            return this;
        }
    }
}

/// <summary>A folder of its own for one test, removed afterwards.</summary>
internal sealed class Scratch : IDisposable
{
    public Scratch()
    {
        Folder = Directory.CreateTempSubdirectory("overlayplanner-test-").FullName;
    }

    public string Folder { get; }

    public string At(string name) => Path.Combine(Folder, name);

    public string Write(string name, string text)
    {
        File.WriteAllText(At(name), text);
        return At(name);
    }

    public IReadOnlyList<string> Files =>
        [.. Directory.EnumerateFileSystemEntries(Folder).Select(f => Path.GetFileName(f)!).Order()];

    public void Dispose() => Directory.Delete(Folder, recursive: true);
}
