using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>One block re-fitted to the cloth as it lies now, from the command line.</summary>
public sealed class RefitVerbTests : IDisposable
{
    // A block that drew up by 1 % across and 1.5 % down and leans a little.
    private static readonly string[] Tape =
    [
        "--sides",
        "11 7/8, 11 13/16, 11 7/8, 11 13/16",
        "--diagonals",
        "16 13/16, 16 11/16",
    ];

    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task The_map_keeps_both_shapes_and_the_route_is_stretched_alone()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "ohio-star", "--repeat", "2x1", "--out", quilt)).MustBeDone();
        string kept = scratch.At("kept.json");
        JsonElement said = (await Tool.RunAsync(["refit", quilt, "--block", "b1", .. Tape, "--out", kept, "--json"]))
            .MustBeDone()
            .Json;
        Assert.Equal(12, said.GetProperty("mappedInches")[0].GetDouble(), 9);
        Assert.Equal(11.875, said.GetProperty("nowInches")[0].GetDouble(), 0.05);
        Assert.InRange(Math.Abs(said.GetProperty("contradictionInches").GetDouble()), 0, 0.15);
        Assert.InRange(said.GetProperty("within95Inches").GetDouble(), 0.02, 0.25);

        // The map's own numbers stay, byte for byte, but for the block's new field.
        QuiltMap before = QuiltMapFile.Read(File.ReadAllBytes(quilt), quilt);
        QuiltMap after = QuiltMapFile.Read(File.ReadAllBytes(kept), kept);
        Assert.Equal(before.Junctions.Select(j => j.Place), after.Junctions.Select(j => j.Place));
        Assert.Equal(before.Blocks[0].Corners, after.Blocks[0].Corners);
        Assert.True(after.Blocks[0].Unknown.Values.ContainsKey("onCloth"));
        Assert.False(after.Blocks[1].Unknown.Values.ContainsKey("onCloth"));

        // A route planned on that map carries the shape along: nothing is measured a second time.
        (string route, string now) = (scratch.At("route.json"), scratch.At("now.json"));
        (await Tool.RunAsync("route", kept, "--block", "b1", "--out", route)).MustBeDone();
        (await Tool.RunAsync("refit", route, "--block", "b1", "--out", now)).MustBeDone();
        Route was = RouteFile.Read(File.ReadAllBytes(route), route);
        Route fitted = RouteFile.Read(File.ReadAllBytes(now), now);
        Assert.Single(fitted.Quilt.Blocks);
        Assert.Equal(was.Candidates.Count, fitted.Candidates.Count);
        foreach ((RouteCandidate a, RouteCandidate b) in was.Candidates.Zip(fitted.Candidates))
        {
            Assert.Equal(a.AllMoves.Select(m => (m.Kind, m.Seam)), b.AllMoves.Select(m => (m.Kind, m.Seam)));
            Assert.InRange(b.Measures.Stitched / a.Measures.Stitched, 0.98, 0.995);
            Assert.Equal(b.AllMoves.Sum(m => m.Path.Length), b.Measures.Stitched.Inches, 9);
        }

        // Sheets, plotter and planner take it as any other.
        foreach (string[] verb in new string[][] { ["sheets", "--paper", "letter"], ["plot"] })
        {
            string made = scratch.At(verb[0] == "plot" ? "now.svg" : "now.pdf");
            (await Tool.RunAsync([verb[0], now, .. verb[1..], "--out", made])).MustBeDone();
            Assert.True(new FileInfo(made).Length > 200);
        }
    }

    [Fact]
    public async Task Nudged_corners_are_met_and_the_block_alone_can_be_planned_on()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "ohio-star", "--repeat", "2x1", "--out", quilt)).MustBeDone();
        string alone = scratch.At("alone.json");
        (
            await Tool.RunAsync(
                "refit",
                quilt,
                "--block",
                "b2",
                "--corners",
                "12.1,0.05 23.95,0.1 23.9,11.9 12.05,11.95",
                "--out",
                scratch.At("kept.json"),
                "--alone",
                alone
            )
        ).MustBeDone();
        QuiltMap map = QuiltMapFile.Read(File.ReadAllBytes(alone), alone);
        Point<ClothSpace> corner = new(23.9, 11.9);
        Assert.Contains(map.Junctions, j => j.Place == corner);
        Assert.All(map.Junctions, j => Assert.True(j.At.Sigma > Length.Zero));
        (await Tool.RunAsync("route", alone, "--out", scratch.At("route.json"))).MustBeDone();
    }

    [Fact]
    public async Task What_can_not_be_re_fitted_is_said_and_nothing_is_written()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "ohio-star", "--repeat", "2x1", "--out", quilt)).MustBeDone();
        string whole = scratch.At("whole.json");
        (await Tool.RunAsync("route", quilt, "--out", whole)).MustBeDone();
        foreach (
            (string file, string block, string[] arguments, string says) in new (string, string, string[], string)[]
            {
                (quilt, "b1", ["--sides", "12,12,12,12", "--diagonals", "17,17.6"], "the diagonal from the top right"),
                (quilt, "b1", ["--sides", "12,12,12", "--diagonals", "17,17"], "3 sides"),
                (quilt, "b1", ["--sides", "1,12,12,12", "--diagonals", "17,17"], "can't be 1 in"),
                (quilt, "b1", ["--sides", "12,x,12,12", "--diagonals", "17,17"], "\"x\""),
                (quilt, "b1", ["--sides", "12,12,12,12"], "--diagonals"),
                (quilt, "b1", ["--corners", "0,0 12,0 0,12 12,12"], "cross"),
                (quilt, "b1", [], "Nothing says"),
                (quilt, "b9", Tape, "b9"),
                (whole, "b1", Tape, "beyond block b1"),
            }
        )
        {
            Tool.Outcome answer = await Tool.RunAsync([
                "refit",
                file,
                "--block",
                block,
                .. arguments,
                "--out",
                scratch.At("out.json"),
            ]);
            Assert.Equal(1, answer.Exit);
            Assert.Contains(says, answer.Error, StringComparison.Ordinal);
            Assert.False(File.Exists(scratch.At("out.json")));
        }
    }
}
