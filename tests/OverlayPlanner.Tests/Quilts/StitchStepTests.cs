using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using static OverlayPlanner.Tests.Quilts.Maps;

namespace OverlayPlanner.Tests.Quilts;

public class StitchStepTests
{
    // A level seam of four pieces, an inch each, stored from left to right; low sides left, left, unknown, right.
    private static readonly QuiltMap Strip = Ditched(
        Of(
            4,
            4,
            [("a", 0, 2), ("b", 1, 2), ("c", 2, 2), ("d", 3, 2), ("e", 4, 2)],
            [("s1", "a", "b", 0), ("s2", "b", "c", 0), ("s3", "c", "d", 0), ("s4", "d", "e", 0)]
        ),
        Side.Left,
        Side.Left,
        null,
        Side.Right
    );

    [Fact]
    public void Pieces_that_run_on_straight_with_the_ruler_on_one_side_are_one_step()
    {
        IReadOnlyList<StitchStep> steps = Steps(Strip, Along("s1"), Along("s2"), Along("s3"), Along("s4"));

        // An unknown side goes with either neighbour, but one step has one side: left, left, any; then right.
        Assert.Equal([3, 1], steps.Select(s => s.Moves.Count));
        Assert.Equal([Side.Left, Side.Right], steps.Select(s => s.RulerSide));
        Assert.Equal([1, 2], steps.Select(s => s.Number));
        Assert.Equal([0, 3], steps.Select(s => s.FirstMove));
        Assert.Equal((new Point<ClothSpace>(0, 2), new Point<ClothSpace>(3, 2)), (steps[0].From, steps[0].To));
        Assert.Equal(3, steps[0].Length.Inches, 1e-15);
    }

    [Fact]
    public void The_ruler_s_side_turns_with_the_direction_of_travel()
    {
        IReadOnlyList<StitchStep> steps = Steps(Strip, Back("s4"), Back("s3"), Back("s2"), Back("s1"));

        Assert.Equal([2, 2], steps.Select(s => s.Moves.Count));
        Assert.Equal([Side.Left, Side.Right], steps.Select(s => s.RulerSide));
    }

    [Fact]
    public void A_corner_ends_a_step_and_so_does_a_curve_however_slight()
    {
        Move level = Added(MoveKind.Line, 0, 0, 1, 0);
        Move upright = Added(MoveKind.Line, 1, 0, 1, 1);
        Move arc = Added(MoveKind.Arc, 1, 1, 1, 2, 0.001);
        Move another = Added(MoveKind.Arc, 1, 2, 1, 3, 0.001);

        Assert.Equal([1, 1, 1, 1], Steps(Strip, level, upright, arc, another).Select(s => s.Moves.Count));
    }

    [Fact]
    public void A_seam_and_an_added_line_are_two_steps_and_so_is_what_was_stitched_before()
    {
        Move seam = Along("s3");
        Move line = Added(MoveKind.Line, 3, 2, 3.5, 2);
        Move again = Added(MoveKind.Retrace, 3.5, 2, 4, 2);
        IReadOnlyList<StitchStep> steps = Steps(Strip, seam, line, again);

        Assert.Equal(3, steps.Count);
        Assert.Equal([false, false, true], steps.Select(s => s.IsBacktrack));
        Assert.Null(steps[1].RulerSide);
    }

    [Fact]
    public void A_bend_of_two_degrees_is_straight_but_many_of_them_are_a_curve()
    {
        // Each piece turns 1.5° further, which is no corner; but the third leaves the line of the first two:
        // after pieces at 0°, 1.5° the chord runs at 0.75°, and 3° is 2.25° off.
        List<Move> moves = [];
        (double x, double y) = (0, 0);
        for (int i = 0; i < 4; i++)
        {
            double turn = i * 1.5 * Math.PI / 180;
            (double nx, double ny) = (x + Math.Cos(turn), y + Math.Sin(turn));
            moves.Add(Added(MoveKind.Line, x, y, nx, ny));
            (x, y) = (nx, ny);
        }

        Assert.Equal([2, 2], Steps(Strip, [.. moves]).Select(s => s.Moves.Count));
    }

    [Fact]
    public void Numbers_run_on_from_run_to_run_and_an_empty_run_has_no_step()
    {
        RouteCandidate candidate = Candidate([new([Along("s1")]), new([]), new([Along("s2"), Along("s3")])]);
        IReadOnlyList<StitchStep> steps = StitchStep.Of(Strip, candidate);

        Assert.Equal([(1, 0, 0), (2, 2, 0)], steps.Select(s => (s.Number, s.Run, s.FirstMove)));
    }

    private static QuiltMap Ditched(QuiltMap map, params Side?[] sides) =>
        map.With(seams: [.. map.Seams.Select((s, i) => s with { Ditch = sides[i] })]);

    private static Move Along(string seam) => new(MoveKind.Ditch, Strip.EdgeOf(Strip.SeamOf(seam)), seam, null);

    private static Move Back(string seam) => Along(seam) with { Path = Strip.EdgeOf(Strip.SeamOf(seam)).Reversed };

    private static Move Added(MoveKind kind, double x0, double y0, double x1, double y1, double bulge = 0) =>
        new(kind, Line(x0, y0, x1, y1, bulge), null, null);

    private static IReadOnlyList<StitchStep> Steps(QuiltMap map, params Move[] moves) =>
        StitchStep.Of(map, Candidate([new(moves)]));

    private static RouteCandidate Candidate(IReadOnlyList<Run> runs) =>
        new(
            "A",
            runs,
            new(runs.Count, 0, Length.Zero, Length.Zero, Length.Zero, Length.Zero, runs.Sum(r => r.Moves.Count)),
            new([], 1, Length.Zero, true)
        );
}
