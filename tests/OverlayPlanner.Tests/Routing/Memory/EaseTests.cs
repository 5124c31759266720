using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Memory;

namespace OverlayPlanner.Tests.Routing.Memory;

public class EaseTests
{
    [Fact]
    public void Hands_feel_turns_stops_reaches_and_rulers()
    {
        // 8 in right, a right angle, 6 in down, a half circle of 2 in radius back up, then its twin of 3 in.
        RouteEase ease = Read(
            new(),
            new Edge<ClothSpace>(new(0, 0), new(8, 0)),
            new Edge<ClothSpace>(new(8, 0), new(8, 6)),
            new Edge<ClothSpace>(new(8, 6), new(8, 2), 1),
            new Edge<ClothSpace>(new(8, 2), new(8, 8), 1)
        );

        // 90° at the corner; the arc leaves to the right... of a way down: bowing left, going up, it starts to the left: 90°;
        // it ends going right, and the next begins going right: no turn.
        Assert.Equal((2, 0), (ease.Turns, ease.SharpStops));

        // By a reach of 6 in: once in 8 in, never in 6 in, once in 2π = 6.28 in, once in 3π = 9.42 in.
        Assert.Equal(3, ease.HandMoves);
        Assert.Equal(6, ease.LongestReach.Inches, 1e-9);

        // Straight edge, 2 in, 3 in; changed twice.
        Assert.Equal((3, 2), (ease.Rulers, ease.RulerChanges));
    }

    [Fact]
    public void A_longer_reach_moves_the_hand_less() =>
        Assert.Equal(
            0,
            Read(new() { Reach = Length.FromInches(8) }, new Edge<ClothSpace>(new(0, 0), new(8, 0))).HandMoves
        );

    [Fact]
    public void Directions_cost_what_the_table_says_and_the_left_hand_sees_it_in_a_mirror()
    {
        EaseTaste taste = new() { Directions = [1, 2, 3, 4, 5, 6, 7, 8] };
        Assert.Equal(10 * 3, Read(taste, new Edge<ClothSpace>(new(0, 5), new(10, 5))).Effort, 1e-9);
        Assert.Equal(
            10 * 7,
            Read(taste with { Hand = Hand.Left }, new Edge<ClothSpace>(new(0, 5), new(10, 5))).Effort,
            1e-9
        );
        Assert.Equal(4 * 5, Read(taste, new Edge<ClothSpace>(new(5, 1), new(5, 5))).Effort, 1e-9);

        // Half way between up (1) and up and left (8), and between up and right (2) and right (3).
        Assert.Equal(4.5, taste.CostOf(Way(-22.5)), 1e-9);
        Assert.Equal(2.5, taste.CostOf(Way(67.5)), 1e-9);

        static Vector<ClothSpace> Way(double degrees) =>
            new(Math.Sin(degrees * Math.PI / 180), -Math.Cos(degrees * Math.PI / 180));
    }

    [Fact]
    public void A_table_that_is_none_is_refused()
    {
        Assert.Equal(
            "--directions",
            Assert.Throws<InputException>(() => new EaseTaste { Directions = [1, 1] }.Require()).Where
        );
        Assert.Equal(
            "--hand-reach",
            Assert.Throws<InputException>(() => new EaseTaste { Reach = Length.Zero }.Require()).Where
        );
        Assert.Throws<InputException>(() =>
            CallTests.Plan(
                CallTests.Draft("four-patch"),
                new() { Ease = new EaseTaste { Directions = [1, 1, 1, 1, 1, 1, 1, double.NaN] } }
            )
        );
    }

    private static RouteEase Read(EaseTaste taste, params Edge<ClothSpace>[] path)
    {
        QuiltMap map = new(Length.FromInches(20), Length.FromInches(20), [], []);
        RouteCandidate c = new(
            "A",
            [new([.. path.Select(p => new Move(p.IsLine ? MoveKind.Line : MoveKind.Arc, p, null, null))])],
            new(1, 0, Length.Zero, Length.Zero, Length.Zero, Length.Zero, path.Length),
            new([], 1, Length.Zero, false)
        );
        return EaseReader.Read(map, c, taste);
    }
}
