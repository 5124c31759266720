using System.IO.Compression;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>A quilt's folder as a zip archive, and what an archive from outside must not do.</summary>
internal static class QuiltZip
{
    private const int MostFiles = 200;
    private const long MostBytes = 500_000_000;
    private const int MostSettingsBytes = 1_000_000;
    private const string Remedy = "Choose a zip file that this program has exported.";

    // The earliest time that the format can say: the archive depends on the files' contents and names alone.
    private static readonly DateTimeOffset NoTime = new(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>A nameless file in the system's temporary folder, gone when it is closed.</summary>
    /// <exception cref="InputException">It can't be made.</exception>
    public static FileStream Temporary()
    {
        try
        {
            return new(
                Path.Combine(Path.GetTempPath(), $"overlayplanner-{Guid.NewGuid():N}.part"),
                FileMode.CreateNew,
                FileAccess.ReadWrite,
                FileShare.None,
                1 << 16,
                FileOptions.DeleteOnClose
            );
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException("No temporary file can be made", Path.GetTempPath(), "Free space there.", e);
        }
    }

    /// <summary>Paths of a folder's files, relative to it, ordered by name; hidden files and folders and links are passed over.</summary>
    public static IReadOnlyList<string> FilesOf(string folder) =>
        [
            .. Directory
                .EnumerateFiles(
                    folder,
                    "*",
                    new EnumerationOptions
                    {
                        RecurseSubdirectories = true,
                        AttributesToSkip = FileAttributes.ReparsePoint,
                        IgnoreInaccessible = false,
                    }
                )
                .Select(f => Path.GetRelativePath(folder, f))
                .Where(f => !IsHidden(f.Split(Path.DirectorySeparatorChar)))
                .OrderBy(f => f.Replace(Path.DirectorySeparatorChar, '/'), StringComparer.Ordinal),
        ];

    /// <summary>Writes the archive.</summary>
    public static void Pack(string folder, Stream zip)
    {
        using ZipArchive archive = new(zip, ZipArchiveMode.Create, leaveOpen: true);
        foreach (string file in FilesOf(folder))
        {
            string ending = Path.GetExtension(file).ToUpperInvariant();
            ZipArchiveEntry entry = archive.CreateEntry(
                file.Replace(Path.DirectorySeparatorChar, '/'),
                ending is ".JPG" or ".JPEG" or ".PNG" or ".WEBP" or ".HEIC"
                    ? CompressionLevel.NoCompression
                    : CompressionLevel.Optimal
            );
            entry.LastWriteTime = NoTime;
            using FileStream from = File.OpenRead(Path.Combine(folder, file));
            using Stream to = entry.Open();
            from.CopyTo(to);
        }
    }

    /// <summary>Takes an archive from outside; what is longer than its contents may be is not read to its end.</summary>
    /// <exception cref="InputException">It is too large, or the temporary folder is full.</exception>
    public static void CopyLimited(Stream from, Stream to) => Copy(from, to, MostBytes, "the zip file");

    /// <summary>The settings in an archive.</summary>
    /// <exception cref="InputException">It is no archive of a kept quilt that this version reads.</exception>
    public static KeptSettings SettingsOf(Stream zip)
    {
        using ZipArchive archive = Opened(zip);
        ZipArchiveEntry entry =
            archive.GetEntry(QuiltStore.SettingsFile)
            ?? throw new InputException(
                "There is no kept quilt in this zip file",
                $"{QuiltStore.SettingsFile} is missing",
                Remedy
            );
        using MemoryStream bytes = new();
        Read(entry, bytes, MostSettingsBytes);
        return KeptSettings.Parse(bytes.ToArray(), QuiltStore.SettingsFile);
    }

    /// <summary>Writes an archive's files into an empty folder and flushes them to the disk.</summary>
    /// <exception cref="InputException">It has too many files or bytes, is damaged, or has a name that can't be.</exception>
    public static void Unpack(Stream zip, string folder)
    {
        using ZipArchive archive = Opened(zip);
        List<(ZipArchiveEntry Entry, string Path)> files = [];
        HashSet<string> names = new(StringComparer.OrdinalIgnoreCase);
        foreach (ZipArchiveEntry entry in archive.Entries)
        {
            string[] parts = Parts(entry);
            if (entry.FullName.EndsWith('/') || IsHidden(parts))
            {
                continue;
            }

            if (!names.Add(string.Join('/', parts)))
            {
                throw new InputException("Two files in this zip file have the same name", entry.FullName, Remedy);
            }

            files.Add((entry, Path.Combine([folder, .. parts])));
        }

        long left = MostBytes;
        foreach ((ZipArchiveEntry entry, string path) in files)
        {
            Directory.CreateDirectory(Path.GetDirectoryName(path)!);
            using FileStream to = new(path, FileMode.CreateNew, FileAccess.Write);
            left -= Read(entry, to, left);
            to.Flush(flushToDisk: true);
        }
    }

    private static ZipArchive Opened(Stream zip)
    {
        try
        {
            zip.Position = 0;
            ZipArchive archive = new(zip, ZipArchiveMode.Read, leaveOpen: true);
            if (archive.Entries.Count > MostFiles)
            {
                archive.Dispose();
                throw new InputException("This zip file has too many files", $"more than {MostFiles}", Remedy);
            }

            return archive;
        }
        catch (InvalidDataException e)
        {
            throw new InputException("This is no zip file, or it is damaged", "the zip file", Remedy, e);
        }
    }

    private static string[] Parts(ZipArchiveEntry entry)
    {
        string name = entry.FullName;
        string[] parts = (name.EndsWith('/') ? name[..^1] : name).Split('/');
        const int UnixTypeMask = 0xF000;
        const int UnixLink = 0xA000;
        bool isLink = ((entry.ExternalAttributes >> 16) & UnixTypeMask) == UnixLink;
        return !isLink && name.Length <= 200 && parts.All(IsPossible)
            ? parts
            : throw new InputException("This zip file has a name that no file of a quilt may have", name, Remedy);
    }

    // What every system can hold, and what leads nowhere else: no empty part (an absolute name begins with one), no "..", no
    // backslash or colon (Windows' separators), no device, no blank or full stop at the end (Windows drops them).
    private static bool IsPossible(string part) =>
        part.Length > 0
        && part is not ("." or "..")
        && !part.Any(c => c < ' ' || "\\:<>\"|?*".Contains(c, StringComparison.Ordinal))
        && part[^1] is not (' ' or '.')
        && !QuiltIds.IsDevice(part);

    private static bool IsHidden(string[] parts) => parts.Any(p => p.StartsWith('.'));

    private static long Read(ZipArchiveEntry entry, Stream to, long most)
    {
        try
        {
            using Stream from = entry.Open();
            Crc32Stream check = new(to);
            long length = Copy(from, check, most, entry.FullName);
            return check.Sum == entry.Crc32
                ? length
                : throw new InvalidDataException("The checksum of the contents is another.");
        }
        catch (Exception e) when (e is InvalidDataException or NotSupportedException or EndOfStreamException)
        {
            throw new InputException("A file in this zip file is damaged or locked", entry.FullName, Remedy, e);
        }
    }

    // What an archive says of its size is not believed: the bytes are counted as they come.
    private static long Copy(Stream from, Stream to, long most, string where)
    {
        byte[] buffer = new byte[1 << 16];
        long length = 0;
        for (int n; (n = from.Read(buffer)) > 0; )
        {
            length += n;
            if (length > most)
            {
                throw new InputException(
                    "This zip file holds too much",
                    where,
                    FormattableString.Invariant($"A quilt may have {MostBytes / 1_000_000} MB. {Remedy}")
                );
            }

            to.Write(buffer, 0, n);
        }

        return length;
    }
}
