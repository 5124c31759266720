using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// The picture of a quilt's cloth in tiles. They are cut from the kept picture when first asked for, into a hidden folder beside it:
/// it is no part of the quilt, is left out of exports and copies, and is cut anew where it is missing or the picture is another.
/// </summary>
/// <param name="Width">Pixels across of the picture at its own size.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="Levels">How many sizes there are, from 0, its own, by halves.</param>
/// <param name="Stamp">Changes with the picture and with nothing else.</param>
public sealed record ClothTiles(int Width, int Height, int Levels, string Stamp)
{
    /// <summary>Name of the picture at its own size in a quilt's folder.</summary>
    public const string WholeFile = "cloth-whole.jpg";

    /// <summary>Pixels of a tile's side.</summary>
    public const int Side = PictureTiles.Side;

    private const string Prefix = ".tiles-";
    private static readonly Lock Cutting = new();

    /// <summary>The quilt's tiles, cut or not, or null before there is a picture of its cloth.</summary>
    /// <exception cref="InputException">The picture can't be read.</exception>
    public static ClothTiles? Of(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        if (PictureOf(quilt) is not { } picture)
        {
            return null;
        }

        (int width, int height) = PictureTiles.SizeOf(picture.FullName);
        return new(width, height, PictureTiles.LevelsOf(width, height), StampOf(picture));
    }

    /// <summary>Path of a tile, or null where there is none of these numbers. May take seconds where none is cut yet.</summary>
    /// <param name="quilt">The quilt.</param>
    /// <param name="level">0 at the picture's own size, each further one half of it.</param>
    /// <param name="column">From 0 at the left.</param>
    /// <param name="row">From 0 at the top.</param>
    /// <exception cref="InputException">The picture can't be read, or the tiles can't be written.</exception>
    public static string? PathOf(
        KeptQuilt quilt,
        int level,
        int column,
        int row,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(quilt);
        if (PictureOf(quilt) is not { } picture)
        {
            return null;
        }

        string folder = Path.Combine(quilt.Folder, Prefix + StampOf(picture));
        if (!Directory.Exists(folder))
        {
            lock (Cutting)
            {
                if (!Directory.Exists(folder))
                {
                    Cut(quilt, picture.FullName, folder, cancellation);
                }
            }
        }

        string path = Path.Combine(folder, NameOf(level, column, row));
        return File.Exists(path) ? path : null;
    }

    /// <summary>True where the tiles are cut, so that <see cref="PathOf"/> answers at once.</summary>
    public static bool AreCut(KeptQuilt quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        return PictureOf(quilt) is { } picture
            && Directory.Exists(Path.Combine(quilt.Folder, Prefix + StampOf(picture)));
    }

    // All tiles are written under a temporary name that is renamed at the end: a folder that is there is whole.
    private static void Cut(KeptQuilt quilt, string picture, string folder, CancellationToken cancellation)
    {
        string staging = LeftOvers.TemporaryFolder(quilt.Folder);
        try
        {
            OutputFiles.MakeFolder(staging);
            PictureTiles.Cut(
                picture,
                (level, column, row, jpeg) =>
                    File.WriteAllBytes(Path.Combine(staging, NameOf(level, column, row)), jpeg.Span),
                cancellation
            );
            foreach (string old in Directory.EnumerateDirectories(quilt.Folder, Prefix + "*").ToArray())
            {
                LeftOvers.TryDelete(old);
            }

            Directory.Move(staging, folder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // Another program that shows this quilt may have been faster.
            if (!Directory.Exists(folder))
            {
                throw new InputException(
                    "The picture of the cloth can't be cut into tiles",
                    quilt.Folder,
                    "Check the folder's rights and the space on the disk.",
                    e
                );
            }
        }
        finally
        {
            LeftOvers.TryDelete(staging);
        }
    }

    // Quilts of before have only the smaller picture.
    private static FileInfo? PictureOf(KeptQuilt quilt) =>
        new[] { WholeFile, QuiltStore.ClothFile }
            .Select(f => new FileInfo(quilt.PathOf(f)))
            .FirstOrDefault(f => f.Exists);

    private static string StampOf(FileInfo picture) =>
        string.Create(CultureInfo.InvariantCulture, $"{picture.LastWriteTimeUtc.Ticks:x}-{picture.Length:x}");

    private static string NameOf(int level, int column, int row) =>
        string.Create(CultureInfo.InvariantCulture, $"{level}-{column}-{row}.jpg");
}
