using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

public class PatternPriorTests
{
    // Across the centre square of the first block, where a sawtooth star has no seam.
    private static readonly Edge<ClothSpace> Phantom = new(new(3, 6), new(9, 6));

    [Theory]
    [InlineData(3, 0.4, true)]
    [InlineData(3, 0.6, false)] // more likely there than not
    [InlineData(2, 0.4, false)] // two blocks don't settle a pattern
    public void A_doubtful_seam_that_the_pattern_lacks_is_left_out(int blocks, double confidence, bool left)
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("sawtooth-star"),
            Length.FromInches(12),
            blocks,
            1,
            Length.Zero
        );
        SeamLine[] lines = [.. map.Seams.Select(s => new SeamLine(map.EdgeOf(s), 0.95)), new(Phantom, confidence)];

        (List<SeamLine> kept, List<Finding> leftOut) = PatternPrior.Apply(map, lines);

        Assert.Equal(left ? 1 : 0, leftOut.Count);
        Assert.Equal(!left, kept.Exists(l => l.Path == Phantom));
        Assert.Equal(lines.Length - (left ? 1 : 0), kept.Count);
    }

    [Fact]
    public void A_doubtful_seam_that_the_pattern_has_stays_however_the_block_is_turned()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("attic-windows"),
            Length.FromInches(12),
            3,
            1,
            Length.Zero
        );
        SeamLine[] lines = [.. map.Seams.Select(s => new SeamLine(map.EdgeOf(s), 0.2))];

        Assert.Equal(lines.Length, PatternPrior.Apply(map, lines).Kept.Count);

        // The two sills of an attic window lie at one side; called mirrored, each block has its upright one at the wrong side.
        Block[] mirrored = [.. map.Blocks.Select(b => b with { Mirror = true })];
        Assert.True(PatternPrior.Apply(map.With(blocks: mirrored), lines).LeftOut.Count >= 3);
    }
}
