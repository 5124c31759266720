namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// Temporary files and folders: hidden, ending in <c>.part</c>. A killed program leaves them; they are deleted where they are an hour
/// old, since a younger one may be another program's work.
/// </summary>
internal static class LeftOvers
{
    private static readonly TimeSpan Age = TimeSpan.FromHours(1);

    /// <summary>A name for a temporary folder inside another.</summary>
    public static string TemporaryFolder(string folder) =>
        Path.Combine(folder, $".{Guid.NewGuid().ToString("N")[..12]}.part");

    /// <summary>Deletes the old ones in the store's folder and in each quilt's. What can't be deleted stays.</summary>
    public static void Clear(string root)
    {
        try
        {
            foreach (
                string folder in Directory
                    .EnumerateDirectories(root)
                    .Where(f => QuiltIds.Fits(Path.GetFileName(f)))
                    .Prepend(root)
                    .ToArray()
            )
            {
                foreach (string path in Directory.EnumerateFileSystemEntries(folder).Where(IsOld).ToArray())
                {
                    TryDelete(path);
                }
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // A folder that can't be listed says so when it is opened; cleaning is no reason to refuse the others.
        }
    }

    /// <summary>Deletes a temporary file or folder where that is possible.</summary>
    public static void TryDelete(string path)
    {
        try
        {
            if (Directory.Exists(path))
            {
                Directory.Delete(path, recursive: true);
            }
            else
            {
                File.Delete(path);
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // It is hidden and counts for nothing; the next opening tries again.
        }
    }

    private static bool IsOld(string path)
    {
        string name = Path.GetFileName(path);
        return name[0] == '.'
            && name.EndsWith(".part", StringComparison.Ordinal)
            && DateTime.UtcNow - File.GetLastWriteTimeUtc(path) > Age;
    }
}
