using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Bringing;

/// <summary>What is kept of a photograph's quality beside it.</summary>
/// <param name="Quality">What was measured.</param>
/// <param name="Accepted">True once the quilter chose to go on with it all the same.</param>
public sealed record KeptQuality(PhotoQuality Quality, bool Accepted);

/// <summary>The file in a quilt's folder that keeps what was measured of its photograph.</summary>
public static class PhotoQualityFile
{
    /// <summary>Its name.</summary>
    public const string Name = "photo-quality.json";

    private const int Version = 1;

    private static readonly JsonSerializerOptions Words = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        PropertyNameCaseInsensitive = true,
    };

    /// <summary>What is kept; null where there is no photograph, where it came before it was measured, or where the file can't be read.</summary>
    public static KeptQuality? Read(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        string path = quilt.PathOf(Name);
        if (quilt.Photo is null || !File.Exists(path))
        {
            return null;
        }

        try
        {
            Written? read = JsonSerializer.Deserialize<Written>(File.ReadAllBytes(path), Words);
            return read is { Version: Version, Quality: { } quality } ? new(quality, read.Accepted) : null;
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            // It only advises: the photograph is used without it.
            return null;
        }
    }

    /// <summary>Keeps that the quilter goes on with the photograph all the same.</summary>
    /// <exception cref="InputException">The folder can't be written.</exception>
    public static KeptQuilt Accept(QuiltStore store, KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(store);
        return Read(quilt) is { } kept
            ? store.SaveIfUnchanged(quilt, (Name, Write(kept with { Accepted = true })))
            : quilt;
    }

    /// <summary>The file's bytes.</summary>
    internal static byte[] Write(KeptQuality kept) =>
        JsonSerializer.SerializeToUtf8Bytes(new Written(Version, kept.Accepted, kept.Quality), Words);

    private sealed record Written(int Version, bool Accepted, PhotoQuality? Quality);
}
