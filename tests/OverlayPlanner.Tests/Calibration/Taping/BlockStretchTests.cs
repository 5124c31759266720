using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration.Taping;

/// <summary>A block from its mapped shape to its shape on the cloth now.</summary>
public sealed class BlockStretchTests
{
    private static readonly Point<ClothSpace>[] Mapped = [new(0, 0), new(12, 0), new(12, 12), new(0, 12)];
    private static readonly Point<ClothSpace>[] Now = [new(0, 0), new(12, 0), new(11.5, 12), new(0.5, 12)];

    [Fact]
    public void A_trapezoid_is_met_as_by_hand()
    {
        // Half way down it is 11.5 wide and begins at 0.25: a quarter of the way across is 0.25 + 11.5/4.
        BlockStretch stretch = BlockStretch.OfCorners(Mapped, Now);
        Point<ClothSpace> quarter = stretch.Apply(new Point<ClothSpace>(3, 6));
        Assert.Equal(3.125, quarter.X, 9);
        Assert.Equal(6, quarter.Y, 9);
        for (int i = 0; i < 4; i++)
        {
            Assert.Equal(Now[i], stretch.Apply(Mapped[i]));
        }
    }

    [Fact]
    public void A_long_seam_stays_straight_to_a_quarter_of_the_keystone()
    {
        // The lower side is shorter by 1 in: a line over shares a across and d down bows by a · d · 1/4 in at most.
        BlockStretch stretch = BlockStretch.OfCorners(Mapped, Now);
        Edge<ClothSpace> seam = new(new(1, 2), new(11, 7));
        Edge<ClothSpace> there = stretch.Apply(seam);
        Assert.True(there.IsLine);
        foreach (double t in new[] { 0.2, 0.5, 0.9 })
        {
            Assert.InRange(there.Nearest(stretch.Apply(seam.PointAt(t))).Distance, 0, 10 / 12.0 * 5 / 12 / 4 + 1e-9);
        }

        // Along the sides, and across them at one share, not at all.
        Edge<ClothSpace> level = new(new(0, 4), new(12, 4));
        Assert.InRange(stretch.Apply(level).Nearest(stretch.Apply(level.PointAt(0.3))).Distance, 0, 1e-9);
    }

    [Theory]
    [InlineData(0.3)]
    [InlineData(-0.3)]
    [InlineData(1)]
    public void An_arc_runs_through_the_places_of_its_ends_and_its_middle_either_way(double bulge)
    {
        BlockStretch stretch = BlockStretch.OfCorners(Mapped, Now);
        Edge<ClothSpace> arc = new(new(3, 4), new(8, 5), bulge);
        Edge<ClothSpace> there = stretch.Apply(arc);
        Assert.InRange(there.Nearest(stretch.Apply(arc.PointAt(0.5))).Distance, 0, 1e-9);
        Assert.Equal(there.Reversed, stretch.Apply(arc.Reversed));

        // What an arc can't follow of the stretch is far below what a tape tells.
        Assert.InRange(there.Nearest(stretch.Apply(arc.PointAt(0.25))).Distance, 0, 0.06);
    }

    [Fact]
    public void The_error_is_a_nudge_at_the_corners_and_more_between_them()
    {
        BlockStretch stretch = BlockStretch.OfCorners(Mapped, Now);
        Assert.Equal(1.0 / 40, stretch.SigmaAt(Mapped[0]).Inches, 6);
        Assert.True(stretch.SigmaAt(new(6, 0)) > Length.FromInches(0.018));
    }

    [Theory]
    [InlineData("0,0 12,0 0,12 12,12", "cross")]
    [InlineData("0,0 0,12 12,12 12,0", "cross")]
    [InlineData("0,0 12,0 12,9 0,12", "right side")]
    [InlineData("5,0 17,0 17,12 5,12", "from where the map has it")]
    [InlineData("0,0 12,0 12,12", "not four")]
    public void Corners_that_are_no_such_block_are_refused(string corners, string says)
    {
        Point<ClothSpace>[] now =
        [
            .. corners
                .Split(' ')
                .Select(c => c.Split(','))
                .Select(c => new Point<ClothSpace>(
                    double.Parse(c[0], System.Globalization.CultureInfo.InvariantCulture),
                    double.Parse(c[1], System.Globalization.CultureInfo.InvariantCulture)
                )),
        ];
        InputException refused = Assert.Throws<InputException>(() => BlockStretch.OfCorners(Mapped, now));
        Assert.Contains(says, refused.What, StringComparison.Ordinal);
        Assert.Equal("--corners", refused.Where);
    }
}
