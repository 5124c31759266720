using OverlayPlanner.Benchmarks.Calibration;

namespace OverlayPlanner.Tests.Calibration.Onto;

/// <summary>The scoreboard's own cases, a few of them.</summary>
public sealed class OntoScoreTests(ITestOutputHelper output)
{
    [Fact(Explicit = true)]
    public void A_few_advances_meet_their_targets()
    {
        List<(string Case, string Number, string Target, bool Met)> rows = [];
        OntoScore.Add(rows, quick: true);
        foreach ((string name, string number, string target, bool met) in rows)
        {
            output.WriteLine($"{(met ? "yes" : "NO")}  {number}  ({target})  {name}");
        }

        Assert.All(rows, r => Assert.True(r.Met, r.Case + ": " + r.Number));
    }
}
