using System.Runtime.InteropServices;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows;

/// <summary>
/// Files that a verb writes: each is written beside its target and flushed to the disk; only when all are there are they renamed
/// into place. A failure or a cancellation before that leaves nothing behind and nothing replaced.
/// </summary>
public sealed partial class OutputFiles
{
    private readonly List<(string Path, string Given, ReadOnlyMemory<byte> Bytes)> files = [];
    private readonly Func<string, bool> mayReplace;
    private readonly Action<IReadOnlyList<(string Path, ReadOnlyMemory<byte> Bytes)>>? keep;

    /// <summary>Replaces existing files only where <paramref name="force"/> is set.</summary>
    public OutputFiles(bool force)
        : this(_ => force) { }

    /// <summary>Replaces an existing file only where <paramref name="mayReplace"/> says so of its full path.</summary>
    public OutputFiles(Func<string, bool> mayReplace) => this.mayReplace = mayReplace;

    /// <summary>Replaces existing files, and leaves the writing to another who knows what it must wait for.</summary>
    /// <param name="keep">Writes files at their full paths, all or none of them.</param>
    internal OutputFiles(Action<IReadOnlyList<(string Path, ReadOnlyMemory<byte> Bytes)>> keep)
        : this(force: true) => this.keep = keep;

    /// <summary>Paths added so far as the user gave them, in order.</summary>
    public IReadOnlyList<string> Paths => [.. files.Select(f => f.Given)];

    /// <summary>Checks a target before the work begins, so that a refusal costs no waiting.</summary>
    /// <exception cref="InputException">It exists and may not be replaced, is a folder, or its folder does not exist.</exception>
    public string Claim(string path)
    {
        string full = FullPath(path);
        if (Directory.Exists(full))
        {
            throw new InputException("The target is a folder", path, "Give the name of a file.");
        }

        string? folder = Path.GetDirectoryName(full);
        if (folder is not null && !Directory.Exists(folder))
        {
            throw new InputException(
                "The target's folder does not exist",
                folder,
                "Make the folder first, or give another place."
            );
        }

        if (File.Exists(full) && !mayReplace(full))
        {
            throw new InputException("The target exists", path, "Give another name, or --force to replace it.");
        }

        if (files.Any(f => f.Path == full))
        {
            throw new InputException("Two outputs have the same name", path, "Give each its own name.");
        }

        return full;
    }

    /// <summary>Adds a file to be written by <see cref="Commit"/>.</summary>
    /// <exception cref="InputException">As <see cref="Claim"/>.</exception>
    public void Add(string path, ReadOnlyMemory<byte> bytes) => files.Add((Claim(path), path, bytes));

    /// <summary>Writes all files, then renames them into place.</summary>
    /// <exception cref="InputException">A folder can't be written, the disk is full; nothing was replaced.</exception>
    /// <exception cref="OperationCanceledException">Cancelled before the first rename; nothing was replaced.</exception>
    public void Commit(CancellationToken cancellation = default)
    {
        if (keep is not null)
        {
            cancellation.ThrowIfCancellationRequested();
            keep([.. files.Select(f => (f.Path, f.Bytes))]);
            return;
        }

        List<(string Temporary, string Target)> written = [];
        string current = "";
        try
        {
            foreach ((string path, _, ReadOnlyMemory<byte> bytes) in files)
            {
                cancellation.ThrowIfCancellationRequested();
                current = path;
                string temporary = TemporaryName(path);
                written.Add((temporary, path));
                using FileStream stream = new(temporary, FileMode.CreateNew, FileAccess.Write, FileShare.None);
                stream.Write(bytes.Span);
                stream.Flush(flushToDisk: true);
            }

            cancellation.ThrowIfCancellationRequested();
            foreach ((string temporary, string target) in written.ToArray())
            {
                current = target;
                if (File.Exists(target) && !mayReplace(target))
                {
                    throw new InputException(
                        "The target exists",
                        target,
                        "It appeared meanwhile; give another name, or --force."
                    );
                }

                File.Move(temporary, target, overwrite: true);
                written.RemoveAt(0);
            }

            foreach (string folder in files.Select(f => Path.GetDirectoryName(f.Path)!).Distinct())
            {
                SyncFolder(folder);
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                $"The file can't be written: {FirstLine(e.Message)}",
                current,
                "Check the folder's rights and the space on the disk, or give another place.",
                e
            );
        }
        finally
        {
            foreach ((string temporary, _) in written)
            {
                TryDelete(temporary);
            }
        }
    }

    /// <summary>Makes a folder where it does not exist.</summary>
    /// <exception cref="InputException">It can't be made.</exception>
    public static void MakeFolder(string folder)
    {
        try
        {
            Directory.CreateDirectory(folder);
        }
        catch (Exception e)
            when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            throw new InputException("The folder can't be made", folder, "Give another place, or mend its rights.", e);
        }
    }

    private static string TemporaryName(string path) =>
        Path.Combine(
            Path.GetDirectoryName(path)!,
            $".{Path.GetFileName(path)}.{Guid.NewGuid().ToString("N")[..8]}.part"
        );

    private static string FullPath(string path)
    {
        try
        {
            if (string.IsNullOrWhiteSpace(path))
            {
                throw new InputException("An output has no name", "--out", "Give the name of a file.");
            }

            return Path.GetFullPath(path);
        }
        catch (Exception e) when (e is ArgumentException or NotSupportedException or PathTooLongException)
        {
            throw new InputException("The target is no possible file name", path, "Give the name of a file.", e);
        }
    }

    private static string FirstLine(string text) => text.Split('\n')[0].Trim();

    private static void TryDelete(string path)
    {
        try
        {
            File.Delete(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // The cause is on its way up already; a leftover hidden file is the lesser evil.
        }
    }

    // A rename survives a power cut only when its folder is flushed too. Windows does this by itself.
    internal static void SyncFolder(string folder)
    {
        if (OperatingSystem.IsWindows())
        {
            return;
        }

        int handle = Native.Open(folder, 0);
        if (handle >= 0)
        {
            _ = Native.Fsync(handle);
            _ = Native.Close(handle);
        }
    }

    private static partial class Native
    {
        [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8)]
        internal static partial int Open(string path, int flags);

        [LibraryImport("libc", EntryPoint = "fsync")]
        internal static partial int Fsync(int handle);

        [LibraryImport("libc", EntryPoint = "close")]
        internal static partial int Close(int handle);
    }
}
