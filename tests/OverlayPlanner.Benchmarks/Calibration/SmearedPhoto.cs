using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Pictures smeared by a known width, with a camera's noise after it (two grey levels, fixed seed).</summary>
public static class SmearedPhoto
{
    private const double NoiseLevels = 2;

    /// <summary>Out of focus: a Gaussian of this standard deviation, px.</summary>
    public static Picture Defocused(Picture picture, double sigma) =>
        Made(
            picture,
            (from, to) =>
            {
                if (sigma > 0)
                {
                    Cv2.GaussianBlur(from, to, new Size(0, 0), sigma);
                }
                else
                {
                    from.CopyTo(to);
                }
            }
        );

    /// <summary>Moved while it was taken: a line of this length, px, in this direction, degrees from across.</summary>
    public static Picture Moved(Picture picture, double length, double degrees) =>
        Made(
            picture,
            (from, to) =>
            {
                using Mat line = LineOf(length, degrees);
                Cv2.Filter2D(from, to, -1, line);
            }
        );

    // The line as a kernel, laid down in many points, each shared out among four pixels.
    private static Mat LineOf(double length, double degrees)
    {
        const int Points = 400;
        int half = (int)(length / 2) + 2;
        int side = 2 * half + 1;
        float[] weights = new float[side * side];
        (double sin, double cos) = Math.SinCos(degrees * Math.PI / 180);
        for (int i = 0; i < Points; i++)
        {
            double t = ((i + 0.5) / Points - 0.5) * length;
            (double x, double y) = (half + t * cos, half + t * sin);
            (int left, int top) = ((int)x, (int)y);
            (double fx, double fy) = (x - left, y - top);
            weights[top * side + left] += (float)((1 - fx) * (1 - fy) / Points);
            weights[top * side + left + 1] += (float)(fx * (1 - fy) / Points);
            weights[(top + 1) * side + left] += (float)((1 - fx) * fy / Points);
            weights[(top + 1) * side + left + 1] += (float)(fx * fy / Points);
        }

        Mat line = new(side, side, MatType.CV_32FC1);
        line.SetArray(weights);
        return line;
    }

    private static Picture Made(Picture picture, Action<Mat, Mat> smear)
    {
        using Mat from = Mat.FromPixelData(picture.Height, picture.Width, MatType.CV_8UC3, picture.Rgb);
        using Mat smeared = new();
        smear(from, smeared);
        using Mat noise = new(smeared.Size(), MatType.CV_16SC3);
        Cv2.SetTheRNG(7);
        Cv2.Randn(noise, Scalar.All(0), Scalar.All(NoiseLevels));
        using Mat sum = new();
        smeared.ConvertTo(sum, MatType.CV_16SC3);
        Cv2.Add(sum, noise, sum);
        sum.ConvertTo(smeared, MatType.CV_8UC3);
        smeared.GetArray(out Vec3b[] pixels);
        byte[] rgb = new byte[3 * pixels.Length];
        for (int i = 0; i < pixels.Length; i++)
        {
            (rgb[3 * i], rgb[3 * i + 1], rgb[3 * i + 2]) = (pixels[i].Item0, pixels[i].Item1, pixels[i].Item2);
        }

        return new(picture.Width, picture.Height, rgb, picture.PixelsPerInch);
    }
}
