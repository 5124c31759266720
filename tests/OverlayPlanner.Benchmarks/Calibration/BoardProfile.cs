using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// The profile that a user would make of a made lens: twelve views of the printed lens board in all parts of the frame, tilted
/// each way, its corners with noise, the distortion terms chosen as the product chooses them.
/// </summary>
/// <param name="Lens">The profile, with its covariance.</param>
/// <param name="Terms">The terms that were chosen.</param>
/// <param name="RmsPixels">What the corners lie off it, px.</param>
internal sealed record BoardProfile(LensProfile Lens, DistortionTerms Terms, double RmsPixels)
{
    private const int Views = 12;
    private const double NoisePixels = 0.08;

    // The board across this part of the frame's width.
    private const double OfFrame = 0.45;

    /// <summary>Makes the profile.</summary>
    public static BoardProfile Of(IMadeLens lens, int width, int height, int seed)
    {
        Random random = new(seed);
        BoardView[] views = [.. Enumerable.Range(0, Views).Select(k => View(lens, width, height, k, random))];
        (DistortionTerms terms, _) = LensCalibration.ChooseTerms(views, width, height, CancellationToken.None);
        LensSolution solved =
            LensSolver.Solve(views, width, height, new(terms))
            ?? throw new InvalidOperationException("Twelve tilted views fix a lens.");
        LensProfile profile = CameraModel.ToProfile(solved.Camera, width, height) with
        {
            Covariance =
            [
                .. Enumerable
                    .Range(0, 9)
                    .Select(r => Enumerable.Range(0, 9).Select(c => solved.Covariance[r, c]).ToArray()),
            ],
        };
        return new(profile, terms, solved.RmsPixels);
    }

    private static BoardView View(IMadeLens lens, int width, int height, int k, Random random)
    {
        // Three rows of three parts of the frame, then the middle again.
        int part = k < 9 ? k : 4;
        (double rx, double ry) = lens.RayAt(width * (0.22 + 0.28 * (part % 3)), height * (0.22 + 0.28 * (part / 3)));
        double distance = LensBoard.Across * lens.FocalPixels / (OfFrame * width);
        double norm = Math.Sqrt(rx * rx + ry * ry + 1);

        // Square to its own ray, then tilted by up to 35 degrees.
        double[] toRay = Turning(0, 0, 1, rx / norm, ry / norm, 1 / norm);
        double tilt = (10 + 25 * random.NextDouble()) * Math.PI / 180;
        double way = 2 * Math.PI * (k / (double)Views + random.NextDouble() / Views);
        double[] tilted = new double[9];
        CameraModel.Rotation([tilt * Math.Cos(way), tilt * Math.Sin(way), 0], tilted, []);
        double[] r = new double[9];
        for (int i = 0; i < 9; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                r[i] += toRay[3 * (i / 3) + j] * tilted[3 * j + i % 3];
            }
        }

        double[] at = [rx / norm * distance, ry / norm * distance, distance / norm];
        List<(Point<ClothSpace>, Point<PhotoSpace>)> points = [];
        foreach (Point<ClothSpace> corner in LensBoard.Corners)
        {
            double Seen(int row) => r[row] * corner.X + r[row + 1] * corner.Y + at[row / 3];
            if (
                lens.Project(Seen(0), Seen(3), Seen(6)) is { } p
                && p.X > 10
                && p.Y > 10
                && p.X < width - 11
                && p.Y < height - 11
            )
            {
                points.Add(
                    (
                        corner,
                        p
                            + new Vector<PhotoSpace>(
                                NoisePixels * CardLayouts.Normal(random),
                                NoisePixels * CardLayouts.Normal(random)
                            )
                    )
                );
            }
        }

        return new("view " + k.ToString(System.Globalization.CultureInfo.InvariantCulture), points);
    }

    /// <summary>The least turn that brings one direction to another.</summary>
    private static double[] Turning(double ax, double ay, double az, double bx, double by, double bz)
    {
        (double x, double y, double z) = (ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx);
        double sin = Math.Sqrt(x * x + y * y + z * z);
        double angle = Math.Atan2(sin, ax * bx + ay * by + az * bz);
        double perSine = sin > 1e-12 ? angle / sin : 0;
        double[] r = new double[9];
        CameraModel.Rotation([x * perSine, y * perSine, z * perSine], r, []);
        return r;
    }
}
