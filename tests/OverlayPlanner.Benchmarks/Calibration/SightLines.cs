using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Where rays meet planes and bent cards, at one moment of one photo.</summary>
/// <param name="pose">The camera's pose at that moment.</param>
internal sealed class SightLines(double[] pose)
{
    // Rays meet a bent card where height and place agree; each step leaves the slope times the ray's own slant.
    private const int MostSteps = 40;

    private readonly double[] ground = PlaneInverse(pose, new double[CardModel.Size]);
    private readonly (double X, double Y, double Z) eye = CameraOver(pose);

    /// <summary>Where the camera is: cloth inches and height; the pose's third axis points down into the cloth.</summary>
    public (double X, double Y, double Z) Eye => eye;

    /// <summary>Where a ray meets the plane of the cloth.</summary>
    public (double X, double Y) Ground((double X, double Y) ray) => Through(ground, ray);

    /// <summary>The map from a ray (x, y, 1) to a flat card's own inches, as nine numbers.</summary>
    public double[] OnFlat(double[] place) => PlaneInverse(pose, place);

    /// <summary>Where a ray meets a bent card, in the card's own inches; NaN where there is no card.</summary>
    public (double U, double V) OnBent(double[] place, CardBend bend, (double X, double Y) ray)
    {
        (double gx, double gy) = Ground(ray);
        (double sin, double cos) = Math.SinCos(place[CardModel.Turn]);
        (double es, double ec) = Math.SinCos(bend.Radians);
        double rise = 0;
        (double U, double V) on = (double.NaN, double.NaN);
        for (int step = 0; step < MostSteps; step++)
        {
            double share = (place[CardModel.Lift] + rise) / eye.Z;
            double x = gx + (eye.X - gx) * share - place[CardModel.X];
            double y = gy + (eye.Y - gy) * share - place[CardModel.Y];
            double a = cos * x + sin * y;
            double b = -sin * x + cos * y;
            double across = -a * es + b * ec;
            (double paper, double next) = bend.Over(a * ec + b * es);
            on = (paper * ec - across * es, paper * es + across * ec);
            if (!(Math.Abs(next - rise) > 1e-7))
            {
                break;
            }

            rise = next;
        }

        return on;
    }

    /// <summary>A ray through a map of nine numbers.</summary>
    public static (double X, double Y) Through(double[] m, (double X, double Y) ray)
    {
        (double x, double y) = ray;
        double z = m[6] * x + m[7] * y + m[8];
        return ((m[0] * x + m[1] * y + m[2]) / z, (m[3] * x + m[4] * y + m[5]) / z);
    }

    private static double[] PlaneInverse(double[] pose, double[] place)
    {
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double c = Math.Cos(place[CardModel.Turn]);
        double s = Math.Sin(place[CardModel.Turn]);
        double[][] columns =
        [
            [c, s, place[CardModel.SlopeRight]],
            [-s, c, place[CardModel.SlopeDown]],
            [place[CardModel.X], place[CardModel.Y], -place[CardModel.Lift]],
        ];
        double[] m = new double[9];
        for (int k = 0; k < 3; k++)
        {
            for (int i = 0; i < 3; i++)
            {
                m[3 * i + k] =
                    r[3 * i] * columns[k][0]
                    + r[3 * i + 1] * columns[k][1]
                    + r[3 * i + 2] * columns[k][2]
                    + (k == 2 ? pose[3 + i] : 0);
            }
        }

        return [.. new Homography<ClothSpace, FlatSpace>(m).Inverse().RowByRow];
    }

    private static (double X, double Y, double Z) CameraOver(double[] pose)
    {
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double Own(int axis) => -(r[axis] * pose[3] + r[3 + axis] * pose[4] + r[6 + axis] * pose[5]);
        return (Own(0), Own(1), -Own(2));
    }
}
