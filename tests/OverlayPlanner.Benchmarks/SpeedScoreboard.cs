using System.Globalization;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Benchmarks;

/// <summary>Whole commands as a user runs them: wall time from start to exit, and the process's peak memory.</summary>
public static class SpeedScoreboard
{
    /// <summary>Runs the demo and the map of one photograph as processes of their own.</summary>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-bench-").FullName;
        try
        {
            Sample sample = Sample.Load();
            string photo = Path.Combine(folder, "photo.jpg");
            File.WriteAllBytes(photo, sample.Jpeg);
            string corners = string.Join(' ', sample.Corners.Select(c => FormattableString.Invariant($"{c.X},{c.Y}")));
            string size = FormattableString.Invariant($"{sample.Width.Inches}x{sample.Height.Inches}");
            int repeats = quick ? 1 : 3;
            (double demoSeconds, double demoMemory) = Best(
                repeats,
                () => ChildProgram.Measure(["demo", "--out", Path.Combine(folder, "demo")])
            );
            (double mapSeconds, double mapMemory) = Best(
                repeats,
                () =>
                    ChildProgram.Measure([
                        "map",
                        photo,
                        "--corners",
                        corners,
                        "--size",
                        size,
                        "--out",
                        Path.Combine(folder, "quilt.json"),
                        "--force",
                    ])
            );
            return
            [
                ("demo after the build: seconds", Text($"{demoSeconds:0.0} s"), "< 20 s", demoSeconds < 20),
                ("demo: peak memory", Text($"{demoMemory:0} MB"), "< 1500 MB", demoMemory < 1500),
                ("map, the sample photograph, whole command", Text($"{mapSeconds:0.0} s"), "< 5 s", mapSeconds < 5),
                ("map: peak memory", Text($"{mapMemory:0} MB"), "< 1500 MB", mapMemory < 1500),
                .. MendingSpeed.Run(),
            ];
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static (double Seconds, double Megabytes) Best(
        int repeats,
        Func<(double Seconds, double Megabytes)> measure
    )
    {
        // The median of the times and the worst of the memories.
        (double Seconds, double Megabytes)[] all = [.. Enumerable.Range(0, repeats).Select(_ => measure())];
        return (all.Select(m => m.Seconds).Order().ElementAt(repeats / 2), all.Max(m => m.Megabytes));
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
