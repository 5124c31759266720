using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Quilts;

public class LargeDraftTests
{
    [Fact]
    public void A_quilt_of_180_blocks_with_sashing_is_drafted_whole()
    {
        BlockDraft draft = BlockLibrary.Find("dutchmans-puzzle");
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(12), 12, 15, Length.FromInches(2));
        MapInspection inspection = MapCheck.Inspect(map);

        // 180 × 24, 11 × 15 upright and 12 × 14 level strips, 11 × 14 cornerstones.
        Assert.Equal((180 * 24) + 165 + 168 + 154, map.Patches.Count);
        Assert.Empty(inspection.Findings);
    }
}
