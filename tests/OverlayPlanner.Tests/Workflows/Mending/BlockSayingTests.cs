using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Mending;

namespace OverlayPlanner.Tests.Workflows.Mending;

/// <summary>Blocks outlined, turned, mirrored and taught on a screen.</summary>
public sealed class BlockSayingTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-blocks-").FullName;

    public void Dispose() => Directory.Delete(root, recursive: true);

    private static QuiltMap Stars() =>
        BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 2, 1, Length.Zero);

    [Theory]
    [InlineData(0, 1, 2, 3)]
    [InlineData(3, 1, 0, 2)]
    [InlineData(2, 3, 1, 0)]
    public void Four_corners_touched_in_any_order_go_clockwise_from_the_top_left(int a, int b, int c, int d)
    {
        Point<ClothSpace>[] square = [new(0, 0), new(12, 0.1), new(12.1, 12), new(0.1, 12)];
        AddBlock edit = MendingDesk.Outlining(Stars(), [square[a], square[b], square[c], square[d]]);
        Assert.Equal(square, edit.Corners);
    }

    [Fact]
    public void A_corner_beyond_the_outline_is_drawn_in_to_it() =>
        Assert.Equal(
            [new(0, 0), new(12, 0), new(12, 12), new(0, 12)],
            MendingDesk.Outlining(Stars(), [new(-0.4, -0.2), new(12, 0), new(12, 12.9), new(0, 12)]).Corners
        );

    [Fact]
    public void A_block_on_point_begins_at_its_corner_to_the_top_left()
    {
        // A diamond: its left corner and its top one lie equally far to the top left but for a hair.
        AddBlock edit = MendingDesk.Outlining(Stars(), [new(6, 12), new(0, 6), new(12, 6), new(6.001, 0)]);
        Assert.Equal([new(0, 6), new(6.001, 0), new(12, 6), new(6, 12)], edit.Corners);
    }

    [Fact]
    public void Mirroring_a_block_that_is_turned_mirrors_it_as_it_lies()
    {
        // Against the frame itself: what lay at (x, y) of the block lies at (1 − x, y) then.
        for (int turn = 0; turn < 4; turn++)
        {
            foreach (bool mirror in new[] { false, true })
            {
                QuiltMap map = Stars();
                Block block = map.Blocks[0] with { Turn = turn, Mirror = mirror };
                map = map.With(blocks: [block, map.Blocks[1]]);
                Block after = Mender.Apply(map, MendingWords.Mirroring(map, block.Id)).Map.Blocks[0];
                Point<ClothSpace> was = new BlockFrame(block).ToCloth(0.2, 0.1);
                Point<ClothSpace> now = new BlockFrame(after).ToCloth(0.2, 0.1);
                Assert.Equal(12 - was.X, now.X, 9);
                Assert.Equal(was.Y, now.Y, 9);
                Block turned = Mender.Apply(map, MendingWords.Turning(map, block.Id)).Map.Blocks[0];
                now = new BlockFrame(turned).ToCloth(0.2, 0.1);
                Assert.Equal(12 - was.Y, now.X, 9);
                Assert.Equal(was.X, now.Y, 9);
            }
        }
    }

    [Fact]
    public void What_was_said_of_a_block_is_kept_in_the_file_and_told_from_a_name()
    {
        QuiltMap map = Stars();
        MapEdit[] edits =
        [
            MendingWords.Turning(map, map.Blocks[0].Id),
            MendingWords.Mirroring(map, map.Blocks[0].Id),
            new NameBlock(new(map.Blocks[0].Id), "shoofly"),
        ];
        Assert.Equal(
            ["turned a block by a quarter", "mirrored a block", "named a block"],
            EditsFile.Read(EditsFile.Write(new(edits)), "edits.json").Edits.Select(MendingWords.Did)
        );
    }

    [Fact]
    public void A_block_is_not_taught_where_there_is_no_picture_and_nothing_has_changed()
    {
        QuiltStore store = new(root);
        KeptQuilt quilt = store.Save(store.Create("Stars"), (QuiltStore.MapFile, QuiltMapFile.Write(Stars())));
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        Assert.False(desk.CanFitToPhoto);
        InputException refused = Assert.Throws<InputException>(() =>
            desk.Apply(new TeachBlock(new(desk.Map.Blocks[0].Id)))
        );
        Assert.Contains("no picture", refused.What, StringComparison.Ordinal);
        Assert.Null(desk.ToUndo);
        Assert.True(desk.Apply(MendingWords.Turning(desk.Map, desk.Map.Blocks[0].Id)));
        Assert.Equal(1, desk.Map.Blocks[0].Turn);
    }

    [Fact]
    public void Undo_and_redo_of_what_was_taught_ask_for_it_again_and_get_the_same()
    {
        int asked = 0;
        QuiltMap map = Stars();
        Seam inner = map.Seams.First(s => s.Role == SeamRole.Seam);
        EditLog log = new(
            map,
            (m, t) =>
            {
                asked++;
                Assert.Equal(map.Blocks[0].Id, t.Block.Id);
                return Mender.Apply(m, new SayDitch(new(inner.Id), LowSide.Left)).Map;
            }
        );
        MendedMap taught = log.Apply(new TeachBlock(new(map.Blocks[0].Id)));
        Assert.Equal(1, asked);

        // The place goes with it, so that a photograph mapped anew finds the block.
        Assert.NotNull(Assert.IsType<TeachBlock>(taught.Edit).Block.At);
        Assert.Equal(Side.Left, log.Map.SeamOf(inner.Id).Ditch);
        log.Undo();
        Assert.Equal(QuiltMapFile.Write(map), QuiltMapFile.Write(log.Map));
        log.Redo();
        Assert.Equal(QuiltMapFile.Write(taught.Map), QuiltMapFile.Write(log.Map));
    }
}
