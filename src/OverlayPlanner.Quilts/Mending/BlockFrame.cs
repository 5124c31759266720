using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>
/// A block's own square, 0 to 1 each way as its pattern is drafted, laid into its four measured corners with its mirror and its
/// turn; straight lines stay straight along the sides, and nearly so inside a block that is a little out of square.
/// </summary>
/// <param name="block">The block, with its corners clockwise from the top left, inches.</param>
public sealed class BlockFrame(Block block)
{
    private readonly IReadOnlyList<Point<ClothSpace>> corners = block.Corners;

    /// <summary>The mean of the four sides, inches.</summary>
    public double Side { get; } =
        Enumerable.Range(0, 4).Average(i => block.Corners[i].DistanceTo(block.Corners[(i + 1) % 4]));

    /// <summary>A place of the drafted square on the cloth.</summary>
    public Point<ClothSpace> ToCloth(double x, double y)
    {
        x = block.Mirror ? 1 - x : x;
        for (int i = 0; i < Quarter(block.Turn); i++)
        {
            (x, y) = (1 - y, x);
        }

        return Lay(x, y);
    }

    /// <summary>An edge of the drafted square on the cloth; a mirror turns its bulge round.</summary>
    public Edge<ClothSpace> ToCloth(double x0, double y0, double x1, double y1, double bulge) =>
        new(ToCloth(x0, y0), ToCloth(x1, y1), block.Mirror ? -bulge : bulge);

    /// <summary>The place of the drafted square that lies at a place on the cloth, to 1e-9.</summary>
    public (double X, double Y) ToDraft(Point<ClothSpace> p)
    {
        // Newton's steps on the bilinear map, from the middle; a convex block of four corners lets them converge.
        double x = 0.5;
        double y = 0.5;
        for (int step = 0; step < 20; step++)
        {
            Vector<ClothSpace> off = p - Lay(x, y);
            Vector<ClothSpace> dx = (corners[1] - corners[0]) * (1 - y) + (corners[2] - corners[3]) * y;
            Vector<ClothSpace> dy = (corners[3] - corners[0]) * (1 - x) + (corners[2] - corners[1]) * x;
            double det = dx.Cross(dy);
            x += off.Cross(dy) / det;
            y += dx.Cross(off) / det;
            if (off.Norm < 1e-10)
            {
                break;
            }
        }

        for (int i = 0; i < Quarter(block.Turn); i++)
        {
            (x, y) = (y, 1 - x);
        }

        return (block.Mirror ? 1 - x : x, y);
    }

    private static int Quarter(int turn) => ((turn % 4) + 4) % 4;

    private Point<ClothSpace> Lay(double x, double y) =>
        corners[0].Toward(corners[1], x).Toward(corners[3].Toward(corners[2], x), y);
}
