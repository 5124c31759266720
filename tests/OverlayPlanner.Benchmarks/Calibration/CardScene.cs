using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// What a made camera looks at, and how: the truth, a pinhole with Brown's distortion at rest over flat cloth with flat cards;
/// everything else is a switch that is off until it is set.
/// </summary>
/// <param name="Truth">Camera, poses and cards.</param>
internal sealed record CardScene(CardTruth Truth)
{
    private readonly IMadeLens? other;

    /// <summary>The lens: the truth's own, or another in its place.</summary>
    public IMadeLens Lens
    {
        get => other ?? new BrownLens(Truth.Camera, Truth.Width, Truth.Height);
        init => other = value;
    }

    /// <summary>Focal length in millimetres of 35 mm film, as the photo's file says it.</summary>
    public double FilmMillimeters { get; init; } = 26;

    /// <summary>How the camera moves while it reads its rows; null at rest.</summary>
    public CameraShake? Shake { get; init; }

    /// <summary>Where the cloth does not lie flat; the cards lie as the truth and their bends say. Null: flat.</summary>
    public ClothShape? Cloth { get; init; }

    /// <summary>
    /// Cards that are bent, by their index in the truth. A bent card has no slopes, and its lift is where the bend begins.
    /// </summary>
    public IReadOnlyDictionary<int, CardBend> Bends { get; init; } = new Dictionary<int, CardBend>();

    /// <summary>What a projector throws on it; null: daylight.</summary>
    public ThrownLight? Thrown { get; init; }

    /// <summary>The same scene on waving cloth, with every card laid on the waves: stiff, or following them.</summary>
    public CardScene OnWaves(ClothWaves waves, CardStiffness cards)
    {
        CardTruth laid = Truth with
        {
            Cards =
            [
                .. Truth.Cards.Select(c =>
                    (
                        c.Card,
                        cards == CardStiffness.Stiff
                            ? waves.LayStiff(c.Place, c.Card.Side.Inches)
                            : [c.Place[CardModel.X], c.Place[CardModel.Y], c.Place[CardModel.Turn], 0, 0, 0]
                    )
                ),
            ],
        };
        Dictionary<int, CardBend> bends = [];
        for (int i = 0; i < Truth.Cards.Count && cards == CardStiffness.Draped; i++)
        {
            double[] place = Truth.Cards[i].Place;
            bends[i] = new Draped(
                waves,
                waves.AlongAt(place[CardModel.X], place[CardModel.Y]),
                waves.Radians - place[CardModel.Turn]
            );
        }

        return this with
        {
            Truth = laid,
            Cloth = waves,
            Bends = bends,
        };
    }

    /// <summary>Where a photo shows a place at a height over the plane; null where it does not.</summary>
    /// <remarks>The row decides when it is seen, and when decides the row: repeated until both agree, to 1e-6 px.</remarks>
    public Point<PhotoSpace>? Project(int photo, double x, double y, double height)
    {
        IMadeLens lens = Lens;
        double[] still = Truth.Poses[photo];
        if (Shake is null)
        {
            return Seen(lens, still, x, y, height);
        }

        double row = (Truth.Height - 1) / 2.0;
        Point<PhotoSpace>? seen = null;
        for (int step = 0; step < 20; step++)
        {
            seen = Seen(lens, Shake.PoseAt(still, Shake.TimeOf(row, Truth.Height)), x, y, height);
            if (seen is not { } at || Math.Abs(at.Y - row) < 1e-6)
            {
                break;
            }

            row = at.Y;
        }

        return seen;
    }

    /// <summary>Where a photo shows a point of the cloth.</summary>
    public Point<PhotoSpace>? OnCloth(int photo, double x, double y) =>
        Project(photo, x, y, Cloth?.HeightAt(x, y) ?? 0);

    /// <summary>Where a photo shows a drawn point of a card, inches from the card's middle.</summary>
    public Point<PhotoSpace>? OnCard(int photo, int card, double u, double v)
    {
        (double x, double y, double height) = PlaceOf(card, u, v);
        return Project(photo, x, y, height);
    }

    /// <summary>Where a drawn point of a card lies: cloth inches and height.</summary>
    public (double X, double Y, double Height) PlaceOf(int card, double u, double v)
    {
        (TargetCard target, double[] place) = Truth.Cards[card];
        bool turned = target.Kind == CardKind.Strip;
        if (!Bends.TryGetValue(card, out CardBend? bend))
        {
            double[] world = new double[3];
            CardModel.Place(place, Truth.Print, turned, u, v, world, [], new double[CardModel.Size]);
            return (world[0], world[1], -world[2]);
        }

        double pu = u * Truth.Print[turned ? 1 : 0];
        double pv = v * Truth.Print[turned ? 0 : 1];
        (double es, double ec) = Math.SinCos(bend.Radians);
        (double along, double rise) = bend.At(pu * ec + pv * es);
        double across = -pu * es + pv * ec;
        double a = along * ec - across * es;
        double b = along * es + across * ec;
        (double sin, double cos) = Math.SinCos(place[CardModel.Turn]);
        return (
            place[CardModel.X] + cos * a - sin * b,
            place[CardModel.Y] + sin * a + cos * b,
            place[CardModel.Lift] + rise
        );
    }

    private static Point<PhotoSpace>? Seen(IMadeLens lens, double[] pose, double x, double y, double height)
    {
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double At(int row) => r[row] * x + r[row + 1] * y - r[row + 2] * height + pose[3 + row / 3];
        return lens.Project(At(0), At(3), At(6));
    }
}

/// <summary>How a card lies on cloth that waves.</summary>
internal enum CardStiffness
{
    /// <summary>On stiff paper: flat, as the cloth below it lies on the whole.</summary>
    Stiff,

    /// <summary>Thin paper that follows the cloth.</summary>
    Draped,
}
