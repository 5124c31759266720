using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Where the cards lie in a made scene.</summary>
public enum CardLayout
{
    /// <summary>Six cards of 3 in round a top of 76 × 46 in.</summary>
    WholeTop,

    /// <summary>Four cards of 3 in near the corners of the same top.</summary>
    FourCorners,

    /// <summary>Ten cards of 3 in along both margins of a loaded band of 18 × 90 in.</summary>
    LoadedBand,

    /// <summary>Four cards of 3 in round one block of 12 in.</summary>
    OneBlock,
}

/// <summary>The truth of a made scene: camera, pose and cards, drawn from the very priors that the solver believes.</summary>
/// <param name="Width">Photo pixels across.</param>
/// <param name="Height">Photo pixels down.</param>
/// <param name="Camera">The ten numbers of <see cref="CameraModel"/>.</param>
/// <param name="Poses">A pose for each photo.</param>
/// <param name="Cards">Each card and its six numbers of <see cref="CardModel"/>.</param>
/// <param name="Print">Printed inches for each drawn inch.</param>
/// <param name="Area">The cloth that is of interest: left, top, width, height.</param>
internal sealed record CardTruth(
    int Width,
    int Height,
    double[] Camera,
    IReadOnlyList<double[]> Poses,
    IReadOnlyList<(TargetCard Card, double[] Place)> Cards,
    double[] Print,
    (double Left, double Top, double Width, double Height) Area
)
{
    /// <summary>
    /// Where photo <paramref name="photo"/> shows a cloth point lifted off the plane; null behind the camera and beyond the
    /// radius where the distortion folds back.
    /// </summary>
    public Point<PhotoSpace>? Project(int photo, double x, double y, double lift = 0)
    {
        double[] pose = Poses[photo];
        if (!CameraModel.ProjectPosed(Camera, pose, [x, y, -lift], out double u, out double v, [], [], []))
        {
            return null;
        }

        double[] straight = (double[])Camera.Clone();
        straight.AsSpan(CameraModel.K1, 5).Clear();
        CameraModel.ProjectPosed(straight, pose, [x, y, -lift], out double su, out double sv, [], [], []);
        double r2 =
            (Math.Pow(su - Camera[CameraModel.Cx], 2) + Math.Pow(sv - Camera[CameraModel.Cy], 2))
            / (Camera[CameraModel.F] * Camera[CameraModel.F]);
        double slope = 1 + r2 * (3 * Camera[CameraModel.K1] + r2 * 5 * Camera[CameraModel.K2]);
        return slope > 0.3 ? new(u, v) : null;
    }

    /// <summary>True where the photo shows the point.</summary>
    public bool Shows(Point<PhotoSpace>? p, double margin = 0) =>
        p is { } q && q.X > margin && q.Y > margin && q.X < Width - 1 - margin && q.Y < Height - 1 - margin;
}

/// <summary>Draws made scenes and their corners.</summary>
internal static class CardLayouts
{
    /// <summary>The lens that the profile says: 26 mm of 35 mm film, slight barrel.</summary>
    public static LensProfile Nominal(int width, int height)
    {
        double f = 26 / 43.27 * Math.Sqrt((double)width * width + (double)height * height);
        double[] sigma = [2, 2, 3, 3, 0.002, 0.003, 0, 0, 0];
        return new(width, height, f, f, (width - 1) / 2.0, (height - 1) / 2.0, [0.03, -0.06, 0, 0, 0])
        {
            Covariance =
            [
                .. Enumerable
                    .Range(0, 9)
                    .Select(i =>
                        Enumerable
                            .Range(0, 9)
                            .Select(j =>
                                i == j ? sigma[i] * sigma[i]
                                : (i, j) is (0, 1) or (1, 0) ? 3.9
                                : 0
                            )
                            .ToArray()
                    ),
            ],
        };
    }

    /// <summary>Draws a scene.</summary>
    /// <param name="photos">How many photos, side by side with a third of overlap.</param>
    /// <param name="withProfile">Whether the true lens is drawn about the profile or about what is believed without one.</param>
    /// <param name="lens">The lens that the photos are framed with where it is not the one drawn.</param>
    public static CardTruth Draw(
        Random random,
        CardLayout layout,
        int photos,
        bool withProfile,
        int width = 4032,
        int height = 3024,
        IMadeLens? lens = null
    )
    {
        LensProfile nominal = Nominal(width, height);
        CardPhoto blank = new("", width, height, new(FocalLength35Millimeters: 26), [], []);
        (double[] expected, double[] covariance, bool[] held) = CardPriors.Camera(blank, withProfile ? nominal : null);
        double[] camera = (double[])expected.Clone();
        double[] l = (double[])covariance.Clone();
        Matrices.Factor(l, CameraModel.Size);
        double[] z = [.. Enumerable.Range(0, CameraModel.Size).Select(_ => Normal(random))];
        for (int i = 0; i < CameraModel.Size; i++)
        {
            for (int k = 0; k <= i && !held[i]; k++)
            {
                camera[i] += l[i * CameraModel.Size + k] * z[k];
            }
        }

        ((double X, double Y)[] middles, (double, double, double, double) area, CardKind kind) = Lay(layout, random);
        List<(TargetCard, double[])> cards = [];
        IReadOnlyList<TargetCard> deck = TargetCard.All(kind);
        for (int i = 0; i < middles.Length; i++)
        {
            cards.Add(
                (
                    deck[i],
                    [
                        middles[i].X,
                        middles[i].Y,
                        (random.NextDouble() - 0.5) * 0.6,
                        CardPriors.LiftInches * Normal(random),
                        CardPriors.Slope * Normal(random),
                        CardPriors.Slope * Normal(random),
                    ]
                )
            );
        }

        double common = CardPriors.UnmeasuredPrint * Normal(random);
        double aspect = CardPriors.PrintAspect / 2 * Normal(random);
        return new(
            width,
            height,
            camera,
            [
                .. Enumerable
                    .Range(0, photos)
                    .Select(p =>
                        Pose(random, lens ?? new BrownLens(camera, width, height), area, p, photos, width, height)
                    ),
            ],
            cards,
            [1 + common + aspect, 1 + common - aspect],
            area
        );
    }

    /// <summary>The corners that the photos show, with Gaussian noise.</summary>
    public static IReadOnlyList<CardPhoto> Observe(CardTruth truth, double sigmaPixels, Random random)
    {
        List<CardPhoto> photos = [];
        for (int p = 0; p < truth.Poses.Count; p++)
        {
            List<SeenPattern> patterns = [];
            foreach ((TargetCard card, double[] place) in truth.Cards)
            {
                foreach (TargetPattern pattern in card.Patterns)
                {
                    List<(Point<ClothSpace>, Point<PhotoSpace>)> corners = [];
                    foreach (Point<ClothSpace> corner in TargetCard.CornersOf(card.Side))
                    {
                        Point<ClothSpace> on = new(corner.X + pattern.X, corner.Y + pattern.Y);
                        double[] world = new double[3];
                        CardModel.Place(
                            place,
                            truth.Print,
                            card.Kind == CardKind.Strip,
                            on.X,
                            on.Y,
                            world,
                            [],
                            new double[6]
                        );
                        Point<PhotoSpace>? seen = truth.Project(p, world[0], world[1], -world[2]);
                        if (truth.Shows(seen, 6))
                        {
                            corners.Add(
                                (
                                    on,
                                    seen!.Value
                                        + new Vector<PhotoSpace>(
                                            sigmaPixels * Normal(random),
                                            sigmaPixels * Normal(random)
                                        )
                                )
                            );
                        }
                    }

                    if (corners.Count >= 12)
                    {
                        patterns.Add(new(card, pattern, corners));
                    }
                }
            }

            photos.Add(
                new(
                    "photo " + (p + 1).ToString(System.Globalization.CultureInfo.InvariantCulture),
                    truth.Width,
                    truth.Height,
                    new(FocalLength35Millimeters: 26),
                    patterns,
                    []
                )
            );
        }

        return photos;
    }

    /// <summary>A number of the standard normal distribution (G. Box and M. Muller, 1958).</summary>
    public static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    private static ((double X, double Y)[], (double, double, double, double), CardKind) Lay(
        CardLayout layout,
        Random random
    )
    {
        double J() => (random.NextDouble() - 0.5) * 3;
        return layout switch
        {
            CardLayout.WholeTop => (
                [
                    (4 + J(), 4 + J()),
                    (38 + J(), 4 + J()),
                    (72 + J(), 4 + J()),
                    (4 + J(), 42 + J()),
                    (38 + J(), 42 + J()),
                    (72 + J(), 42 + J()),
                ],
                (0, 0, 76, 46),
                CardKind.ThreeInch
            ),
            CardLayout.FourCorners => (
                [(4 + J(), 4 + J()), (72 + J(), 4 + J()), (4 + J(), 42 + J()), (72 + J(), 42 + J())],
                (0, 0, 76, 46),
                CardKind.ThreeInch
            ),
            CardLayout.LoadedBand => (
                [
                    .. new[] { -1.0, 19 }.SelectMany(y =>
                        new[] { 2.0, 24, 45, 66, 88 }.Select(x => (x + J() / 3, y + J() / 6))
                    ),
                ],
                (0, 0, 90, 18),
                CardKind.ThreeInch
            ),
            _ => (
                [(-2.5, -1 + J() / 3), (14.5, -2 + J() / 3), (-2, 14 + J() / 3), (14.5, 13 + J() / 3)],
                (0, 0, 12, 12),
                CardKind.ThreeInch
            ),
        };
    }

    // From a step stool in front of the frame: looking down at 15 to 35 degrees from the vertical, the whole area in view.
    private static double[] Pose(
        Random random,
        IMadeLens lens,
        (double Left, double Top, double Width, double Height) area,
        int photo,
        int photos,
        int width,
        int height
    )
    {
        double tilt = (15 + 20 * random.NextDouble()) * Math.PI / 180;
        double roll = (random.NextDouble() - 0.5) * 0.14;
        double yaw = (random.NextDouble() - 0.5) * 0.2;
        double cx = area.Left + area.Width * (photos == 1 ? 0.5 : (photo + 0.75) / (photos + 0.5));
        double cy = area.Top + area.Height / 2;
        double reach = (photos == 1 ? area.Width : area.Width * 1.7 / (photos + 0.5)) + 9;
        double[] r = Multiply(Rotation(0, 0, roll), Multiply(Rotation(-tilt, 0, 0), Rotation(0, yaw, 0)));
        double[] w = CameraModel.RotationVector(r);

        // A fisheye bows the sides outwards, past the corners.
        bool bowed = lens is not BrownLens;
        double top = area.Top - 4;
        double bottom = area.Top + area.Height + 4;

        // Back off along the line of sight until the reach and the height fit the frame, the far corners too.
        double f = lens.FocalPixels;
        double distance = Math.Max(reach * f / width, (area.Height + 9) * f / height) * 0.8;
        double[] pose = [];
        for (int step = 0; step < 60; step++)
        {
            pose =
            [
                w[0],
                w[1],
                w[2],
                -(r[0] * cx + r[1] * cy),
                -(r[3] * cx + r[4] * cy),
                distance - (r[6] * cx + r[7] * cy),
            ];
            bool fits = true;
            foreach (
                double x in bowed ? [cx - reach / 2, cx, cx + reach / 2] : new[] { cx - reach / 2, cx + reach / 2 }
            )
            {
                foreach (double y in bowed ? [top, cy, bottom] : new[] { top, bottom })
                {
                    fits &=
                        lens.Project(
                            r[0] * x + r[1] * y + pose[3],
                            r[3] * x + r[4] * y + pose[4],
                            r[6] * x + r[7] * y + pose[5]
                        )
                            is { } seen
                        && seen.X > 20
                        && seen.Y > 20
                        && seen.X < width - 20
                        && seen.Y < height - 20;
                }
            }

            if (fits)
            {
                break;
            }

            distance *= 1.02;
        }

        return pose;
    }

    private static double[] Rotation(double x, double y, double z)
    {
        double[] r = new double[9];
        CameraModel.Rotation([x, y, z], r, []);
        return r;
    }

    private static double[] Multiply(double[] a, double[] b)
    {
        double[] c = new double[9];
        for (int i = 0; i < 3; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                c[3 * i + j] = a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j];
            }
        }

        return c;
    }
}
