namespace OverlayPlanner.Workflows.Keeping;

/// <summary>A quilt that is kept: a folder of plain files.</summary>
/// <param name="Id">Name of its folder: lower-case letters, digits and hyphens.</param>
/// <param name="Name">What the user calls it.</param>
/// <param name="Changed">When something in it was last written, UTC.</param>
/// <param name="Folder">Its folder's path.</param>
public sealed record KeptQuilt(string Id, string Name, DateTimeOffset Changed, string Folder)
{
    /// <summary>Changes with every save of the quilt: <see cref="QuiltStore.SaveIfUnchanged"/> compares it.</summary>
    public string Stamp { get; init; } = "";

    /// <summary>The photograph as it was brought, with its own ending, or null before one was.</summary>
    public string? Photo => Directory.EnumerateFiles(Folder, "photo.*").Order(StringComparer.Ordinal).FirstOrDefault();

    /// <summary>The quilt map, once there is one.</summary>
    public string? Map => Existing(QuiltStore.MapFile);

    /// <summary>The picture of the cloth seen straight down, once there is one.</summary>
    public string? Cloth => Existing(QuiltStore.ClothFile);

    /// <summary>The routes, once planned.</summary>
    public string? Route => Existing(QuiltStore.RouteFile);

    /// <summary>Path of a file of this name in its folder, whether it exists or not.</summary>
    /// <exception cref="ArgumentException">The name is no plain file name.</exception>
    public string PathOf(string file)
    {
        ArgumentNullException.ThrowIfNull(file);
        return file.Length > 0 && file == Path.GetFileName(file) && file != ".."
            ? Path.Combine(Folder, file)
            : throw new ArgumentException($"\"{file}\" is no plain file name.", nameof(file));
    }

    private string? Existing(string file) =>
        File.Exists(Path.Combine(Folder, file)) ? Path.Combine(Folder, file) : null;
}
