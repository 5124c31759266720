using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <content>Copies of quilts, and quilts taken off the list and brought back.</content>
public sealed partial class QuiltStore
{
    private const string RemovedFolder = ".removed";
    private const string TimeFormat = "yyyyMMdd'T'HHmmssfffffff'Z'";

    /// <summary>The quilt that <see cref="RestoreLast"/> would bring back, or null where none was removed.</summary>
    public KeptQuilt? LastRemoved
    {
        get
        {
            foreach (string folder in Removed())
            {
                try
                {
                    return Read(folder).Quilt with { Id = IdOf(folder) };
                }
                catch (InputException)
                {
                    // One that can't be read can't be shown; the one before it can.
                }
            }

            return null;
        }
    }

    /// <summary>A second quilt with all files of a first, hidden ones apart.</summary>
    /// <exception cref="InputException">There is no such quilt, the name is empty or too long, or the folder can't be written.</exception>
    public KeptQuilt Copy(string id, string name)
    {
        string clean = CheckName(name);
        string folder = Open(id).Folder;
        return Add(
            clean,
            staging =>
            {
                using StoreLock held = StoreLock.Take(Root);
                WholeSave.Finish(folder);
                KeptSettings settings = Read(folder).Settings;
                foreach (string file in QuiltZip.FilesOf(folder).Where(f => f != SettingsFile))
                {
                    string target = Path.Combine(staging, file);
                    Directory.CreateDirectory(Path.GetDirectoryName(target)!);
                    using FileStream from = File.OpenRead(Path.Combine(folder, file));
                    using FileStream to = new(target, FileMode.CreateNew, FileAccess.Write);
                    from.CopyTo(to);
                    to.Flush(flushToDisk: true);
                }

                WriteNew(staging, settings.Write(clean, revision: 1));
            }
        );
    }

    /// <summary>
    /// Takes a quilt off the list. Nothing is destroyed: its folder is moved to <c>.removed</c> in the store's folder, with the time added to its name.
    /// </summary>
    /// <returns>Where its folder is now.</returns>
    /// <exception cref="InputException">There is no such quilt, or the folder can't be written.</exception>
    public string Remove(string id)
    {
        using StoreLock held = StoreLock.Take(Root);
        string folder = FolderOf(id);
        WholeSave.Finish(folder);

        // One later than the last, also where the clock was put back: the order of removal is the order of the names.
        DateTime time = DateTime.UtcNow;
        if (Removed().FirstOrDefault() is { } last && TimeOf(last) >= time)
        {
            time = TimeOf(last).AddTicks(1);
        }

        string target = Path.Combine(
            Root,
            RemovedFolder,
            $"{id}-{time.ToString(TimeFormat, CultureInfo.InvariantCulture)}"
        );
        OutputFiles.MakeFolder(Path.GetDirectoryName(target)!);
        MoveFolder(folder, target);
        return target;
    }

    /// <summary>Brings back the quilt that was removed last, under its own id where that is free.</summary>
    /// <exception cref="InputException">None was removed, or the folder can't be written.</exception>
    public KeptQuilt RestoreLast()
    {
        using StoreLock held = StoreLock.Take(Root);
        KeptQuilt removed =
            LastRemoved
            ?? throw new InputException(
                "There is no removed quilt to bring back",
                Path.Combine(Root, RemovedFolder),
                "Import it from an export."
            );
        string folder = Path.Combine(Root, QuiltIds.Free(removed.Id, Taken()));
        MoveFolder(removed.Folder, folder);
        return Read(folder).Quilt;
    }

    private void MoveFolder(string from, string to)
    {
        try
        {
            Directory.Move(from, to);
            OutputFiles.SyncFolder(Path.GetDirectoryName(from)!);
            OutputFiles.SyncFolder(Path.GetDirectoryName(to)!);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                "The quilt's folder can't be moved",
                from,
                $"Check the rights of {Root}, and close other programs that have a file of this quilt open.",
                e
            );
        }
    }

    // Last removed first.
    private IEnumerable<string> Removed()
    {
        string folder = Path.Combine(Root, RemovedFolder);
        return Directory.Exists(folder)
            ? Directory
                .EnumerateDirectories(folder)
                .Where(f => TimeOf(f) != default && QuiltIds.Fits(IdOf(f)))
                .OrderByDescending(TimeOf)
                .ThenBy(f => f, StringComparer.Ordinal)
            : [];
    }

    private static string IdOf(string removed)
    {
        string name = Path.GetFileName(removed);
        return name[..Math.Max(0, name.LastIndexOf('-'))];
    }

    private static DateTime TimeOf(string removed)
    {
        string name = Path.GetFileName(removed);
        return DateTime.TryParseExact(
            name[(name.LastIndexOf('-') + 1)..],
            TimeFormat,
            CultureInfo.InvariantCulture,
            DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal,
            out DateTime time
        )
            ? time
            : default;
    }
}
