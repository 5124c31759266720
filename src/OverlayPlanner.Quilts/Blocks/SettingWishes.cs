using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>How the blocks of a top stand.</summary>
public enum SettingKind
{
    /// <summary>Sides along the top's sides.</summary>
    Straight,

    /// <summary>Turned by 45°, filled up with triangles at the sides and in the corners.</summary>
    OnPoint,
}

/// <summary>Sashing, and what stands where its strips meet.</summary>
public enum Cornerstones
{
    /// <summary>Strips meet at a piece of their own.</summary>
    With,

    /// <summary>Every second set of strips runs through: long strips between rows, short ones between blocks.</summary>
    None,
}

/// <summary>What stands in one place of a setting.</summary>
/// <param name="Draft">The block's draft; null for a plain square.</param>
/// <param name="Turn">Quarter turns clockwise, after the mirror.</param>
/// <param name="Mirror">Mirrored left to right before the turn.</param>
public readonly record struct SettingPlace(BlockDraft? Draft, int Turn = 0, bool Mirror = false);

/// <summary>A whole top to draft.</summary>
public sealed record SettingWishes
{
    /// <summary>Straight or on point.</summary>
    public SettingKind Kind { get; init; }

    /// <summary>Blocks across, at least 1; on point those that stand corner to corner, the ones between them not counted.</summary>
    public int Columns { get; init; } = 1;

    /// <summary>Blocks down, at least 1; counted as the columns are.</summary>
    public int Rows { get; init; } = 1;

    /// <summary>Finished side of a block, 1/2 to 200 in.</summary>
    public required Length Block { get; init; }

    /// <summary>Finished width of the strips between blocks, 1/8 to 100 in; zero for none.</summary>
    public Length Sash { get; init; } = Length.Zero;

    /// <summary>What stands where strips meet.</summary>
    public Cornerstones Cornerstones { get; init; } = Cornerstones.With;

    /// <summary>
    /// What stands where, by row and column from 0 at the top left; on point rows and columns are the horizontal and vertical
    /// strings of blocks, half a diagonal apart, so that row + column is even everywhere.
    /// </summary>
    public required Func<int, int, SettingPlace> PlaceAt { get; init; }

    /// <summary>Borders from the inside out.</summary>
    public IReadOnlyList<BorderBand> Borders { get; init; } = [];

    /// <summary>How their strips meet.</summary>
    public BorderCorners BorderCorners { get; init; } = BorderCorners.Butted;

    /// <summary>
    /// Colour as <c>#rrggbb</c> of a patch: its part, and its value where it is a block's and the draft knows it. Null leaves
    /// all patches without a colour.
    /// </summary>
    public Func<SettingPart, PatchValue?, string>? ColorOf { get; init; }
}
