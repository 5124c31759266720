using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>How a made camera bends rays: camera axes are x right, y down, z along the line of sight.</summary>
internal interface IMadeLens
{
    /// <summary>Focal length in the middle of the picture, px.</summary>
    double FocalPixels { get; }

    /// <summary>Where a point in the camera's axes is shown, px; null behind the camera and where the lens shows nothing.</summary>
    Point<PhotoSpace>? Project(double x, double y, double z);

    /// <summary>The ray (X, Y, 1) that reaches a place of the picture; NaN where none does.</summary>
    (double X, double Y) RayAt(double u, double v);
}

/// <summary>Pinhole and Brown's distortion, the very model that the solver has.</summary>
internal sealed class BrownLens : IMadeLens
{
    // Where less of the radius is left the distortion folds back soon after.
    private const double LeastSlope = 0.3;

    private readonly double[] camera;
    private readonly LensProfile profile;
    private readonly IMap<FlatSpace, PhotoSpace> flatFromPhoto;

    /// <param name="camera">The ten numbers of <see cref="CameraModel"/>.</param>
    /// <param name="width">Photo pixels across.</param>
    /// <param name="height">Photo pixels down.</param>
    public BrownLens(double[] camera, int width, int height)
    {
        this.camera = camera;
        profile = CameraModel.ToProfile(camera, width, height);
        flatFromPhoto = profile.FlatFromPhoto;
    }

    /// <inheritdoc/>
    public double FocalPixels => profile.Fx;

    /// <inheritdoc/>
    public Point<PhotoSpace>? Project(double x, double y, double z)
    {
        if (!CameraModel.Project(camera, x, y, z, out double u, out double v, [], []))
        {
            return null;
        }

        double r2 = (x * x + y * y) / (z * z);
        double slope = 1 + r2 * (3 * camera[CameraModel.K1] + r2 * 5 * camera[CameraModel.K2]);
        return slope > LeastSlope ? new(u, v) : null;
    }

    /// <inheritdoc/>
    public (double X, double Y) RayAt(double u, double v)
    {
        Point<FlatSpace> flat = flatFromPhoto.Apply(new(u, v));
        return ((flat.X - profile.Cx) / profile.Fx, (flat.Y - profile.Cy) / profile.Fy);
    }
}

/// <summary>
/// A fisheye-like lens: a ray at the angle θ from the line of sight is shown f × θ (1 + k1 θ² + k2 θ⁴ + k3 θ⁶ + k4 θ⁸) from the
/// centre (J. Kannala and S. Brandt, 2006, their radially symmetric terms). All k zero: equidistant.
/// </summary>
/// <param name="F">px for each radian in the middle.</param>
/// <param name="Cx">Centre, px.</param>
/// <param name="Cy">Centre, px.</param>
/// <param name="Terms">k1 to k4.</param>
internal sealed record FisheyeLens(double F, double Cx, double Cy, IReadOnlyList<double> Terms) : IMadeLens
{
    // tan of it is 14: farther out a flat quilt is a line.
    private const double WidestRadians = 1.5;

    /// <inheritdoc/>
    public double FocalPixels => F;

    /// <summary>
    /// An ultra-wide phone camera after its own correction, as 13 mm of 35 mm film: within 0.2 % of a pinhole up to 45° and 2 %
    /// short of it at 59°, with a wave between that two radial terms do not follow (no source; tan θ has the terms 1/3, 2/15,
    /// 17/315, 62/2835).
    /// </summary>
    public static FisheyeLens Mild(int width, int height) => For(13, width, height, [0.345, 0.120, 0.045, 0.020]);

    /// <summary>A fisheye-like lens that nobody corrected, as 24 mm: nearly equidistant, 27 % short of a pinhole at 51°.</summary>
    public static FisheyeLens Strong(int width, int height) => For(24, width, height, [0.02, -0.005, 0, 0]);

    /// <inheritdoc/>
    public Point<PhotoSpace>? Project(double x, double y, double z)
    {
        double across = Math.Sqrt(x * x + y * y);
        double theta = Math.Atan2(across, z);
        if (theta > WidestRadians)
        {
            return null;
        }

        double stretch = across > 0 ? F * Radius(theta) / across : F / z;
        return new(Cx + stretch * x, Cy + stretch * y);
    }

    /// <inheritdoc/>
    public (double X, double Y) RayAt(double u, double v)
    {
        double x = (u - Cx) / F;
        double y = (v - Cy) / F;
        double radius = Math.Sqrt(x * x + y * y);
        double theta = Math.Min(radius, 1);
        for (int step = 0; step < 30; step++)
        {
            double change = (Radius(theta) - radius) / Slope(theta);
            theta -= change;
            if (Math.Abs(change) < 1e-14)
            {
                break;
            }
        }

        if (!(theta is >= 0 and <= WidestRadians))
        {
            return (double.NaN, double.NaN);
        }

        double stretch = radius > 1e-12 ? Math.Tan(theta) / radius : 1;
        return (stretch * x, stretch * y);
    }

    private static FisheyeLens For(double millimeters, int width, int height, double[] terms)
    {
        const double FilmDiagonal = 43.27;
        double f = millimeters / FilmDiagonal * Math.Sqrt((double)width * width + (double)height * height);
        return new(f, (width - 1) / 2.0 + 0.004 * width, (height - 1) / 2.0 - 0.003 * width, terms);
    }

    private double Radius(double theta)
    {
        double t = theta * theta;
        return theta * (1 + t * (Terms[0] + t * (Terms[1] + t * (Terms[2] + t * Terms[3]))));
    }

    private double Slope(double theta)
    {
        double t = theta * theta;
        return 1 + t * (3 * Terms[0] + t * (5 * Terms[1] + t * (7 * Terms[2] + t * 9 * Terms[3])));
    }
}
