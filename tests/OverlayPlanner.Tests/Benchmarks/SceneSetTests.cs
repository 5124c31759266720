using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Benchmarks;

/// <summary>What the scoreboard's scenes promise.</summary>
public sealed class SceneSetTests
{
    private const int Small = 240;

    [Fact]
    public void No_seed_pattern_family_or_palette_is_in_both_sets()
    {
        IReadOnlyList<SceneWishes> tuning = SceneSet.Tuning;
        IReadOnlyList<SceneWishes> heldOut = SceneSet.HeldOut;

        Assert.Empty(tuning.Select(s => s.Seed).Intersect(heldOut.Select(s => s.Seed)));
        Assert.Empty(tuning.Select(s => s.Pattern).Intersect(heldOut.Select(s => s.Pattern)));
        Assert.Equal([PrintFamily.Solid], PrintCatalog.Tuning.Intersect(PrintCatalog.HeldOut));
        Assert.Empty(Palette.All.Select(p => p.Name).Intersect(Palette.HeldOut.Select(p => p.Name)));
        Assert.All(tuning, s => Assert.Equal(ScenePool.Tuning, s.Pool));
        Assert.All(heldOut, s => Assert.Equal(ScenePool.HeldOut, s.Pool));
        foreach (FabricMix mix in Enum.GetValues<FabricMix>())
        {
            foreach (bool ground in new[] { true, false })
            {
                Assert.Empty(PrintCatalog.Of(mix, ground, ScenePool.Tuning).Except(PrintCatalog.Tuning));
                Assert.Empty(PrintCatalog.Of(mix, ground, ScenePool.HeldOut).Except(PrintCatalog.HeldOut));
            }
        }
    }

    [Fact]
    public void There_are_at_least_25_print_families_and_40_patterns()
    {
        Assert.True(Enum.GetValues<PrintFamily>().Length >= 25);
        string[] patterns = [.. SceneSet.Tuning.Concat(SceneSet.HeldOut).Select(s => s.Pattern).Distinct()];
        Assert.True(patterns.Intersect(BlockLibrary.All.Select(b => b.Id)).Count() >= 40);
    }

    [Fact]
    public void Every_family_prints_a_cloth_of_its_own_that_joins_at_its_edges()
    {
        const int Side = 256;
        HashSet<string> seen = [];
        foreach (PrintFamily family in Enum.GetValues<PrintFamily>())
        {
            FabricTile tile = Prints.Make(family, new(150, 60, 50), [new(30, 50, 90), new(230, 190, 90)], 5, Side, 40);

            Assert.True(seen.Add(Convert.ToHexString(System.Security.Cryptography.SHA256.HashData(tile.Rgb))));

            // The step over the joint is no greater than steps inside are: a joint would show as a line on the cloth.
            double joint = Enumerable.Range(0, Side).Average(y => Step(tile, Side - 1, y, 0, y));
            double inside = Enumerable
                .Range(1, Side - 1)
                .Max(x => Enumerable.Range(0, Side).Average(y => Step(tile, x - 1, y, x, y)));
            Assert.True(joint <= 1.6 * inside + 3, FormattableString.Invariant($"{family}: {joint} against {inside}"));
        }
    }

    [Fact]
    public void Motifs_and_pictures_are_to_be_left_alone_and_add_no_seams()
    {
        SceneWishes plain = new()
        {
            Pattern = "snowball",
            BlockInches = 9,
            PhotoWidth = Small,
            PhotoHeight = Small,
        };

        QuiltMap without = SceneMaker.Make(plain).Truth;
        QuiltMap with = SceneMaker.Make(plain with { Appliques = 2, Panels = 1 }).Truth;

        Assert.Equal(without.Seams.Count, with.Seams.Count);
        Assert.DoesNotContain(without.Patches, p => p.Leave);
        Assert.Equal(3, with.Patches.Count(p => p.Leave));
    }

    [Fact]
    public void Hands_and_clamps_cover_no_point_of_the_map()
    {
        SceneWishes wishes = new()
        {
            Pattern = "ohio-star",
            Fabrics = FabricMix.Solids,
            PhotoWidth = 900,
            PhotoHeight = 900,
            TiltDegrees = 0,
            StandDegrees = 0,
            RollDegrees = 0,
            NoiseSigma = 0,
            JpegQuality = 98,
        };
        MadeScene without = SceneMaker.Make(wishes);
        MadeScene with = SceneMaker.Make(wishes with { Hands = 2, Clamps = 2 });
        (Picture a, Picture b) = (without.Decode().Picture, with.Decode().Picture);

        // At every point the cloth shows; a shadow may fall on it.
        Assert.All(
            with.JunctionsInPhoto,
            p =>
            {
                int i = ((int)Math.Round(p.Y) * a.Width + (int)Math.Round(p.X)) * 3;
                int before = a.Rgb[i] + a.Rgb[i + 1] + a.Rgb[i + 2];
                int after = b.Rgb[i] + b.Rgb[i + 1] + b.Rgb[i + 2];
                Assert.InRange(after, 0.5 * before - 20, before + 20);
            }
        );
        int changed = Enumerable.Range(0, a.Rgb.Length).Count(i => Math.Abs(a.Rgb[i] - b.Rgb[i]) > 60);
        Assert.True(changed > 2_000, FormattableString.Invariant($"{changed}"));
    }

    [Fact]
    public void On_point_tops_and_pieced_borders_are_cut_from_their_own_blocks_cloth()
    {
        // A block's patches keep their classes however the block stands: as many cloths as in a straight setting.
        BlockDraft star = BlockLibrary.Find("sawtooth-star");
        QuiltMap draft = SettingDraft.Draft(
            new()
            {
                Kind = SettingKind.OnPoint,
                Columns = 2,
                Rows = 2,
                Block = Length.FromInches(8),
                PlaceAt = (_, _) => new(star),
            }
        );
        SceneWishes wishes = new()
        {
            Draft = SceneTops.WithPiecedBorder(draft, Length.FromInches(2)),
            Fabrics = FabricMix.Solids,
            PhotoWidth = Small,
            PhotoHeight = Small,
        };

        QuiltMap truth = SceneMaker.Make(wishes).Truth;
        QuiltMap straight = SceneMaker.Make(wishes with { Draft = null }).Truth;

        int Cloths(QuiltMap map) =>
            map.Blocks.SelectMany(b => b.Patches).Select(id => map.PatchOf(id).Color).Distinct().Count();
        Assert.Equal(Cloths(straight), Cloths(truth));
        Assert.Equal(5, truth.Blocks.Count);
        Assert.True(MapCheck.Inspect(truth).IsPlane);
    }

    private static double Step(FabricTile tile, int x0, int y0, int x1, int y1)
    {
        int a = (y0 * tile.Side + x0) * 3;
        int b = (y1 * tile.Side + x1) * 3;
        return Math.Abs(tile.Rgb[a] - tile.Rgb[b]);
    }
}
