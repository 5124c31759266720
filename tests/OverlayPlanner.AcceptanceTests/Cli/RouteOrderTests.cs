using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Wishes about order, starts and ends, on the command line: each once as it should be, once as it can't be.</summary>
public sealed class RouteOrderTests : IDisposable
{
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Theory]
    [InlineData("--last", "INNER")]
    [InlineData("--last", "outline", "--outline", "last")]
    [InlineData("--anchor-first")]
    [InlineData("--round-last")]
    [InlineData("--finish-blocks")]
    [InlineData("--skip", "INNER")]
    [InlineData("--only", "INNER")]
    [InlineData("--midpoints")]
    [InlineData("--bulky", "4")]
    [InlineData("--clear", "0.5")]
    [InlineData("--drag", "3")]
    [InlineData("--drag", "75mm", "--hop-cost", "5", "--thread", "mixed")]
    [InlineData("--through")]
    public async Task Each_wish_of_order_gives_choices_that_cross_nothing_unasked(params string[] options)
    {
        string quilt = await DraftAsync("churn-dash", "2x2");
        string route = scratch.At("route.json");
        JsonElement answer = (await Tool.RunAsync(["route", quilt, .. Named(quilt, options), "--out", route, "--json"]))
            .MustBeDone()
            .Json;
        Assert.True(answer.GetProperty("candidates").GetArrayLength() >= 1);
        using JsonDocument written = JsonDocument.Parse(File.ReadAllBytes(route));
        bool through = options.Contains("--through");
        foreach (JsonElement c in written.RootElement.GetProperty("candidates").EnumerateArray())
        {
            JsonElement measures = c.GetProperty("measures");
            Assert.True(through || measures.GetProperty("crossings").GetInt32() == 0);
            Assert.Equal(
                measures.GetProperty("crossings").GetInt32(),
                measures.GetProperty("crossingsAtPoints").GetInt32()
            );
            Assert.Equal(c.GetProperty("runs").GetArrayLength(), measures.GetProperty("starts").GetInt32());
        }
    }

    [Theory]
    [InlineData("s999", "--last", "s999")]
    [InlineData("--outline last", "--last", "outline")]
    [InlineData("--round-last", "--anchor-first", "--round-last")]
    [InlineData("--block b1", "--finish-blocks", "--block", "b1")]
    [InlineData("--skip", "--only", "INNER", "--skip", "INNER")]
    [InlineData("s1400", "--skip", "s1400")]
    [InlineData("--only", "--only", ",")]
    [InlineData("--bulky", "--bulky", "two")]
    [InlineData("--clear", "--clear", "9")]
    [InlineData("--drag", "--drag", "far")]
    [InlineData("--hop-cost", "--hop-cost", "-1")]
    public async Task Each_wish_that_cannot_be_met_is_refused_with_the_reason(string reason, params string[] options)
    {
        string quilt = await DraftAsync("churn-dash", "2x2");
        (await Tool.RunAsync(["route", quilt, .. Named(quilt, options), "--out", scratch.At("route.json")])).MustRefuse(
            reason
        );
        Assert.Equal(["quilt.json"], scratch.Files);
    }

    [Fact]
    public async Task Finishing_block_by_block_says_what_it_costs()
    {
        string quilt = await DraftAsync("nine-patch", "3x2");
        JsonElement answer = (
            await Tool.RunAsync(
                "route",
                quilt,
                "--lines",
                "seams",
                "--finish-blocks",
                "--thread",
                "one",
                "--out",
                scratch.At("route.json"),
                "--json"
            )
        )
            .MustBeDone()
            .Json;
        Assert.Equal(1, answer.GetProperty("candidates")[0].GetProperty("starts").GetInt32());
        JsonElement cost = answer
            .GetProperty("findings")
            .EnumerateArray()
            .Single(f => f.GetProperty("what").GetString() == "wish-costs");
        Assert.Equal("finishing each block", cost.GetProperty("where").GetString());
        Assert.Contains("more backtracking", cost.GetProperty("remedy").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Help_names_every_wish()
    {
        string help = (await Tool.RunAsync("route", "--help")).MustBeDone().Output;
        foreach (
            string option in new[]
            {
                "--last",
                "--anchor-first",
                "--round-last",
                "--finish-blocks",
                "--skip",
                "--only",
                "--midpoints",
                "--bulky",
                "--clear",
                "--drag",
                "--hop-cost",
            }
        )
        {
            Assert.Contains(option, help, StringComparison.Ordinal);
        }
    }

    // The word INNER stands for two seams inside blocks, whatever the draft calls them.
    private static IEnumerable<string> Named(string quilt, string[] options)
    {
        using JsonDocument map = JsonDocument.Parse(File.ReadAllBytes(quilt));
        string inner = string.Join(
            ',',
            map.RootElement.GetProperty("seams")
                .EnumerateArray()
                .Where(s => s.GetProperty("role").GetString() == "seam")
                .Take(2)
                .Select(s => s.GetProperty("id").GetString())
        );
        return [.. options.Select(o => o == "INNER" ? inner : o)];
    }

    private async Task<string> DraftAsync(string block, string repeat)
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", block, "--repeat", repeat, "--out", quilt)).MustBeDone();
        return quilt;
    }
}
