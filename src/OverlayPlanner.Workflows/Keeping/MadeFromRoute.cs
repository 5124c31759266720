using System.Security.Cryptography;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// Files that are made from a quilt's route and lie beside it: sheets, card, plotter files. They are written whole or not at all,
/// while nobody else changes the quilt, and only where the route is still the one that they were made from: drawing them takes seconds,
/// in which another window may have planned anew or mapped anew. The quilt's revision stays; nothing of the quilt itself is changed.
/// </summary>
internal static class MadeFromRoute
{
    /// <summary>Where a workflow puts its files; to be asked for before the route is read.</summary>
    /// <returns>Outputs whose paths must lie in the quilt's own folder.</returns>
    public static OutputFiles Begin(KeptQuilt quilt)
    {
        byte[] before = HashOf(quilt);
        return new OutputFiles(files => Keep(quilt, before, files));
    }

    private static void Keep(
        KeptQuilt quilt,
        byte[] before,
        IReadOnlyList<(string Path, ReadOnlyMemory<byte> Bytes)> files
    )
    {
        using StoreLock held = StoreLock.Take(Path.GetDirectoryName(quilt.Folder)!);
        WholeSave.Finish(quilt.Folder);
        if (!before.AsSpan().SequenceEqual(HashOf(quilt)))
        {
            throw new InputException(
                "The choices were planned anew in another window meanwhile",
                quilt.Name,
                "Look at them, then make the sheets again."
            );
        }

        WholeSave.Write(quilt.Folder, [.. files.Select(f => (Path.GetFileName(f.Path), f.Bytes))], []);
    }

    // Nothing where there is no route: whoever reads it then says so.
    private static byte[] HashOf(KeptQuilt quilt)
    {
        try
        {
            using FileStream route = File.OpenRead(quilt.PathOf(QuiltStore.RouteFile));
            return SHA256.HashData(route);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            return [];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                "The choices can't be read",
                quilt.Name,
                "Mend the rights of the quilt's folder.",
                e
            );
        }
    }
}
