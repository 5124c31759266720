using OverlayPlanner.Benchmarks.Calibration;

namespace OverlayPlanner.Tests.Calibration;

/// <summary>The scoreboard's own cases of a projector, a few of each.</summary>
public sealed class ProjectorScoreTests(ITestOutputHelper output)
{
    [Fact(Explicit = true)]
    public void A_few_projectors_meet_their_targets()
    {
        List<(string Case, string Number, string Target, bool Met)> rows = [];
        try
        {
            ProjectorScore.Add(rows, quick: true);
        }
        finally
        {
            foreach ((string name, string number, string target, bool met) in rows)
            {
                output.WriteLine($"{(met ? "yes" : "NO")}  {number}  ({target})  {name}");
            }
        }

        Assert.All(rows, r => Assert.True(r.Met, r.Case + ": " + r.Number));
    }
}
