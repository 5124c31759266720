using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// A small projective change of a photo's plane: from where the cloth lies to where the photo's own plane has it. Eight terms, as
/// a homography near the identity has to first order: x' = x − (a0 + a1 u + a2 v + a6 u² + a7 u v) and y' = y − (a3 + a4 u + a5 v + a6 u v +
/// a7 v²), with u and v from the middle of the area in units of half its longer side.
/// </summary>
internal sealed class PlaneShift(IReadOnlyList<double> terms, Point<ClothSpace> middle, double unit)
    : IMap<ClothSpace, ClothSpace>
{
    /// <summary>How many terms there are.</summary>
    public const int Terms = 8;

    /// <summary>How a place moves by each term, across and down.</summary>
    public static (double[] Across, double[] Down) TermsAt(Point<ClothSpace> at, Point<ClothSpace> middle, double unit)
    {
        double u = (at.X - middle.X) / unit;
        double v = (at.Y - middle.Y) / unit;
        return ([1, u, v, 0, 0, 0, u * u, u * v], [0, 0, 0, 1, u, v, u * v, v * v]);
    }

    /// <summary>How far the photo's picture of a place is moved, inches.</summary>
    public Vector<ClothSpace> At(Point<ClothSpace> place)
    {
        double u = (place.X - middle.X) / unit;
        double v = (place.Y - middle.Y) / unit;
        double keystone = terms[6] * u + terms[7] * v;
        return new(
            terms[0] + terms[1] * u + terms[2] * v + keystone * u,
            terms[3] + terms[4] * u + terms[5] * v + keystone * v
        );
    }

    /// <inheritdoc/>
    /// <remarks>Exact but for the square of the change, some millionths of an inch.</remarks>
    public Point<ClothSpace> Apply(Point<ClothSpace> point) => point - At(point);
}
