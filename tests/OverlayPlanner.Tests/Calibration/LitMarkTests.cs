using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

/// <summary>Where lines of sight to a projected mark meet.</summary>
public class LitMarkTests
{
    private static readonly PositionCovariance Sharp = new(1e-5, 0, 1e-5);

    // Cameras 40 in up, 20 in before and behind the middle.
    private static readonly (Point<ClothSpace> Foot, double Height)[] Sides = [(new(6, 26), 40), (new(6, -14), 40)];

    [Fact]
    public void Seen_from_two_sides_the_height_is_measured_and_the_place_is_right()
    {
        // By hand: a point 1/4 in below the plane at (5, 7) is seen where the line from (6, 26, 40) through (5, 7, −1/4) meets
        // the plane: at 40 ÷ 40.25 of the way.
        LitMark met = LitMark.Of([Sight(0, new(5, 7), -0.25), Sight(1, new(5, 7), -0.25)], Sides);
        Point<ClothSpace> first = Sight(0, new(5, 7), -0.25).OnPlane;
        Assert.True(first.DistanceTo(new(6 - 40 / 40.25, 26 - 19 * 40 / 40.25)) < 1e-12);
        Assert.True(met.IsHeightMeasured);

        // Shrunk a little towards the plane: a sag of 1/4 in is half of what is believed possible.
        Assert.Equal(-0.25, met.Height, 0.001);
        Assert.True(met.Cloth.DistanceTo(new(5, 7)) < 0.001);
        Assert.True(met.Misfit < 0.001);

        // From one side alone it would lie 0.12 in further off.
        Assert.InRange(first.DistanceTo(new(5, 7)), 0.11, 0.13);
    }

    [Fact]
    public void Seen_from_one_side_it_lies_on_the_plane_and_its_error_points_along_the_line_of_sight()
    {
        LitMark seen = LitMark.Of([Sight(0, new(6, 6), 0)], Sides);
        Assert.False(seen.IsHeightMeasured);
        Assert.Equal(0, seen.Height, 1e-9);
        Assert.True(seen.Cloth.DistanceTo(new(6, 6)) < 1e-9);

        // The camera stands 20 in off and 40 in up: 1/32 in of height is 1/64 in along y, nothing along x.
        Assert.Equal(1e-5, seen.Spread.Xx, 1e-9);
        Assert.Equal(1e-5 + 1.0 / 4096, seen.Spread.Yy, 1e-8);
    }

    [Fact]
    public void Light_that_moved_sideways_between_photos_fits_no_height()
    {
        LitMark moved = LitMark.Of([Sight(0, new(5, 7), 0), Sight(1, new(5.2, 7), 0)], Sides);
        Assert.Equal(0.1, moved.Misfit, 0.005);
    }

    private static SeenMark Sight(int photo, Point<ClothSpace> at, double height)
    {
        (Point<ClothSpace> foot, double eye) = Sides[photo];
        return new(photo, new(3, 4), at + (at - foot) * (height / (eye - height)), Sharp);
    }
}
