using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>A made projector: cloth to pixels by a homography, then one radial term of its lens.</summary>
/// <param name="Map">The pinhole's part, for cloth that lies flat.</param>
/// <param name="Center">The lens's axis, projector px; below the picture where the lens is shifted.</param>
/// <param name="Radial">Share by which a point 1,000 px from the axis is moved outwards.</param>
/// <param name="Eye">Where its lens hangs: cloth inches and height over the plane.</param>
internal sealed record MadeProjector(
    Homography<ProjectorSpace, ClothSpace> Map,
    Point<ProjectorSpace> Center,
    double Radial,
    (double X, double Y, double Z) Eye
) : IMap<ProjectorSpace, ClothSpace>
{
    /// <inheritdoc/>
    public Point<ProjectorSpace> Apply(Point<ClothSpace> point)
    {
        Vector<ProjectorSpace> v = Map.Apply(point) - Center;
        return Center + v * (1 + Radial * v.Dot(v) / 1e6);
    }

    /// <summary>The pixel whose light falls on a cloth point that lies above the plane, in.</summary>
    public Point<ProjectorSpace> Apply(Point<ClothSpace> point, double height)
    {
        // The line through the lens and the point goes on to the plane.
        double share = height / (Eye.Z - height);
        return Apply(new(point.X + (point.X - Eye.X) * share, point.Y + (point.Y - Eye.Y) * share));
    }

    /// <summary>A pinhole at a place that looks at the middle of an area, its picture as large as fits into it.</summary>
    /// <param name="eye">Cloth inches and height over the plane.</param>
    /// <param name="area">Left, top, width, height, in.</param>
    /// <param name="width">Pixels across.</param>
    /// <param name="height">Pixels down.</param>
    /// <param name="radial">See <see cref="Radial"/>; about the picture's middle.</param>
    public static MadeProjector Aimed(
        (double X, double Y, double Z) eye,
        (double Left, double Top, double Width, double Height) area,
        int width,
        int height,
        double radial
    )
    {
        double[] axis = Unit([area.Left + area.Width / 2 - eye.X, area.Top + area.Height / 2 - eye.Y, -eye.Z]);
        double[] across = Unit(Less([1, 0, 0], axis));
        double[] down = Unit(Less(Less([0, 1, 0], axis), across));
        double[] origin = [-eye.X, -eye.Y, -eye.Z];
        double low = 1;
        double high = 1e6;
        for (int n = 0; n < 60; n++)
        {
            double focal = Math.Sqrt(low * high);
            Homography<ClothSpace, ProjectorSpace> back = MapOf(focal).Inverse();
            bool fits = new Point<ProjectorSpace>[] { new(0, 0), new(width, 0), new(0, height), new(width, height) }
                .Select(back.Apply)
                .All(p =>
                    Math.Abs(p.X - area.Left - area.Width / 2) < area.Width / 2
                    && Math.Abs(p.Y - area.Top - area.Height / 2) < area.Height / 2
                );
            (low, high) = fits ? (low, focal) : (focal, high);
        }

        return new(MapOf(high), new(width / 2.0, height / 2.0), radial, eye);

        Homography<ProjectorSpace, ClothSpace> MapOf(double focal)
        {
            double[] m = new double[9];
            double[][] columns =
            [
                [1, 0, 0],
                [0, 1, 0],
                origin,
            ];
            for (int k = 0; k < 3; k++)
            {
                double along = Dot(columns[k], axis);
                m[k] = focal * Dot(columns[k], across) + width / 2.0 * along;
                m[3 + k] = focal * Dot(columns[k], down) + height / 2.0 * along;
                m[6 + k] = along;
            }

            return new([.. m.Select(v => v / m[8])]);
        }
    }

    private static double Dot(double[] a, double[] b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

    private static double[] Unit(double[] a) => [.. a.Select(v => v / Math.Sqrt(Dot(a, a)))];

    // What is left of a vector beside an axis of length 1.
    private static double[] Less(double[] a, double[] axis) => [.. a.Zip(axis, (v, w) => v - Dot(a, axis) * w)];
}
