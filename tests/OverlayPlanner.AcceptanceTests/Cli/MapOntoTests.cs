using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>A quilt mapped whole, then a band of it photographed again and laid on the map.</summary>
public sealed class MapOntoTests : IDisposable
{
    private static readonly SceneWishes First = new()
    {
        Name = "first",
        Seed = 23,
        Pattern = "ohio-star",
        BlockInches = 12,
        Columns = 2,
        Rows = 3,
        Fabrics = FabricMix.Solids,
        PhotoWidth = 1500,
        PhotoHeight = 2000,
    };

    private static readonly SceneWishes Second = First with
    {
        Name = "second",
        TiltDegrees = 7,
        StandDegrees = 20,
        RollDegrees = 2,
        NoiseSigma = 3,
    };

    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task A_photograph_of_a_band_is_laid_on_the_known_map()
    {
        MadeScene first = Make(First);
        string known = scratch.At("known.json");
        (await Tool.RunAsync(["map", .. Band(first, 0, 36), "--edge", "raw", "--out", known])).MustBeDone();
        QuiltMap before = Read("known.json");
        MadeScene second = Make(Second);
        string[] band = ["map", .. Band(second, 12, 36), "--edge", "cut", "--onto", known];

        // Equal blocks: as well one row up.
        Tool.Outcome refused = await Tool.RunAsync([.. band, "--out", scratch.At("no.json")]);
        Assert.Equal(1, refused.Exit);
        Assert.Contains("row 1", refused.Error, StringComparison.Ordinal);
        Assert.Contains("row 2", refused.Error, StringComparison.Ordinal);
        Assert.False(File.Exists(scratch.At("no.json")));

        JsonElement said = (await Tool.RunAsync([.. band, "--row", "2", "--out", scratch.At("now.json"), "--json"]))
            .MustBeDone()
            .Json;
        Assert.Equal(12, said.GetProperty("onto").GetProperty("fromDownInches").GetDouble(), 0.1);
        Assert.Equal(0, said.GetProperty("onto").GetProperty("acrossPercent").GetDouble(), 0.5);
        QuiltMap now = Read("now.json");
        Assert.Equal(before.Seams.Select(s => s.Id), now.Seams.Select(s => s.Id));
        foreach (Junction j in before.Junctions)
        {
            Assert.InRange(now.JunctionOf(j.Id).Place.DistanceTo(j.Place), 0, 0.15);
        }

        // A touched block settles it too: the middle of the block in row 3 on the left.
        string block = before.Blocks.Single(b => b is { Row: 2, Column: 0 }).Id;
        Point<PhotoSpace> at = second.PhotoFromCloth.Apply(new(6, 30));
        JsonElement touched = (
            await Tool.RunAsync([
                .. band,
                "--touch",
                FormattableString.Invariant($"{block}={at.X:0},{at.Y:0}"),
                "--out",
                scratch.At("touched.json"),
                "--json",
            ])
        )
            .MustBeDone()
            .Json;
        Assert.Equal(12, touched.GetProperty("onto").GetProperty("fromDownInches").GetDouble(), 0.1);
    }

    [Fact]
    public async Task Cards_in_the_new_photograph_give_its_inches()
    {
        // The cards lie in the corner squares of the outer blocks.
        MadeScene scene = Make(First with { Rows = 2, PhotoHeight = 1500 });
        string known = scratch.Write(
            "known.json",
            System.Text.Encoding.UTF8.GetString(QuiltMapFile.Write(scene.Truth))
        );
        string photo = scratch.At("cards.png");
        File.WriteAllBytes(photo, CardsLaidOn.Photograph(scene, new(2, 2), new(22, 2), new(22, 22), new(2, 22)));
        Point<PhotoSpace> at = scene.PhotoFromCloth.Apply(new(6, 6));
        string touch = FormattableString.Invariant($"{scene.Truth.Blocks[0].Id}={at.X:0},{at.Y:0}");
        JsonElement said = (
            await Tool.RunAsync(
                "map",
                photo,
                "--onto",
                known,
                "--touch",
                touch,
                "--out",
                scratch.At("now.json"),
                "--json"
            )
        )
            .MustBeDone()
            .Json;
        Assert.Equal(0, said.GetProperty("onto").GetProperty("acrossPercent").GetDouble(), 0.5);
        QuiltMap now = Read("now.json");
        // What the photograph shows round the quilt may be taken for new cloth; the points that were known keep id and place.
        Vector<ClothSpace> by = now.JunctionOf(scene.Truth.Junctions[0].Id).Place - scene.Truth.Junctions[0].Place;
        double[] off =
        [
            .. scene.Truth.Junctions.Select(j => now.JunctionOf(j.Id).Place.DistanceTo(j.Place + by)).Order(),
        ];
        Assert.InRange(off[(int)(0.9 * off.Length)], 0, 0.25);
    }

    [Fact]
    public async Task What_can_not_be_laid_on_is_said_and_nothing_is_written()
    {
        MadeScene scene = Make(First with { Rows = 2, PhotoHeight = 1500 });
        string[] photo = Band(scene, 0, 24);
        string later = scratch.Write("later.json", "{\"format\":\"overlayplanner.quilt-map\",\"version\":99}");
        string other = scratch.At("other.json");
        (
            await Tool.RunAsync("blocks", "draft", "sawtooth-star", "--size", "9", "--repeat", "3x3", "--out", other)
        ).MustBeDone();
        foreach (
            (string[] arguments, string says) in new (string[], string)[]
            {
                (["--onto", later], "99"),
                (["--onto", scratch.At("nowhere.json")], "does not exist"),
                (["--onto", other], "too little in common"),
                (["--onto", other, "--row", "7"], "no row 7"),
                (["--onto", other, "--touch", "b99=5,5"], "b99"),
                (["--row", "2"], "--onto"),
            }
        )
        {
            Tool.Outcome answer = await Tool.RunAsync(["map", .. photo, .. arguments, "--out", scratch.At("out.json")]);
            Assert.Equal(1, answer.Exit);
            Assert.Contains(says, answer.Error, StringComparison.Ordinal);
            Assert.False(File.Exists(scratch.At("out.json")));
        }
    }

    private static MadeScene Make(SceneWishes wishes) => SceneMaker.Make(wishes);

    private string[] Band(MadeScene scene, double top, double bottom)
    {
        string photo = scratch.At(scene.Wishes.Name + ".jpg");
        File.WriteAllBytes(photo, scene.Jpeg);
        double w = scene.Truth.Width.Inches;
        Point<ClothSpace>[] corners = [new(0, top), new(w, top), new(w, bottom), new(0, bottom)];
        return
        [
            photo,
            "--corners",
            string.Join(
                ' ',
                corners.Select(scene.PhotoFromCloth.Apply).Select(c => FormattableString.Invariant($"{c.X},{c.Y}"))
            ),
            "--size",
            FormattableString.Invariant($"{w}x{bottom - top}"),
        ];
    }

    private QuiltMap Read(string name) => QuiltMapFile.Read(File.ReadAllBytes(scratch.At(name)), name);
}
