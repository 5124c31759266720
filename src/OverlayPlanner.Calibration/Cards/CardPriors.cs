using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// What is believed before the photo is looked at, as standard deviations. Where there is no source the number is common
/// practice, and the tests hold the stated error against scenes drawn from these very numbers.
/// </summary>
internal static class CardPriors
{
    /// <summary>A card on a loaded quilt: how far it lies off the plane, in (no source).</summary>
    public const double LiftInches = 1.0 / 32;

    /// <summary>Slope of a card against the plane (no source: 1/16 in over 3 in).</summary>
    public const double Slope = 0.02;

    /// <summary>Cloth between the cards: how far it lies off the plane, in (no source).</summary>
    public const double FlatnessInches = 1.0 / 32;

    /// <summary>Scale of a print that nobody measured, printed at "actual size" (no source).</summary>
    public const double UnmeasuredPrint = 0.003;

    /// <summary>Difference of a printer's scale between across and down.</summary>
    public const double PrintAspect = 0.0015;

    // A stabilised lens moves by a few parts in a thousand of the frame, a focusing one breathes as much.
    private const double ProfileFocal = 0.003;
    private const double ProfileCentre = 0.003;

    // A picture's own focal length in EXIF is rounded to whole millimetres of 35 mm film.
    private const double ExifFocal = 0.04;
    private const double UnknownFocal = 0.4;
    private const double UnknownCentre = 0.015;
    private const double UnknownK1 = 0.05;
    private const double UnknownK2 = 0.03;

    // 43.27 mm is the diagonal of 36 × 24 mm film; 26 mm the usual phone's main camera.
    private const double FilmDiagonal = 43.27;
    private const double UsualMillimeters = 26;

    /// <summary>Start and prior of the camera; terms without spread are to be held.</summary>
    public static (double[] Expected, double[] Covariance, bool[] Held) Camera(CardPhoto photo, LensProfile? lens)
    {
        const int Size = CameraModel.Size;
        double longer = Math.Max(photo.Width, photo.Height);
        double[] covariance = new double[Size * Size];
        bool[] held = new bool[Size];
        double[] expected;
        if (lens is null)
        {
            double diagonal = Math.Sqrt((double)photo.Width * photo.Width + (double)photo.Height * photo.Height);
            double f = (photo.Facts.FocalLength35Millimeters ?? UsualMillimeters) / FilmDiagonal * diagonal;
            expected = [f, 1, (photo.Width - 1) / 2.0, (photo.Height - 1) / 2.0, 0, 0, 0, 0, 0, 0];
            double focal = photo.Facts.FocalLength35Millimeters is null ? UnknownFocal : ExifFocal;
            Add(CameraModel.F, focal * f);
            Add(CameraModel.Cx, UnknownCentre * longer);
            Add(CameraModel.Cy, UnknownCentre * longer);
            Add(CameraModel.K1, UnknownK1);
            Add(CameraModel.K2, UnknownK2);
        }
        else
        {
            expected = CameraModel.FromProfile(lens);
            double aspect = expected[CameraModel.Aspect];
            if (lens.Covariance is { } own)
            {
                // (fx, fy) → (f, aspect): aspect = fy ÷ fx.
                double[,] by = new double[9, 9];
                for (int i = 0; i < 9; i++)
                {
                    by[i, i] = 1;
                }

                by[CameraModel.Aspect, 0] = -aspect / lens.Fx;
                by[CameraModel.Aspect, 1] = 1 / lens.Fx;
                for (int i = 0; i < 9; i++)
                {
                    for (int j = 0; j < 9; j++)
                    {
                        double sum = 0;
                        for (int k = 0; k < 9; k++)
                        {
                            for (int l = 0; l < 9; l++)
                            {
                                sum += by[i, k] * own[k][l] * by[j, l];
                            }
                        }

                        covariance[i * Size + j] = sum;
                    }
                }
            }

            Add(CameraModel.F, ProfileFocal * lens.Fx);
            Add(CameraModel.Cx, ProfileCentre * longer);
            Add(CameraModel.Cy, ProfileCentre * longer);
        }

        for (int i = 0; i < Size; i++)
        {
            if (!(covariance[i * Size + i] > 1e-14))
            {
                held[i] = true;
                covariance[i * Size + i] = 1e-8;
            }
        }

        return (expected, covariance, held);

        void Add(int index, double sigma) => covariance[index * Size + index] += sigma * sigma;
    }

    /// <summary>A camera of which the profile is no more than a start: as wide as without one.</summary>
    public static (double[] Expected, double[] Covariance, bool[] Held) Loose(CardPhoto photo, LensProfile lens)
    {
        (_, double[] covariance, bool[] held) = Camera(photo, null);
        const double Focal = 0.2;
        covariance[CameraModel.F * (CameraModel.Size + 1)] = Focal * Focal * lens.Fx * lens.Fx;
        foreach (int k in new[] { CameraModel.K1, CameraModel.K2 })
        {
            // A profile that is wrong may be wrong by as much as it says.
            covariance[k * (CameraModel.Size + 1)] += Math.Pow(lens.Distortion[k - CameraModel.K1], 2);
        }

        return (CameraModel.FromProfile(lens), covariance, held);
    }

    /// <summary>A camera without a profile whose lens may bend straight lines as much as a fisheye does.</summary>
    /// <remarks>
    /// An equidistant lens shows tan θ at θ: its terms are −1/3, 1/5, −1/7, and those that fit it best up to 50° some two
    /// thirds of them.
    /// </remarks>
    public static (double[] Expected, double[] Covariance, bool[] Held) Wide(CardPhoto photo)
    {
        (double[] expected, double[] covariance, bool[] held) = Camera(photo, null);
        const double Focal = 0.1;
        Set(CameraModel.F, Math.Max(covariance[0], Focal * Focal * expected[0] * expected[0]));
        Set(CameraModel.K1, 1.0 / 9);
        Set(CameraModel.K2, 1.0 / 25);
        Set(CameraModel.K3, 1.0 / 49);
        held[CameraModel.K3] = false;
        return (expected, covariance, held);

        void Set(int index, double variance) => covariance[index * (CameraModel.Size + 1)] = variance;
    }

    /// <summary>Expected scale of the print, across and down, and its covariance.</summary>
    public static (double[] Expected, double[] Covariance) Print(PrintedSize? printed, bool taped)
    {
        if (printed is not null)
        {
            double a = PrintedSize.Sigma / PrintedSize.DrawnAcross;
            double d = PrintedSize.Sigma / PrintedSize.DrawnDown;
            return (
                [printed.Across / PrintedSize.DrawnAcross, printed.Down / PrintedSize.DrawnDown],
                [a * a, 0, 0, d * d]
            );
        }

        // With a tape the print's scale is left to it; the two axes still hang together.
        double common = taped ? 0.05 : UnmeasuredPrint;
        double sum = common * common + PrintAspect * PrintAspect / 4;
        double mixed = common * common - PrintAspect * PrintAspect / 4;
        return ([1, 1], [sum, mixed, mixed, sum]);
    }
}
