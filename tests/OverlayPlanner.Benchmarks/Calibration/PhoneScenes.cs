using OverlayPlanner.Calibration;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>What a phone and real cloth do beside a pinhole over a flat table.</summary>
internal enum PhoneExtra
{
    /// <summary>An ultra-wide camera after its own correction.</summary>
    MildFisheye,

    /// <summary>A fisheye-like lens that nobody corrected.</summary>
    StrongFisheye,

    /// <summary>A hand that moves while the rows are read.</summary>
    Shake,

    /// <summary>Waves of 1/4 in, cards on stiff paper.</summary>
    QuarterWaves,

    /// <summary>Waves of 1/2 in, cards on stiff paper.</summary>
    HalfWaves,

    /// <summary>Waves of 1/4 in, cards that follow them.</summary>
    DrapedCards,

    /// <summary>One card with a corner up by 3/8 in.</summary>
    CornerUp,

    /// <summary>One card 3/8 in over the cloth.</summary>
    Lifted,

    /// <summary>One card moved by 1/2 in before the second of three photos.</summary>
    Moved,
}

/// <summary>A made scene of one extra: what each photo sees, and the card that is amiss.</summary>
internal sealed record PhoneScene(IReadOnlyList<CardScene> Photos, TargetCard? Amiss)
{
    private const int Width = 4032;
    private const int Height = 3024;

    // From crest to crest a block of 12 in (no source).
    private const double WaveLength = 12;
    private const double AmissBy = 0.375;

    private static readonly Lazy<BoardProfile> MildProfile = new(() =>
        BoardProfile.Of(FisheyeLens.Mild(Width, Height), Width, Height, 71)
    );

    private static readonly Lazy<BoardProfile> StrongProfile = new(() =>
        BoardProfile.Of(FisheyeLens.Strong(Width, Height), Width, Height, 72)
    );

    /// <summary>The profiles that the same photos are solved with, and what to call them; null is none.</summary>
    public static IReadOnlyList<(string Name, LensProfile? Lens)> Profiles(PhoneExtra extra) =>
        extra switch
        {
            PhoneExtra.MildFisheye => WithAndWithout(MildProfile.Value),
            PhoneExtra.StrongFisheye => WithAndWithout(StrongProfile.Value),
            _ => [("", CardLayouts.Nominal(Width, Height))],
        };

    /// <summary>Draws one scene.</summary>
    public static PhoneScene Draw(PhoneExtra extra, CardLayout layout, int seed)
    {
        Random random = new(seed);
        int photos = extra == PhoneExtra.Moved ? 3 : 1;
        (IMadeLens? lens, double millimeters) = extra switch
        {
            PhoneExtra.MildFisheye => (FisheyeLens.Mild(Width, Height), 13),
            PhoneExtra.StrongFisheye => (FisheyeLens.Strong(Width, Height), 24),
            _ => ((IMadeLens?)null, 26.0),
        };
        CardTruth drawn = CardLayouts.Draw(random, layout, photos, withProfile: true, Width, Height, lens);
        CardTruth truth = drawn with
        {
            Print = [1, 1],
            Cards = [.. drawn.Cards.Select(c => (c.Card, new[] { c.Place[0], c.Place[1], c.Place[2], 0, 0, 0 }))],
        };
        CardScene flat = new(truth) { FilmMillimeters = millimeters };
        if (lens is not null)
        {
            return new([flat with { Lens = lens }], null);
        }

        int amiss = random.Next(truth.Cards.Count);
        TargetCard card = truth.Cards[amiss].Card;
        double side = card.Side.Inches;
        return extra switch
        {
            PhoneExtra.Shake => new([flat with { Shake = CameraShake.Handheld(random) }], null),
            PhoneExtra.QuarterWaves => Waving(0.25, CardStiffness.Stiff),
            PhoneExtra.HalfWaves => Waving(0.5, CardStiffness.Stiff),
            PhoneExtra.DrapedCards => Waving(0.25, CardStiffness.Draped),
            PhoneExtra.CornerUp => new(
                [flat with { Bends = new Dictionary<int, CardBend> { [amiss] = CardBend.CornerUp(AmissBy, side) } }],
                card
            ),
            PhoneExtra.Lifted => new([flat with { Truth = Changed(truth, amiss, CardModel.Lift, AmissBy) }], card),
            _ => MovedCard(),
        };

        PhoneScene Waving(double height, CardStiffness cards)
        {
            ClothWaves waves = new(
                height,
                WaveLength,
                random.NextDouble() * Math.PI,
                random.NextDouble() * 2 * Math.PI
            );
            return new([flat.OnWaves(waves, cards)], null);
        }

        // The second card of the upper margin, which the first and the second photo show.
        PhoneScene MovedCard()
        {
            CardScene before = flat with { Truth = Changed(truth, 1, CardModel.X, -0.5) };
            return new([before, flat, flat], truth.Cards[1].Card);
        }
    }

    private static IReadOnlyList<(string, LensProfile?)> WithAndWithout(BoardProfile board) =>
        [
            (
                FormattableString.Invariant($", Brown profile from 12 board views ({board.RmsPixels:0.00} px RMS)"),
                board.Lens
            ),
            (", no lens profile", null),
        ];

    private static CardTruth Changed(CardTruth truth, int card, int number, double by)
    {
        (TargetCard Card, double[] Place)[] cards = [.. truth.Cards];
        double[] place = (double[])cards[card].Place.Clone();
        place[number] += by;
        cards[card].Place = place;
        return truth with { Cards = cards };
    }
}
