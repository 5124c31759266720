using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows.Drawing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Drawing;

/// <summary>A path drawn by hand on one block: strokes, taps, wiping, finishing.</summary>
public class DrawingBoardTests
{
    private static readonly LengthWords Words = new(LengthUnits.Inches);

    private static QuiltMap Draft(string block, int columns = 1, int rows = 1) =>
        BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(12), columns, rows, Length.Zero);

    /// <summary>Pen points each twentieth of an inch along points of the block, with a hand's slow sway and shake.</summary>
    private static List<Point<ClothSpace>> Hand(DrawingBoard board, QuiltMap map, int seed, params string[] points)
    {
        Random shake = new(seed);
        List<Point<ClothSpace>> pen = [];
        for (int i = 1; i < points.Length; i++)
        {
            Point<ClothSpace> a = map.JunctionOf(points[i - 1]).Place;
            Point<ClothSpace> b = map.JunctionOf(points[i]).Place;
            int n = Math.Max(2, (int)(a.DistanceTo(b) / 0.05));
            for (int k = 0; k < n; k++)
            {
                Point<ClothSpace> at = a.Toward(b, (double)k / n);
                double sway = 0.06 * Math.Sin(pen.Count / 9.0);
                pen.Add(
                    new(
                        at.X + sway + 0.03 * (shake.NextDouble() - 0.5),
                        at.Y - sway + 0.03 * (shake.NextDouble() - 0.5)
                    )
                );
            }
        }

        pen.Add(map.JunctionOf(points[^1]).Place);
        Assert.NotNull(board);
        return pen;
    }

    private static void Stroke(DrawingBoard board, IReadOnlyList<Point<ClothSpace>> pen, int batch = 2)
    {
        board.PenDown();
        for (int i = 0; i < pen.Count; i += batch)
        {
            board.Draw([.. pen.Skip(i).Take(batch)]);
        }

        board.Lift();
    }

    // A trail over the block's inner seams: from point to point, never twice, as far as it goes.
    private static string[] Trail(QuiltMap map, int seed)
    {
        Random die = new(seed);
        HashSet<string> used = [];
        List<Seam> inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        string at = inner[die.Next(inner.Count)].From;
        List<string> trail = [at];
        while (inner.Where(s => !used.Contains(s.Id) && (s.From == at || s.To == at)).ToArray() is { Length: > 0 } next)
        {
            Seam s = next[die.Next(next.Length)];
            used.Add(s.Id);
            at = s.From == at ? s.To : s.From;
            trail.Add(at);
        }

        return [.. trail];
    }

    [Theory]
    [InlineData("ohio-star", 1)]
    [InlineData("ohio-star", 2)]
    [InlineData("sawtooth-star", 3)]
    [InlineData("churn-dash", 4)]
    [InlineData("pinwheel", 5)]
    public void A_shaky_stroke_that_comes_in_bits_becomes_the_moves_that_were_meant(string block, int seed)
    {
        QuiltMap map = Draft(block);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        string[] trail = Trail(map, seed);
        Stroke(board, Hand(board, map, seed, trail));
        Assert.Equal(trail[1..], board.Moves.Select(m => m.To));
        Assert.Equal(1, board.Standing.Starts);
        Assert.All(board.Moves.Skip(1), m => Assert.False(m.Starts));
    }

    [Fact]
    public void What_is_matched_again_with_each_point_stays_short_however_long_the_stroke()
    {
        QuiltMap map = Draft("ohio-star");
        BlockLines lines = new(map, map.Blocks[0]);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        StrokeSnapper snapper = new(lines);
        int most = 0;
        List<Point<ClothSpace>> pen = Hand(board, map, 7, Trail(map, 7));
        foreach (Point<ClothSpace> p in pen)
        {
            snapper.Add([p]);
            most = Math.Max(most, snapper.Tail);
        }

        Assert.Equal(pen.Count, snapper.Points);

        // Four or five seams of at most 4 1/4 in, at 20 points to the inch.
        Assert.InRange(most, 10, 5 * 4.25 * 20 * 1.2);
    }

    [Fact]
    public void Taps_and_keys_end_in_the_same_path_as_the_pen()
    {
        QuiltMap map = Draft("ohio-star");
        DrawingBoard drawn = new(map, map.Blocks[0].Id);
        DrawingBoard tapped = new(map, map.Blocks[0].Id);
        string[] trail = Trail(map, 1);
        Stroke(drawn, Hand(drawn, map, 1, trail));
        foreach (string point in trail)
        {
            tapped.Tap(map.JunctionOf(point).Place + new Vector<ClothSpace>(0.1, -0.1));
        }

        Assert.Equal(drawn.Moves, tapped.Moves);
    }

    [Fact]
    public void Wiping_back_never_takes_more_than_was_asked()
    {
        QuiltMap map = Draft("ohio-star");
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Stroke(board, Hand(board, map, 1, Trail(map, 1)));
        IReadOnlyList<DrawnMove> all = board.Moves;
        board.WipeBackOne();
        Assert.Equal(all.Take(all.Count - 1), board.Moves);
        board.WipeBackTo(2);
        Assert.Equal(all.Take(2), board.Moves);
        Assert.Equal(all[1].To, board.Needle);
        board.CutOrMend();
        board.WipeBackOne();
        Assert.False(board.IsLifted);
        Assert.Equal(2, board.Moves.Count);
        board.RubOut();
        Assert.Empty(board.Moves);
        Assert.Null(board.Needle);
    }

    [Theory]
    [InlineData("ohio-star")]
    [InlineData("sawtooth-star")]
    [InlineData("churn-dash")]
    public void What_is_begun_is_finished_and_what_is_drawn_stays(string block)
    {
        QuiltMap map = Draft(block);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        string[] trail = Trail(map, 3);
        Stroke(board, Hand(board, map, 3, trail[..4]));
        IReadOnlyList<DrawnMove> drawn = board.Moves;
        Assert.Equal(3, drawn.Count);
        board.Finish();
        Assert.Equal(drawn, board.Moves.Take(3));
        Assert.True(board.Standing.IsWhole);
        for (int i = 1; i < board.Moves.Count; i++)
        {
            Assert.True(board.Moves[i].Starts || board.Moves[i - 1].To == board.Moves[i].From);
        }
    }

    [Fact]
    public void The_starts_still_needed_are_those_that_the_planner_proves()
    {
        // Euler's bound by the board's own count, against the planner's own least number of starts.
        foreach (string block in new[] { "ohio-star", "sawtooth-star", "churn-dash", "pinwheel", "nine-patch" })
        {
            QuiltMap map = Draft(block);
            DrawingBoard board = new(map, map.Blocks[0].Id);
            RoutePlan plan = RoutePlanner.Plan(map, new() { Lines = LineChoice.Seams, Candidates = 1 });
            Assert.Equal(plan.Route.Candidates[0].Proof.LeastStarts, board.Standing.StartsLeft);
        }
    }

    [Fact]
    public void A_wrong_turn_is_said_with_the_move_before_which_all_was_well()
    {
        // Trails that go anywhere until they are stuck: some are stuck too early.
        QuiltMap map = Draft("ohio-star");
        bool lost = false;
        for (int seed = 0; seed < 40 && !lost; seed++)
        {
            DrawingBoard board = new(map, map.Blocks[0].Id);
            foreach (string point in Trail(map, seed))
            {
                board.GoTo(point);
            }

            if (board.Standing.LostAt is { } at)
            {
                lost = true;
                Assert.Contains(
                    string.Create(CultureInfo.InvariantCulture, $"Before move {at + 1} "),
                    board.Standing.Say(Words),
                    StringComparison.Ordinal
                );
                board.WipeBackTo(at);
                Assert.Null(board.Standing.LostAt);
            }
        }

        Assert.True(lost);
    }

    [Fact]
    public void Bad_points_are_counted_and_change_nothing()
    {
        QuiltMap map = Draft("ohio-star");
        DrawingBoard board = new(map, map.Blocks[0].Id);
        Stroke(board, [new(double.NaN, 1), new(1, double.PositiveInfinity), new(1e9, -1e9)]);
        Assert.Equal(3, board.StrokePoints);
        Assert.Empty(board.Moves);
        Stroke(board, [.. Enumerable.Repeat(new Point<ClothSpace>(4, 4), 5_000)], batch: 100);
        Assert.Equal(5_000, board.StrokePoints);
        Assert.Empty(board.Moves);
        Stroke(board, [.. Enumerable.Range(0, 200).Select(i => new Point<ClothSpace>(-5 + i * 0.02, -6))], batch: 10);
        Assert.Empty(board.Moves);
        Assert.Contains("touches no line", board.Remark, StringComparison.Ordinal);
        board.Tap(new(double.NaN, 0));
        Assert.Contains("No point is near", board.Remark, StringComparison.Ordinal);
        board.GoTo("no such point");
        Assert.Empty(board.Moves);
    }

    [Fact]
    public void The_path_is_seen_on_every_block_of_the_kind_turned_and_mirrored()
    {
        QuiltMap map = Draft("pinwheel", 2, 1);
        Block turned = map.Blocks[1];

        // The second block is the first one's draft, a quarter turn on: its points are the first one's turned about its middle.
        map = map.With(blocks: [map.Blocks[0], turned with { Turn = 1 }]);
        DrawingBoard board = new(map, map.Blocks[0].Id);
        foreach (string point in Trail(map, 2).Where(p => map.JunctionOf(p).Place.X <= 12))
        {
            board.GoTo(point);
        }

        IReadOnlyList<LaidPath> laid = SameKind.Lay(map, board);
        Assert.Equal(2, laid.Count);
        Assert.Equal(board.Moves.Count, laid[1].Path.Count);
        for (int i = 0; i < board.Moves.Count; i++)
        {
            // A quarter turn clockwise about the block's middle takes (x, y) to (12 − y, x); then 12 in to the right.
            Point<ClothSpace> p = board.Moves[i].Path.From;
            Assert.Equal(24 - p.Y, laid[1].Path[i].From.X, 6);
            Assert.Equal(p.X, laid[1].Path[i].From.Y, 6);
        }
    }
}
