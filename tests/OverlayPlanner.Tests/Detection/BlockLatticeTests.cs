using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

public sealed class BlockLatticeTests
{
    [Theory]
    [InlineData("sawtooth-star", 12, 3, 2, 0)]
    [InlineData("churn-dash", 9, 2, 2, 2)]
    [InlineData("pinwheel", 8, 4, 3, 0)]
    [InlineData("ohio-star", 12, 3, 3, 1.5)]
    [InlineData("shoofly", 9, 1, 1, 0)]
    [InlineData("jacobs-ladder", 12, 2, 1, 0)]
    [InlineData("log-cabin", 12, 2, 2, 0)]
    [InlineData("economy", 9, 3, 2, 0)]
    public void Rows_columns_and_name_of_a_draft_are_read_back(
        string id,
        double size,
        int columns,
        int rows,
        double sash
    )
    {
        QuiltMap draft = BlockDrafting.Draft(
            BlockLibrary.Find(id),
            Length.FromInches(size),
            columns,
            rows,
            Length.FromInches(sash)
        );
        IReadOnlyList<Block> blocks = BlockLattice.Find(Bare(draft));
        Assert.Equal(columns * rows, blocks.Count);
        Assert.Equal(columns - 1, blocks.Max(b => b.Column));
        Assert.Equal(rows - 1, blocks.Max(b => b.Row));
        Assert.All(blocks, b => Assert.Equal(id, b.Pattern));
        Assert.All(blocks, b => Assert.Equal(size, b.Corners[0].DistanceTo(b.Corners[1]), 1e-6));
    }

    [Fact]
    public void Every_library_block_is_named_in_all_eight_ways()
    {
        foreach (BlockDraft draft in BlockLibrary.All)
        {
            CellPattern plain = CellPattern.Of(draft);
            foreach (Orientation way in Orientation.All)
            {
                CellPattern turned = plain.In(way);
                PatternName? name = PatternNamer.OfLibrary.Name([turned]);
                Assert.True(name is not null, $"{draft.Id} {way} has no name");
                Assert.Equal(draft.Id, name.Id);

                // A symmetric block fits several ways; the one that was named must draw the same seams.
                Assert.True(plain.In(name.How[0]).AgreementWith(turned, 0.02) > 0.99);
            }
        }
    }

    [Fact]
    public void A_foreign_pattern_has_no_name()
    {
        // Strips of three widths and a slanted one: no traditional block.
        Edge<ClothSpace>[] lines =
        [
            new(new(2, 0), new(2, 12)),
            new(new(7, 0), new(7, 12)),
            new(new(2, 5), new(7, 8)),
            new(new(7, 9), new(12, 9)),
        ];
        Assert.Null(PatternNamer.OfLibrary.Name([CellPattern.Of(lines, new([new(0, 0), new(12, 0), new(12, 12), new(0, 12)]), 0.2)]));
    }

    [Fact]
    public void Squares_of_ever_other_colours_are_no_four_patches()
    {
        // 4 × 4 squares, sixteen colours: no two by two of them comes back.
        List<SeamLine> lines = [];
        for (int i = 1; i < 4; i++)
        {
            lines.Add(new(new(new(3 * i, 0), new(3 * i, 12))));
            lines.Add(new(new(new(0, 3 * i), new(12, 3 * i))));
        }

        QuiltMap map = MapBuilder.Build(
            Length.FromInches(12),
            Length.FromInches(12),
            lines,
            [],
            Length.FromInches(0.01)
        );
        string[] hues = ["#000000", "#ff0000", "#00ff00", "#0000ff"];
        QuiltMap scrappy = Colored(map, (row, column) => hues[(row * row + column) % 4]);
        Assert.Single(BlockLattice.Find(scrappy));

        // Light and dark in turn: two by two comes back everywhere.
        QuiltMap checkered = Colored(map, (row, column) => (row + column) % 2 == 0 ? "#ffffff" : "#202020");
        Assert.All(BlockLattice.Find(checkered), b => Assert.Equal("four-patch", b.Pattern));
        Assert.Equal(4, BlockLattice.Find(checkered).Count);

        static QuiltMap Colored(QuiltMap map, Func<int, int, string> hue) =>
            map.With(
                patches:
                [
                    .. map.Patches.Select(p =>
                    {
                        Point<ClothSpace> inside = PatchFinder.InteriorPoint(map, p);
                        return p with { Color = hue((int)(inside.Y / 3), (int)(inside.X / 3)) };
                    }),
                ]
            );
    }

    [Fact]
    public void A_turn_is_clockwise_after_the_mirror()
    {
        // As seen, y down: the middle of the top side goes to the middle of the right side.
        Assert.Equal((1.0, 0.5), new Orientation(1, Mirror: false).Apply((0.5, 0)));
        Assert.Equal((0.75, 0.0), new Orientation(0, Mirror: true).Apply((0.25, 0)));
        Assert.Equal((1.0, 0.75), new Orientation(1, Mirror: true).Apply((0.25, 0)));
    }

    [Fact]
    public void A_top_without_repeats_is_one_block()
    {
        SeamLine[] lines = [new(new(new(3, 0), new(3, 10))), new(new(new(3, 4), new(11, 6)))];
        QuiltMap map = MapBuilder.Build(
            Length.FromInches(11),
            Length.FromInches(10),
            lines,
            [],
            Length.FromInches(0.01)
        );
        Block block = Assert.Single(BlockLattice.Find(map));
        Assert.Null(block.Pattern);
        Assert.Equal(new Point<ClothSpace>(11, 10), block.Corners[2]);
    }

    [Fact]
    public void A_map_without_seams_has_no_blocks()
    {
        QuiltMap map = MapBuilder.Build(Length.FromInches(11), Length.FromInches(10), [], [], Length.FromInches(0.01));
        Assert.Empty(BlockLattice.Find(map));
    }

    private static QuiltMap Bare(QuiltMap draft) =>
        draft.With(
            seams: [.. draft.Seams.Select(s => s.Role == SeamRole.Block ? s with { Role = SeamRole.Seam } : s)],
            blocks: []
        );
}
