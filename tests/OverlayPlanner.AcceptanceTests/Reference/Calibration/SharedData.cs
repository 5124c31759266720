using System.Globalization;

namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>Data with known answers that are not part of the repository: ../shared/data beside its root.</summary>
internal static class SharedData
{
    /// <summary>The file's path; skips the test, saying why, where it is absent.</summary>
    public static string Require(params string[] path)
    {
        string? folder = Find();
        string wanted = Path.Combine([folder ?? "../shared/data", "calibration", .. path]);
        Assert.SkipUnless(folder is not null && File.Exists(wanted), $"{wanted} is not there; it can't be given away.");
        return wanted;
    }

    /// <summary>All finite numbers of a text, in order.</summary>
    public static double[] Numbers(string text) =>
        [
            .. text.Split([' ', '\t', '\r', '\n', ',', '[', ']'], StringSplitOptions.RemoveEmptyEntries)
                .Select(t =>
                    double.TryParse(t, NumberStyles.Float, CultureInfo.InvariantCulture, out double v) ? v : double.NaN
                )
                .Where(double.IsFinite),
        ];

    private static string? Find()
    {
        for (DirectoryInfo? d = new(AppContext.BaseDirectory); d is not null; d = d.Parent)
        {
            if (File.Exists(Path.Combine(d.FullName, "OverlayPlanner.sln")))
            {
                string data = Path.Combine(d.FullName, "..", "shared", "data");
                return Directory.Exists(data) ? data : null;
            }
        }

        return null;
    }
}
