using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using static OverlayPlanner.Tests.Quilts.Maps;

namespace OverlayPlanner.Tests.Quilts;

public class PatchFinderTests
{
    [Theory]
    [InlineData("m", "n", 1, "n", "m", 1)] // a disc: both half circles bow to the left of their way, outwards
    [InlineData("m", "n", 1, "m", "n", -1)]
    [InlineData("n", "m", -1, "m", "n", -1)] // both listed against the clock
    [InlineData("m", "n", 1, "m", "n", 0)] // a half moon over its chord
    [InlineData("m", "n", 0.5, "m", "n", 0.25)] // a sickle between two arcs of one side
    [InlineData("m", "n", 2, "n", "m", 0)] // more than half a circle
    public void A_ring_of_two_seams_is_walked_clockwise_whichever_way_they_are_stored(
        string from1,
        string to1,
        double bulge1,
        string from2,
        string to2,
        double bulge2
    )
    {
        QuiltMap map = Of(8, 8, [("m", 3, 4), ("n", 5, 4)], [("one", from1, to1, bulge1), ("two", from2, to2, bulge2)]);
        Patch p = Assert.Single(PatchFinder.FindPatches(map));

        foreach (string[] ring in new[] { new[] { "one", "two" }, ["two", "one"] })
        {
            AssertClockwise(map, ring);
            IReadOnlyList<Edge<ClothSpace>> edges = PatchFinder.RingOf(map, ring);
            Assert.Equal(edges[0].To, edges[1].From);
            Assert.Equal(edges[1].To, edges[0].From);
        }

        Assert.Equal(2, p.Seams.Count);
    }

    [Fact]
    public void A_ring_of_three_seams_chains_in_the_order_listed_from_whatever_start()
    {
        // A triangle with a bowed side, two of its seams stored backwards.
        QuiltMap map = Of(
            8,
            8,
            [("m", 1, 1), ("n", 6, 1), ("o", 6, 6)],
            [("one", "m", "n", 0.3), ("two", "o", "n", 0), ("three", "m", "o", 0)]
        );
        Patch p = Assert.Single(PatchFinder.FindPatches(map));

        for (int i = 0; i < 3; i++)
        {
            string[] ring = [.. p.Seams.Skip(i), .. p.Seams.Take(i)];
            IReadOnlyList<Edge<ClothSpace>> edges = PatchFinder.RingOf(map, ring);
            for (int k = 0; k < 3; k++)
            {
                Assert.Equal(edges[k].To, edges[(k + 1) % 3].From);
                Edge<ClothSpace> stored = map.EdgeOf(map.SeamOf(ring[k]));
                Assert.True(edges[k] == stored || edges[k] == stored.Reversed);
            }

            AssertClockwise(map, ring);
        }
    }

    [Fact]
    public void A_ring_with_a_lens_at_its_start_is_walked_through_both_sides_of_it()
    {
        // A lens hangs from corner m of a triangle, on the outside of no other seam: the ring of the outside passes m twice.
        QuiltMap map = Of(
            8,
            8,
            [("m", 2, 2), ("n", 6, 2), ("o", 6, 6), ("t", 1, 1)],
            [
                ("one", "m", "n", 0),
                ("two", "n", "o", 0),
                ("three", "o", "m", 0),
                ("up", "m", "t", 0.4),
                ("down", "t", "m", 0.4),
            ]
        );
        IReadOnlyList<Edge<ClothSpace>> edges = PatchFinder.RingOf(map, ["up", "down", "one", "two", "three"]);

        Assert.Equal(new(2, 2), edges[0].From);
        Assert.Equal(new(2, 2), edges[1].To);
        Assert.Equal(new(2, 2), edges[4].To);
    }

    [Fact]
    public void Seams_that_make_no_ring_are_refused_by_name()
    {
        QuiltMap map = Square();
        InputException e = Assert.Throws<InputException>(() => PatchFinder.RingOf(map, ["top", "bottom", "left"]));
        Assert.Contains("top, bottom, left", e.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void Patches_stand_in_reading_order_and_fill_the_map()
    {
        QuiltMap map = Build(3, 1e-4, Line(1, 0, 1, 3), Line(2, 0, 2, 3), Line(0, 1, 3, 1), Line(0, 2, 3, 2));

        Assert.Equal(["p1", "p2", "p3", "p4", "p5", "p6", "p7", "p8", "p9"], map.Patches.Select(p => p.Id));
        Assert.Equal(
            [
                (0.5, 0.5),
                (1.5, 0.5),
                (2.5, 0.5),
                (0.5, 1.5),
                (1.5, 1.5),
                (2.5, 1.5),
                (0.5, 2.5),
                (1.5, 2.5),
                (2.5, 2.5),
            ],
            map.Patches.Select(p => Center(map, p))
        );

        static (double, double) Center(QuiltMap map, Patch p)
        {
            NetTopologySuite.Geometries.Point c = PatchFinder.ToPolygon(map, p, 0.01).Centroid;
            return (Math.Round(c.X, 9), Math.Round(c.Y, 9));
        }
    }

    [Fact]
    public void A_hole_belongs_to_the_smallest_patch_that_holds_it()
    {
        // Three squares inside each other, none touching; the holes' corner points lie inside the outer boxes too.
        QuiltMap map = Build(8, 1e-4, [.. Ring(1, 7), .. Ring(2, 6), .. Ring(3, 5)]);

        Assert.Equal([4, 12, 20, 28], Areas(map).Order(), (a, b) => Math.Abs(a - b) < 1e-9);
        Assert.Equal([0, 1, 1, 1], map.Patches.Select(p => p.Holes.Count).Order());

        static Edge<ClothSpace>[] Ring(double a, double b) =>
            [Line(a, a, b, a), Line(b, a, b, b), Line(b, b, a, b), Line(a, b, a, a)];
    }

    [Fact]
    public void The_inner_point_of_a_curved_patch_lies_inside_it()
    {
        QuiltMap map = Build(4, 1e-4, Line(0, 4, 4, 4, 0.98), Line(0, 4, 4, 4, 0.9));
        Assert.All(
            map.Patches,
            p =>
            {
                Point<ClothSpace> inside = PatchFinder.InteriorPoint(map, p);
                Assert.True(
                    PatchFinder
                        .ToPolygon(map, p, 1e-4)
                        .Contains(new NetTopologySuite.Geometries.Point(inside.X, inside.Y))
                );
            }
        );
    }
}
