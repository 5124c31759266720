using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Workflows;

/// <summary>What a user knows of a top before it is mapped, and what was corrected on it before.</summary>
public sealed record MapHints
{
    /// <summary>Nothing is known.</summary>
    public static readonly MapHints None = new();

    private const int MostRows = 200;

    /// <summary>Rows and columns of blocks, 1 to 200 each; null where nobody said.</summary>
    public (int Rows, int Columns)? Lattice { get; init; }

    /// <summary>Id or name of the library block that the top is made of, or null.</summary>
    public string? Pattern { get; init; }

    /// <summary>Photo pixels of one block's corners, clockwise from its top left, in the first photograph; or null.</summary>
    public IReadOnlyList<Point<PhotoSpace>>? Block { get; init; }

    /// <summary>A file of edits that is carried out on what is found, or null.</summary>
    public string? Edits { get; init; }

    /// <summary>Checks what can be checked before the photograph is read, and reads the edits.</summary>
    /// <param name="width">Width of the mapped area where it is known.</param>
    /// <param name="height">Its height.</param>
    /// <exception cref="InputException">A hint is out of range, the pattern unknown, or the file of edits can't be used.</exception>
    internal EditList Check(Length? width = null, Length? height = null)
    {
        if (Lattice is { } l && (l.Rows is < 1 or > MostRows || l.Columns is < 1 or > MostRows))
        {
            throw new InputException(
                "A lattice has from 1 to 200 rows and columns",
                "--lattice",
                "Give rows x columns of blocks, for example 4x5."
            );
        }

        if (Pattern is { } pattern)
        {
            try
            {
                BlockLibrary.Find(pattern);
            }
            catch (InputException e)
            {
                throw new InputException(e.What, "--pattern", e.Remedy, e);
            }
        }

        if (Block is { } corners && !IsBlock(corners))
        {
            throw new InputException(
                "The four points of --block do not go clockwise round a block",
                "--block",
                "Give photo pixels of its corners, clockwise from its top left: \"x,y x,y x,y x,y\"."
            );
        }

        if (Edits is not { } file)
        {
            return new([]);
        }

        EditList list = EditsFile.Read(InputFiles.ReadAll(file), file);
        for (int i = 0; i < list.Edits.Count; i++)
        {
            try
            {
                EditLimits.Require(list.Edits[i], width, height);
            }
            catch (InputException e)
            {
                throw new InputException(
                    e.What,
                    FormattableString.Invariant($"{file}: edits[{i}]: {e.Where}"),
                    e.Remedy,
                    e
                );
            }
        }

        return list;
    }

    /// <summary>The wishes with the hints, the block's corners led from the photograph to the cloth.</summary>
    /// <exception cref="InputException">The block's corners lie outside the mapped area.</exception>
    internal DetectionWishes AddTo(DetectionWishes wishes, IMap<ClothSpace, PhotoSpace> clothFromPhoto)
    {
        Point<ClothSpace>[]? corners = Block is { } block ? [.. block.Select(clothFromPhoto.Apply)] : null;
        Box<ClothSpace> area = new Box<ClothSpace>(0, 0, wishes.Width.Inches, wishes.Height.Inches).Grown(1);
        if (corners is not null && (corners.Any(c => !area.Holds(c)) || !IsBlock(corners)))
        {
            throw new InputException(
                "The corners of --block lie outside the mapped area, or are no block on the cloth",
                "--block",
                "Give photo pixels of one block inside it, clockwise from its top left."
            );
        }

        return wishes with
        {
            Lattice = Lattice,
            Pattern = Pattern is { } name ? BlockLibrary.Find(name).Id : null,
            BlockCorners = corners,
        };
    }

    private static bool IsBlock<TSpace>(IReadOnlyList<Point<TSpace>> corners)
        where TSpace : ISpace =>
        corners.Count == 4
        && corners.All(c => c.IsFinite)
        && Enumerable
            .Range(0, 4)
            .All(i => Exact.Orientation(corners[i], corners[(i + 1) % 4], corners[(i + 2) % 4]) == Turn.Right);
}
