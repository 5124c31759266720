using System.Runtime.InteropServices;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A photograph as one grey channel (ITU-R BT.601 weights), and smaller copies of it.</summary>
internal static class GreyPicture
{
    /// <summary>The grey picture; the caller disposes of it.</summary>
    public static Mat From(Picture picture)
    {
        GCHandle pinned = GCHandle.Alloc(picture.Rgb, GCHandleType.Pinned);
        try
        {
            using Mat rgb = Mat.FromPixelData(
                picture.Height,
                picture.Width,
                MatType.CV_8UC3,
                pinned.AddrOfPinnedObject()
            );
            Mat grey = new();
            Cv2.CvtColor(rgb, grey, ColorConversionCodes.RGB2GRAY);
            return grey;
        }
        finally
        {
            pinned.Free();
        }
    }

    /// <summary>A copy whose longer side is at most <paramref name="longest"/>, each pixel the mean of those it covers.</summary>
    /// <returns>The copy and its scale; pixel x of the whole is scale × (x + ½) − ½ in the copy.</returns>
    public static (Mat Small, double Scale) Shrink(Mat grey, int longest)
    {
        double scale = Math.Min(1, (double)longest / Math.Max(grey.Width, grey.Height));
        if (scale == 1)
        {
            return (grey.Clone(), 1);
        }

        Mat small = new();
        Cv2.Resize(grey, small, new Size(), scale, scale, InterpolationFlags.Area);
        return (small, (double)small.Width / grey.Width);
    }

    /// <summary>Grey value between pixels, bilinear; the outer pixels go on beyond the edge.</summary>
    public static double Sample(Mat grey, double x, double y)
    {
        x = Math.Clamp(x, 0, grey.Width - 1.001);
        y = Math.Clamp(y, 0, grey.Height - 1.001);
        int ix = (int)x;
        int iy = (int)y;
        double fx = x - ix;
        double fy = y - iy;
        double above = (1 - fx) * grey.At<byte>(iy, ix) + fx * grey.At<byte>(iy, ix + 1);
        double below = (1 - fx) * grey.At<byte>(iy + 1, ix) + fx * grey.At<byte>(iy + 1, ix + 1);
        return (1 - fy) * above + fy * below;
    }
}
