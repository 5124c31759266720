using OverlayPlanner.Benchmarks.Calibration;

namespace OverlayPlanner.Tests.Calibration.Taping;

/// <summary>The scoreboard's own cases, fewer of them.</summary>
public sealed class RefitScoreTests(ITestOutputHelper output)
{
    [Fact]
    public void Two_hundred_blocks_meet_their_targets()
    {
        List<(string Case, string Number, string Target, bool Met)> rows = [];
        RefitScore.Add(rows, quick: true);
        foreach ((string name, string number, string target, bool met) in rows)
        {
            output.WriteLine($"{(met ? "yes" : "NO")}  {number}  ({target})  {name}");
        }

        Assert.All(rows, r => Assert.True(r.Met, r.Case + ": " + r.Number));
    }
}
