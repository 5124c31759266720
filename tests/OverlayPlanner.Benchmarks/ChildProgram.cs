using System.Diagnostics;
using System.Globalization;

namespace OverlayPlanner.Benchmarks;

/// <summary>The built program, run as a process of its own: wall time from start to exit, and the process's peak memory.</summary>
internal static class ChildProgram
{
    /// <summary>Runs one command.</summary>
    /// <returns>Seconds, and the greatest resident memory in millions of bytes.</returns>
    /// <exception cref="InvalidOperationException">The command ended with another status than 0.</exception>
    public static (double Seconds, double Megabytes) Measure(string[] arguments)
    {
        string program = Directory
            .EnumerateFiles(
                Path.Combine(Bench.Root(), "src", "OverlayPlanner.Cli", "bin", "Release"),
                "overlayplanner.dll",
                SearchOption.AllDirectories
            )
            .First(p =>
                !p.Contains($"{Path.DirectorySeparatorChar}ref{Path.DirectorySeparatorChar}", StringComparison.Ordinal)
            );
        ProcessStartInfo info = new("dotnet")
        {
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        info.ArgumentList.Add(program);
        foreach (string a in arguments)
        {
            info.ArgumentList.Add(a);
        }

        Stopwatch watch = Stopwatch.StartNew();
        using Process process = Process.Start(info)!;
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        Task<string> error = process.StandardError.ReadToEndAsync();
        long peak = 0;
        while (!process.WaitForExit(20))
        {
            process.Refresh();
            try
            {
                peak = Math.Max(peak, process.PeakWorkingSet64);
            }
            catch (InvalidOperationException)
            {
                // It ended between the two calls.
            }
        }

        double seconds = watch.Elapsed.TotalSeconds;
        Task.WaitAll(output, error);
        return process.ExitCode == 0
            ? (seconds, peak / 1e6)
            : throw new InvalidOperationException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{string.Join(' ', arguments)} ended with {process.ExitCode}: {error.Result}"
                )
            );
    }
}
