using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class FillTests
{
    [Fact]
    public void A_square_ditched_on_its_outline_alone_leaves_its_whole_width_open()
    {
        // Handbook 5: a plain 12 in square ditched only on its outline leaves 12.
        QuiltMap map = MapBuilder.Build(Length.FromInches(12), Length.FromInches(12), [], [], Length.FromInches(0.001));
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, Outline = OutlineChoice.Any }).Route.Candidates[
            0
        ];
        WidestGap gap = WidestGap.Of(map, c)!;
        Assert.Equal(12, gap.Diameter.Inches, 1e-5);
        Assert.Equal(0, gap.Center.DistanceTo(new(6, 6)), 1e-4);
    }

    [Fact]
    public void The_widest_circle_agrees_with_a_fine_grid_of_distances()
    {
        foreach (string id in new[] { "nine-patch", "ohio-star", "snowball", "churn-dash", "orange-peel" })
        {
            QuiltMap map = Draft(id);
            foreach (RouteCandidate c in Plan(map, new()).Route.Candidates)
            {
                (double least, double most) = GapOnGrid(map, c, 0.1);
                Assert.InRange(WidestGap.Of(map, c)!.Diameter.Inches, least - 1e-6, most + 1e-6);
            }
        }
    }

    [Fact]
    public void Seams_that_are_not_stitched_bound_nothing()
    {
        // A cross of two seams in 12 in; only the upright one is stitched: half of the square each side, 6 wide.
        QuiltMap map = Draft("four-patch");
        HashSet<string> upright =
        [
            .. map
                .Seams.Where(s => Math.Abs(map.EdgeOf(s).PointAt(0.5).X - 6) < 1e-6 && s.Role != SeamRole.Edge)
                .Select(s => s.Id),
        ];
        Assert.Equal(2, upright.Count);
        RouteCandidate c = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                PressedOpen =
                [
                    .. map.Seams.Where(s => s.Role != SeamRole.Edge && !upright.Contains(s.Id)).Select(s => s.Id),
                ],
            }
        ).Route.Candidates[0];
        Assert.Equal(6, WidestGap.Of(map, c)!.Diameter.Inches, 1e-5);
        RouteCandidate both = Plan(map, new() { Lines = LineChoice.Seams }).Route.Candidates[0];
        Assert.Equal(6, WidestGap.Of(map, both)!.Diameter.Inches, 1e-5);
        HashSet<string> none = [.. map.Seams.Where(s => s.Role != SeamRole.Edge).Skip(3).Select(s => s.Id)];
        RouteCandidate one = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                PressedOpen = [.. map.Seams.Where(s => !none.Contains(s.Id)).Select(s => s.Id)],
            }
        ).Route.Candidates[0];
        (double least, double most) = GapOnGrid(map, one, 0.1);
        Assert.InRange(WidestGap.Of(map, one)!.Diameter.Inches, least - 1e-6, most + 1e-6);
        Assert.True(least > 6.5);
    }

    [Theory]
    [InlineData("nine-patch", 3)]
    [InlineData("ohio-star", 2)]
    [InlineData("four-patch", 4)]
    [InlineData("snowball", 4)]
    public void Filling_evenly_leaves_no_circle_wider_than_the_batting_allows(string id, double inches)
    {
        QuiltMap map = Draft(id);
        RoutePlan plan = Plan(map, new() { Fill = Length.FromInches(inches) });
        RouteCandidate c = plan.Route.Candidates[0];
        (double least, double _) = GapOnGrid(map, c, 0.1);
        Assert.True(least <= inches + 1.0 / 16, FormattableString.Invariant($"{id}: {least}"));
        Assert.DoesNotContain(plan.Findings, f => f.What == "fill-not-reached");
        Assert.Equal(WidestGap.Of(map, c)!.Diameter.Inches, c.Unknown.Values["widestGapInches"].GetDouble(), 1e-6);
        Assert.Equal(0, PlaneGraphs.CountCrossings(c));
        Assert.True(Likeness.AreLikePatchesAlike(map, c));

        // Without the wish the same block stays more open.
        Assert.True(WidestGap.Of(map, Plan(map, new()).Route.Candidates[0])!.Diameter.Inches > inches);
    }

    [Fact]
    public void What_can_t_be_filled_is_said_with_its_width_and_place()
    {
        RoutePlan plan = Plan(Draft("four-patch"), new() { Fill = Length.FromInches(0.75) });
        Finding f = Assert.Single(plan.Findings, f => f.What == "fill-not-reached");
        WidestGap gap = WidestGap.Of(plan.Route.Quilt, plan.Route.Candidates[0])!;
        Assert.Contains(gap.Diameter.ToSixteenths(), f.Where, StringComparison.Ordinal);
        Assert.Contains(gap.Patch, f.Where, StringComparison.Ordinal);
        Assert.Contains("--centers", f.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void A_whole_quilt_is_filled_in_every_block_and_in_the_sashing()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("ohio-star"),
            Length.FromInches(12),
            2,
            2,
            Length.FromInches(2)
        );
        RouteCandidate c = Plan(map, new() { Fill = Length.FromInches(3) }).Route.Candidates[0];
        (double least, double _) = GapOnGrid(map, c, 0.25);
        Assert.True(least <= 3 + 1.0 / 16);
    }

    [Fact]
    public void Filling_a_quilt_of_many_blocks_keeps_it_one_thread()
    {
        // Nine blocks with sashing have 88 odd points; arcs along the outer squares and the sashing mend them all.
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("nine-patch"),
            Length.FromInches(12),
            3,
            3,
            Length.FromInches(2)
        );
        RouteCandidate c = Plan(map, new() { Fill = Length.FromInches(3) }).Route.Candidates[0];
        Assert.Equal(1, c.Measures.Starts);
        Assert.Equal(0, c.Measures.Doubled.Inches);
        Assert.Equal(0, c.Measures.Crossings);
        Assert.True(WidestGap.Of(map, c)!.Diameter.Inches <= 3 + 1.0 / 32);
    }

    [Theory]
    [InlineData("wool", 3)]
    [InlineData("Cotton", 8)]
    [InlineData("cotton-unneedled", 1.5)]
    [InlineData("4", 4)]
    [InlineData("100mm", 100 / 25.4)]
    public void Battings_are_known_by_name_and_any_length_will_do(string words, double inches) =>
        // Handbook 5; the smaller figure where it has two.
        Assert.Equal(inches, Batting.WidestGapOf(words).Inches, 1e-9);

    [Fact]
    public void Unknown_battings_and_impossible_widths_are_refused()
    {
        Assert.Contains(
            "wool",
            Assert.Throws<InputException>(() => Batting.WidestGapOf("kapok")).Remedy,
            StringComparison.Ordinal
        );
        Assert.Equal(
            "--fill",
            Assert.Throws<InputException>(() => Plan(Draft("four-patch"), new() { Fill = Length.Zero })).Where
        );
    }

    [Theory]
    [InlineData(LineChoice.Seams)]
    [InlineData(LineChoice.Curves)]
    public void Wishes_that_contradict_each_other_are_named_both(LineChoice lines)
    {
        InputException e = Assert.Throws<InputException>(() =>
            Plan(Draft("four-patch"), new() { Lines = lines, Fill = Length.FromInches(3) })
        );
        Assert.Contains("--fill", e.Where, StringComparison.Ordinal);
        Assert.Contains("--lines", e.Where, StringComparison.Ordinal);
        e = Assert.Throws<InputException>(() => Plan(Draft("four-patch"), new() { Lines = lines, Centers = true }));
        Assert.Contains("--centers", e.Where, StringComparison.Ordinal);
    }

    /// <summary>
    /// Bounds of the widest circle from distances at grid points: the largest found, and that much more which a middle between
    /// grid points can have. Every patch's points are looked at; lines are taken as chains of short chords.
    /// </summary>
    private static (double Least, double Most) GapOnGrid(QuiltMap map, RouteCandidate c, double pitch)
    {
        // What is stitched, and the map's own outline, which bounds every circle.
        List<(Point<ClothSpace> A, Point<ClothSpace> B)> walls = [];
        foreach (
            Edge<ClothSpace> e in c
                .AllMoves.Select(m => m.Path)
                .Concat(map.Seams.Where(s => s.Role == SeamRole.Edge).Select(map.EdgeOf))
        )
        {
            int n = e.IsLine ? 1 : 32;
            for (int i = 0; i < n; i++)
            {
                walls.Add((e.PointAt((double)i / n), e.PointAt((i + 1.0) / n)));
            }
        }

        double best = 0;
        for (double y = pitch / 2; y < map.Height.Inches; y += pitch)
        {
            for (double x = pitch / 2; x < map.Width.Inches; x += pitch)
            {
                double d = double.PositiveInfinity;
                foreach ((Point<ClothSpace> a, Point<ClothSpace> b) in walls)
                {
                    double dx = b.X - a.X;
                    double dy = b.Y - a.Y;
                    double t = Math.Clamp(((x - a.X) * dx + (y - a.Y) * dy) / (dx * dx + dy * dy), 0, 1);
                    d = Math.Min(d, Math.Sqrt(Math.Pow(a.X + t * dx - x, 2) + Math.Pow(a.Y + t * dy - y, 2)));
                    if (d <= best)
                    {
                        break;
                    }
                }

                best = Math.Max(best, d);
            }
        }

        // The true middle lies within half a diagonal of a grid point; chords of an arc lie within a thousandth of it.
        return (2 * best - 0.002, 2 * (best + pitch * Math.Sqrt(0.5)) + 0.002);
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
