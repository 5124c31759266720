using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Layout;

/// <summary>One block of a reading.</summary>
/// <param name="Row">From 0; on point the horizontal strings of blocks.</param>
/// <param name="Column">From 0; on point the vertical strings of blocks.</param>
/// <param name="Corners">Clockwise from its top left, its own measured ones, inches.</param>
/// <param name="Support">Part of its sides that has a seam.</param>
internal sealed record LatticeCell(int Row, int Column, IReadOnlyList<Point<ClothSpace>> Corners, double Support)
{
    /// <summary>Its frame of reference.</summary>
    public CellFrame Frame => new(Corners);
}

/// <summary>Where blocks may stand: a lattice laid over a view of the map.</summary>
/// <param name="View">The view; null for the block that is the whole map.</param>
/// <param name="U">Sections along u.</param>
/// <param name="V">Sections along v.</param>
/// <param name="Rows">Horizontal strings of blocks.</param>
/// <param name="Columns">Vertical strings of blocks.</param>
/// <param name="Cells">Its blocks, in reading order.</param>
internal sealed record LatticePlacing(
    LatticeView? View,
    SeamComb? U,
    SeamComb? V,
    int Rows,
    int Columns,
    IReadOnlyList<LatticeCell> Cells
)
{
    /// <summary>Rows and columns as the user counts them: on point, of the blocks that stand corner to corner.</summary>
    public (int Rows, int Columns) Counted =>
        View is { IsOnPoint: true } ? ((Rows + 1) / 2, (Columns + 1) / 2) : (Rows, Columns);
}

/// <summary>Blocks of one pattern in a reading.</summary>
/// <param name="Members">Index in the reading's cells, and how each lies beside the first.</param>
/// <param name="Name">What they are, or null.</param>
internal sealed record LatticeKind(IReadOnlyList<(int Cell, Orientation How)> Members, PatternName? Name);

/// <summary>A placing with what it says about the top.</summary>
/// <param name="Placing">Where the blocks stand.</param>
/// <param name="Cost">Length of the description, in seams.</param>
/// <param name="Kinds">The patterns, where all cells were looked at.</param>
internal sealed record LatticeReading(LatticePlacing Placing, double Cost, IReadOnlyList<LatticeKind> Kinds);
