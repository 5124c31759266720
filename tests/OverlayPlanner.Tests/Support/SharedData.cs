namespace OverlayPlanner.Tests.Support;

/// <summary>
/// Reference data that may not be copied into the repository: it lies beside the checkout, in <c>../shared/data</c>. A test
/// that needs a file of it is skipped, with the reason, where the file is absent.
/// </summary>
public static class SharedData
{
    /// <summary>The folder, whether it exists or not.</summary>
    public static string Folder => Repository.PathOf("../shared/data");

    /// <summary>
    /// The full path of a file or folder, such as <c>routing/README.md</c>; skips the running test where there is none.
    /// </summary>
    public static string PathOf(string relative)
    {
        string path = Path.GetFullPath(Path.Combine([Folder, .. relative.Split('/')]));
        Assert.SkipUnless(Path.Exists(path), $"The reference data are not on this machine: ../shared/data/{relative}.");
        return path;
    }
}
