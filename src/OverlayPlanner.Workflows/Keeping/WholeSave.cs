using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// Puts several files into a quilt's folder, all or none of them, also where the program is killed or the power fails: they are
/// written into a hidden folder inside, that folder is renamed (from then on the save counts), and its files are moved into place. Whoever
/// finds the renamed folder moves what is left in it.
/// </summary>
internal static class WholeSave
{
    private const string Ready = ".saved";

    // Stands in the renamed folder for a file that the save takes away: no file of a quilt is called so.
    private const string Gone = ".gone";

    /// <summary>True where a save counts but was not finished.</summary>
    public static bool IsUnfinished(string folder) => Directory.Exists(Path.Combine(folder, Ready));

    /// <summary>Writes files and takes others away. The caller holds the store's lock.</summary>
    /// <param name="folder">The quilt's folder.</param>
    /// <param name="files">What is written.</param>
    /// <param name="gone">What is there no more; a file that is written too stays.</param>
    /// <exception cref="InputException">A file can't be written; nothing was changed, unless the message says otherwise.</exception>
    public static void Write(
        string folder,
        IReadOnlyList<(string File, ReadOnlyMemory<byte> Bytes)> files,
        IEnumerable<string> gone
    )
    {
        List<(string File, ReadOnlyMemory<byte> Bytes)> all =
        [
            .. files,
            .. gone.Except(files.Select(f => f.File), StringComparer.Ordinal)
                .Where(f => File.Exists(Path.Combine(folder, f)))
                .Select(f => (f + Gone, ReadOnlyMemory<byte>.Empty)),
        ];
        foreach ((string file, _) in files)
        {
            if (
                file.Length == 0
                || file[0] == '.'
                || file != Path.GetFileName(file)
                || file.EndsWith(Gone, StringComparison.Ordinal)
                || Directory.Exists(Path.Combine(folder, file))
            )
            {
                throw new InputException("This can't be the name of a quilt's file", file, "Give it a plain name.");
            }
        }

        Finish(folder);
        string staging = LeftOvers.TemporaryFolder(folder);
        try
        {
            OutputFiles.MakeFolder(staging);
            OutputFiles output = new(force: false);
            foreach ((string file, ReadOnlyMemory<byte> bytes) in all)
            {
                output.Add(Path.Combine(staging, file), bytes);
            }

            output.Commit();
            Directory.Move(staging, Path.Combine(folder, Ready));
            OutputFiles.SyncFolder(folder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or InputException)
        {
            throw new InputException(
                "The quilt can't be saved",
                folder,
                "Check the folder's rights and the space on the disk.",
                e
            );
        }
        finally
        {
            LeftOvers.TryDelete(staging);
        }

        Finish(folder);
    }

    /// <summary>Moves what a counted save still holds into place. The caller holds the store's lock.</summary>
    /// <exception cref="InputException">A file can't be replaced now.</exception>
    public static void Finish(string folder)
    {
        string ready = Path.Combine(folder, Ready);
        if (!Directory.Exists(ready))
        {
            return;
        }

        try
        {
            foreach (string file in Directory.EnumerateFiles(ready).Order(StringComparer.Ordinal).ToArray())
            {
                string target = Path.Combine(folder, Path.GetFileName(file));
                if (target.EndsWith(Gone, StringComparison.Ordinal))
                {
                    File.Delete(target[..^Gone.Length]);
                    File.Delete(file);
                }
                else
                {
                    File.Move(file, target, overwrite: true);
                }
            }

            OutputFiles.SyncFolder(folder);
            Directory.Delete(ready, recursive: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                "The last save is written but could not be put in its place",
                folder,
                "Close other programs that have a file of this quilt open and check the folder's rights; then open the quilt again.",
                e
            );
        }
    }
}
