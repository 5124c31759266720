namespace OverlayPlanner.Tests.Support;

/// <summary>Where the repository lies on this machine.</summary>
public static class Repository
{
    private static readonly Lazy<string> Found = new(Find);

    /// <summary>The folder that holds <c>OverlayPlanner.sln</c>, found by walking up from the test assembly.</summary>
    public static string Root => Found.Value;

    /// <summary>The full path of a file or folder of the repository; <paramref name="relative"/> is written with slashes.</summary>
    public static string PathOf(string relative) => Path.GetFullPath(Path.Combine([Root, .. relative.Split('/')]));

    private static string Find()
    {
        for (DirectoryInfo? at = new(AppContext.BaseDirectory); at is not null; at = at.Parent)
        {
            if (File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
            {
                return at.FullName;
            }
        }

        throw new InvalidOperationException(
            $"No folder above {AppContext.BaseDirectory} holds OverlayPlanner.sln: run the tests from a checkout."
        );
    }
}
