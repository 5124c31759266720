using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <content>Settings, borders, things in front and earlier quilting, for both sets.</content>
public static partial class SceneSet
{
    private static readonly string[] FurtherTuningPatterns =
    [
        "attic-windows",
        "double-pinwheel",
        "spider-web",
        "drunkards-path",
        "robbing-peter-to-pay-paul",
        "rail-fence",
        "double-nine-patch",
        "single-irish-chain",
        "blazing-star",
        "flying-geese",
        "baseball",
        "split-nine-patch",
    ];

    private static readonly string[] HeldOutPatterns =
    [
        "puss-in-the-corner",
        "sisters-choice",
        "rolling-stone",
        "maple-leaf",
        "spool",
        "courthouse-steps",
        "contrary-wife",
        "combination-star",
        "snails-trail",
        "martha-washington-star",
        "curved-snowball",
        "kaleidoscope",
        "birds-in-the-air",
        "bow-tie",
        "rising-star",
        "duck-and-ducklings",
        "fifty-four-forty-or-fight",
        "steps-to-the-altar",
        "orange-peel",
        "storm-at-sea",
        "prairie-queen",
        "cake-stand",
        "bright-hopes",
        "hovering-hawks",
        "clays-choice",
        "grandmothers-fan",
        "crown-of-thorns",
        "double-four-patch",
    ];

    /// <summary>The scenes that may be looked at while the finder is worked on; see the class.</summary>
    public static IReadOnlyList<SceneWishes> Tuning =>
        [.. ForScoreboard(), .. LoudPrints(), .. TuningSettings(), .. TuningForeign()];

    /// <summary>The scenes that only the scoreboard runs; see the class.</summary>
    public static IReadOnlyList<SceneWishes> HeldOut =>
        [.. HeldOutQuiet(), .. HeldOutPrinted(), .. HeldOutTops(), .. HeldOutForeign()];

    /// <summary>24 scenes of Tuning with settings, borders, things in front and earlier quilting.</summary>
    public static IReadOnlyList<SceneWishes> TuningSettings() =>
        Further(
            "tuning",
            ScenePool.Tuning,
            FurtherTuningPatterns,
            24,
            9100,
            [FabricMix.Quiet, FabricMix.Prints, FabricMix.Loud, FabricMix.Worn]
        );

    /// <summary>6 scenes of Tuning whose block is in no library.</summary>
    public static IReadOnlyList<SceneWishes> TuningForeign() => Foreign("tuning-foreign", ScenePool.Tuning, 0, 6, 9300);

    /// <summary>20 scenes of HeldOut: plain cloth and small prints.</summary>
    public static IReadOnlyList<SceneWishes> HeldOutQuiet() =>
        Further(
            "quiet",
            ScenePool.HeldOut,
            HeldOutPatterns,
            20,
            15100,
            [FabricMix.Solids, FabricMix.Quiet, FabricMix.Prints]
        );

    /// <summary>18 scenes of HeldOut: prints of every kind, dense quilting, motifs, panels.</summary>
    public static IReadOnlyList<SceneWishes> HeldOutPrinted() =>
        Further(
            "printed",
            ScenePool.HeldOut,
            [.. HeldOutPatterns.Skip(14), .. HeldOutPatterns.Take(14)],
            18,
            15300,
            [FabricMix.Loud, FabricMix.Prints]
        );

    /// <summary>5 scenes of HeldOut: tops of 4 × 5 blocks in prints, in photographs of 12 megapixels.</summary>
    public static IReadOnlyList<SceneWishes> HeldOutTops()
    {
        (string Pattern, double Sash)[] tops =
        [
            ("sisters-choice", 0),
            ("rolling-stone", 1.5),
            ("bow-tie", 0),
            ("duck-and-ducklings", 2),
            ("clays-choice", 0),
        ];
        SceneWishes[] scenes = new SceneWishes[tops.Length];
        for (int i = 0; i < tops.Length; i++)
        {
            Dice dice = new((ulong)(15500 + i));
            BlockDraft block = BlockLibrary.Find(tops[i].Pattern);
            scenes[i] = Taken(
                new()
                {
                    Name = FormattableString.Invariant($"top-{i + 1}-{tops[i].Pattern}"),
                    Seed = 15500 + i,
                    Pattern = block.Id,
                    BlockInches = Math.Max(8, SceneTops.UsualSide(block)),
                    Columns = 4,
                    Rows = 5,
                    SashInches = tops[i].Sash,
                    Fabrics = i % 2 == 0 ? FabricMix.Loud : FabricMix.Prints,
                    Scrappy = i % 3 != 2,
                    Pool = ScenePool.HeldOut,
                },
                dice,
                80
            );
        }

        return scenes;
    }

    /// <summary>6 scenes of HeldOut whose block is in no library.</summary>
    public static IReadOnlyList<SceneWishes> HeldOutForeign() => Foreign("foreign", ScenePool.HeldOut, 6, 6, 15700);

    private static SceneWishes[] Foreign(string name, ScenePool pool, int from, int count, int firstSeed) =>
        [
            .. Enumerable
                .Range(0, count)
                .Select(i =>
                {
                    Dice dice = new((ulong)(firstSeed + i));
                    BlockDraft block = ForeignBlocks.All[from + i];
                    double side = SceneTops.UsualSide(block, 1.5);
                    return Taken(
                        new()
                        {
                            Name = FormattableString.Invariant($"{name}-{i + 1}"),
                            Seed = firstSeed + i,
                            Pattern = block.Id,
                            Foreign = block,
                            Draft = BlockDrafting.Draft(block, Length.FromInches(side), 2, 2, Length.Zero),
                            BlockInches = side,
                            Fabrics = i % 2 == 0 ? FabricMix.Quiet : FabricMix.Prints,
                            Pool = pool,
                        },
                        dice,
                        32
                    );
                }),
        ];

    private static SceneWishes[] Further(
        string name,
        ScenePool pool,
        string[] patterns,
        int count,
        int firstSeed,
        FabricMix[] mixes
    )
    {
        // Half the scenes at 40 px/in, where the precision is measured; the others from 20 to 60.
        double[] densities = [40, 24, 40, 32, 40, 52, 40, 20, 40, 60];
        SceneWishes[] scenes = new SceneWishes[count];
        for (int i = 0; i < count; i++)
        {
            Dice dice = new((ulong)(firstSeed + i));
            BlockDraft block = BlockLibrary.Find(patterns[i % patterns.Length]);
            double side = SceneTops.UsualSide(block);
            int kind = i % 8;
            bool onPoint = kind is 2 or 5;
            double sash = kind switch
            {
                1 or 5 => dice.Pick(new[] { 1.5, 2 }),
                4 => 1.5,
                _ => 0,
            };
            (int columns, int rows) =
                onPoint ? (2, 2)
                : kind == 7 ? (3, 3)
                : side > 10 ? (2, 2)
                : dice.Pick(new[] { (3, 2), (2, 3), (3, 3) });
            QuiltMap draft = SettingDraft.Draft(
                new()
                {
                    Kind = onPoint ? SettingKind.OnPoint : SettingKind.Straight,
                    Columns = columns,
                    Rows = rows,
                    Block = Length.FromInches(side),
                    Sash = Length.FromInches(sash),
                    Cornerstones = kind == 4 ? Cornerstones.None : Cornerstones.With,
                    // Every second block plain, or some blocks turned, as real tops have it.
                    PlaceAt = (r, c) =>
                        kind == 7 && ((r + c) & 1) == 1 ? new(null)
                        : kind == 0 && i % 16 == 0 ? new(block, (r + c) & 3)
                        : new(block),
                    Borders = kind switch
                    {
                        3 when i % 16 < 8 => [BorderBand.Equal(Length.FromInches(3))],
                        3 =>
                        [
                            new(
                                Length.FromInches(2),
                                Length.FromInches(3.5),
                                Length.FromInches(2.5),
                                Length.FromInches(4)
                            ),
                        ],
                        5 => [BorderBand.Equal(Length.FromInches(2))],
                        _ => [],
                    },
                    BorderCorners = (BorderCorners)(i / 8 % 3),
                }
            );
            if (kind == 6)
            {
                draft = SceneTops.WithPiecedBorder(draft, Length.FromInches(2));
            }

            bool shares = i % 4 == 3;
            scenes[i] = Taken(
                new()
                {
                    Name = FormattableString.Invariant($"{name}-{i + 1:00}-{block.Id}"),
                    Seed = firstSeed + i,
                    Pattern = block.Id,
                    Draft = draft,
                    BlockInches = side,
                    Columns = columns,
                    Rows = rows,
                    SashInches = sash,
                    Fabrics = mixes[i % mixes.Length],
                    Scrappy = dice.Chance(0.35),
                    SameFabricShare = shares ? 0.6 : 0,
                    DitchDepth = shares ? dice.Between(0.45, 1) : dice.Between(0.25, 1),
                    Quilted =
                        i % 9 == 4 ? EarlierQuilting.Dense
                        : i % 9 == 8 ? EarlierQuilting.Light
                        : EarlierQuilting.None,
                    Appliques = i % 10 == 5 ? 3 : 0,
                    Panels = i % 10 == 9 ? 1 : 0,
                    Hands = i % 6 == 0 ? 1 + i / 6 % 2 : 0,
                    Clamps = i % 5 == 1 ? 2 : 0,
                    Roller = i % 10 == 1,
                    CastShadow = i % 7 == 3 ? dice.Between(0.25, 0.5) : 0,
                    Pool = pool,
                },
                dice,
                densities[i % densities.Length]
            );
        }

        return scenes;
    }

    // The photograph: 4 : 3, as many pixels as the density over the top asks for, up to 12 megapixels.
    private static SceneWishes Taken(SceneWishes wishes, Dice dice, double density)
    {
        double width =
            wishes.Draft?.Width.Inches ?? wishes.Columns * (wishes.BlockInches + wishes.SashInches) - wishes.SashInches;
        double height =
            wishes.Draft?.Height.Inches ?? wishes.Rows * (wishes.BlockInches + wishes.SashInches) - wishes.SashInches;
        double around = dice.Between(0.04, 0.1);
        double margin = around * Math.Max(width, height);
        bool portrait = height > width;
        double across = density * (width + 2 * margin) * 1.06;
        double down = density * (height + 2 * margin) * 1.06;
        double longer = portrait ? Math.Max(down, across * 4 / 3) : Math.Max(across, down * 4 / 3);
        int pixels = Math.Min(4000, (int)(longer / 8) * 8);
        int shorter = pixels * 3 / 4;
        return wishes with
        {
            WobbleInches = dice.Pick(new[] { 0.03, 0.06, 0.125 }),
            PressedOpenShare = dice.Chance(0.2) ? 0.8 : 0.08,
            Pucker = dice.Between(0.2, 0.9),
            Surround = dice.Pick(Enum.GetValues<Surround>()),
            PhotoWidth = portrait ? shorter : pixels,
            PhotoHeight = portrait ? pixels : shorter,
            TiltDegrees = dice.Between(2, 22),
            StandDegrees = dice.Chance(0.7) ? dice.Between(-25, 25) : dice.Between(-90, 90),
            RollDegrees = dice.Normal() * 1.5,
            FocalLength35Millimeters = dice.Pick(new[] { 24.0, 26, 28, 52 }),
            Around = around,
            UnevenLight = dice.Unit(),
            Vignetting = dice.Between(0.1, 0.6),
            BlurPixels = dice.Between(0.5, 1.4),
            NoiseSigma = dice.Between(0.8, 4),
            Sharpening = dice.Between(0, 0.7),
            JpegQuality = dice.Pick(new[] { 78, 85, 90, 95 }),
        };
    }
}
