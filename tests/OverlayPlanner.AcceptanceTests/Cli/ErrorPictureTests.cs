using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using SkiaSharp;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>The picture of how far off a position may be, written by <c>map</c> for each way to scale.</summary>
public sealed class ErrorPictureTests : IDisposable
{
    private static readonly SceneWishes Scene = new()
    {
        Name = "sure",
        Seed = 31,
        Pattern = "ohio-star",
        BlockInches = 12,
        Columns = 2,
        Rows = 2,
        Fabrics = FabricMix.Solids,
        PhotoWidth = 1500,
        PhotoHeight = 1500,
    };

    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task Map_writes_it_for_corners_with_a_size_for_one_measured_block_and_for_cards()
    {
        MadeScene scene = SceneMaker.Make(Scene);
        string photo = scratch.At("photo.jpg");
        File.WriteAllBytes(photo, scene.Jpeg);
        string cards = scratch.At("laid.png");
        File.WriteAllBytes(cards, CardsLaidOn.Photograph(scene, new(2, 2), new(22, 2), new(22, 22), new(2, 22)));
        Point<ClothSpace>[] top = [new(0, 0), new(24, 0), new(24, 24), new(0, 24)];
        IReadOnlyList<Point<ClothSpace>> block = scene.Truth.Blocks[0].Corners;
        foreach (
            (string name, string[] scale) in new (string, string[])[]
            {
                ("size", [photo, "--corners", Seen(scene, top), "--size", "24x24"]),
                (
                    "block",
                    [photo, "--corners", Seen(scene, block), "--sides", Tape(block, 1), "--diagonals", Tape(block, 2)]
                ),
                ("cards", [cards]),
            }
        )
        {
            string picture = scratch.At(name + ".png");
            JsonElement said = (
                await Tool.RunAsync([
                    "map",
                    .. scale,
                    "--out",
                    scratch.At(name + ".json"),
                    "--error-picture",
                    picture,
                    "--json",
                ])
            )
                .MustBeDone()
                .Json;

            Assert.Contains(said.GetProperty("written").EnumerateArray(), w => w.GetString() == picture);
            using SKBitmap seen = SKBitmap.Decode(picture);
            Assert.InRange(seen.Width, 620, 1_600);
        }
    }

    [Fact]
    public async Task Laid_on_an_earlier_map_there_is_none_and_that_is_said_before_the_work_begins()
    {
        string known = scratch.At("known.json");
        (await Tool.RunAsync("blocks", "draft", "shoofly", "--out", known)).MustBeDone();

        (
            await Tool.RunAsync(
                "map",
                scratch.Write("photo.jpg", "never read"),
                "--onto",
                known,
                "--out",
                scratch.At("now.json"),
                "--error-picture",
                scratch.At("error.png")
            )
        ).MustRefuse("no picture of its error", "error.png");
    }

    private static string Seen(MadeScene scene, IEnumerable<Point<ClothSpace>> corners) =>
        string.Join(
            ' ',
            corners.Select(scene.PhotoFromCloth.Apply).Select(c => FormattableString.Invariant($"{c.X:0.0},{c.Y:0.0}"))
        );

    // Sides from each corner to the next, or diagonals to the one after it.
    private static string Tape(IReadOnlyList<Point<ClothSpace>> block, int on) =>
        string.Join(
            ", ",
            Enumerable
                .Range(0, 4 / on)
                .Select(i => Length.FromInches(block[i].DistanceTo(block[(i + on) % 4])).ToSixteenths())
        );
}
