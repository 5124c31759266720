namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>Published calibration sets beside the repository; tests skip, saying why, where a set is absent.</summary>
internal static class SharedCalibrationData
{
    public static string FolderOf(string set)
    {
        DirectoryInfo? at = new(AppContext.BaseDirectory);
        while (at is not null && !File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
        {
            at = at.Parent;
        }

        string folder = Path.Combine(at?.Parent?.FullName ?? ".", "shared", "data", "calibration", set);
        Assert.SkipUnless(Directory.Exists(folder), $"The set {set} is not here: {folder}");
        return folder;
    }
}
