using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>The verbs as the contract describes them.</summary>
public sealed class VerbTests : IDisposable
{
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task Blocks_list_answers_with_id_name_grid_and_family()
    {
        JsonElement blocks = (await Tool.RunAsync("blocks", "list", "--json")).MustBeDone().Json.GetProperty("blocks");

        Assert.Equal(73, blocks.GetArrayLength());
        JsonElement star = blocks.EnumerateArray().Single(b => b.GetProperty("id").GetString() == "sawtooth-star");
        Assert.Equal("Sawtooth star", star.GetProperty("name").GetString());
        Assert.Equal(4, star.GetProperty("grid").GetDouble());
        Assert.Equal("four-patch", star.GetProperty("family").GetString());
    }

    [Fact]
    public async Task A_drafted_block_goes_through_route_sheets_card_plot_and_projector()
    {
        string quilt = scratch.At("quilt.json");
        string route = scratch.At("route.json");
        (await Tool.RunAsync("blocks", "draft", "Ohio star", "--size", "12", "--out", quilt)).MustBeDone();
        JsonElement planned = (await Tool.RunAsync("route", quilt, "--out", route, "--json")).MustBeDone().Json;
        Assert.Equal(route, planned.GetProperty("written")[0].GetString());
        Assert.Equal(JsonValueKind.Array, planned.GetProperty("findings").ValueKind);

        (await Tool.RunAsync("sheets", route, "--paper", "a4", "--out", scratch.At("sheets.pdf"))).MustBeDone();
        (await Tool.RunAsync("card", route, "--out", scratch.At("card.pdf"))).MustBeDone();
        (await Tool.RunAsync("plot", route, "--out", scratch.At("route.svg"))).MustBeDone();
        (
            await Tool.RunAsync(
                "project",
                "calibrate",
                "--points",
                "0,0=400,100 12,0=1400,110 12,12=1390,1010 0,12=410,1000",
                "--pixels",
                "1920x1080",
                "--out",
                scratch.At("projector.json")
            )
        ).MustBeDone();
        (
            await Tool.RunAsync(
                "project",
                "render",
                route,
                "--projector",
                scratch.At("projector.json"),
                "--out",
                scratch.At("frame.png")
            )
        ).MustBeDone();

        Assert.Equal(
            ["card.pdf", "frame.png", "projector.json", "quilt.json", "route.json", "route.svg", "sheets.pdf"],
            scratch.Files
        );
    }

    [Theory]
    [InlineData("--lines", "seams")]
    [InlineData("--lines", "seams+arcs")]
    [InlineData("--lines", "curves")]
    [InlineData("--outline", "any")]
    [InlineData("--outline", "last")]
    [InlineData("--thread", "one")]
    [InlineData("--thread", "mixed")]
    public async Task Route_takes_every_word_of_the_contract(string option, string word)
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "churn-dash", "--out", quilt)).MustBeDone();

        (await Tool.RunAsync("route", quilt, option, word, "--out", scratch.At("route.json"))).MustBeDone();

        using JsonDocument route = JsonDocument.Parse(File.ReadAllBytes(scratch.At("route.json")));
        Assert.Equal("overlayplanner.route", route.RootElement.GetProperty("format").GetString());
        foreach (JsonElement candidate in route.RootElement.GetProperty("candidates").EnumerateArray())
        {
            Assert.True(candidate.GetProperty("runs").GetArrayLength() >= 1);
            Assert.Equal(0, candidate.GetProperty("measures").GetProperty("missedInches").GetDouble(), 1e-9);
        }
    }

    [Fact]
    public async Task An_existing_file_is_replaced_only_with_force()
    {
        string quilt = scratch.Write("quilt.json", "mine");

        (await Tool.RunAsync("blocks", "draft", "shoofly", "--out", quilt)).MustRefuse("exists", "--force");
        Assert.Equal("mine", File.ReadAllText(quilt));

        (await Tool.RunAsync("blocks", "draft", "shoofly", "--out", quilt, "--force")).MustBeDone();
        Assert.NotEqual("mine", File.ReadAllText(quilt));
        Assert.Equal(["quilt.json"], scratch.Files);
    }

    [Fact]
    public async Task A_perfect_drawing_scores_one_and_a_gap_is_missed()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "square-in-a-square", "--size", "12", "--out", quilt)).MustBeDone();
        string good = scratch.Write("good.json", "[[[6,0],[12,6],[6,12],[0,6],[6,0]]]");
        string gap = scratch.Write(
            "gap.svg",
            "<svg xmlns='http://www.w3.org/2000/svg'><path d='M6 0 L12 6 L6 12 L0 6'/></svg>"
        );

        JsonElement full = (await Tool.RunAsync("check", quilt, good, "--json")).MustBeDone().Json;
        JsonElement part = (await Tool.RunAsync("check", quilt, gap, "--json")).MustBeDone().Json;

        Assert.Equal(1, full.GetProperty("score").GetDouble(), 1e-9);
        foreach (string list in new[] { "missed", "doubled", "crossed", "broken" })
        {
            Assert.Equal(0, full.GetProperty(list).GetArrayLength());
        }

        JsonElement missed = part.GetProperty("missed")[0];
        Assert.Equal(6 * Math.Sqrt(2), missed.GetProperty("inches").GetDouble(), 1e-6);
        Assert.NotNull(missed.GetProperty("seam").GetString());
        Assert.InRange(part.GetProperty("score").GetDouble(), 0.0, 0.99);
    }

    [Theory]
    [InlineData("frobnicate")]
    [InlineData("route")]
    [InlineData("route", "quilt.json")]
    [InlineData("map", "photo.jpg", "--nonsense", "1", "--out", "q.json")]
    [InlineData("blocks", "draft")]
    [InlineData("project", "calibrate", "--pixels", "10x10")]
    public async Task Wrong_usage_exits_with_2_and_points_to_help(params string[] arguments)
    {
        Tool.Outcome outcome = await Tool.RunAsync(arguments);

        Assert.Equal(2, outcome.Exit);
        Assert.Equal("", outcome.Output);
        Assert.Contains("--help", outcome.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("targets")]
    [InlineData("lens")]
    [InlineData("map")]
    [InlineData("blocks")]
    [InlineData("route")]
    [InlineData("check")]
    [InlineData("sheets")]
    [InlineData("card")]
    [InlineData("plot")]
    [InlineData("project")]
    [InlineData("demo")]
    public async Task Every_verb_has_help(string verb)
    {
        Tool.Outcome outcome = await Tool.RunAsync(verb, "--help");

        Assert.Equal(0, outcome.Exit);
        Assert.Contains(verb, outcome.Output, StringComparison.Ordinal);
    }
}
