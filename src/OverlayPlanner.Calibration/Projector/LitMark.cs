using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>One photo's sight of a mark.</summary>
/// <param name="Photo">Index of the photo.</param>
/// <param name="Mark">Which mark.</param>
/// <param name="OnPlane">Where its line of sight meets the cards' plane.</param>
/// <param name="Spread">Covariance of that from the corner's error in the photo, in².</param>
internal readonly record struct SeenMark(
    int Photo,
    Point<MarkSpace> Mark,
    Point<ClothSpace> OnPlane,
    PositionCovariance Spread
);

/// <summary>A mark's light on the cloth, from all photos that show it.</summary>
/// <param name="Mark">Which mark.</param>
/// <param name="Cloth">Where it falls, seen from straight above.</param>
/// <param name="Spread">Covariance of that from the corners' errors and from what is not known of the height, in².</param>
/// <param name="Sharpness">The same from the corners' errors alone, as if the cloth were flat, in².</param>
/// <param name="Height">Height of the cloth over the cards' plane there, in.</param>
/// <param name="HeightSigma">Standard deviation of the height, in.</param>
/// <param name="Photo">The photo that shows it best.</param>
/// <param name="Misfit">How far the line of sight that fits worst passes by, in; 0 for one photo.</param>
internal readonly record struct LitMark(
    Point<MarkSpace> Mark,
    Point<ClothSpace> Cloth,
    PositionCovariance Spread,
    PositionCovariance Sharpness,
    double Height,
    double HeightSigma,
    int Photo,
    double Misfit
)
{
    // A loaded quilt sags or stands up by no more than about this where nobody looked from two sides, in (no source).
    private const double Loose = 0.5;

    // By the corners' errors alone; the photos' places add theirs, so that it must be well below what is believed anyhow.
    private const double Measured = CardPriors.FlatnessInches / 3;

    /// <summary>True where photos from two sides measured the height.</summary>
    public bool IsHeightMeasured => HeightSigma < Measured;

    /// <summary>
    /// Where the lines of sight to a mark meet, by least squares in x, y and height. Photos from one side alone can't tell the
    /// height: then the cloth is believed to be as flat as <see cref="CardPriors.FlatnessInches"/>.
    /// </summary>
    /// <param name="sights">One or more, all of one mark.</param>
    /// <param name="eyes">For each photo, the point of the plane below the camera and the camera's height over it, in.</param>
    public static LitMark Of(
        IReadOnlyList<SeenMark> sights,
        IReadOnlyList<(Point<ClothSpace> Foot, double Height)> eyes
    )
    {
        if (sights.Count > 1 && Meet(sights, eyes, Loose) is { IsHeightMeasured: true } met)
        {
            return met;
        }

        return Meet(sights, eyes, CardPriors.FlatnessInches)
            ?? new(
                sights[0].Mark,
                sights[0].OnPlane,
                sights[0].Spread,
                sights[0].Spread,
                0,
                CardPriors.FlatnessInches,
                sights[0].Photo,
                0
            );
    }

    // A point at height z over p is seen at q with p + z d = q, d = (q − foot) ÷ camera's height.
    private static LitMark? Meet(
        IReadOnlyList<SeenMark> sights,
        IReadOnlyList<(Point<ClothSpace> Foot, double Height)> eyes,
        double heightSigma
    )
    {
        Point<ClothSpace> near = sights[0].OnPlane;
        double[] normal = new double[9];
        double[] right = new double[3];
        normal[8] = 1 / (heightSigma * heightSigma);
        foreach (SeenMark s in sights)
        {
            (Point<ClothSpace> foot, double height) = eyes[s.Photo];
            Vector<ClothSpace> d = (s.OnPlane - foot) * (1 / height);
            double det = s.Spread.Xx * s.Spread.Yy - s.Spread.Xy * s.Spread.Xy;
            (double xx, double xy, double yy) = (s.Spread.Yy / det, -s.Spread.Xy / det, s.Spread.Xx / det);
            double[] ofX = [1, 0, d.X];
            double[] ofY = [0, 1, d.Y];
            Vector<ClothSpace> off = s.OnPlane - near;
            for (int i = 0; i < 3; i++)
            {
                (double wx, double wy) = (ofX[i] * xx + ofY[i] * xy, ofX[i] * xy + ofY[i] * yy);
                right[i] += wx * off.X + wy * off.Y;
                for (int k = 0; k < 3; k++)
                {
                    normal[3 * i + k] += wx * ofX[k] + wy * ofY[k];
                }
            }
        }

        if (Matrices.Invert(normal, 3) is not { } c)
        {
            return null;
        }

        Point<ClothSpace> met = near + new Vector<ClothSpace>(At(0), At(1));
        double misfit = sights.Max(s =>
        {
            (Point<ClothSpace> foot, double height) = eyes[s.Photo];
            return (met + (s.OnPlane - foot) * (At(2) / height)).DistanceTo(s.OnPlane);
        });
        PositionCovariance spread = new(c[0], c[1], c[4]);
        SeenMark best = sights.MinBy(s => s.Spread.Xx + s.Spread.Yy);
        return new(
            sights[0].Mark,
            met,
            spread,
            Math.Sqrt(c[8]) < Measured ? spread : best.Spread,
            At(2),
            Math.Sqrt(c[8]),
            best.Photo,
            sights.Count > 1 ? misfit : 0
        );

        double At(int i) => c[3 * i] * right[0] + c[3 * i + 1] * right[1] + c[3 * i + 2] * right[2];
    }
}
