using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Workflows.Drawing;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Tests.Workflows.Drawing;

/// <summary>Strokes that end in the middle of a line, and paths that count for every block of a kind.</summary>
public sealed class PartWayAndKindTests : IDisposable
{
    private readonly string root = Directory.CreateTempSubdirectory("overlayplanner-kind-").FullName;

    public void Dispose() => Directory.Delete(root, recursive: true);

    private static QuiltMap Draft(string block, int columns = 1, int rows = 1) =>
        BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(12), columns, rows, Length.Zero);

    private static void Stroke(DrawingBoard board, Point<ClothSpace> from, params Point<ClothSpace>[] way)
    {
        board.PenDown();
        foreach (Point<ClothSpace> to in way)
        {
            int n = Math.Max(2, (int)(from.DistanceTo(to) / 0.05));
            for (int k = 0; k <= n; k++)
            {
                board.Draw([from.Toward(to, (double)k / n)]);
            }

            from = to;
        }

        board.Lift();
    }

    // A nine patch of 12 in: seams of 4 in along x, y = 4 and 8.
    [Theory]
    [InlineData(0.35, 1, "before the middle of a line")]
    [InlineData(0.7, 2, "past the middle of a line")]
    [InlineData(1.0, 2, null)]
    public void A_stroke_that_ends_in_the_middle_of_a_line_says_what_became_of_it(double share, int moves, string? said)
    {
        QuiltMap map = Draft("nine-patch");
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Stroke(board, new(4, 4), new(8, 4), new(8, 4 + 4 * share));
        Assert.Equal(moves, board.Moves.Count);
        if (said is null)
        {
            Assert.Null(board.Remark);
            return;
        }

        Assert.Contains(said, board.Remark, StringComparison.Ordinal);
        board.PenDown();
        Assert.Null(board.Remark);
    }

    [Fact]
    public void A_stroke_that_goes_on_in_the_middle_of_a_line_stitches_it_once()
    {
        QuiltMap map = Draft("nine-patch");
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Stroke(board, new(4, 4), new(8, 4), new(8, 6.6));
        Stroke(board, new(8, 5.9), new(8, 8), new(4, 8));
        Assert.Equal(3, board.Moves.Count);
        Assert.Empty(board.Standing.Again);
        Assert.Equal(1, board.Standing.Starts);
    }

    [Fact]
    public void A_line_of_ones_own_across_a_seam_is_not_left_out_in_silence()
    {
        QuiltMap map = Draft("nine-patch");
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Stroke(board, new(4, 4), new(8, 4), new(12, 8), new(8, 8));
        Assert.Equal(3, board.Moves.Count);
        Assert.Null(board.Remark);
        board.RubOut();

        // From a corner of the middle patch through the side of the next one to the far corner.
        Stroke(board, new(4, 4), new(12, 8), new(8, 8));
        Assert.Contains("left out", board.Remark, StringComparison.Ordinal);
    }

    [Fact]
    public void A_path_lies_on_a_mirrored_and_on_a_turned_block_as_they_are_sewn()
    {
        // Three pinwheels; the second is said to be sewn mirrored, the third a quarter turn on.
        QuiltMap map = Draft("pinwheel", 3, 1);
        map = map.With(blocks: [map.Blocks[0], map.Blocks[1] with { Mirror = true }, map.Blocks[2] with { Turn = 1 }]);
        SameKind kind = new(map, map.Blocks[0]);
        Assert.Equal(3, kind.Blocks.Count);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        board.Tap(new(6, 0));
        board.Tap(new(6, 6));
        board.Tap(new(0, 6));
        IReadOnlyList<LaidPath> laid = kind.Lay(board.Moves);
        Assert.Equal(3, laid.Count);

        // Mirrored left to right about x = 18; a quarter turn clockwise about (30, 6) takes up to right, and left to up.
        Assert.Equal(
            [(18.0, 0.0), (18, 6), (24, 6)],
            laid[1].Path.Select(e => (e.From.X, e.From.Y)).Append((laid[1].Path[^1].To.X, laid[1].Path[^1].To.Y))
        );
        Assert.Equal(
            [(36.0, 6.0), (30, 6), (30, 0)],
            laid[2].Path.Select(e => (e.From.X, e.From.Y)).Append((laid[2].Path[^1].To.X, laid[2].Path[^1].To.Y))
        );
        Assert.All(laid.SelectMany(l => l.Moves), m => Assert.NotNull(m.Seam));
    }

    [Fact]
    public void A_block_whose_points_are_not_there_is_left_out()
    {
        // A log cabin winds one way round: said to be sewn mirrored, its points are not where they should be.
        QuiltMap map = Draft("log-cabin", 3, 1);
        map = map.With(blocks: [map.Blocks[0], map.Blocks[1] with { Mirror = true }, map.Blocks[2]]);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        foreach (Junction j in map.Junctions.Where(j => j.Place.X < 12))
        {
            board.GoTo(j.Id);
        }

        Assert.NotEmpty(board.Moves);
        Assert.Equal(
            [map.Blocks[0].Id, map.Blocks[2].Id],
            new SameKind(map, board.Block).Lay(board.Moves).Select(l => l.Block)
        );
    }

    [Fact]
    public void An_arc_of_ones_own_bows_to_the_other_side_in_a_mirrored_block()
    {
        QuiltMap map = Draft("nine-patch", 2, 1);
        map = map.With(blocks: [map.Blocks[0], map.Blocks[1] with { Mirror = true }]);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        board.Tap(new(4, 4));
        board.Tap(new(8, 4), TapWay.ArcLeft);
        LaidPath mirrored = new SameKind(map, map.Blocks[0]).Lay(board.Moves)[1];
        Assert.Equal(-board.Moves[0].Path.Bulge, mirrored.Path[0].Bulge);
        Assert.Equal((20.0, 4.0), (mirrored.Path[0].From.X, mirrored.Path[0].From.Y));
    }

    [Fact]
    public async Task A_path_that_is_kept_counts_for_every_block_of_the_kind_and_says_for_how_many()
    {
        QuiltMap map = Draft("nine-patch", 2, 2);
        QuiltStore store = new(root);
        KeptQuilt quilt = store.Save(store.Create("Nine"), (QuiltStore.MapFile, QuiltMapFile.Write(map)));
        KeptDrawing kept = new(store, quilt);
        DrawingBoard board = new(map, map.Blocks[0].Id);

        // Round the middle patch: 16 in on one thread, and nothing shared with a neighbour.
        board.Tap(new(4, 4));
        foreach (Point<ClothSpace> p in new Point<ClothSpace>[] { new(8, 4), new(8, 8), new(4, 8), new(4, 4) })
        {
            board.Tap(p);
        }

        CancellationToken stop = TestContext.Current.CancellationToken;
        (KeptQuilt after, string choice) = await kept.TakeAsync(board, new SameKind(map, board.Block), stop);
        RouteCandidate all = QuiltSteps.RouteOf(after)!.CandidateOf(choice);
        Assert.Equal("drawn by hand on 4 blocks; four starts", all.Design);
        Assert.Equal(4, all.Measures.Starts);
        Assert.Equal(64, all.Measures.Stitched.Inches, 9);
        Assert.Equal(0, all.Measures.Doubled.Inches, 9);
        Assert.Equal(map.Blocks.Select(b => b.Id).Order(), all.Runs.Select(r => r.Moves[0].Block!).Order());
        Assert.All(all.Runs, r => Assert.Single(r.Moves.Select(m => m.Block).Distinct()));

        // Drawn again on the same block, for that block alone: it takes the other's place.
        (after, choice) = await kept.TakeAsync(board, stop);
        RouteCandidate one = Assert.Single(QuiltSteps.RouteOf(after)!.Candidates);
        Assert.Equal("drawn by hand; one start", one.Design);
        Assert.Equal(16, one.Measures.Stitched.Inches, 9);
    }

    [Fact]
    public void A_side_that_two_blocks_share_is_stitched_once()
    {
        QuiltMap map = Draft("nine-patch", 2, 1);
        DrawingBoard board = new(map, map.Blocks[0].Id);

        // In from the left, along the top side of the middle row, and down the right side, which is the next block's left side.
        board.Tap(new(0, 8));
        foreach (
            Point<ClothSpace> p in new Point<ClothSpace>[] { new(0, 4), new(4, 4), new(8, 4), new(12, 4), new(12, 8) }
        )
        {
            board.Tap(p);
        }

        Assert.Equal(5, board.Moves.Count);
        RouteCandidate both = board.ToCandidate(
            "A",
            new SameKind(map, board.Block),
            TestContext.Current.CancellationToken
        );
        Assert.Equal(0, both.Measures.Doubled.Inches, 9);

        // 20 in in the first block; the second begins with the shared side, which is stitched already: 16 in.
        Assert.Equal(36, both.Measures.Stitched.Inches, 9);
        Assert.Equal(2, both.Measures.Starts);
    }
}
