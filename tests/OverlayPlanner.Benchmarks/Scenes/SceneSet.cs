namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>The fixed lists of made scenes.</summary>
/// <remarks>
/// <para>
/// There are two sets. <see cref="Tuning"/> may be looked at while the finder is worked on: thresholds, and the peers'
/// parameters, are chosen on it, and the first 72 of its scenes are those that the finder's figures were tuned on from the
/// beginning. <see cref="HeldOut"/> is run by the scoreboard alone: nothing is chosen on it, and no picture of it is looked at
/// to mend the finder.
/// </para>
/// <para>
/// The sets share no seed, no print family and no palette (<see cref="PrintCatalog"/>, <see cref="Palette"/>; plain cloth has
/// no print to be held out), and no pattern: a test says so. The network is trained on scenes of another maker
/// (<c>calibration/seam-model</c>), which shares no code, print or seed with this one.
/// </para>
/// </remarks>
public static partial class SceneSet
{
    private static readonly string[] Patterns =
    [
        "four-patch",
        "nine-patch",
        "shoofly",
        "friendship-star",
        "ohio-star",
        "churn-dash",
        "sawtooth-star",
        "pinwheel",
        "hourglass",
        "dutchmans-puzzle",
        "bears-paw",
        "log-cabin",
        "snowball",
        "square-in-a-square",
        "economy",
        "jacobs-ladder",
        "lemoyne-star",
        "card-trick",
    ];

    /// <summary>
    /// 48 scenes over 18 patterns: plain and quiet cloth, a third of them with seams between equal cloths; tilts to 28°, other
    /// light, ditches, piecing errors to 1/8 in; no lens distortion.
    /// </summary>
    public static IReadOnlyList<SceneWishes> ForScoreboard() =>
        Make("board", 48, 4100, [FabricMix.Solids, FabricMix.Quiet], 3);

    /// <summary>24 scenes in small and loud prints: for information.</summary>
    public static IReadOnlyList<SceneWishes> LoudPrints() =>
        Make("loud", 24, 7300, [FabricMix.Prints, FabricMix.Loud], 6);

    private static SceneWishes[] Make(string name, int count, int firstSeed, FabricMix[] mixes, int shareEvery)
    {
        SceneWishes[] scenes = new SceneWishes[count];
        for (int i = 0; i < count; i++)
        {
            Dice dice = new((ulong)(firstSeed + i));
            string pattern = Patterns[i % Patterns.Length];
            FabricMix mix = mixes[(i / 2 + i) % mixes.Length];
            bool shares = i % shareEvery == shareEvery - 1;
            (int columns, int rows) = dice.Below(4) switch
            {
                0 => (2, 2),
                1 => (3, 2),
                2 => (2, 1),
                _ => (3, 3),
            };
            double block = dice.Pick(new[] { 6.0, 8, 9, 10, 12, 12 });
            if (pattern is "bears-paw" or "log-cabin" or "jacobs-ladder" && block < 9)
            {
                block = 12;
            }

            bool portrait = rows >= columns && dice.Chance(0.4);
            scenes[i] = new()
            {
                Name = FormattableString.Invariant($"{name}-{i + 1:00}-{pattern}"),
                Seed = firstSeed + i,
                Pattern = pattern,
                BlockInches = block,
                Columns = columns,
                Rows = rows,
                SashInches = dice.Chance(0.3) ? dice.Pick(new[] { 1.0, 1.5, 2 }) : 0,
                Fabrics = mix,
                Scrappy = dice.Chance(0.35),
                SameFabricShare = shares ? 0.6 : 0,
                WobbleInches = dice.Pick(new[] { 0.03, 0.06, 0.125 }),
                DitchDepth = shares ? dice.Between(0.45, 1) : dice.Between(0.25, 1),
                PressedOpenShare = dice.Chance(0.2) ? 0.8 : 0.08,
                Pucker = dice.Between(0.2, 0.9),
                Quilted = i % 11 == 10 ? EarlierQuilting.Light : EarlierQuilting.None,
                Surround = dice.Pick(Enum.GetValues<Surround>()),
                PhotoWidth = portrait ? 3000 : 4000,
                PhotoHeight = portrait ? 4000 : 3000,
                TiltDegrees = dice.Between(2, 28),
                StandDegrees = dice.Chance(0.7) ? dice.Between(-25, 25) : dice.Between(-90, 90),
                RollDegrees = dice.Normal() * 1.5,
                FocalLength35Millimeters = dice.Pick(new[] { 24.0, 26, 28, 52 }),
                Around = dice.Between(0.03, 0.12),
                UnevenLight = dice.Unit(),
                Vignetting = dice.Between(0.1, 0.6),
                BlurPixels = dice.Between(0.5, 1.4),
                NoiseSigma = dice.Between(0.8, 4),
                Sharpening = dice.Between(0, 0.7),
                JpegQuality = dice.Pick(new[] { 78, 85, 90, 95 }),
            };
        }

        return scenes;
    }
}
