using System.Text.Json;

namespace OverlayPlanner.BrowserTests;

/// <summary>
/// What the tests measured on their way, for the scoreboard: a line of JSON each in the file that <c>OVERLAYPLANNER_FIGURES</c>
/// names. Without it nothing is written, and no test passes or fails by a time.
/// </summary>
internal static class Figures
{
    private static readonly Lock Turn = new();

    public static void Note(string what, string number, string target, bool met)
    {
        if (Environment.GetEnvironmentVariable("OVERLAYPLANNER_FIGURES") is not { Length: > 0 } file)
        {
            return;
        }

        string line = JsonSerializer.Serialize(new Figure(what, number, target, met));
        lock (Turn)
        {
            File.AppendAllText(file, line + "\n");
        }
    }

    private sealed record Figure(string Case, string Number, string Target, bool Met);
}
