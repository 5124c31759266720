namespace OverlayPlanner.BrowserTests;

/// <summary>The browser of the machine.</summary>
internal static class Chromium
{
    /// <summary>Why a test is skipped where there is none.</summary>
    public const string Missing =
        "No Chromium here: install it, or name it in the environment variable CHROMIUM.";

    /// <summary>Path of its program, or null.</summary>
    public static string? Find()
    {
        string[] names =
        [
            .. new[] { "chromium", "chromium-browser", "google-chrome" }.SelectMany(n => new[] { n, n + ".exe" }),
        ];
        string? named = Environment.GetEnvironmentVariable("CHROMIUM");
        if (!string.IsNullOrEmpty(named) && File.Exists(named))
        {
            return named;
        }

        return (Environment.GetEnvironmentVariable("PATH") ?? "")
            .Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .SelectMany(folder => names.Select(n => Path.Combine(folder, n)))
            .FirstOrDefault(File.Exists);
    }
}
