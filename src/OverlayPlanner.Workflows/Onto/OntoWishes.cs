using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>A block of the known quilt, touched in the new photograph.</summary>
/// <param name="Block">The block's id.</param>
/// <param name="At">One place inside it, or its four corners clockwise from its top left; photo pixels.</param>
public sealed record TouchedBlock(string Block, IReadOnlyList<Point<PhotoSpace>> At)
{
    /// <summary>True where all four corners were touched: they give the scale too.</summary>
    public bool HasCorners => At.Count == 4;
}

/// <summary>What a new photograph is laid on.</summary>
public sealed record OntoWishes
{
    /// <summary>The known quilt's file.</summary>
    public required string Known { get; init; }

    /// <summary>Number of the topmost whole row of blocks in the photograph, counted from 1 at the quilt's top; null where nobody said.</summary>
    public int? Row { get; init; }

    /// <summary>A touched block, or null.</summary>
    public TouchedBlock? Touched { get; init; }

    /// <summary>Sides and diagonals of the touched block as it lies now; null where the known map's are taken.</summary>
    public TapeWords? Tape { get; init; }

    /// <summary>Reads the known quilt and checks what can be checked before the photograph is read.</summary>
    /// <exception cref="InputException">The file, the row or the block can't be used.</exception>
    internal QuiltMap Read()
    {
        QuiltMap known = InputFiles.ReadPlaneMap(Known).Map;
        if (Row is { } row)
        {
            int rows = known.Blocks.Max(b => b.Row + 1) ?? 0;
            if (row < 1 || row > rows)
            {
                throw new InputException(
                    FormattableString.Invariant($"The quilt has no row {row}"),
                    "--row",
                    rows == 0
                        ? "Its map has no blocks: touch one instead, or map it again."
                        : FormattableString.Invariant($"Give a row from 1 to {rows}, counted from the top.")
                );
            }
        }

        if (Touched is { } touched && known.FindBlock(touched.Block) is null)
        {
            throw new InputException(
                $"The quilt has no block \"{touched.Block}\"",
                $"{Known}, --touch",
                known.Blocks.Count == 0
                    ? "Its map has no blocks."
                    : $"Give one of its blocks, for example {known.Blocks[0].Id}; a drawing from mend shows their names."
            );
        }

        return known;
    }
}

/// <summary>What laying a photograph on a known quilt came to.</summary>
/// <param name="TurnDegrees">How the quilt lies turned in the photograph's frame, positive to the right as seen on the page.</param>
/// <param name="AcrossPercent">Change of length across since the known map; negative where the cloth drew up.</param>
/// <param name="LeastAcrossPercent">The smallest such change anywhere in the photograph.</param>
/// <param name="MostAcrossPercent">The largest.</param>
/// <param name="DownPercent">Change of length from top to bottom.</param>
/// <param name="TopLeft">The place of the known quilt that the photograph's mapped area begins at, inches.</param>
/// <param name="Stretch">How freely the cloth had to stretch: similarity, even, uneven or bowed.</param>
/// <param name="Matched">Points that fit.</param>
/// <param name="Shared">Points that either shows where both show the cloth.</param>
/// <param name="NewPoints">Points that the map grew by.</param>
/// <param name="Within95">95 % of the points in the photograph are within this of where the map puts them.</param>
public sealed record OntoReport(
    double TurnDegrees,
    double AcrossPercent,
    double LeastAcrossPercent,
    double MostAcrossPercent,
    double DownPercent,
    Point<ClothSpace> TopLeft,
    string Stretch,
    int Matched,
    int Shared,
    int NewPoints,
    Length Within95
);
