using System.Globalization;

namespace OverlayPlanner.Benchmarks.Keeping;

/// <summary>What a killed program loses.</summary>
internal static class KeepingScoreboard
{
    private const int Seed = 7;

    /// <summary>100 kills, or 10 in a quick run.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-bench-").FullName;
        try
        {
            KillWhileSaving k = KillWhileSaving.Run(folder, quick ? 10 : 100, Seed);
            string what = string.Create(
                CultureInfo.InvariantCulture,
                $"store killed {k.Kills} times while saving, {k.Saves} saves"
            );
            yield return ($"{what}: lost quilts", Text(k.LostQuilts), "0", k.LostQuilts == 0);
            yield return ($"{what}: broken files", Text(k.BrokenFiles), "0", k.BrokenFiles == 0);
            yield return ($"{what}: saves in part", Text(k.MixedSaves), "0", k.MixedSaves == 0);
            yield return ($"{what}: most saves lost", Text(k.MostSavesLost), "≤ 1", k.MostSavesLost <= 1);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static string Text(long n) => n.ToString(CultureInfo.InvariantCulture);
}
