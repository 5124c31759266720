using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// A made projector's light: what it throws, and which of its pixels falls where. It is added to the room's before the cloth
/// takes its share.
/// </summary>
internal sealed class ThrownLight
{
    private const double Room = 0.22;

    // Picture elements run into each other by about half a pixel.
    private const double SpreadPixels = 0.5;

    private readonly float[] light;
    private readonly int width;
    private readonly int height;

    /// <summary>A projector that throws a picture.</summary>
    /// <param name="picture">What it is given.</param>
    /// <param name="truth">The true projector.</param>
    public ThrownLight(Picture picture, MadeProjector truth)
    {
        Truth = truth;
        (width, height) = (picture.Width, picture.Height);
        float[] linear = new float[width * height];
        for (int k = 0; k < linear.Length; k++)
        {
            linear[k] = (float)Math.Pow(picture.Rgb[3 * k] / 255.0, 2.2);
        }

        using Mat sharp = Mat.FromPixelData(height, width, MatType.CV_32FC1, linear);
        using Mat soft = new();
        Cv2.GaussianBlur(sharp, soft, new Size(0, 0), SpreadPixels);
        light = new float[width * height];
        System.Runtime.InteropServices.Marshal.Copy(soft.Data, light, 0, light.Length);
    }

    /// <summary>The true projector.</summary>
    public MadeProjector Truth { get; }

    /// <summary>Light on a cloth point: 1 where the room's and the whole of the projector's fall on it.</summary>
    /// <param name="x">Cloth inches.</param>
    /// <param name="y">Cloth inches.</param>
    /// <param name="risen">How far the cloth lies above the plane there, in.</param>
    public double At(double x, double y, double risen = 0)
    {
        Point<ProjectorSpace> p = Truth.Apply(new(x, y), risen);
        if (!(p.X > -0.5 && p.Y > -0.5 && p.X < width - 0.5 && p.Y < height - 0.5))
        {
            return Room;
        }

        double px = Math.Clamp(p.X, 0, width - 1.001);
        double py = Math.Clamp(p.Y, 0, height - 1.001);
        int ix = (int)px;
        int iy = (int)py;
        double fx = px - ix;
        double fy = py - iy;
        int k = iy * width + ix;
        double thrown =
            (1 - fy) * ((1 - fx) * light[k] + fx * light[k + 1])
            + fy * ((1 - fx) * light[k + width] + fx * light[k + width + 1]);

        // A lamp is a tenth darker at the picture's ends.
        double far = Math.Abs(p.X / width - 0.5);
        return Room + (1 - Room) * thrown * (1 - 0.4 * far * far);
    }
}
