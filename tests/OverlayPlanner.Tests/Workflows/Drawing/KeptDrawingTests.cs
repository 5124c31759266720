using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Workflows.Drawing;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Drawing;

/// <summary>What is drawn is kept as it is drawn, and becomes a choice of the quilt's routes.</summary>
public sealed class KeptDrawingTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-drawn-").FullName;
    private readonly QuiltStore store;
    private readonly QuiltMap map;
    private readonly KeptQuilt quilt;

    public KeptDrawingTests()
    {
        store = new(root);
        map = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 2, 1, Length.Zero);
        quilt = store.Save(store.Create("Star"), (QuiltStore.MapFile, QuiltMapFile.Write(map)));
    }

    public void Dispose() => Directory.Delete(root, recursive: true);

    // Along the first seams of the block that hang together.
    private DrawingBoard Drawn(int moves)
    {
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Seam first = map.Seams.First(s => s.Role == SeamRole.Seam && map.JunctionOf(s.To).Place.X < 11);
        board.GoTo(first.From);
        board.GoTo(first.To);
        while (board.Moves.Count < moves)
        {
            string at = board.Needle!;
            Seam next = map.Seams.First(s =>
                (s.From == at || s.To == at) && board.Moves.All(m => m.Seam != s.Id) && s.Role == SeamRole.Seam
            );
            board.GoTo(next.From == at ? next.To : next.From);
        }

        return board;
    }

    [Fact]
    public async Task Each_move_that_was_saved_is_there_for_another_program()
    {
        KeptDrawing kept = new(store, quilt);
        DrawingBoard board = Drawn(1);
        for (int n = 1; n <= 4; n++)
        {
            board = Drawn(n);
            kept.Keep(board);
            await kept.WhenSaved();
            Assert.Null(kept.Trouble);
            DrawingBoard other = new(map, board.Block.Id);
            Assert.True(new KeptDrawing(new(root), store.Open(quilt.Id)).Restore(other));
            Assert.Equal(board.Moves, other.Moves);
        }
    }

    [Fact]
    public async Task A_change_of_something_else_in_another_window_does_not_stand_in_the_way()
    {
        KeptDrawing kept = new(store, quilt);
        store.Rename(quilt.Id, "Star for Ann");
        kept.Keep(Drawn(2));
        await kept.WhenSaved();
        Assert.Null(kept.Trouble);
        Assert.Equal("Star for Ann", store.Open(quilt.Id).Name);
    }

    [Fact]
    public async Task A_path_drawn_in_another_window_is_not_written_over()
    {
        KeptDrawing kept = new(store, quilt);
        KeptDrawing other = new(store, quilt);
        other.Keep(Drawn(3));
        await other.WhenSaved();
        kept.Keep(Drawn(2));
        await kept.WhenSaved();
        Assert.NotNull(kept.Trouble);
        DrawingBoard there = new(map, map.Blocks[0].Id);
        new KeptDrawing(store, store.Open(quilt.Id)).Restore(there);
        Assert.Equal(3, there.Moves.Count);
    }

    [Fact]
    public async Task A_path_on_a_map_that_was_another_is_left_out()
    {
        KeptDrawing kept = new(store, quilt);
        kept.Keep(Drawn(2));
        await kept.WhenSaved();
        QuiltMap larger = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(9), 2, 1, Length.Zero);
        store.Save(store.Open(quilt.Id), (QuiltStore.MapFile, QuiltMapFile.Write(larger)));
        DrawingBoard board = new(larger, larger.Blocks[0].Id);
        Assert.False(new KeptDrawing(store, store.Open(quilt.Id)).Restore(board));
        Assert.Empty(board.Moves);
    }

    [Theory]
    [InlineData("{")]
    [InlineData("[]")]
    [InlineData("{\"blocks\":{\"r0c0\":[{}]}}")]
    [InlineData("{\"blocks\":{\"r0c0\":[null]}}")]
    [InlineData("{\"blocks\":null}")]
    public void A_spoilt_file_is_an_empty_board(string text)
    {
        KeptQuilt spoilt = store.Save(quilt, (KeptDrawing.File, Encoding.UTF8.GetBytes(text)));
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Assert.True(new KeptDrawing(store, spoilt).Restore(board));
        Assert.Empty(board.Moves);
    }

    [Fact]
    public async Task A_path_that_is_kept_is_a_choice_that_can_be_printed_and_a_second_one_takes_its_place()
    {
        KeptDrawing kept = new(store, quilt);
        DrawingBoard board = Drawn(3);
        (KeptQuilt after, string choice) = await kept.TakeAsync(board, TestContext.Current.CancellationToken);
        RouteCandidate part = QuiltSteps.RouteOf(after)!.CandidateOf(choice);
        Assert.Equal(board.Moves.Select(m => m.Path), part.AllMoves.Select(m => m.Path));
        Assert.Equal(board.Standing.LeftLength.Inches, part.Measures.Missed.Inches, 9);

        board.Finish(TestContext.Current.CancellationToken);
        (after, choice) = await kept.TakeAsync(board, TestContext.Current.CancellationToken);
        Assert.Equal(choice, QuiltSteps.ChoiceOf(after));
        RouteCandidate whole = Assert.Single(QuiltSteps.RouteOf(after)!.Candidates);
        Assert.Equal(0, whole.Measures.Missed.Inches);
        Assert.Equal(board.Standing.Starts, whole.Measures.Starts);
        Assert.Equal(board.Standing.AgainLength.Inches, whole.Measures.Doubled.Inches, 9);
        Assert.Equal(board.Standing.Crossed.Count, whole.Measures.Crossings);
        Assert.NotEmpty(QuiltSteps.PictureOf(after, choice, 400, TestContext.Current.CancellationToken));
    }
}
