using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>What to cut for the triangles of an on-point top, with a seam allowance of 1/4 in.</summary>
/// <remarks>
/// Straight grain lies on the outer edge: side triangles are quarter squares, corner triangles half squares. The product or
/// quotient is rounded up to the next 1/8 in and the allowance added: 1 1/4 in for a square cut twice, 7/8 in for one cut once
/// (the trade's tables; exactly 0.25 × (2 + 2√2) and 0.25 × (2 + √2)).
/// </remarks>
public static class SettingCuts
{
    /// <summary>Side of the square that is cut twice on its diagonals into four side triangles.</summary>
    /// <param name="block">Finished side of a block, more than zero.</param>
    public static Length SideTriangleSquare(Length block) =>
        Length.FromInches(UpToEighth(block.Inches * Math.Sqrt(2)) + 1.25);

    /// <summary>Side of the square that is cut once on its diagonal into two corner triangles.</summary>
    /// <param name="block">Finished side of a block, more than zero.</param>
    public static Length CornerTriangleSquare(Length block) =>
        Length.FromInches(UpToEighth(block.Inches / Math.Sqrt(2)) + 0.875);

    /// <summary>How many side triangles a top of so many blocks needs.</summary>
    public static int SideTriangles(int rows, int columns) => 2 * (rows + columns - 2);

    private static double UpToEighth(double inches) => Math.Ceiling(inches * 8 - 1e-9) / 8;
}
