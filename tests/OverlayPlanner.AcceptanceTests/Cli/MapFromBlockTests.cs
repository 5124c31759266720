using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Inches without cards: the four corners of one block, its sides and its diagonals.</summary>
public sealed class MapFromBlockTests : IDisposable
{
    private static readonly SceneWishes Scene = new()
    {
        Name = "block",
        Seed = 23,
        Pattern = "ohio-star",
        BlockInches = 12,
        Columns = 2,
        Rows = 3,
        Fabrics = FabricMix.Solids,
        PhotoWidth = 1500,
        PhotoHeight = 2000,
    };

    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task One_measured_block_gives_inches_and_says_how_far_they_hold()
    {
        MadeScene scene = SceneMaker.Make(Scene);
        (string photo, Block block) = (Photo(scene), scene.Truth.Blocks.Single(b => b is { Row: 1, Column: 0 }));
        string[] tape = ["--sides", Text(Sides(block)), "--diagonals", Text(Diagonals(block))];
        string mapped = scratch.At("mapped.json");
        JsonElement said = (
            await Tool.RunAsync(["map", photo, "--corners", Corners(scene, block), .. tape, "--out", mapped, "--json"])
        )
            .MustBeDone()
            .Json;
        JsonElement reach = said.GetProperty("findings")
            .EnumerateArray()
            .Single(f => f.GetProperty("what").GetString() == "inches-from-one-block");
        Assert.Contains("1/4 in up to", reach.GetProperty("where").GetString(), StringComparison.Ordinal);

        // The block has its inches, the map more than the block, and what lies farther out is less sure.
        QuiltMap map = QuiltMapFile.Read(File.ReadAllBytes(mapped), mapped);
        Assert.True(map.Height.Inches > 14);
        Vector<ClothSpace>[] points =
        [
            .. scene
                .Truth.Junctions.Select(j => j.Place - block.Corners[0])
                .Where(v => v.X is > -0.1 and < 12.1 && v.Y is > -0.1 and < 12.1),
        ];
        double most = map.Junctions.Max(corner =>
            points.Count(v => map.Junctions.Any(j => j.Place.DistanceTo(corner.Place + v) < 0.1))
            / (double)points.Length
        );
        Assert.InRange(most, 0.8, 1);
        Length[] sigmas = [.. map.Junctions.Select(j => j.At.Sigma).Order()];
        Assert.True(sigmas[^1] > sigmas[0] * 1.5);
        Assert.True(sigmas[^1] < Length.FromInches(0.2));

        // A slip of the tape is named, and the known block of an earlier map gives its inches too.
        Tool.Outcome slipped = await Tool.RunAsync([
            "map",
            photo,
            "--corners",
            Corners(scene, block),
            "--sides",
            "12,12,12.75,12",
            "--diagonals",
            "17,17",
            "--out",
            scratch.At("no.json"),
        ]);
        Assert.Equal(1, slipped.Exit);
        Assert.Contains("the bottom side is 12 3/4 in", slipped.Error, StringComparison.Ordinal);

        string whole = scratch.Write(
            "whole.json",
            System.Text.Encoding.UTF8.GetString(QuiltMapFile.Write(scene.Truth))
        );
        string touch = block.Id + "=" + Corners(scene, block);
        JsonElement laid = (
            await Tool.RunAsync(["map", photo, "--onto", whole, "--touch", touch, "--force", "--out", mapped, "--json"])
        )
            .MustBeDone()
            .Json;
        Assert.Equal(0, laid.GetProperty("onto").GetProperty("acrossPercent").GetDouble(), 0.7);
        Assert.Contains(
            laid.GetProperty("findings").EnumerateArray(),
            f => f.GetProperty("what").GetString() == "scale-from-known-block"
        );
        QuiltMap now = QuiltMapFile.Read(File.ReadAllBytes(mapped), mapped);
        Assert.Equal(scene.Truth.Seams.Select(s => s.Id), now.Seams.Select(s => s.Id));
    }

    [Fact]
    public async Task Measures_without_their_place_or_with_two_scales_are_refused()
    {
        string photo = Photo(SceneMaker.Make(Scene with { Rows = 2, PhotoHeight = 1500 }));
        string[] tape = ["--sides", "12,12,12,12", "--diagonals", "17,17"];
        const string corners = "100,100 600,100 600,600 100,600";
        foreach (
            (string[] arguments, string says) in new (string[], string)[]
            {
                (tape, "where that block lies"),
                (["--corners", corners, "--size", "12x12", .. tape], "two scales"),
                (["--corners", corners, "--sides", "12,12,12,12"], "--diagonals"),
                (["--corners", corners, "--edge", "raw", .. tape], "--edge"),
                (["--corners", "100,100 600,100 100,600 600,600", .. tape], "cross"),
                (["--corners", corners, "--sides", "12,12,12,12", "--diagonals", "30,30"], "do not close"),
            }
        )
        {
            Tool.Outcome answer = await Tool.RunAsync(["map", photo, .. arguments, "--out", scratch.At("out.json")]);
            Assert.Equal(1, answer.Exit);
            Assert.Contains(says, answer.Error, StringComparison.Ordinal);
            Assert.False(File.Exists(scratch.At("out.json")));
        }
    }

    private static Length[] Sides(Block b) =>
        [.. Enumerable.Range(0, 4).Select(i => Length.FromInches(b.Corners[i].DistanceTo(b.Corners[(i + 1) % 4])))];

    private static Length[] Diagonals(Block b) =>
        [.. Enumerable.Range(0, 2).Select(i => Length.FromInches(b.Corners[i].DistanceTo(b.Corners[i + 2])))];

    private static string Text(IEnumerable<Length> lengths) => string.Join(", ", lengths.Select(l => l.ToSixteenths()));

    private static string Corners(MadeScene scene, Block block) =>
        string.Join(
            ' ',
            block
                .Corners.Select(scene.PhotoFromCloth.Apply)
                .Select(c => FormattableString.Invariant($"{c.X:0.0},{c.Y:0.0}"))
        );

    private string Photo(MadeScene scene)
    {
        string photo = scratch.At(scene.Wishes.Name + ".jpg");
        File.WriteAllBytes(photo, scene.Jpeg);
        return photo;
    }
}
