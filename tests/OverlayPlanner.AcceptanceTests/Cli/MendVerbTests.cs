using System.Globalization;
using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Corrections on the command line: one clear answer, whatever is typed.</summary>
public sealed class MendVerbTests : IDisposable
{
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    private async Task<string> DraftAsync()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "ohio-star", "--repeat", "2x1", "--out", quilt)).MustBeDone();
        return quilt;
    }

    private static QuiltMap MapOf(string path) => QuiltMapFile.Read(File.ReadAllBytes(path), path);

    [Fact]
    public async Task Edits_by_hand_are_made_drawn_saved_and_made_again_from_their_file()
    {
        string quilt = await DraftAsync();
        (string mended, string edits) = (scratch.At("mended.json"), scratch.At("edits.json"));
        JsonElement answer = (
            await Tool.RunAsync(
                "mend",
                quilt,
                "--move",
                "j11=4.3,4.2",
                "--add",
                "0,6 12,6.4",
                "--arc",
                "s20=0.3",
                "--leave",
                "p3",
                "--name",
                "b2=Nine patch",
                "--ditch",
                "s3=left",
                "--edge",
                "s1=raw",
                "--out",
                mended,
                "--preview",
                scratch.At("mended.png"),
                "--save-edits",
                edits,
                "--json"
            )
        )
            .MustBeDone()
            .Json;

        Assert.Equal(7, answer.GetProperty("edits").GetInt32());
        Assert.Equal(3, answer.GetProperty("written").GetArrayLength());
        QuiltMap map = MapOf(mended);
        Assert.Equal((4.3, 4.2), (map.JunctionOf("j11").Place.X, map.JunctionOf("j11").Place.Y));
        Assert.Equal(0.3, map.SeamOf("s20").Bulge);
        Assert.True(map.PatchOf("p3").Leave);
        Assert.Equal("nine-patch", map.FindBlock("b2")!.Pattern);
        Assert.Equal(Side.Left, map.SeamOf("s3").Ditch);
        Assert.Equal(EdgeKind.Raw, map.SeamOf("s1").Edge);
        Assert.True(MapCheck.Inspect(map).IsPlane);

        string again = scratch.At("again.json");
        (await Tool.RunAsync("mend", quilt, "--edits", edits, "--out", again)).MustBeDone();
        Assert.Equal(File.ReadAllText(mended), File.ReadAllText(again));

        // One more is appended to the file, which stays otherwise as it was.
        string seam = map.Seams.First(s => s.Role == SeamRole.Seam && s.Id == "s4").Id;
        (
            await Tool.RunAsync(
                "mend",
                mended,
                "--remove",
                seam,
                "--out",
                scratch.At("more.json"),
                "--save-edits",
                edits
            )
        ).MustBeDone();
        Assert.Equal(8, JsonDocument.Parse(File.ReadAllText(edits)).RootElement.GetProperty("edits").GetArrayLength());
    }

    [Fact]
    public async Task A_mended_map_goes_on_to_a_route()
    {
        string quilt = await DraftAsync();
        string mended = scratch.At("mended.json");
        (await Tool.RunAsync("mend", quilt, "--add", "0,6 12,6.4", "--out", mended)).MustBeDone();
        (await Tool.RunAsync("route", mended, "--out", scratch.At("route.json"))).MustBeDone();
    }

    [Theory]
    [InlineData("--move", "j11")]
    [InlineData("--move", "j11=")]
    [InlineData("--move", "=1,1")]
    [InlineData("--move", "j11=NaN,4")]
    [InlineData("--move", "j11=4;4")]
    [InlineData("--move", "j11=1e300,4")]
    [InlineData("--move", "j11=900,4")]
    [InlineData("--move", "j11=10,10")]
    [InlineData("--move", "j999=4,4")]
    [InlineData("--move", "j1=1,1")]
    [InlineData("--add", "")]
    [InlineData("--add", "0,0")]
    [InlineData("--add", "0,0 1,1 2,2 3,3")]
    [InlineData("--add", "0,0 1,1 9")]
    [InlineData("--add", "0,0 Infinity,1")]
    [InlineData("--add", "0,0 4,0")]
    [InlineData("--add", "1,1 1,1")]
    [InlineData("--remove", "")]
    [InlineData("--remove", "s999")]
    [InlineData("--remove", "s1")]
    [InlineData("--remove", "s7 s8")]
    [InlineData("--arc", "s20")]
    [InlineData("--arc", "s20=0,3")]
    [InlineData("--arc", "s20=99")]
    [InlineData("--arc", "s20=1e999")]
    [InlineData("--arc", "s1=0.2")]
    [InlineData("--leave", "p999")]
    [InlineData("--leave", "p3=maybe")]
    [InlineData("--name", "b2=ohio-starr")]
    [InlineData("--name", "b9=ohio-star")]
    [InlineData("--name", "b2=ohio-star:4")]
    [InlineData("--name", "b2")]
    [InlineData("--ditch", "s3=up")]
    [InlineData("--edge", "s1=fringe")]
    [InlineData("--edge", "s20=raw")]
    [InlineData("--corners", "b1=0,0 12,0 12,12")]
    [InlineData("--corners", "b1=0,0 0,12 12,12 12,0")]
    [InlineData("--copy", "b7")]
    public async Task An_edit_that_cant_be_made_is_refused_and_nothing_written(string option, string text)
    {
        string quilt = await DraftAsync();
        (
            await Tool.RunAsync(
                "mend",
                quilt,
                option,
                text,
                "--out",
                scratch.At("mended.json"),
                "--save-edits",
                scratch.At("edits.json")
            )
        ).MustRefuse();
        Assert.Equal(["quilt.json"], scratch.Files);
    }

    [Fact]
    public async Task The_machine_s_own_decimal_comma_changes_nothing()
    {
        CultureInfo before = CultureInfo.CurrentCulture;
        CultureInfo comma = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        comma.NumberFormat.NumberDecimalSeparator = ",";
        comma.NumberFormat.NumberGroupSeparator = ".";
        try
        {
            CultureInfo.CurrentCulture = comma;
            string quilt = await DraftAsync();
            string mended = scratch.At("mended.json");
            (
                await Tool.RunAsync(
                    "mend",
                    quilt,
                    "--move",
                    "j11=4.3,4.2",
                    "--arc",
                    "s20=0.25",
                    "--out",
                    mended,
                    "--save-edits",
                    scratch.At("edits.json")
                )
            ).MustBeDone();
            Assert.Equal(4.3, MapOf(mended).JunctionOf("j11").Place.X);
            Assert.Contains("[4.3,4.2]", File.ReadAllText(scratch.At("edits.json")), StringComparison.Ordinal);
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    [Fact]
    public async Task What_is_said_twice_is_refused()
    {
        string quilt = await DraftAsync();
        (
            await Tool.RunAsync("mend", quilt, "--remove", "s7", "--remove", "s7", "--out", scratch.At("m.json"))
        ).MustRefuse("s7", "twice");
        (
            await Tool.RunAsync("mend", quilt, "--move", "j11=4,4", "--move", "j11=4,5", "--out", scratch.At("m.json"))
        ).MustRefuse("j11", "twice");
        string edits = scratch.Write(
            "edits.json",
            """{"format":"overlayplanner.edits","version":1,"edits":[{"do":"remove","seam":"s4"},{"do":"remove","seam":"s4"}]}"""
        );
        (await Tool.RunAsync("mend", quilt, "--edits", edits, "--out", scratch.At("m.json"))).MustRefuse("edits[1]");
    }

    [Fact]
    public async Task A_block_can_t_be_taught_without_a_picture()
    {
        string quilt = await DraftAsync();
        string edits = scratch.Write(
            "edits.json",
            """{"format":"overlayplanner.edits","version":1,"edits":[{"do":"teach","block":"b1"}]}"""
        );
        (await Tool.RunAsync("mend", quilt, "--edits", edits, "--out", scratch.At("m.json"))).MustRefuse(
            "edits[0]",
            "taught",
            "Map the photograph",
            "copy"
        );
    }

    [Fact]
    public async Task An_edit_in_a_file_whose_object_is_gone_is_told_and_kept()
    {
        string quilt = await DraftAsync();
        string edits = scratch.Write(
            "edits.json",
            """{"format":"overlayplanner.edits","version":1,"edits":[{"do":"remove","seam":"s404","at":[3,1.5]},{"do":"leave","patch":"p3","at":[2,2]}]}"""
        );
        JsonElement answer = (
            await Tool.RunAsync("mend", quilt, "--edits", edits, "--out", scratch.At("m.json"), "--json")
        )
            .MustBeDone()
            .Json;
        Assert.Equal("edit-lost", answer.GetProperty("findings")[0].GetProperty("what").GetString());
        Assert.True(MapOf(scratch.At("m.json")).PatchOf("p3").Leave);
    }

    [Fact]
    public async Task Nothing_to_do_an_unknown_option_and_a_missing_target_are_told()
    {
        string quilt = await DraftAsync();
        (await Tool.RunAsync("mend", quilt, "--out", scratch.At("m.json"))).MustRefuse("nothing");
        Assert.Equal(2, (await Tool.RunAsync("mend", quilt, "--fold", "s7", "--out", scratch.At("m.json"))).Exit);
        Assert.Equal(2, (await Tool.RunAsync("mend", quilt, "--remove", "s7")).Exit);
        Assert.Equal(2, (await Tool.RunAsync("mend", quilt, "--out", scratch.At("m.json"), "--edits")).Exit);
        (await Tool.RunAsync("mend", quilt, "--remove", "s4", "--out", quilt)).MustRefuse("exists");
    }

    [Theory]
    [InlineData("--lattice", "4", 1)]
    [InlineData("--lattice", "0x5", 1)]
    [InlineData("--lattice", "4x-5", 1)]
    [InlineData("--lattice", "NaNx5", 1)]
    [InlineData("--lattice", "4x99999999999", 1)]
    [InlineData("--pattern", "ohio-starr", 1)]
    [InlineData("--pattern", "", 1)]
    [InlineData("--block", "1,1 2,1 2,2", 1)]
    [InlineData("--block", "10,10 10,40 40,40 40,10", 1)]
    [InlineData("--block", "10,10 NaN,10 40,40 10,40", 1)]
    [InlineData("--block", "1e8,10 2e8,10 2e8,40 1e8,40", 1)]
    [InlineData("--edits", "none.json", 1)]
    [InlineData("--edits", "", 1)]
    [InlineData("--edits", "far.json", 1)]
    [InlineData("--lattice", null, 2)]
    public async Task A_hint_that_can_t_be_used_is_told_before_anything_is_looked_for(
        string option,
        string? text,
        int exit
    )
    {
        string photo = scratch.At("photo.jpg");
        Workflows.Sample sample = Workflows.Sample.Load();
        File.WriteAllBytes(photo, sample.Jpeg);
        string far = scratch.Write(
            "far.json",
            """{"format":"overlayplanner.edits","version":1,"edits":[{"do":"move","point":"j5","at":[1,1],"to":[500,1]}]}"""
        );
        string corners = string.Join(' ', sample.Corners.Select(c => FormattableString.Invariant($"{c.X},{c.Y}")));
        string size = FormattableString.Invariant($"{sample.Width.Inches}x{sample.Height.Inches}");
        string[] more = text is null ? [option] : [option, text == "far.json" ? far : text];
        Tool.Outcome outcome = await Tool.RunAsync([
            "map",
            photo,
            "--corners",
            corners,
            "--size",
            size,
            "--out",
            scratch.At("quilt.json"),
            .. more,
        ]);
        Assert.Equal(exit, outcome.Exit);
        if (exit == 1)
        {
            outcome.MustRefuse();
        }

        Assert.DoesNotContain("quilt.json", scratch.Files);
    }
}
