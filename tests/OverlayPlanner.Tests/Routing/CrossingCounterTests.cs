using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Tests.Routing;

public class CrossingCounterTests
{
    private static readonly Point<ClothSpace> Center = new(0, 0);
    private static readonly Point<ClothSpace> West = new(-1, 0);
    private static readonly Point<ClothSpace> East = new(1, 0);
    private static readonly Point<ClothSpace> North = new(0, -1);
    private static readonly Point<ClothSpace> South = new(0, 1);

    [Fact]
    public void Straight_through_a_point_both_ways_is_one_crossing()
    {
        Crossing c = Assert.Single(CrossingCounter.Find([Run(West, Center, East), Run(North, Center, South)]));
        Assert.True(c.AtPoint);
        Assert.Equal(Center, c.At);
    }

    [Fact]
    public void Turning_at_a_point_is_none() =>
        Assert.Empty(CrossingCounter.Find([Run(West, Center, North), Run(East, Center, South)]));

    [Fact]
    public void A_run_s_start_and_end_are_no_pass() =>
        Assert.Empty(CrossingCounter.Find([Run(West, Center, East), Run(North, Center), Run(Center, South)]));

    [Fact]
    public void Backtracking_never_counts()
    {
        Run back = new([
            new(MoveKind.Retrace, new(North, Center), null, null),
            new(MoveKind.Ditch, new(Center, South), null, null),
        ]);
        Assert.Empty(CrossingCounter.Find([Run(West, Center, East), back]));
    }

    [Fact]
    public void Equal_tangents_are_ordered_by_how_they_bend()
    {
        // Three lines leave eastwards with one tangent: straight, bowed a little, bowed more. Passing on the bowed ones'
        // outer sides alternates or not, by the bend alone.
        // Chords and bulges are chosen so that the tangents are due east exactly: chord × (1 − b²) + left normal × 2b.
        Move straightIn = new(MoveKind.Ditch, new(West, Center), null, null);
        Edge<ClothSpace> a = new(Center, new(0.75, -1), -0.5);
        Edge<ClothSpace> b = new(Center, new(1.875, -1), -0.25);
        Run one = new([straightIn, new(MoveKind.Arc, b, null, null)]);
        Run crossing = new([new(MoveKind.Ditch, new(South, Center), null, null), new(MoveKind.Arc, a, null, null)]);
        Run beside = new([new(MoveKind.Ditch, new(North, Center), null, null), new(MoveKind.Arc, a, null, null)]);
        Assert.Equal(0, a.StartDirection.Y, 1e-15);
        Assert.Equal(0, b.StartDirection.Y, 1e-15);
        Assert.NotEmpty(CrossingCounter.Find([one, crossing]));
        Assert.Empty(CrossingCounter.Find([one, beside]));
    }

    [Fact]
    public void Lines_that_meet_inside_a_patch_cross()
    {
        Crossing c = Assert.Single(CrossingCounter.Find([Run(West, East), Run(new(0.25, -1), new(0.25, 1))]));
        Assert.False(c.AtPoint);
        Assert.InRange(c.At.X, 0.2, 0.3);
    }

    private static Run Run(params Point<ClothSpace>[] points) =>
        new([.. points.Skip(1).Select((p, i) => new Move(MoveKind.Ditch, new(points[i], p), null, null))]);
}
