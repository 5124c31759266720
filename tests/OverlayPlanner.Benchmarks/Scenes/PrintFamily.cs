namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Families of cotton cloth, woven and printed.</summary>
/// <remarks>New ones go to the end: a scene names its cloth by them.</remarks>
internal enum PrintFamily
{
    /// <summary>One colour.</summary>
    Solid,

    /// <summary>Leaves, rings, marbling or blooms in nearly the ground's colour.</summary>
    ToneOnTone,

    /// <summary>Dots in staggered rows.</summary>
    Dots,

    /// <summary>Scattered blooms with leaves, a third of an inch apart.</summary>
    SmallFloral,

    /// <summary>Bands of several colours one way.</summary>
    Stripe,

    /// <summary>Woven check of one colour and white.</summary>
    Gingham,

    /// <summary>Crossing bands of several colours.</summary>
    Plaid,

    /// <summary>Flowers the size of a hand.</summary>
    LargePrint,

    /// <summary>Bias lattice, ogee, chevron or open squares.</summary>
    Geometric,

    /// <summary>Small spots of several colours.</summary>
    Speckle,

    /// <summary>Dyed cloth with soft patches.</summary>
    Batik,

    /// <summary>Single stems in rows.</summary>
    Sprig,

    /// <summary>Leaves of two tones.</summary>
    Leaves,

    /// <summary>Washed denim: warp-faced twill, worn pale in places.</summary>
    WornDenim,

    /// <summary>Thin overlapping rings.</summary>
    Rings,

    /// <summary>Honeycomb lines.</summary>
    Hexagons,

    /// <summary>Dots like pinheads, a tenth of an inch apart.</summary>
    PinDot,

    /// <summary>Fine hand-drawn lines both ways, nearly the ground's colour.</summary>
    Crosshatch,

    /// <summary>Rows of clamshells in outline.</summary>
    Scallop,

    /// <summary>Small five-pointed stars.</summary>
    StarScatter,

    /// <summary>Cells with cracks between them.</summary>
    Crackle,

    /// <summary>Yarn-dyed: warp and weft of two colours, with slubs; nothing printed.</summary>
    Chambray,

    /// <summary>Lines of writing in no language.</summary>
    Lettering,

    /// <summary>Tiny cherries and buds, close together.</summary>
    Ditsy,

    /// <summary>Bent drops with rims and seeds.</summary>
    Paisley,

    /// <summary>Scenes in one ink: trees, hills, birds, hatched.</summary>
    Toile,

    /// <summary>Broken check of four-pointed shapes.</summary>
    Houndstooth,

    /// <summary>Zigzag of short bars.</summary>
    Herringbone,

    /// <summary>Large diamonds with a thin line crossing.</summary>
    Argyle,

    /// <summary>Large mirrored ornament in nearly the ground's colour.</summary>
    Damask,

    /// <summary>Diamonds with streaked edges.</summary>
    Ikat,

    /// <summary>Bands that wander.</summary>
    WavyStripe,

    /// <summary>Checks of an inch or more: they look like piecing.</summary>
    BuffaloCheck,

    /// <summary>Bands of garlands between double rules.</summary>
    BorderPrint,

    /// <summary>Cats, fish and boats.</summary>
    Novelty,

    /// <summary>Motifs in thin printed frames: they look like piecing.</summary>
    FramedMotifs,
}

/// <summary>Which families may be looked at while the finder is worked on, and which only the scoreboard sees.</summary>
internal static class PrintCatalog
{
    /// <summary>
    /// Families that the finder's figures were and may be tuned on. Plain cloth is in both lists: it has no print to be held out.
    /// </summary>
    public static IReadOnlyList<PrintFamily> Tuning { get; } =
    [
        PrintFamily.Solid,
        PrintFamily.ToneOnTone,
        PrintFamily.Dots,
        PrintFamily.SmallFloral,
        PrintFamily.Stripe,
        PrintFamily.Gingham,
        PrintFamily.Plaid,
        PrintFamily.LargePrint,
        PrintFamily.Geometric,
        PrintFamily.Speckle,
        PrintFamily.Batik,
        PrintFamily.Sprig,
        PrintFamily.Leaves,
        PrintFamily.WornDenim,
        PrintFamily.Rings,
        PrintFamily.Hexagons,
    ];

    /// <summary>Families that only the scoreboard's scenes are cut from.</summary>
    public static IReadOnlyList<PrintFamily> HeldOut { get; } =
    [
        PrintFamily.Solid,
        .. Enum.GetValues<PrintFamily>().Except(Tuning),
    ];

    /// <summary>The families of a mix, those that are taken more often several times.</summary>
    /// <param name="mix">Which cloth.</param>
    /// <param name="ground">True for the cloth behind the figure.</param>
    /// <param name="pool">Which families may be used at all.</param>
    public static IReadOnlyList<PrintFamily> Of(FabricMix mix, bool ground, ScenePool pool) =>
        (mix, ground, pool) switch
        {
            (FabricMix.Solids, _, _) => [PrintFamily.Solid],
            (FabricMix.Quiet, true, ScenePool.Tuning) =>
            [
                PrintFamily.Solid,
                PrintFamily.ToneOnTone,
                PrintFamily.ToneOnTone,
            ],
            (FabricMix.Quiet, false, ScenePool.Tuning) =>
            [
                PrintFamily.Solid,
                PrintFamily.ToneOnTone,
                PrintFamily.ToneOnTone,
                PrintFamily.Batik,
            ],
            (FabricMix.Prints, true, ScenePool.Tuning) =>
            [
                PrintFamily.Solid,
                PrintFamily.ToneOnTone,
                PrintFamily.Speckle,
                PrintFamily.Sprig,
            ],
            (FabricMix.Prints, false, ScenePool.Tuning) =>
            [
                PrintFamily.ToneOnTone,
                PrintFamily.Dots,
                PrintFamily.SmallFloral,
                PrintFamily.Sprig,
                PrintFamily.Leaves,
                PrintFamily.Batik,
                PrintFamily.Speckle,
            ],
            (FabricMix.Loud, true, ScenePool.Tuning) =>
            [
                PrintFamily.SmallFloral,
                PrintFamily.Speckle,
                PrintFamily.Dots,
                PrintFamily.Sprig,
            ],
            (FabricMix.Loud, false, ScenePool.Tuning) =>
            [
                PrintFamily.LargePrint,
                PrintFamily.Plaid,
                PrintFamily.Stripe,
                PrintFamily.Gingham,
                PrintFamily.Geometric,
                PrintFamily.SmallFloral,
                PrintFamily.Dots,
            ],
            (FabricMix.Worn, true, ScenePool.Tuning) => [PrintFamily.WornDenim, PrintFamily.Solid],
            (FabricMix.Worn, false, ScenePool.Tuning) =>
            [
                PrintFamily.WornDenim,
                PrintFamily.WornDenim,
                PrintFamily.Rings,
                PrintFamily.Hexagons,
                PrintFamily.Solid,
            ],
            (FabricMix.Quiet, true, _) =>
            [
                PrintFamily.Solid,
                PrintFamily.Crosshatch,
                PrintFamily.PinDot,
                PrintFamily.Chambray,
            ],
            (FabricMix.Quiet, false, _) =>
            [
                PrintFamily.Solid,
                PrintFamily.Chambray,
                PrintFamily.Crosshatch,
                PrintFamily.Crackle,
            ],
            (FabricMix.Prints, true, _) =>
            [
                PrintFamily.PinDot,
                PrintFamily.StarScatter,
                PrintFamily.Crosshatch,
                PrintFamily.Lettering,
            ],
            (FabricMix.Prints, false, _) =>
            [
                PrintFamily.PinDot,
                PrintFamily.StarScatter,
                PrintFamily.Scallop,
                PrintFamily.Crackle,
                PrintFamily.Lettering,
                PrintFamily.Ditsy,
                PrintFamily.Chambray,
            ],
            (_, true, _) =>
            [
                PrintFamily.Ditsy,
                PrintFamily.Lettering,
                PrintFamily.StarScatter,
                PrintFamily.WavyStripe,
            ],
            _ =>
            [
                PrintFamily.Paisley,
                PrintFamily.Toile,
                PrintFamily.Houndstooth,
                PrintFamily.Herringbone,
                PrintFamily.Argyle,
                PrintFamily.Damask,
                PrintFamily.Ikat,
                PrintFamily.WavyStripe,
                PrintFamily.BuffaloCheck,
                PrintFamily.BorderPrint,
                PrintFamily.Novelty,
                PrintFamily.FramedMotifs,
            ],
        };
}
