using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// The quilts that a user keeps, each in a folder of plain files: photograph, map, cloth picture, routes, and <c>quilt.settings.json</c>
/// with its name. Every change of a quilt is written whole or not at all, so that whoever kills the program finds the last state that
/// was saved. Several threads and several programs may use one folder: changes wait for one another.
/// </summary>
public sealed partial class QuiltStore
{
    /// <summary>Name of the quilt map in a quilt's folder.</summary>
    public const string MapFile = "quilt.json";

    /// <summary>Name of the picture of the cloth.</summary>
    public const string ClothFile = "cloth.jpg";

    /// <summary>Name of the routes.</summary>
    public const string RouteFile = "route.json";

    /// <summary>Name of the file that makes a folder a kept quilt.</summary>
    public const string SettingsFile = "quilt.settings.json";

    /// <summary>
    /// Quilts in a folder, which is made where it does not exist. Temporary files there that are more than an hour old are deleted.
    /// </summary>
    /// <exception cref="InputException">The folder can't be made.</exception>
    public QuiltStore(string root)
    {
        ArgumentException.ThrowIfNullOrEmpty(root);
        Root = Path.GetFullPath(root);
        OutputFiles.MakeFolder(Root);
        LeftOvers.Clear(Root);
    }

    /// <summary>The folder that holds the quilts.</summary>
    public string Root { get; }

    /// <summary>Where quilts are kept unless the user says otherwise: <c>overlayplanner/quilts</c> in the user's own data folder.</summary>
    public static string DefaultRoot() =>
        Path.Combine(
            Environment.GetFolderPath(
                Environment.SpecialFolder.LocalApplicationData,
                Environment.SpecialFolderOption.Create
            ),
            "overlayplanner",
            "quilts"
        );

    /// <summary>All quilts, last changed first. Folders that hold none, and quilts that can't be read, are passed over.</summary>
    /// <exception cref="InputException">The folder can't be listed.</exception>
    public IReadOnlyList<KeptQuilt> List() =>
        [
            .. Ids()
                .Select(TryRead)
                .OfType<KeptQuilt>()
                .OrderByDescending(q => q.Changed)
                .ThenBy(q => q.Id, StringComparer.Ordinal),
        ];

    /// <summary>Ids of quilts that are there and can't be read; <see cref="Open"/> says why.</summary>
    /// <exception cref="InputException">The folder can't be listed.</exception>
    public IReadOnlyList<string> Unreadable() => [.. Ids().Where(id => TryRead(id) is null)];

    /// <summary>One quilt.</summary>
    /// <exception cref="InputException">There is none of this id, or a later version of the program wrote it.</exception>
    public KeptQuilt Open(string id)
    {
        string folder = FolderOf(id);
        if (WholeSave.IsUnfinished(folder))
        {
            using StoreLock held = StoreLock.Take(Root);
            WholeSave.Finish(folder);
        }

        return Read(folder).Quilt;
    }

    /// <summary>A new, empty quilt.</summary>
    /// <param name="name">What the user calls it; blanks at its ends are dropped; 1 to 80 characters.</param>
    /// <exception cref="InputException">The name is empty or too long, or the folder can't be written.</exception>
    public KeptQuilt Create(string name)
    {
        string clean = CheckName(name);
        return Add(clean, folder => WriteNew(folder, KeptSettings.New(clean).Write(clean, revision: 1)));
    }

    /// <summary>
    /// Writes files of a quilt, all or none of them, in the place of those of the same name. Of <see cref="SettingsFile"/> the fields
    /// given are set and the others kept.
    /// </summary>
    /// <exception cref="InputException">A file can't be written; nothing was changed.</exception>
    public KeptQuilt Save(KeptQuilt quilt, params (string File, ReadOnlyMemory<byte> Bytes)[] files)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        return Write(quilt.Id, stamp: null, name: null, files, []);
    }

    /// <summary>As <see cref="Save"/>, but only where nobody has saved the quilt since this state of it was read.</summary>
    /// <exception cref="InputException">Another tab or program has saved it since, or a file can't be written; nothing was changed.</exception>
    public KeptQuilt SaveIfUnchanged(KeptQuilt quilt, params (string File, ReadOnlyMemory<byte> Bytes)[] files)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        return Write(quilt.Id, quilt.Stamp, name: null, files, []);
    }

    /// <summary>As <see cref="SaveIfUnchanged"/>; files that no longer hold are taken away with the same save.</summary>
    /// <param name="quilt">The quilt as it was read.</param>
    /// <param name="gone">Names of files that are there no more; those that are written stay.</param>
    /// <param name="files">What is written.</param>
    /// <exception cref="InputException">Another tab or program has saved it since, or a file can't be written; nothing was changed.</exception>
    internal KeptQuilt Replace(
        KeptQuilt quilt,
        IEnumerable<string> gone,
        params (string File, ReadOnlyMemory<byte> Bytes)[] files
    ) => Write(quilt.Id, quilt.Stamp, name: null, files, [.. gone]);

    /// <summary>Gives a quilt another name. Its id stays.</summary>
    /// <exception cref="InputException">There is no such quilt, the name is empty or too long, or the folder can't be written.</exception>
    public KeptQuilt Rename(string id, string name) => Write(id, stamp: null, CheckName(name), [], []);

    private KeptQuilt Write(
        string id,
        string? stamp,
        string? name,
        IReadOnlyList<(string File, ReadOnlyMemory<byte> Bytes)> files,
        IReadOnlyCollection<string> gone
    )
    {
        using StoreLock held = StoreLock.Take(Root);
        string folder = FolderOf(id);
        WholeSave.Finish(folder);
        (KeptQuilt now, KeptSettings settings) = Read(folder);
        if (stamp is not null && stamp != now.Stamp)
        {
            throw new InputException(
                "This quilt was changed in another window since it was opened here",
                now.Name,
                "Open it again to see that change, or make a copy of the quilt and go on there."
            );
        }

        ReadOnlyMemory<byte>? given = null;
        List<(string File, ReadOnlyMemory<byte> Bytes)> all = [];
        foreach ((string file, ReadOnlyMemory<byte> bytes) in files)
        {
            if (file == SettingsFile)
            {
                given = bytes;
            }
            else
            {
                all.Add((file, bytes));
            }
        }

        LaterFiles.Require(folder, now.Name, all.Select(f => f.File).Concat(gone));
        all.Add((SettingsFile, settings.Write(name ?? now.Name, settings.Revision + 1, given)));
        WholeSave.Write(folder, all, gone);
        return Read(folder).Quilt;
    }

    // A quilt's folder is filled under a hidden name and then renamed: a folder without settings never appears.
    private KeptQuilt Add(string name, Action<string> fill)
    {
        string staging = LeftOvers.TemporaryFolder(Root);
        try
        {
            OutputFiles.MakeFolder(staging);
            fill(staging);
            using StoreLock held = StoreLock.Take(Root);
            string folder = Path.Combine(Root, QuiltIds.Free(name, Taken()));
            Directory.Move(staging, folder);
            OutputFiles.SyncFolder(Root);
            return Read(folder).Quilt;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                "The quilt can't be kept",
                Root,
                "Check the folder's rights and the space on the disk.",
                e
            );
        }
        finally
        {
            LeftOvers.TryDelete(staging);
        }
    }

    private static void WriteNew(string folder, byte[] settings)
    {
        OutputFiles output = new(force: false);
        output.Add(Path.Combine(folder, SettingsFile), settings);
        output.Commit();
    }

    private static string CheckName(string name)
    {
        string clean = (name ?? "").Trim();
        return clean.Length is > 0 and <= 80
            ? clean
            : throw new InputException(
                clean.Length == 0 ? "The quilt has no name" : "The name is too long",
                "the name",
                "Give it a name of 1 to 80 characters."
            );
    }

    // Everything in the root counts as taken, a file and a folder without settings too.
    private IEnumerable<string> Taken() => Directory.EnumerateFileSystemEntries(Root).Select(p => Path.GetFileName(p));

    private string[] Ids()
    {
        try
        {
            return
            [
                .. Directory
                    .EnumerateDirectories(Root)
                    .Select(f => Path.GetFileName(f))
                    .Where(id => QuiltIds.Fits(id) && File.Exists(Path.Combine(Root, id, SettingsFile)))
                    .Order(StringComparer.Ordinal),
            ];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException("The folder of the quilts can't be listed", Root, "Mend its rights.", e);
        }
    }

    private string FolderOf(string id) =>
        QuiltIds.Fits(id) && File.Exists(Path.Combine(Root, id, SettingsFile))
            ? Path.Combine(Root, id)
            : throw new InputException("There is no such quilt", id ?? "", "Choose one from the list of quilts.");

    private KeptQuilt? TryRead(string id)
    {
        try
        {
            return Open(id);
        }
        catch (InputException)
        {
            return null;
        }
    }

    private static (KeptQuilt Quilt, KeptSettings Settings) Read(string folder)
    {
        string path = Path.Combine(folder, SettingsFile);
        try
        {
            byte[] bytes = File.ReadAllBytes(path);
            KeptSettings settings = KeptSettings.Parse(bytes, path);
            DateTime changed = new DirectoryInfo(folder)
                .EnumerateFiles()
                .Where(f => f.Name[0] != '.')
                .Select(f => f.LastWriteTimeUtc)
                .DefaultIfEmpty(DateTime.UnixEpoch)
                .Max();
            KeptQuilt quilt = new(
                Path.GetFileName(folder),
                settings.Name,
                new DateTimeOffset(changed, TimeSpan.Zero),
                folder
            )
            {
                Stamp = KeptSettings.Stamp(bytes, settings.Revision),
            };
            return (quilt, settings);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException("This quilt's settings can't be read", path, "Mend the folder's rights.", e);
        }
    }
}
