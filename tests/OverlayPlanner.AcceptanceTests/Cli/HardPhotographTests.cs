using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>
/// Photographs that show no quilt, or too little of one: never an exception, never a confident wrong map; what was found, how
/// sure, and what would help.
/// </summary>
public sealed class HardPhotographTests : IDisposable
{
    private const double Sure = 0.9;
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task A_lawn_has_no_seams()
    {
        (QuiltMap map, string[] findings) = await MapAsync(
            PlainPhotos.Lawn(900, 700, 3),
            "80,60 820,60 820,640 80,640",
            "24x18.8"
        );

        MustBeOnePiece(map, findings);
    }

    // The line segment detector's own measure: on noise, at most one false detection on average (R. Grompone von Gioi and
    // others, 2010, section 2: ε = 1).
    [Fact]
    public async Task Noise_has_at_most_one_seam_on_average()
    {
        int sum = 0;
        for (int seed = 1; seed <= 3; seed++)
        {
            (QuiltMap map, _) = await MapAsync(
                PlainPhotos.WhiteNoise(700, 600, seed),
                "40,40 660,40 660,560 40,560",
                "20x16.8"
            );
            sum += Inner(map).Length;
        }

        Assert.True(sum <= 3, FormattableString.Invariant($"{sum} seams in three pictures"));
    }

    [Theory]
    [InlineData(FabricMix.Quiet, EarlierQuilting.Dense)]
    [InlineData(FabricMix.Loud, EarlierQuilting.Light)]
    public async Task A_wholecloth_quilt_is_one_piece(FabricMix cloth, EarlierQuilting quilted)
    {
        (QuiltMap map, string[] findings, _) = await MapAsync(
            new()
            {
                Draft = OnePiece(20, 15),
                Fabrics = cloth,
                Ground = cloth,
                Quilted = quilted,
                PhotoWidth = 800,
                PhotoHeight = 600,
                Seed = 4,
            }
        );

        MustBeOnePiece(map, findings);
    }

    [Fact]
    public async Task One_patch_is_one_piece()
    {
        (QuiltMap map, string[] findings, _) = await MapAsync(
            new()
            {
                Draft = OnePiece(5, 5),
                Fabrics = FabricMix.Prints,
                PhotoWidth = 400,
                PhotoHeight = 300,
                Seed = 5,
            }
        );

        MustBeOnePiece(map, findings);
    }

    [Fact]
    public async Task A_blurred_photograph_says_so()
    {
        (QuiltMap map, string[] findings, MadeScene scene) = await MapAsync(
            new()
            {
                BlurPixels = 7,
                PhotoWidth = 900,
                PhotoHeight = 675,
                Seed = 6,
            }
        );

        Assert.Contains("picture-blurred", findings);
        MustNotBeConfidentlyWrong(map, scene.Truth);
    }

    [Fact]
    public async Task A_photograph_of_five_pixels_to_the_inch_says_so()
    {
        (QuiltMap map, string[] findings, MadeScene scene) = await MapAsync(
            new()
            {
                PhotoWidth = 190,
                PhotoHeight = 142,
                Seed = 7,
            }
        );

        Assert.Contains("photo-is-coarse", findings);
        Assert.Contains(findings, f => f is "look-here" or "no-seams" or "much-is-doubtful");
        MustNotBeConfidentlyWrong(map, scene.Truth);
    }

    [Fact]
    public async Task A_quilt_cut_off_by_the_frame_is_refused_with_a_way_out_where_its_corners_are_not_in_the_picture()
    {
        MadeScene scene = SceneMaker.Make(
            new()
            {
                Around = -0.18,
                PhotoWidth = 800,
                PhotoHeight = 600,
                Seed = 10,
            }
        );

        await File.WriteAllBytesAsync(scratch.At("photo.jpg"), scene.Jpeg);
        Tool.Outcome outcome = await Tool.RunAsync(
            "map",
            scratch.At("photo.jpg"),
            "--corners",
            Corners(scene.Corners),
            "--size",
            "24x24",
            "--out",
            scratch.At("quilt.json")
        );

        outcome.MustRefuse("outside the photo", "smaller rectangle");
        Assert.Equal(["photo.jpg"], scratch.Files);
    }

    [Fact]
    public async Task A_quilt_cut_off_by_the_frame_is_mapped_as_far_as_it_shows()
    {
        // A block and a half each way of 2 × 2 blocks: the rest is not asked for, as where the picture ends.
        MadeScene scene = SceneMaker.Make(
            new()
            {
                PhotoWidth = 1000,
                PhotoHeight = 750,
                Seed = 11,
            }
        );
        Point<ClothSpace>[] part = [new(0, 0), new(18, 0), new(18, 18), new(0, 18)];

        (QuiltMap map, _) = await MapAsync(
            scene.Jpeg,
            Corners([.. part.Select(scene.PhotoFromCloth.Apply)]),
            "18x18",
            "--edge",
            "cut"
        );

        Assert.All(map.Seams.Where(s => s.Role == SeamRole.Edge), s => Assert.Equal(EdgeKind.Cut, s.Edge));
        Assert.NotEmpty(Inner(map));
        MustNotBeConfidentlyWrong(map, scene.Truth);
    }

    [Fact]
    public async Task Applique_gives_no_seams()
    {
        (QuiltMap map, _, MadeScene scene) = await MapAsync(
            new()
            {
                Pattern = "snowball",
                Appliques = 4,
                PhotoWidth = 900,
                PhotoHeight = 900,
                Seed = 8,
            }
        );

        Assert.Equal(4, scene.Truth.Patches.Count(p => p.Leave));
        MustNotBeConfidentlyWrong(map, scene.Truth);
    }

    [Fact]
    public async Task A_printed_panel_is_found_or_asked_about()
    {
        (QuiltMap map, string[] findings, MadeScene scene) = await MapAsync(
            new()
            {
                Pattern = "snowball",
                Panels = 1,
                PhotoWidth = 900,
                PhotoHeight = 900,
                Seed = 9,
            }
        );

        // Lines of a printed frame are lines; where they are taken for seams, the block is told apart from its neighbours.
        int wrong = Wrong(map, scene.Truth);
        Assert.True(
            wrong == 0 || findings.Any(f => f is "odd-blocks" or "look-here" or "much-is-doubtful"),
            FormattableString.Invariant($"{wrong} wrong seams and no word about them")
        );
    }

    private static QuiltMap OnePiece(double width, double height) =>
        MapBuilder.Build(Length.FromInches(width), Length.FromInches(height), [], [], Length.FromInches(0.001));

    private static string Corners(IReadOnlyList<Point<PhotoSpace>> corners) =>
        string.Join(' ', corners.Select(c => FormattableString.Invariant($"{c.X:0.00},{c.Y:0.00}")));

    private static Seam[] Inner(QuiltMap map) => [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];

    private static void MustBeOnePiece(QuiltMap map, string[] findings)
    {
        Assert.Empty(Inner(map));
        Assert.Single(map.Patches);
        Assert.Contains("no-seams", findings);
    }

    // Of the seams said to be at least 90 % sure, 90 % are there, within an eighth of an inch and the scale's own blur.
    private static void MustNotBeConfidentlyWrong(QuiltMap map, QuiltMap truth)
    {
        int sure = Inner(map).Count(s => s.Confidence >= Sure);
        int wrong = Wrong(map, truth);
        Assert.True(wrong <= 0.1 * sure, FormattableString.Invariant($"{wrong} of {sure} sure seams are not there"));
    }

    private static int Wrong(QuiltMap map, QuiltMap truth)
    {
        const double Tolerance = 0.25;
        return Inner(map)
            .Count(s =>
                s.Confidence >= Sure
                && Enumerable
                    .Range(1, 4)
                    .Any(k =>
                        truth.Seams.Min(t => truth.EdgeOf(t).Nearest(map.EdgeOf(s).PointAt(k / 5.0)).Distance)
                        > Tolerance
                    )
            );
    }

    private async Task<(QuiltMap Map, string[] Findings, MadeScene Scene)> MapAsync(SceneWishes wishes)
    {
        MadeScene scene = SceneMaker.Make(wishes);
        (QuiltMap map, string[] findings) = await MapAsync(
            scene.Jpeg,
            Corners(scene.Corners),
            FormattableString.Invariant($"{scene.Truth.Width.Inches}x{scene.Truth.Height.Inches}")
        );
        return (map, findings, scene);
    }

    private async Task<(QuiltMap Map, string[] Findings)> MapAsync(
        byte[] jpeg,
        string corners,
        string size,
        params string[] more
    )
    {
        Tool.Outcome outcome = (await RunAsync(jpeg, corners, size, more)).MustBeDone();
        Assert.DoesNotContain("   at ", outcome.Error, StringComparison.Ordinal);
        JsonElement[] findings = [.. outcome.Json.GetProperty("findings").EnumerateArray()];

        // Each finding says what, where, and what would help.
        Assert.All(
            findings,
            f =>
            {
                Assert.NotEqual("", f.GetProperty("where").GetString());
                Assert.NotEqual("", f.GetProperty("remedy").GetString());
            }
        );
        string file = scratch.At("quilt.json");
        QuiltMap map = QuiltMapFile.Read(await File.ReadAllBytesAsync(file), file);
        Assert.True(MapCheck.Inspect(map).IsPlane);
        return (map, [.. findings.Select(f => f.GetProperty("what").GetString()!)]);
    }

    private async Task<Tool.Outcome> RunAsync(byte[] jpeg, string corners, string size, params string[] more)
    {
        string photo = scratch.At("photo.jpg");
        await File.WriteAllBytesAsync(photo, jpeg);
        return await Tool.RunAsync([
            "map",
            photo,
            "--corners",
            corners,
            "--size",
            size,
            "--out",
            scratch.At("quilt.json"),
            "--force",
            "--json",
            .. more,
        ]);
    }
}
