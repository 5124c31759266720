using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How far a photograph smears a sharp edge.</summary>
/// <param name="Pixels">
/// Standard deviation of the smear in the direction in which it is worst, photo pixels: 0 to 1.5 in a sharp picture. A movement over
/// n pixels counts as about n / 4 (its standard deviation is n / √12).
/// </param>
/// <param name="IsKnown">False where the picture shows too little to tell.</param>
public readonly record struct BlurReading(double Pixels, bool IsKnown);

/// <summary>Measures how blurred a photograph is, whatever its cloth.</summary>
/// <remarks>
/// The picture is blurred twice by known widths, and the energies of its slopes compared, as the slopes at single edges are by S.
/// Zhuo and T. Sim, "Defocus map estimation from a single image", Pattern Recognition 44, 2011. How fast the energy falls depends on
/// the smear that is there already and not on the contrast: dark cloth counts like any other. It is asked for every direction at
/// once (the two 2 × 2 tensors' smallest generalised eigenvalue), since a camera that moved smears only along its way. The noise's
/// part is taken out first. Small prints make a smear look up to a third smaller than it is, and never a sharp picture blurred. At
/// most about four million pixels are looked at, in patches spread over the picture.
/// </remarks>
public static class PhotoBlur
{
    private const int PatchSide = 400;
    private const int MostPatchesAcross = 5;

    // Blurs that are compared, px. The slopes' own filter adds a third of a square pixel.
    private const double Narrow = 1.5;
    private const double Wide = 4;
    private const double FilterSquare = 1.0 / 3;

    // The energy falls with this power of σ² + s²: 1/2 for a single step, 2 for a texture without any. Real cloth lies between; on
    // sharp photographs of quilts that were blurred by known widths, this one comes nearest.
    private const double Exponent = 0.75;

    // Wider smears can't be told apart any more.
    private const double MostPixels = 20;

    // Mean square of the slope, grey levels to the pixel: a wall of one colour has less.
    private const double LeastEnergy = 0.02;

    /// <summary>Measures it.</summary>
    /// <param name="picture">The photograph, upright or not, at the camera's own size.</param>
    /// <param name="cancellation">Cancels between patches.</param>
    public static BlurReading Of(Picture picture, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(picture);
        using Mat grey = GreyPicture.From(picture);
        (double Xx, double Xy, double Yy) narrow = default;
        (double Xx, double Xy, double Yy) wide = default;
        int patches = 0;
        foreach (Rect patch in Patches(grey))
        {
            cancellation.ThrowIfCancellationRequested();
            using Mat part = new(grey, patch);
            using Mat f = new();
            part.ConvertTo(f, MatType.CV_32FC1);
            double noise = NoiseVariance(f);
            narrow = Sum(narrow, Energies(f, Narrow, noise));
            wide = Sum(wide, Energies(f, Wide, noise));
            patches++;
        }

        double all = (narrow.Xx + narrow.Yy) / patches;
        return all < LeastEnergy ? new(0, false) : new(Width(LeastRatio(narrow, wide)), true);
    }

    private static (double Xx, double Xy, double Yy) Sum(
        (double Xx, double Xy, double Yy) a,
        (double Xx, double Xy, double Yy) b
    ) => (a.Xx + b.Xx, a.Xy + b.Xy, a.Yy + b.Yy);

    private static IEnumerable<Rect> Patches(Mat grey)
    {
        (int w, int h) = (Math.Min(PatchSide, grey.Width), Math.Min(PatchSide, grey.Height));
        int across = Math.Min(MostPatchesAcross, (grey.Width + w - 1) / w);
        int down = Math.Min(MostPatchesAcross, (grey.Height + h - 1) / h);
        for (int row = 0; row < down; row++)
        {
            for (int column = 0; column < across; column++)
            {
                yield return new(Place(column, across, grey.Width, w), Place(row, down, grey.Height, h), w, h);
            }
        }
    }

    private static int Place(int n, int of, int whole, int side) =>
        of == 1 ? (whole - side) / 2 : (int)((long)(whole - side) * n / (of - 1));

    // Mean products of the slopes across and down after a blur, without what noise adds to them.
    private static (double Xx, double Xy, double Yy) Energies(Mat f, double sigma, double noise)
    {
        using Mat soft = new();
        Cv2.GaussianBlur(f, soft, new Size(0, 0), sigma);
        using Mat x = new();
        using Mat y = new();
        Cv2.Scharr(soft, x, MatType.CV_32FC1, 1, 0, 1 / 32.0);
        Cv2.Scharr(soft, y, MatType.CV_32FC1, 0, 1, 1 / 32.0);

        // Slope of white noise after a Gaussian blur: σ² / (8π s⁴) each way.
        double square = sigma * sigma + FilterSquare;
        double own = noise / (8 * Math.PI * square * square);
        return (Math.Max(0, Mean(x, x) - own), Mean(x, y), Math.Max(0, Mean(y, y) - own));
    }

    private static double Mean(Mat a, Mat b)
    {
        using Mat product = new();
        Cv2.Multiply(a, b, product);
        return Cv2.Mean(product).Val0;
    }

    // From differences that no straight edge makes (J. Immerkær, "Fast noise variance estimation", 1996), by their median.
    private static double NoiseVariance(Mat f)
    {
        using Mat mask = Mat.FromPixelData(3, 3, MatType.CV_32FC1, new float[] { 1, -2, 1, -2, 4, -2, 1, -2, 1 });
        using Mat odd = new();
        Cv2.Filter2D(f, odd, MatType.CV_32FC1, mask);
        odd.GetArray(out float[] values);
        float[] sampled = new float[values.Length / 7];
        for (int i = 0; i < sampled.Length; i++)
        {
            sampled[i] = Math.Abs(values[7 * i]);
        }

        Array.Sort(sampled);

        // A normal error's median is 0.6745 σ; the mask multiplies σ by 6.
        double sigma = sampled.Length == 0 ? 0 : sampled[sampled.Length / 2] / 0.6745 / 6;
        return sigma * sigma;
    }

    // Least energy of the slope in any direction after the narrow blur, as a part of that after the wide one.
    private static double LeastRatio((double Xx, double Xy, double Yy) n, (double Xx, double Xy, double Yy) w)
    {
        // det(N − λ W) = 0. One direction may be all but empty: a little of the whole keeps it from deciding.
        double bit = 0.01 * (w.Xx + w.Yy);
        (double nx, double ny) = (n.Xx + bit, n.Yy + bit);
        (double wx, double wy) = (w.Xx + bit, w.Yy + bit);
        double a = wx * wy - w.Xy * w.Xy;
        double b = nx * wy + ny * wx - 2 * n.Xy * w.Xy;
        double c = nx * ny - n.Xy * n.Xy;
        return a <= 0 ? 1 : (b - Math.Sqrt(Math.Max(0, b * b - 4 * a * c))) / (2 * a);
    }

    private static double Width(double ratio)
    {
        double fourth = Math.Pow(ratio, 1 / Exponent);
        if (fourth <= 1.0001)
        {
            return MostPixels;
        }

        double square = (Wide * Wide + FilterSquare - fourth * (Narrow * Narrow + FilterSquare)) / (fourth - 1);
        return Math.Min(MostPixels, Math.Sqrt(Math.Max(0, square)));
    }
}
