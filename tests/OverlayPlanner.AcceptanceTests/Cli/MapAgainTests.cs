using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Mapped, mended, and mapped again: the edits hold and their objects keep their ids.</summary>
public sealed class MapAgainTests : IDisposable
{
    private static readonly SceneWishes First = new()
    {
        Name = "first",
        Seed = 17,
        Pattern = "ohio-star",
        BlockInches = 12,
        Columns = 2,
        Rows = 2,
        Fabrics = FabricMix.Solids,
        PhotoWidth = 1500,
        PhotoHeight = 1500,
    };

    // The same quilt under another light, from elsewhere, with more noise.
    private static readonly SceneWishes Second = First with
    {
        Name = "second",
        TiltDegrees = 8,
        StandDegrees = 25,
        RollDegrees = -1.5,
        NoiseSigma = 3.5,
        UnevenLight = 0.7,
        JpegQuality = 82,
    };

    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task Edits_hold_on_the_same_photograph_and_on_another_one_of_the_same_quilt()
    {
        string[] first = Write(First);
        string[] second = Write(Second);
        QuiltMap found = await MapAsync(first, "found.json");

        // By the drafted places of an ohio star of 12 in: the first block's inner points and seams.
        string point = Nearest(found, 4, 4);
        string bent = SeamAt(found, 5, 3);
        string gone = SeamAt(found, 18, 4);
        string patch = PatchAt(found, 2, 2);
        string block = found.Blocks.OrderBy(b => b.Corners[0].X + b.Corners[0].Y).Last().Id;
        string edits = scratch.At("edits.json");
        (
            await Tool.RunAsync(
                "mend",
                scratch.At("found.json"),
                "--move",
                $"{point}=4.25,4.2",
                "--arc",
                $"{bent}=0.15",
                "--remove",
                gone,
                "--add",
                "4,20 8,16.1",
                "--leave",
                patch,
                "--name",
                $"{block}=churn-dash",
                "--ditch",
                $"{SeamAt(found, 2, 4)}=left",
                "--out",
                scratch.At("mended.json"),
                "--save-edits",
                edits
            )
        ).MustBeDone();
        QuiltMap mended = Read("mended.json");

        await MapAsync([.. first, "--edits", edits], "again.json");
        Assert.Equal(File.ReadAllText(scratch.At("mended.json")), File.ReadAllText(scratch.At("again.json")));

        QuiltMap other = await MapAsync([.. second, "--edits", edits], "other.json");
        Assert.Equal(new Point<ClothSpace>(4.25, 4.2), other.JunctionOf(point).Place);
        Assert.Equal(0.15, Math.Abs(other.SeamOf(bent).Bulge), 9);
        Assert.InRange(Apart(mended, other, bent), 0, 0.1);
        Assert.Null(other.FindSeam(gone));
        Assert.True(other.PatchOf(patch).Leave);
        Assert.Equal("churn-dash", other.FindBlock(block)!.Pattern);
        Assert.Single(other.Seams, s => s.Ditch is not null);
        Assert.Equal(mended.Seams.Count, other.Seams.Count);
        Assert.True(MapCheck.Inspect(other).IsPlane);
    }

    [Fact]
    public async Task A_block_that_was_corrected_is_taught_and_the_others_are_fitted_to_the_photograph()
    {
        string[] photo = Write(First);
        QuiltMap found = await MapAsync(photo, "found.json");
        Block taught = found.Blocks[0];
        Point<ClothSpace> middle = new(taught.Corners.Average(c => c.X), taught.Corners.Average(c => c.Y));
        string edits = scratch.Write(
            "edits.json",
            FormattableString.Invariant(
                $$"""
                {"format":"overlayplanner.edits","version":1,"edits":[
                  {"do":"leave","patch":"{{PatchAt(found, 2, 2)}}","at":[2,2]},
                  {"do":"teach","block":"{{taught.Id}}","at":[{{middle.X}},{{middle.Y}}]}]}
                """
            )
        );
        JsonElement answer = (
            await Tool.RunAsync(["map", .. photo, "--edits", edits, "--out", scratch.At("taught.json"), "--json"])
        )
            .MustBeDone()
            .Json;
        Assert.Contains(
            answer.GetProperty("findings").EnumerateArray(),
            f => f.GetProperty("what").GetString() == "copies-fitted"
        );
        QuiltMap map = Read("taught.json");

        // All was found right already: the ids and the mark are those from before, and so are the places.
        Assert.Equal(found.Blocks.Select(b => b.Id), map.Blocks.Select(b => b.Id));
        Assert.True(map.PatchOf(PatchAt(found, 2, 2)).Leave);
        Assert.Equal(found.Seams.Select(s => s.Id).Order(), map.Seams.Select(s => s.Id).Order());
        Assert.All(found.Seams, s => Assert.InRange(Apart(found, map, s.Id), 0, 0.1));
    }

    private string[] Write(SceneWishes wishes)
    {
        MadeScene scene = SceneMaker.Make(wishes);
        string photo = scratch.At(wishes.Name + ".jpg");
        File.WriteAllBytes(photo, scene.Jpeg);
        return
        [
            photo,
            "--corners",
            string.Join(' ', scene.Corners.Select(c => FormattableString.Invariant($"{c.X},{c.Y}"))),
            "--size",
            FormattableString.Invariant($"{scene.Truth.Width.Inches}x{scene.Truth.Height.Inches}"),
        ];
    }

    private async Task<QuiltMap> MapAsync(string[] arguments, string name)
    {
        (await Tool.RunAsync(["map", .. arguments, "--low-side", "none", "--out", scratch.At(name)])).MustBeDone();
        return Read(name);
    }

    private QuiltMap Read(string name) => QuiltMapFile.Read(File.ReadAllBytes(scratch.At(name)), name);

    private static double Apart(QuiltMap a, QuiltMap b, string seam) =>
        a.EdgeOf(a.SeamOf(seam)).PointAt(0.5).DistanceTo(b.EdgeOf(b.SeamOf(seam)).PointAt(0.5));

    private static string Nearest(QuiltMap map, double x, double y) =>
        map.Junctions.MinBy(j => j.Place.DistanceTo(new(x, y)))!.Id;

    private static string SeamAt(QuiltMap map, double x, double y) =>
        map.Seams.MinBy(s => map.EdgeOf(s).PointAt(0.5).DistanceTo(new(x, y)))!.Id;

    private static string PatchAt(QuiltMap map, double x, double y) =>
        map
            .Patches.MinBy(p =>
                PatchFinder.ToPolygon(map, p, 0.02).Distance(new NetTopologySuite.Geometries.Point(x, y))
            )!
            .Id;
}
