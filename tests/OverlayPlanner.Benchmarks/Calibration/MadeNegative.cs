using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>How a made photo is spoilt.</summary>
/// <param name="BlurPixels">Gaussian blur, px.</param>
/// <param name="NoiseLevels">Gaussian noise, grey levels of 255.</param>
/// <param name="JpegQuality">Quality of the JPEG, or 0 for none.</param>
internal sealed record PhotoSpoil(double BlurPixels, double NoiseLevels, int JpegQuality);

/// <summary>The light that reached each pixel, 0 to 1, before the camera makes a photo of it.</summary>
internal sealed record MadeNegative(int Width, int Height, float[] Light)
{
    /// <summary>Blur, a slow fall of the light across the frame, the encoding's curve, noise and JPEG.</summary>
    public Photo Develop(PhotoSpoil spoil, int seed, int photo, double filmMillimeters)
    {
        (int w, int h) = (Width, Height);
        using Mat linear = Mat.FromPixelData(h, w, MatType.CV_32FC1, Light);
        using Mat blurred = new();
        Cv2.GaussianBlur(linear, blurred, new Size(0, 0), spoil.BlurPixels);
        byte[] rgb = new byte[w * h * 3];
        float[] values = new float[w * h];
        System.Runtime.InteropServices.Marshal.Copy(blurred.Data, values, 0, values.Length);
        Parallel.For(
            0,
            h,
            y =>
            {
                Random random = new(seed * 100_003 + photo * 7919 + y);
                for (int x = 0; x < w; x++)
                {
                    double fall = 1 - 0.25 * ((double)x / w) - 0.1 * ((double)y / h);
                    double v = 255 * Math.Pow(Math.Clamp(values[y * w + x] * fall, 0, 1), 1 / 2.2);
                    v += spoil.NoiseLevels * CardLayouts.Normal(random);
                    byte b = (byte)Math.Clamp(Math.Round(v), 0, 255);
                    int k = 3 * (y * w + x);
                    (rgb[k], rgb[k + 1], rgb[k + 2]) = (b, b, b);
                }
            }
        );
        string name = "made photo " + (photo + 1).ToString(System.Globalization.CultureInfo.InvariantCulture);
        PhotoFacts facts = new(FocalLength35Millimeters: filmMillimeters);
        if (spoil.JpegQuality == 0)
        {
            return new(new Picture(w, h, rgb), name, facts);
        }

        using Mat whole = Mat.FromPixelData(h, w, MatType.CV_8UC3, rgb);
        Cv2.ImEncode(
            ".jpg",
            whole,
            out byte[] jpeg,
            new ImageEncodingParam(ImwriteFlags.JpegQuality, spoil.JpegQuality)
        );
        return PhotoReader.Read(jpeg, name) with { Facts = facts };
    }
}
