using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Layout;

/// <summary>A block's own frame of reference: its four corners onto the unit square, clockwise from its top left.</summary>
/// <remarks>Bilinear, since a block that is out of square is no picture of a square in perspective.</remarks>
internal readonly struct CellFrame
{
    private readonly Point<ClothSpace> origin;
    private readonly Vector<ClothSpace> across;
    private readonly Vector<ClothSpace> down;
    private readonly Vector<ClothSpace> twist;

    /// <param name="corners">Four, clockwise from the block's top left, inches.</param>
    public CellFrame(IReadOnlyList<Point<ClothSpace>> corners)
    {
        origin = corners[0];
        across = corners[1] - corners[0];
        down = corners[3] - corners[0];
        twist = corners[2] - corners[1] - down;
    }

    /// <summary>Mean length of the four sides, inches.</summary>
    public double Side => (across.Norm + down.Norm + (across + twist).Norm + (down + twist).Norm) / 4;

    /// <summary>Where a place of the cloth lies in the block, (0, 0) its top left and (1, 1) its bottom right.</summary>
    /// <remarks>Newton's method; four steps reach 1e-9 for corners that are a tenth of the side out of square.</remarks>
    public (double X, double Y) ToUnit(Point<ClothSpace> p)
    {
        (double x, double y) = (0.5, 0.5);
        for (int i = 0; i < 4; i++)
        {
            Vector<ClothSpace> ax = across + twist * y;
            Vector<ClothSpace> ay = down + twist * x;
            Vector<ClothSpace> off = p - ToCloth(x, y);
            double determinant = ax.Cross(ay);
            if (Math.Abs(determinant) < 1e-12)
            {
                break;
            }

            x += off.Cross(ay) / determinant;
            y += ax.Cross(off) / determinant;
        }

        return (x, y);
    }

    /// <summary>The place of the cloth.</summary>
    public Point<ClothSpace> ToCloth(double x, double y) => origin + across * x + down * y + twist * (x * y);
}
