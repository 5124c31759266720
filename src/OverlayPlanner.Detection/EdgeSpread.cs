using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection;

/// <summary>How far the picture's sharpest edges are spread.</summary>
/// <remarks>
/// The width of an edge is its contrast divided by its steepest slope (P. Marziliano, F. Dufaux, S. Winkler, T. Ebrahimi, "A
/// no-reference perceptual blur metric", 2002, measures edge widths too). A step blurred by a standard deviation σ is √(2π) σ
/// = 2.5 σ wide. Noise has little contrast for its slope and does not make a blurred picture look sharp.
/// </remarks>
internal static class EdgeSpread
{
    private const double SmoothPixels = 1.2;
    private const int WindowPixels = 21;
    private const int OneInSoMany = 200;
    private const int LeastPixels = 2 * WindowPixels;

    /// <summary>
    /// Median width of the steepest half percent of all pixels, in; 0 for a picture that is too small to tell. At 32 pixels to
    /// the inch a sharp picture has about 0.12 in.
    /// </summary>
    public static Length Of(Picture rectified)
    {
        if (rectified.Width < LeastPixels || rectified.Height < LeastPixels)
        {
            return Length.Zero;
        }

        using Mat rgb = Mat.FromPixelData(rectified.Height, rectified.Width, MatType.CV_8UC3, rectified.Rgb);
        using Mat gray = new();
        Cv2.CvtColor(rgb, gray, ColorConversionCodes.RGB2GRAY);
        using Mat f = new();
        gray.ConvertTo(f, MatType.CV_32FC1);
        Cv2.GaussianBlur(f, f, new Size(0, 0), SmoothPixels);
        using Mat slopeX = new();
        using Mat slopeY = new();
        using Mat slope = new();
        Cv2.Scharr(f, slopeX, MatType.CV_32FC1, 1, 0, 1 / 32.0);
        Cv2.Scharr(f, slopeY, MatType.CV_32FC1, 0, 1, 1 / 32.0);
        Cv2.Magnitude(slopeX, slopeY, slope);
        using Mat window = Mat.Ones(WindowPixels, WindowPixels, MatType.CV_8UC1);
        using Mat highest = new();
        using Mat lowest = new();
        Cv2.Dilate(f, highest, window);
        Cv2.Erode(f, lowest, window);
        slope.GetArray(out float[] steep);
        highest.GetArray(out float[] high);
        lowest.GetArray(out float[] low);

        // The slope that half a percent exceed, by counting: sorting tens of millions of pixels takes seconds.
        const int Levels = 4096;
        float most = steep.Max();
        if (most <= 0)
        {
            return Length.Zero;
        }

        int[] count = new int[Levels + 1];
        foreach (float s in steep)
        {
            count[(int)(s / most * Levels)]++;
        }

        int level = Levels;
        for (int taken = count[level]; taken < steep.Length / OneInSoMany && level > 0; taken += count[level])
        {
            level--;
        }

        List<double> widths = [];
        for (int i = 0; i < steep.Length; i++)
        {
            if (steep[i] > 0 && (int)(steep[i] / most * Levels) >= level)
            {
                widths.Add((high[i] - low[i]) / steep[i]);
            }
        }

        widths.Sort();
        return Length.FromInches(widths[widths.Count / 2] / rectified.PixelsPerInch!.Value);
    }
}
