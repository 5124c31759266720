using System.Diagnostics;
using System.Text.Json;

namespace OverlayPlanner.Benchmarks.Screens;

/// <summary>
/// What the workroom asks of its user and of the browser. The browser tests measure on their way, one after another here, so that
/// no other test takes the processor; a test that fails leaves its figures out, and that is said.
/// </summary>
internal static class WorkroomScoreboard
{
    private static readonly string[] Measuring =
    [
        "*.From_the_sample_photo_to_sheets*",
        "*.A_photo_becomes_a_map_by_four_pins*",
        "*.Ten_wrong_seams_are_mended*",
        "*.Twenty_paths_of_which_five*",
        "*.A_shaky_stroke_becomes_the_path*",
        "*.Fifty_megapixels_and_five_thousand_seams*",
        "*.The_first_screen_is_there*",
        "*.A_server_killed_while_seams_are_mended*",
        "*_axe*",
        "*.Two_fingers_pinch*",
        "*.A_choice_lies_in_each_neighbour*",
        "*.The_walk_can_be_left_anywhere*",
        "*.The_preview_shows_the_pages*",
        "*.A_photo_on_its_way_shows*",
        "*.Every_wish_is_met*",
        "*.Nothing_is_said_in_inches*",
    ];

    /// <summary>All figures; a quick run kills the server ten times, a whole one a hundred times.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        foreach ((string, string, string, bool) row in PenSpeed.Run(quick))
        {
            yield return row;
        }

        string figures = Path.GetTempFileName();
        try
        {
            ProcessStartInfo info = new("dotnet") { UseShellExecute = false, RedirectStandardOutput = true };
            info.ArgumentList.Add(
                AppContext
                    .BaseDirectory.TrimEnd(Path.DirectorySeparatorChar)
                    .Replace("OverlayPlanner.Benchmarks", "OverlayPlanner.BrowserTests", StringComparison.Ordinal)
                    + Path.DirectorySeparatorChar
                    + "OverlayPlanner.BrowserTests.dll"
            );
            info.ArgumentList.Add("-noColor");
            info.ArgumentList.Add("-parallel");
            info.ArgumentList.Add("none");
            info.ArgumentList.Add("-explicit");
            info.ArgumentList.Add("on");
            foreach (string test in Measuring)
            {
                info.ArgumentList.Add("-method");
                info.ArgumentList.Add(test);
            }

            info.Environment["OVERLAYPLANNER_FIGURES"] = figures;
            info.Environment["OVERLAYPLANNER_KILLS"] = quick ? "10" : "100";
            using Process process = Process.Start(info)!;
            string said = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            foreach (string line in File.ReadLines(figures))
            {
                Score score = JsonSerializer.Deserialize<Score>(line)!;
                yield return (score.Case, score.Number, score.Target, score.Met);
            }

            if (process.ExitCode != 0)
            {
                Console.Error.WriteLine(said);
                int failed = said.Split("[FAIL]").Length - 1;
                yield return (
                    "browser tests that failed while measuring",
                    failed.ToString(System.Globalization.CultureInfo.InvariantCulture),
                    "0",
                    false
                );
            }
        }
        finally
        {
            File.Delete(figures);
        }
    }
}
