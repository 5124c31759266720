using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>What the user said about the setting; each a strong prior that the seams may contradict.</summary>
internal sealed record LatticeHints
{
    /// <summary>Nothing said.</summary>
    public static readonly LatticeHints None = new();

    /// <summary>Rows and columns; on point, of the blocks that stand corner to corner.</summary>
    public (int Rows, int Columns)? Lattice { get; init; }

    /// <summary>Id or name of the pattern.</summary>
    public string? Pattern { get; init; }

    /// <summary>Four corners of one block, clockwise from its top left, inches.</summary>
    public IReadOnlyList<Point<ClothSpace>>? BlockCorners { get; init; }

    /// <summary>Drafts of the user.</summary>
    public IReadOnlyList<BlockDraft> Drafts { get; init; } = [];

    /// <summary>The hints among the wishes.</summary>
    public static LatticeHints Of(DetectionWishes wishes) =>
        new()
        {
            Lattice = wishes.Lattice,
            Pattern = wishes.Pattern,
            BlockCorners = wishes.BlockCorners,
            Drafts = wishes.Drafts,
        };
}
