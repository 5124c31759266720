using OverlayPlanner.Calibration;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// A hand that is not still while the picture's rows are read one after the other: each row sees the camera where it is at the
/// row's own time (a leaning picture), and for as long as the row is open (a smeared one).
/// </summary>
/// <param name="Turn">Radians a second about the camera's own x, y and z.</param>
/// <param name="Shift">Inches a second that the cloth seems to move along the camera's own x, y and z.</param>
/// <param name="ReadSeconds">From the first row to the last.</param>
/// <param name="OpenSeconds">How long each row gathers light.</param>
internal sealed record CameraShake(
    (double X, double Y, double Z) Turn,
    (double X, double Y, double Z) Shift,
    double ReadSeconds,
    double OpenSeconds
)
{
    /// <summary>
    /// A held phone indoors (no source): 2° a second about a drawn axis, an inch a second, 1/40 s to read, 1/60 s open; at 26 mm
    /// and 12 megapixels a lean of some 3 px and a smear of some 2.
    /// </summary>
    public static CameraShake Handheld(Random random)
    {
        (double X, double Y, double Z) turn = Towards(random, 2 * Math.PI / 180);
        return new(turn, Towards(random, 1), 1 / 40.0, 1 / 60.0);
    }

    /// <summary>The middle of a row's open time, seconds from the middle of the picture's.</summary>
    public double TimeOf(double row, int rows) => ((row + 0.5) / rows - 0.5) * ReadSeconds;

    /// <summary>The pose at a time, of the pose in the middle of the picture.</summary>
    public double[] PoseAt(double[] pose, double seconds)
    {
        double[] turned = new double[9];
        double[] r = new double[9];
        CameraModel.Rotation([Turn.X * seconds, Turn.Y * seconds, Turn.Z * seconds], turned, []);
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double[] both = new double[9];
        double[] at = [Shift.X * seconds, Shift.Y * seconds, Shift.Z * seconds];
        for (int i = 0; i < 3; i++)
        {
            for (int k = 0; k < 3; k++)
            {
                for (int j = 0; j < 3; j++)
                {
                    both[3 * i + j] += turned[3 * i + k] * r[3 * k + j];
                }

                at[i] += turned[3 * i + k] * pose[3 + k];
            }
        }

        double[] w = CameraModel.RotationVector(both);
        return [w[0], w[1], w[2], at[0], at[1], at[2]];
    }

    private static (double X, double Y, double Z) Towards(Random random, double length)
    {
        double x = CardLayouts.Normal(random);
        double y = CardLayouts.Normal(random);
        double z = CardLayouts.Normal(random);
        double by = length / Math.Sqrt(x * x + y * y + z * z);
        return (x * by, y * by, z * by);
    }
}
