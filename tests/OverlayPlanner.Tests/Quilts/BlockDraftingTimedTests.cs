using System.Diagnostics;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Quilts;

[Collection(Timed.Name)]
public class BlockDraftingTimedTests
{
    [Fact]
    public void A_quilt_of_180_blocks_with_sashing_is_drafted_in_a_moment()
    {
        BlockDraft draft = BlockLibrary.Find("dutchmans-puzzle");
        BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);
        Stopwatch watch = Stopwatch.StartNew();
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(12), 12, 15, Length.FromInches(2));
        MapInspection inspection = MapCheck.Inspect(map);
        watch.Stop();

        // 180 × 24, 11 × 15 upright and 12 × 14 level strips, 11 × 14 cornerstones. Measured on two idle cores: 0.6 s.
        Assert.Equal((180 * 24) + 165 + 168 + 154, map.Patches.Count);
        Assert.Empty(inspection.Findings);
        Assert.True(watch.Elapsed.TotalSeconds < 15, watch.Elapsed.ToString());
    }
}
