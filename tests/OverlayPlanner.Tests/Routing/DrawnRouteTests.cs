using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class DrawnRouteTests
{
    [Fact]
    public void A_perfect_route_scores_one() => Assert.All(BlockLibrary.All, b => AssertPerfect(Draft(b.Id), 0));

    [Fact]
    public void A_perfect_route_scores_one_though_the_hand_shakes_by_a_tenth_of_an_inch() =>
        // Shaking by more than a tenth of the shortest seam would hide what is meant; most blocks have none that short.
        Assert.All(
            BlockLibrary.All.Select(b => Draft(b.Id)).Where(m => m.Seams.Min(s => m.EdgeOf(s).Length) >= 1.7),
            m => AssertPerfect(m, 0.1)
        );

    [Fact]
    public void A_seam_left_out_is_missed_by_name_place_and_length()
    {
        QuiltMap map = Draft("shoofly");
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams });
        Move left = c.Runs[0].Moves[^1];
        DrawnJudgement j = Judge(map, Drawn([c.Runs[0].Moves.SkipLast(1)], 0.05));
        DrawnFault fault = Assert.Single(j.Missed);
        Assert.Equal(left.Seam, fault.Seam);
        Assert.Equal(left.Path.Length, fault.Length.Inches, 1e-9);
        Assert.Equal(0, left.Path.Nearest(fault.At).Distance, 1e-9);

        // Score: 1 − missed ÷ (70.63 in to stitch, handbook 1.4); the open trail needs no second start.
        Assert.Equal(1 - left.Path.Length / 70.627, j.Score, 0.001);
    }

    [Fact]
    public void A_seam_gone_over_twice_is_doubled()
    {
        QuiltMap map = Draft("shoofly");
        IReadOnlyList<Move> moves = Plan(map, new() { Lines = LineChoice.Seams }).Runs[0].Moves;
        Move again = moves[^1] with { Path = moves[^1].Path.Reversed };
        DrawnJudgement j = Judge(map, Drawn([moves.Append(again)], 0.05));
        DrawnFault fault = Assert.Single(j.Doubled);
        Assert.Equal(again.Seam, fault.Seam);
        Assert.Equal(again.Path.Length, fault.Length.Inches, 1e-9);
        Assert.Empty(j.Missed);
        Assert.InRange(j.Score, 0.9, 0.999);
    }

    [Fact]
    public void Straight_lines_through_a_point_cross_there()
    {
        QuiltMap map = Draft("four-patch");
        DrawnJudgement j = Judge(
            map,
            [
                [new(0, 6.1), new(12, 5.95)],
                [new(6, 0), new(6.1, 12)],
            ]
        );
        DrawnFault crossing = Assert.Single(j.Crossed);
        Assert.Equal(new Point<ClothSpace>(6, 6), crossing.At);
        Assert.Empty(j.Missed);
        Assert.Empty(j.Broken);

        // One crossing costs 0.03; two lines for four odd points are the fewest.
        Assert.Equal(0.97, j.Score, 1e-9);
    }

    [Fact]
    public void A_needless_new_start_is_broken_and_a_lifted_pen_is_not()
    {
        QuiltMap map = Draft("shoofly");
        IReadOnlyList<Move> moves = Plan(map, new() { Lines = LineChoice.Seams }).Runs[0].Moves;
        int half = moves.Count / 2;
        Assert.Empty(Judge(map, Drawn([moves.Take(half), moves.Skip(half)], 0)).Broken);

        // The first move stitched last is a start of its own, although the whole is one closed line.
        int third = moves.Count / 3;
        DrawnJudgement j = Judge(
            map,
            Drawn([moves.Take(third), moves.Skip(half), moves.Skip(third).Take(half - third)], 0)
        );
        Assert.NotEmpty(j.Broken);
        Assert.True(j.Score < 1);
    }

    [Fact]
    public void A_stroke_that_follows_no_line_is_broken()
    {
        QuiltMap map = Draft("four-patch");
        DrawnJudgement j = Judge(
            map,
            [
                [new(2, 2), new(3, 2.5), new(4, 2)],
            ]
        );
        DrawnFault fault = Assert.Single(j.Broken);
        Assert.InRange(fault.Length.Inches, 2, 2.3);
        Assert.Equal(4, j.Missed.Count);
        Assert.Equal(0, j.Score);
    }

    [Fact]
    public void Ten_thousand_equal_points_are_one_dot_and_take_no_time()
    {
        QuiltMap map = Draft("four-patch");
        DrawnJudgement j = Judge(
            map,
            [
                [.. Enumerable.Repeat(new Point<ClothSpace>(6, 6), 10_000)],
            ]
        );
        Assert.Single(j.Broken);
        Assert.Equal(4, j.Missed.Count);
    }

    [Fact]
    public void What_is_no_drawing_is_refused_with_its_place()
    {
        QuiltMap map = Draft("four-patch");
        InputException nan = Assert.Throws<InputException>(() =>
            Judge(
                map,
                [
                    [new(0, 0)],
                    [new(1, 1), new(double.NaN, 2)],
                ]
            )
        );
        Assert.Equal("stroke 2, point 2", nan.Where);
        Assert.Throws<InputException>(() => Judge(map, []));
        Assert.Throws<InputException>(() =>
            Judge(
                map,
                [
                    [],
                ]
            )
        );
    }

    [Fact]
    public void Outline_seams_count_only_once_they_are_drawn()
    {
        QuiltMap map = Draft("four-patch");
        RouteCandidate inner = Plan(map, new() { Lines = LineChoice.Seams });
        Assert.Equal(1, Judge(map, Drawn(inner.Runs.Select(r => r.Moves), 0)).Score);
        RouteCandidate all = Plan(map, new() { Lines = LineChoice.Seams, Outline = OutlineChoice.Last });
        Assert.Equal(1, Judge(map, Drawn(all.Runs.Select(r => r.Moves), 0)).Score);
    }

    private static void AssertPerfect(QuiltMap map, double shake)
    {
        foreach (LineChoice lines in new[] { LineChoice.Seams, LineChoice.SeamsAndArcs })
        {
            RouteCandidate c = Plan(map, new() { Lines = lines });
            DrawnJudgement j = Judge(map, Drawn(c.Runs.Select(r => r.Moves), shake));
            Assert.Empty(j.Missed);
            Assert.Empty(j.Doubled);
            Assert.Empty(j.Crossed);
            Assert.Empty(j.Broken);
            Assert.Equal(1, j.Score);
        }
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken).Route.Candidates[0];

    private static DrawnJudgement Judge(QuiltMap map, IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes) =>
        DrawnRoute.Judge(map, strokes, TestContext.Current.CancellationToken);

    // A point each fortieth of a move, shaken evenly within ± shake inches; the seed is fixed.
    private static List<IReadOnlyList<Point<ClothSpace>>> Drawn(IEnumerable<IEnumerable<Move>> strokes, double shake)
    {
        Random random = new(5);
        return
        [
            .. strokes.Select(moves =>
                (IReadOnlyList<Point<ClothSpace>>)
                    [
                        .. moves
                            .SelectMany(m => Enumerable.Range(0, 41).Select(i => m.Path.PointAt(i / 40.0)))
                            .Select(p => new Point<ClothSpace>(p.X + Shaken(), p.Y + Shaken())),
                    ]
            ),
        ];

        double Shaken() => shake * (2 * random.NextDouble() - 1);
    }
}
