using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Finishing what was begun, rows and two threads, on the command line.</summary>
public sealed class QuiltingVerbTests : IDisposable
{
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task A_begun_route_is_finished_and_its_beginning_kept()
    {
        string quilt = await Draft("square-in-a-square");
        string drawn = scratch.Write("drawn.json", "[[[6.05,0],[11.9,6.1],[6,11.95]]]");
        JsonElement answer = (
            await Tool.RunAsync(
                "route",
                quilt,
                "--from",
                drawn,
                "--lines",
                "seams",
                "--out",
                scratch.At("r.json"),
                "--json"
            )
        )
            .MustBeDone()
            .Json;
        Assert.Equal(1, answer.GetProperty("candidates")[0].GetProperty("starts").GetInt32());
        JsonElement candidate = Candidate("r.json");
        JsonElement moves = candidate.GetProperty("runs")[0].GetProperty("moves");
        Assert.Equal([6, 0, 12, 6], Ends(moves[0]));
        Assert.Equal([12, 6, 6, 12], Ends(moves[1]));
        Assert.Equal("go-on", candidate.GetProperty("finish").GetProperty("way").GetString());
        Assert.Equal(0, candidate.GetProperty("finish").GetProperty("newStarts").GetInt32());
    }

    // The diagonals of a pinwheel drawn on a map of a square in a square, and a coordinate that is no number.
    [Fact]
    public async Task A_drawing_of_another_block_and_one_with_no_number_are_said()
    {
        string quilt = await Draft("square-in-a-square");
        string other = scratch.Write("other.json", "[[[0,0],[12,12]],[[12,0],[0,12]],[[6,0],[12,6]]]");
        string broken = scratch.Write(
            "broken.svg",
            "<svg xmlns=\"http://www.w3.org/2000/svg\"><path d=\"M6 0 L NaN 6\"/></svg>"
        );

        JsonElement findings = (await Tool.RunAsync("check", quilt, other, "--json"))
            .MustBeDone()
            .Json.GetProperty("findings");
        Assert.Contains(
            findings.EnumerateArray(),
            f => f.ToString().Contains("much-beside-the-lines", StringComparison.Ordinal)
        );
        (await Tool.RunAsync("check", quilt, broken)).MustRefuse("NaN");
    }

    [Fact]
    public async Task A_broken_thread_ties_in_anew()
    {
        string quilt = await Draft("square-in-a-square");
        string drawn = scratch.Write("drawn.json", "[[[6,0],[12,6],[10,8]]]");
        (
            await Tool.RunAsync(
                "route",
                quilt,
                "--from",
                drawn,
                "--needle",
                "broken",
                "--lines",
                "seams",
                "--out",
                scratch.At("r.json")
            )
        ).MustBeDone();
        JsonElement finish = Candidate("r.json").GetProperty("finish");
        Assert.Equal(0.25, finish.GetProperty("overlapInches").GetDouble());
        Assert.Equal(1, finish.GetProperty("newStarts").GetInt32());

        // From (12, 6) to (10, 8): 2 √2 in, unpicked so that the thread ties in at a point.
        Assert.Equal(2 * Math.Sqrt(2), finish.GetProperty("unpickInches").GetDouble(), 0.05);
    }

    [Fact]
    public async Task Check_says_where_the_best_was_lost()
    {
        string quilt = await Draft("sawtooth-star");
        string straight = scratch.Write("straight.json", "[[[0,3],[12,3]]]");
        JsonElement lost = (await Tool.RunAsync("check", quilt, straight, "--json"))
            .MustBeDone()
            .Json.GetProperty("lost");

        // Straight through two four-way points: whatever follows crosses there.
        Assert.Equal(2, lost.GetProperty("crossings").GetInt32());
        Assert.Equal(3, lost.GetProperty("x").GetDouble(), 1e-9);
        Assert.Equal(3, lost.GetProperty("y").GetDouble(), 1e-9);
    }

    [Theory]
    [InlineData("first")]
    [InlineData("stitched")]
    [InlineData("last")]
    public async Task Rows_are_planned_in_passes(string sides)
    {
        string quilt = await Draft("sawtooth-star", "--repeat", "3x4");
        JsonElement answer = (
            await Tool.RunAsync(
                "route",
                quilt,
                "--rows",
                "--sides",
                sides,
                "--reach",
                "24",
                "--out",
                scratch.At("r.json"),
                "--json"
            )
        )
            .MustBeDone()
            .Json;
        Assert.Equal(
            [1, 1, 2, 2],
            answer.GetProperty("rows").EnumerateArray().Select(r => r.GetProperty("pass").GetInt32())
        );
        Assert.All(
            answer.GetProperty("rows").EnumerateArray(),
            r => Assert.True(r.GetProperty("inHalves").GetBoolean())
        );
        Assert.Equal(0, Candidate("r.json").GetProperty("measures").GetProperty("missedInches").GetDouble());
    }

    [Fact]
    public async Task Two_threads_are_told_apart_in_the_file()
    {
        string quilt = await Draft("nine-patch");
        (await Tool.RunAsync("route", quilt, "--threads", "two", "--out", scratch.At("r.json"))).MustBeDone();
        JsonElement candidate = Candidate("r.json");
        Assert.Equal(
            ["ditch", "design"],
            candidate.GetProperty("threads").EnumerateArray().Select(t => t.GetProperty("thread").GetString()!)
        );
        foreach (
            JsonElement move in candidate
                .GetProperty("runs")
                .EnumerateArray()
                .SelectMany(r => r.GetProperty("moves").EnumerateArray())
        )
        {
            bool seam = move.GetProperty("seam").ValueKind == JsonValueKind.String;
            Assert.Equal(seam ? "ditch" : "design", move.GetProperty("thread").GetString());
        }
    }

    [Fact]
    public async Task The_table_of_directions_is_eight_numbers()
    {
        string quilt = await Draft("shoofly");
        string[] route = ["route", quilt, "--out", scratch.At("r.json"), "--hand", "left", "--directions"];
        (await Tool.RunAsync([.. route, "1,2,3"])).MustRefuse("--directions", "eight");
        (await Tool.RunAsync([.. route, "1,1,1,1,1,1,1,x"])).MustRefuse("--directions");
        (await Tool.RunAsync([.. route, "2,2,1,1,1,1,1,2"])).MustBeDone();
    }

    [Fact]
    public async Task What_can_not_be_finished_or_sewn_in_rows_is_refused_in_words()
    {
        string quilt = await Draft("nine-patch");
        string off = scratch.Write("off.json", "[[[40,40],[50,50]]]");
        (await Tool.RunAsync("route", quilt, "--from", off, "--out", scratch.At("r.json"))).MustRefuse("drawing");
        (await Tool.RunAsync("route", quilt, "--rows", "--reach", "0", "--out", scratch.At("r.json"))).MustRefuse(
            "--reach"
        );
        (await Tool.RunAsync("route", quilt, "--rows", "--bobbin", "1", "--out", scratch.At("r.json"))).MustRefuse(
            "--bobbin"
        );
        (await Tool.RunAsync("route", quilt, "--rows", "--skip", "s5", "--out", scratch.At("r.json"))).MustRefuse(
            "--skip"
        );
        (await Tool.RunAsync("route", quilt, "--rows", "--from", off, "--out", scratch.At("r.json"))).MustRefuse(
            "--from"
        );
        Assert.DoesNotContain("r.json", scratch.Files);
    }

    private async Task<string> Draft(string block, params string[] more)
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync(["blocks", "draft", block, "--size", "12", "--out", quilt, .. more])).MustBeDone();
        return quilt;
    }

    private JsonElement Candidate(string name) =>
        JsonDocument.Parse(File.ReadAllBytes(scratch.At(name))).RootElement.GetProperty("candidates")[0];

    private static double[] Ends(JsonElement move) =>
        [
            .. new[] { "from", "to" }.SelectMany(end =>
                move.GetProperty(end).EnumerateArray().Select(v => Math.Round(v.GetDouble(), 6))
            ),
        ];
}
