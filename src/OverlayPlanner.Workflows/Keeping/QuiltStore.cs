using System.Globalization;
using System.Text;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// The quilts that a user keeps, each in a folder of plain files: photograph, map, cloth picture, routes, and <c>quilt.settings.json</c>
/// with its name. Every change of a quilt is written whole or not at all (<see cref="OutputFiles"/>), so that whoever kills the
/// program finds the last state that was saved.
/// </summary>
public sealed class QuiltStore
{
    /// <summary>Name of the quilt map in a quilt's folder.</summary>
    public const string MapFile = "quilt.json";

    /// <summary>Name of the picture of the cloth.</summary>
    public const string ClothFile = "cloth.jpg";

    /// <summary>Name of the routes.</summary>
    public const string RouteFile = "route.json";

    /// <summary>Name of the file that makes a folder a kept quilt.</summary>
    public const string SettingsFile = "quilt.settings.json";

    private const string Format = "overlayplanner.kept-quilt";
    private const int Version = 1;

    /// <summary>Quilts in a folder, which is made where it does not exist.</summary>
    /// <exception cref="InputException">The folder can't be made.</exception>
    public QuiltStore(string root)
    {
        ArgumentException.ThrowIfNullOrEmpty(root);
        Root = Path.GetFullPath(root);
        OutputFiles.MakeFolder(Root);
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

    /// <summary>All quilts, last changed first. Folders that hold none are passed over.</summary>
    public IReadOnlyList<KeptQuilt> List() =>
        [
            .. Directory
                .EnumerateDirectories(Root)
                .Where(f => File.Exists(Path.Combine(f, SettingsFile)))
                .Select(Read)
                .OfType<KeptQuilt>()
                .OrderByDescending(q => q.Changed)
                .ThenBy(q => q.Id, StringComparer.Ordinal),
        ];

    /// <summary>One quilt.</summary>
    /// <exception cref="InputException">There is none of this id, or a later version of the program wrote it.</exception>
    public KeptQuilt Open(string id)
    {
        if (!IsId(id) || !File.Exists(Path.Combine(Root, id, SettingsFile)))
        {
            throw new InputException("There is no such quilt", id ?? "", "Choose one from the list of quilts.");
        }

        string folder = Path.Combine(Root, id);
        return Read(folder)
            ?? throw new InputException(
                "This quilt's settings can't be read, or a later version of the program wrote them",
                folder,
                "Use the newer version, or bring the photograph again as a new quilt."
            );
    }

    /// <summary>A new, empty quilt.</summary>
    /// <param name="name">What the user calls it; blanks at its ends are dropped; 1 to 80 characters.</param>
    /// <exception cref="InputException">The name is empty or too long, or the folder can't be written.</exception>
    public KeptQuilt Create(string name)
    {
        string clean = CheckName(name);
        string id = FreeId(clean);
        string folder = Path.Combine(Root, id);
        OutputFiles.MakeFolder(folder);
        Save(folder, (SettingsFile, Settings(clean)));
        return Open(id);
    }

    /// <summary>Writes files of a quilt, all or none of them, in the place of those of the same name.</summary>
    /// <exception cref="InputException">A file can't be written; nothing was changed.</exception>
    public KeptQuilt Save(KeptQuilt quilt, params (string File, ReadOnlyMemory<byte> Bytes)[] files)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        Save(quilt.Folder, files);
        return Open(quilt.Id);
    }

    private static void Save(string folder, params (string File, ReadOnlyMemory<byte> Bytes)[] files)
    {
        OutputFiles output = new(force: true);
        foreach ((string file, ReadOnlyMemory<byte> bytes) in files)
        {
            output.Add(Path.Combine(folder, file), bytes);
        }

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

    private string FreeId(string name)
    {
        StringBuilder id = new();
        foreach (char c in name.ToLowerInvariant())
        {
            if (char.IsAsciiLetterOrDigit(c))
            {
                id.Append(c);
            }
            else if (id.Length > 0 && id[^1] != '-')
            {
                id.Append('-');
            }
        }

        string stem = id.ToString().Trim('-');
        stem = stem.Length == 0 ? "quilt" : stem[..Math.Min(stem.Length, 40)].Trim('-');
        string free = stem;
        for (int n = 2; Directory.Exists(Path.Combine(Root, free)); n++)
        {
            free = string.Create(CultureInfo.InvariantCulture, $"{stem}-{n}");
        }

        return free;
    }

    private static bool IsId(string? id) =>
        id is { Length: > 0 and <= 60 } && id.All(c => char.IsAsciiLetterLower(c) || char.IsAsciiDigit(c) || c == '-');

    private static KeptQuilt? Read(string folder)
    {
        try
        {
            using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(Path.Combine(folder, SettingsFile)));
            JsonElement root = document.RootElement;
            return
                root.GetProperty("format").GetString() == Format
                && root.GetProperty("version").GetInt32() <= Version
                && root.GetProperty("name").GetString() is { } name
                ? new(
                    Path.GetFileName(folder),
                    name,
                    new DateTimeOffset(
                        new DirectoryInfo(folder)
                            .EnumerateFiles()
                            .Select(f => f.LastWriteTimeUtc)
                            .DefaultIfEmpty(DateTime.UnixEpoch)
                            .Max(),
                        TimeSpan.Zero
                    ),
                    folder
                )
                : null;
        }
        catch (Exception e)
            when (e
                    is JsonException
                        or IOException
                        or UnauthorizedAccessException
                        or KeyNotFoundException
                        or InvalidOperationException
                        or FormatException
            )
        {
            return null;
        }
    }

    private static byte[] Settings(string name) =>
        JsonSerializer.SerializeToUtf8Bytes(
            new
            {
                format = Format,
                version = Version,
                name,
            }
        );
}
