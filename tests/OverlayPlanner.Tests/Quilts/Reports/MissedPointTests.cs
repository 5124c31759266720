using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Tests.Quilts.Reports;

public class MissedPointTests
{
    [Fact]
    public void Two_seams_that_arrive_at_a_third_from_both_sides_are_said_to_miss_by_what_lies_between()
    {
        // A seam across the middle; one arrives from above at 2, one from below at 2 3/16.
        QuiltMap map = Maps.Square(
            [("l", 0, 2), ("p", 2, 2), ("q", 2.1875, 2), ("r", 4, 2), ("t", 2, 0), ("u", 2.1875, 4)],
            [("m1", "l", "p", 0), ("m2", "p", "q", 0), ("m3", "q", "r", 0), ("up", "t", "p", 0), ("down", "q", "u", 0)]
        );

        MissedPoint missed = Assert.Single(QuiltReport.Of(map).Missed);
        Assert.Equal(MeetingReason.BothSides, missed.Reason);
        Assert.Equal(0.1875, missed.Gap.Value, 1e-12);
        Assert.Equal(new Point<ClothSpace>(2.09375, 2), missed.At);
    }

    [Fact]
    public void Seams_from_one_side_alone_are_a_narrow_strip_and_no_miss()
    {
        QuiltMap map = Maps.Square(
            [("l", 0, 2), ("p", 2, 2), ("q", 2.1875, 2), ("r", 4, 2), ("t", 2, 0), ("u", 2.1875, 0)],
            [("m1", "l", "p", 0), ("m2", "p", "q", 0), ("m3", "q", "r", 0), ("up", "t", "p", 0), ("too", "q", "u", 0)]
        );

        Assert.Empty(QuiltReport.Of(map).Missed);
    }

    [Fact]
    public void A_point_of_the_draft_that_was_sewn_as_two_is_found_with_its_error()
    {
        // A four patch whose middle is two points 0.2 in apart: σ of the distance of two points is √2 σ.
        QuiltMap map = new(
            Length.FromInches(4),
            Length.FromInches(4),
            [
                .. new (string Id, double X, double Y)[]
                {
                    ("a", 0, 0),
                    ("b", 4, 0),
                    ("c", 4, 4),
                    ("d", 0, 4),
                    ("t", 2, 0),
                    ("r", 4, 2),
                    ("u", 2.2, 4),
                    ("l", 0, 2),
                    ("m", 2, 2),
                    ("n", 2.2, 2),
                }.Select(p => new Junction(p.Id, new(new(p.X, p.Y), Length.FromInches(0.01)))),
            ],
            [new("s1", "l", "m"), new("s2", "m", "n"), new("s3", "n", "r"), new("s4", "t", "m"), new("s5", "n", "u")],
            blocks: [new("b1", [new(0, 0), new(4, 0), new(4, 4), new(0, 4)]) { Pattern = "four-patch" }]
        );

        MissedPoint missed = Assert.Single(QuiltReport.Of(map).Missed);
        Assert.Equal(MeetingReason.Draft, missed.Reason);
        Assert.Equal(0.2, missed.Gap.Value, 1e-9);
        Assert.Equal(0.01 * Math.Sqrt(2), missed.Gap.Sigma, 1e-7);
        Assert.True(missed.IsSure);
    }

    [Fact]
    public void Seams_that_should_line_up_across_sashing_are_measured_across_their_own_way()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("four-patch"),
            Length.FromInches(6),
            2,
            1,
            Length.FromInches(1)
        );
        Assert.All(
            QuiltReport.Of(map).Missed,
            m => Assert.Equal((MeetingReason.AcrossSashing, 0.0), (m.Reason, Math.Round(m.Gap.Value, 9)))
        );

        // The point where the second block's middle seam meets the sashing moves down by 1/8 in.
        Point<ClothSpace> middle = map.Blocks[1].Corners[0].Toward(map.Blocks[1].Corners[3], 0.5);
        QuiltMap moved = map.With(
            junctions:
            [
                .. map.Junctions.Select(j =>
                    j.Place.DistanceTo(middle) < 1e-9
                        ? j with
                        {
                            At = new(middle + new Vector<ClothSpace>(0, 0.125), Length.Zero),
                        }
                        : j
                ),
            ]
        );
        double worst = QuiltReport.Of(moved).Missed.Select(m => m.Gap.Value).DefaultIfEmpty(0).Max();
        Assert.InRange(worst, 0.1, 0.15);
    }

    [Theory]
    [InlineData("#1b2a5e", "dark blue")]
    [InlineData("#f4f4f2", "white")]
    [InlineData("#101010", "black")]
    [InlineData("#808080", "grey")]
    [InlineData("#f0dfbe", "cream")]
    [InlineData("#b01020", "red")]
    [InlineData("#1c5028", "dark green")]
    public void Colours_have_plain_names(string hex, string name) =>
        Assert.Equal(name, ColorGroup.NameOf(LabColor.Parse(hex)!.Value));

    [Fact]
    public void Patches_of_one_cloth_in_different_light_are_one_group_and_areas_add_up()
    {
        string[] blues = ["#20346c", "#233872", "#1e3066"];
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(9), 2, 2, Length.Zero);
        map = map.With(
            patches:
            [
                .. map.Patches.Select((p, i) => p with { Color = i % 3 == 0 ? "#f0e8d8" : blues[i % blues.Length] }),
            ]
        );

        IReadOnlyList<ColorGroup> groups = ColorGroup.Of(map);

        Assert.Equal(["dark blue", "cream"], groups.Select(g => g.Name));
        Assert.Equal(2.0 / 3 * 18 * 18, groups[0].Area.Value, 1e-6);
        Assert.Equal(18.0 * 18, groups.Sum(g => g.Area.Value), 1e-6);
    }

    [Fact]
    public void Lightness_of_published_colours_is_as_published()
    {
        // sRGB red and blue under D65: L*a*b* (53.24, 80.09, 67.20) and (32.30, 79.19, −107.86), B. Lindbloom's colour calculator.
        LabColor red = LabColor.Parse("#ff0000")!.Value;
        LabColor blue = LabColor.Parse("#0000ff")!.Value;
        Assert.Equal((53.24, 80.09, 67.20), (Math.Round(red.L, 2), Math.Round(red.A, 2), Math.Round(red.B, 2)));
        Assert.Equal((32.30, 79.19, -107.86), (Math.Round(blue.L, 2), Math.Round(blue.A, 2), Math.Round(blue.B, 2)));
    }
}
