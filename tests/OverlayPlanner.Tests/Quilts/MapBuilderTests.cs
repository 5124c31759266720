using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using static OverlayPlanner.Tests.Quilts.Maps;

namespace OverlayPlanner.Tests.Quilts;

public class MapBuilderTests
{
    [Fact]
    public void An_empty_map_is_its_outline()
    {
        QuiltMap map = Build(4, 0.01);

        Assert.Equal(4, map.Seams.Count);
        Assert.All(map.Seams, s => Assert.Equal((SeamRole.Edge, EdgeKind.Seam), (s.Role, s.Edge)));
        Assert.Equal([16], Areas(map), (a, b) => Math.Abs(a - b) < 1e-12);
    }

    [Fact]
    public void A_seam_that_ends_on_another_splits_it_there()
    {
        // A level seam, and an upright one that hangs from its middle: the outline is split three times, the level one once.
        QuiltMap map = Build(4, 0.01, Line(0, 2, 4, 2), Line(2, 2, 2, 4));

        Assert.Equal(7 + 3, map.Seams.Count);
        Assert.Equal([8, 4, 4], Areas(map), (a, b) => Math.Abs(a - b) < 1e-12);
        Assert.Equal(
            [(0, 0), (4, 0), (0, 2), (2, 2), (4, 2), (0, 4), (2, 4), (4, 4)],
            map.Junctions.Select(j => (j.Place.X, j.Place.Y))
        );
        Assert.Equal(["j1", "j2", "j3", "j4", "j5", "j6", "j7", "j8"], map.Junctions.Select(j => j.Id));
        AssertPlane(map);
    }

    [Fact]
    public void Lines_that_cross_are_split_where_they_cross()
    {
        QuiltMap map = Build(4, 0.01, Line(0, 0, 4, 4), Line(4, 0, 0, 4));

        Assert.Equal(8, map.Seams.Count);
        Assert.Equal([4, 4, 4, 4], Areas(map), (a, b) => Math.Abs(a - b) < 1e-12);
        AssertPlane(map);
    }

    [Fact]
    public void Arcs_are_split_where_lines_end_on_them_and_where_they_cross()
    {
        // A half circle of radius 1 about (2, 2) over the top, its chord, and an upright line through its top: the line crosses
        // the arc at (2, 1) and the chord at (2, 2).
        QuiltMap map = Build(4, 0.01, Line(1, 2, 3, 2, 1), Line(1, 2, 3, 2), Line(2, 0, 2, 4));

        Assert.Contains(map.Junctions, j => j.Place.DistanceTo(new(2, 1)) < 1e-12);
        double[] quarters = [.. Areas(map).Where(a => a < 1)];
        Assert.Equal([Math.PI / 4, Math.PI / 4], quarters, (a, b) => Math.Abs(a - b) < 1e-4);
        AssertPlane(map);
    }

    [Fact]
    public void Two_circles_that_cross_make_a_lens_and_two_moons()
    {
        // Circles of radius 1 about (2, 2.5) and (3, 2.5), each of two half circles, joined to the outline by one line. The lens
        // of two unit circles one apart is 2π/3 − √3/2; each moon is π less that.
        QuiltMap map = Build(
            5,
            0.01,
            Line(1, 2.5, 3, 2.5, 1),
            Line(3, 2.5, 1, 2.5, 1),
            Line(2, 2.5, 4, 2.5, 1),
            Line(4, 2.5, 2, 2.5, 1),
            Line(0, 2.5, 1, 2.5)
        );

        double lens = (2 * Math.PI / 3) - (Math.Sqrt(3) / 2);
        double[] areas = [.. Areas(map).Order()];
        Assert.Equal(
            [lens, Math.PI - lens, Math.PI - lens, 25 - (2 * Math.PI) + lens],
            areas,
            (a, b) => Math.Abs(a - b) < 1e-3
        );
        AssertPlane(map);
    }

    [Fact]
    public void Pieces_of_one_arc_given_twice_are_one()
    {
        // The half circle, its left quarter again, and its right half backwards: bulge of a quarter is tan 22.5°.
        double quarter = Math.Tan(Math.PI / 8);
        QuiltMap map = Build(
            4,
            1e-6,
            Line(1, 2, 3, 2, 1),
            Line(1, 2, 2, 1, quarter),
            Line(3, 2, 2, 1, -quarter),
            Line(0, 2, 1, 2),
            Line(3, 2, 4, 2)
        );

        Assert.Equal(2, map.Seams.Count(s => s.Bulge != 0));
        Assert.Equal(2, map.Patches.Count);
        AssertPlane(map);
    }

    [Fact]
    public void Overlapping_lines_are_one_line_with_all_their_ends()
    {
        QuiltMap map = Build(4, 0.01, Line(0, 2, 3, 2), Line(4, 2, 1, 2), Line(1, 2, 3, 2));

        Assert.Equal(3, map.Seams.Count(s => s.Role == SeamRole.Seam));
        Assert.Equal(2, map.Patches.Count);
        AssertPlane(map);
    }

    [Fact]
    public void Ends_within_the_tolerance_are_joined_and_ends_near_the_outline_are_put_on_it()
    {
        QuiltMap map = Build(4, 0.05, Line(0.03, 2, 2, 2.02), Line(2.01, 1.99, 3.98, 2.01), Line(2, 0.04, 2.02, 3.97));

        Assert.Equal(4, map.Patches.Count);
        Assert.Equal(9, map.Junctions.Count);
        Assert.All(
            map.Seams.Where(s => s.Role == SeamRole.Edge),
            s =>
            {
                Edge<ClothSpace> e = map.EdgeOf(s);
                Assert.True((e.From.X == e.To.X && e.From.X is 0 or 4) || (e.From.Y == e.To.Y && e.From.Y is 0 or 4));
            }
        );
        AssertPlane(map);
    }

    [Fact]
    public void A_ring_that_floats_in_a_patch_is_its_hole_and_a_patch_of_its_own()
    {
        QuiltMap map = Build(
            4,
            0.01,
            Line(1, 1, 3, 1),
            Line(3, 1, 3, 3),
            Line(3, 3, 1, 3),
            Line(1, 3, 1, 1),
            Line(1.5, 2, 2.5, 2, 1),
            Line(2.5, 2, 1.5, 2, 1)
        );

        // The square less its hole, the ring less the disc of radius 1/2, the disc.
        Assert.Equal(3, map.Patches.Count);
        double disc = Math.PI / 4;
        Assert.Equal([disc, 4 - disc, 12], Areas(map).Order(), (a, b) => Math.Abs(a - b) < 1e-3);
        Assert.All(map.Patches, p => Assert.All(p.Holes.Append(p.Seams), r => AssertClockwise(map, r)));
        Assert.Equal(1, map.Patches.Count(p => p.Holes.Count == 1 && p.Holes[0].Count == 2));
    }

    [Fact]
    public void A_loose_line_in_a_patch_is_no_patch()
    {
        // Slanting ends, so that the sums of its area to and fro need not cancel to the last bit.
        QuiltMap map = Build(4, 1e-4, Line(1.1, 1.3, 2.7, 2.9), Line(2.7, 2.9, 3.3, 1.7), Line(2.7, 2.9, 1.9, 3.4));

        Assert.Single(map.Patches);
        Assert.Single(map.Patches[0].Holes);
        Assert.Equal([16], Areas(map), (a, b) => Math.Abs(a - b) < 1e-9);
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.True(inspection.IsPlane);
        Assert.Equal(["seam-dangles", "seam-dangles", "seam-dangles"], inspection.Findings.Select(f => f.What));
    }

    [Fact]
    public void Sides_of_blocks_have_the_role_block_and_their_patches_are_listed()
    {
        Block left = new("b1", [new(0, 0), new(2, 0), new(2, 4), new(0, 4)]);
        Block right = new("b2", [new(2, 0), new(4, 0), new(4, 4), new(2, 4)]);
        QuiltMap map = MapBuilder.Build(
            Length.FromInches(4),
            Length.FromInches(4),
            [new(Line(2, 0, 2, 4), 0.9), new(Line(0, 2, 4, 2), 0.8)],
            [left, right],
            Length.FromInches(0.01),
            EdgeKind.Raw,
            p => Length.FromInches(p.X / 100)
        );

        Assert.Equal(2, map.Seams.Count(s => s.Role == SeamRole.Block));
        Assert.Equal(2, map.Seams.Count(s => s.Role == SeamRole.Seam));
        Assert.All(map.Seams.Where(s => s.Role == SeamRole.Edge), s => Assert.Equal(EdgeKind.Raw, s.Edge));
        Assert.All(map.Seams.Where(s => s.Role == SeamRole.Block), s => Assert.Equal(0.9, s.Confidence));
        Assert.All(map.Junctions, j => Assert.Equal(j.Place.X / 100, j.At.Sigma.Inches, 1e-15));
        Assert.Equal(
            [
                ["p1", "p3"],
                ["p2", "p4"],
            ],
            map.Blocks.Select(b => b.Patches)
        );
    }

    [Fact]
    public void Rows_that_differ_in_their_last_bit_are_read_as_one_row()
    {
        // 0.00015 is half-way between two steps of the tolerance: rounding to a grid would part the row.
        const double y = 1.00015;
        QuiltMap map = Build(4, 1e-4, Line(0, y, 1, Math.BitDecrement(y)), Line(1, Math.BitDecrement(y), 4, y));

        Assert.Equal([0, 1, 4], map.Junctions.Skip(2).Take(3).Select(j => j.Place.X));
    }

    [Fact]
    public void A_random_jumble_becomes_a_plane_map_whose_patches_fill_it()
    {
        Property.ForAll(
            Gen.Select(Ends, Ends, Ends, Ends, Gen.Select(Ends, Ends)),
            x =>
            {
                QuiltMap map = Build(4, 0.01, x.Item1, x.Item2, x.Item3, x.Item4, x.Item5.Item1, x.Item5.Item2);
                MapInspection inspection = MapCheck.Inspect(map);
                Assert.True(inspection.IsPlane, string.Join("; ", inspection.Findings));
                Assert.Equal(16, Areas(map).Sum(), 0.01);
            },
            400
        );
    }

    private static readonly Gen<double> Sixteenth = Gen.Int[0, 64].Select(i => i / 16.0);

    private static readonly Gen<double> Bend = Gen.Int[0, 4].Select(i => i < 3 ? 0 : 0.1 * (i - 3.5));

    private static readonly Gen<Edge<ClothSpace>> Ends = Gen.Select(Sixteenth, Sixteenth, Sixteenth, Sixteenth, Bend)
        .Select(v => Line(v.Item1, v.Item2, v.Item3, v.Item4, v.Item5))
        .Where(e =>
        {
            Box<ClothSpace> box = e.Bounds();
            return e.Chord > 0.2 && box.Left >= 0 && box.Top >= 0 && box.Right <= 4 && box.Bottom <= 4;
        });

    private static void AssertPlane(QuiltMap map)
    {
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.True(inspection.IsPlane);
        Assert.Empty(inspection.Findings);
        Assert.Same(map, inspection.Map);
        Assert.All(map.Patches, p => Assert.All(p.Holes.Append(p.Seams), r => AssertClockwise(map, r)));
    }
}
