using System.Text.Json;
using OverlayPlanner.AcceptanceTests.Support;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>The route verb's wishes about what is added.</summary>
public sealed class RouteLinesTests : IDisposable
{
    private readonly Scratch scratch = new();

    public void Dispose() => scratch.Dispose();

    [Fact]
    public async Task The_quilter_s_own_rulers_are_named_on_the_arcs_and_a_picture_shows_the_choices()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "nine-patch", "--out", quilt)).MustBeDone();
        string rulers = scratch.Write(
            "rulers.json",
            """
            [ { "name": "kitchen plate", "edge": "both", "chord": 8, "rise": 4, "length": 10 },
              { "name": "long straight", "edge": "straight", "length": "12 1/2" } ]
            """
        );
        JsonElement done = (
            await Tool.RunAsync(
                "route",
                quilt,
                "--rulers",
                rulers,
                "--foot",
                "1/2",
                "--stand-off",
                "1/4",
                "--reach",
                "6",
                "--picture",
                scratch.At("choices.png"),
                "--out",
                scratch.At("route.json"),
                "--json"
            )
        )
            .MustBeDone()
            .Json;
        Assert.DoesNotContain(
            done.GetProperty("findings").EnumerateArray(),
            f => f.GetProperty("what").GetString() == "rulers-assumed"
        );
        byte[] png = File.ReadAllBytes(scratch.At("choices.png"));
        Assert.Equal([0x89, (byte)'P', (byte)'N', (byte)'G'], png.Take(4));
        using JsonDocument route = JsonDocument.Parse(File.ReadAllBytes(scratch.At("route.json")));
        JsonElement[] arcs =
        [
            .. route
                .RootElement.GetProperty("candidates")
                .EnumerateArray()
                .SelectMany(c => c.GetProperty("runs").EnumerateArray())
                .SelectMany(r => r.GetProperty("moves").EnumerateArray())
                .Where(m => m.GetProperty("kind").GetString() == "arc"),
        ];
        Assert.NotEmpty(arcs);
        Assert.All(arcs, a => Assert.Equal("kitchen plate", a.GetProperty("ruler").GetString()));

        // A plate of 8 in across is stitched with a radius of 4 1/4 outside (handbook 3.4: the edge's and half the foot).
        Assert.All(
            arcs.Where(a => a.GetProperty("side").GetString() == "outside"),
            a =>
            {
                double bulge = Math.Abs(a.GetProperty("bulge").GetDouble());
                Assert.Equal(4.25, 4 * (1 + bulge * bulge) / (4 * bulge), 1e-9);
            }
        );
    }

    [Fact]
    public async Task Straight_lines_only_filling_and_centres_are_wishes_of_the_command_line()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "four-patch", "--out", quilt)).MustBeDone();
        string[] wishes =
        [
            "--rulers none",
            "--fill 4",
            "--fill wool",
            "--centers",
            "--match colors",
            "--open all",
            "--open unknown",
        ];
        foreach (string wish in wishes)
        {
            string[] words = ["route", quilt, .. wish.Split(' '), "--out", scratch.At("route.json"), "--force"];
            (await Tool.RunAsync(words)).MustBeDone();
        }
    }

    [Fact]
    public async Task Rulers_and_wishes_that_can_t_be_are_refused_in_a_line()
    {
        string quilt = scratch.At("quilt.json");
        (await Tool.RunAsync("blocks", "draft", "four-patch", "--out", quilt)).MustBeDone();
        string steep = scratch.Write("steep.json", """[{"name":"hoop","edge":"outside","chord":4,"rise":3}]""");
        string route = scratch.At("route.json");
        (await Tool.RunAsync("route", quilt, "--rulers", steep, "--out", route)).MustRefuse(
            "hoop",
            "half the chord, 2 in"
        );
        (await Tool.RunAsync("route", quilt, "--rulers", scratch.Write("no.json", "[]"), "--out", route)).MustRefuse(
            "no rulers"
        );
        (await Tool.RunAsync("route", quilt, "--open", "s999", "--out", route)).MustRefuse("s999");
        (await Tool.RunAsync("route", quilt, "--fill", "kapok", "--out", route)).MustRefuse("kapok", "wool");
        (await Tool.RunAsync("route", quilt, "--fill", "3", "--lines", "seams", "--out", route)).MustRefuse(
            "--fill",
            "--lines seams"
        );
        scratch.Write("there.png", "mine");
        (await Tool.RunAsync("route", quilt, "--picture", scratch.At("there.png"), "--out", route)).MustRefuse(
            "there.png"
        );
        Assert.False(File.Exists(route));
    }
}
