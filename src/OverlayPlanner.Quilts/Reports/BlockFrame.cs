using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>A block as the unit square, by the parallelogram that fits its four corners best.</summary>
public static class BlockFrame
{
    /// <summary>A place of the cloth in the square, x right and y down from the block's top left, as the block lies.</summary>
    public static Point<ClothSpace> InSquare(Block block, Point<ClothSpace> p)
    {
        ArgumentNullException.ThrowIfNull(block);
        IReadOnlyList<Point<ClothSpace>> c = block.Corners;
        Vector<ClothSpace> across = (c[1] - c[0] + (c[2] - c[3])) * 0.5;
        Vector<ClothSpace> down = (c[3] - c[0] + (c[2] - c[1])) * 0.5;
        Point<ClothSpace> middle = c[0].Toward(c[2], 0.5).Toward(c[1].Toward(c[3], 0.5), 0.5);
        double area = across.Cross(down);
        return new(0.5 + (p - middle).Cross(down) / area, 0.5 + across.Cross(p - middle) / area);
    }

    /// <summary>The same on the draft: the block's turn and mirror undone.</summary>
    public static Point<ClothSpace> InDraft(Block block, Point<ClothSpace> p)
    {
        (double x, double y) = InSquare(block, p);
        for (int i = 0; i < block.Turn; i++)
        {
            (x, y) = (y, 1 - x);
        }

        return new(block.Mirror ? 1 - x : x, y);
    }
}
