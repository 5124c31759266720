using OverlayPlanner.Benchmarks.Keeping;

namespace OverlayPlanner.Tests.Workflows.Keeping;

public sealed class KillWhileSavingTests
{
    [Fact]
    public void Ten_kills_lose_no_quilt_and_no_save_that_was_reported_done()
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-kill-").FullName;
        try
        {
            KillWhileSaving left = KillWhileSaving.Run(folder, kills: 10, seed: 20);

            // A save is reported after it returned, so the one at most that is lost was never reported.
            Assert.True(left.Saves >= 10, $"Each child reports a save before it is killed; there are {left}.");
            Assert.Equal((0, 0, 0), (left.LostQuilts, left.BrokenFiles, left.MixedSaves));
            Assert.True(left.MostSavesLost <= 0, $"{left}");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
