using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// The bilinear map of a quadrangle's four corners: (0,0) is the first corner, then (1,0), (1,1), (0,1), clockwise from the top
/// left; a place at a share of two opposite sides stays at that share.
/// </summary>
internal sealed class FourCorners(IReadOnlyList<Point<ClothSpace>> corners)
{
    private const int MostSteps = 20;

    /// <summary>The place at these shares across and down.</summary>
    public Point<ClothSpace> At(double across, double down) =>
        corners[0].Toward(corners[1], across).Toward(corners[3].Toward(corners[2], across), down);

    /// <summary>The shares of a place, by Newton's steps from the middle; they converge in a convex quadrangle and near it.</summary>
    public (double Across, double Down) SharesOf(Point<ClothSpace> place)
    {
        (double u, double v) = (0.5, 0.5);
        for (int i = 0; i < MostSteps; i++)
        {
            Vector<ClothSpace> off = place - At(u, v);
            Vector<ClothSpace> du = (corners[1] - corners[0]) * (1 - v) + (corners[2] - corners[3]) * v;
            Vector<ClothSpace> dv = (corners[3] - corners[0]) * (1 - u) + (corners[2] - corners[1]) * u;
            double area = du.Cross(dv);
            (double by, double down) = (off.Cross(dv) / area, du.Cross(off) / area);
            (u, v) = (u + by, v + down);
            if (Math.Abs(by) + Math.Abs(down) < 1e-14)
            {
                break;
            }
        }

        return (u, v);
    }
}
