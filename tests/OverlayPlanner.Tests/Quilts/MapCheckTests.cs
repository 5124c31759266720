using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using static OverlayPlanner.Tests.Quilts.Maps;

namespace OverlayPlanner.Tests.Quilts;

public class MapCheckTests
{
    [Fact]
    public void A_sound_map_is_returned_as_it_is()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 2, 2, Length.Zero);
        MapInspection inspection = MapCheck.Inspect(map);

        Assert.Same(map, inspection.Map);
        Assert.Empty(inspection.Findings);
        Assert.Same(map, MapCheck.RequirePlane(inspection, "quilt.json"));
    }

    [Fact]
    public void A_map_whose_patches_are_listed_from_another_start_and_in_another_order_is_accepted()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("snowball"), Length.FromInches(12), 1, 1, Length.Zero);
        QuiltMap other = map.With(
            patches:
            [
                .. map
                    .Patches.Reverse()
                    .Select((p, i) => p with { Seams = [.. p.Seams.Skip(i % 3), .. p.Seams.Take(i % 3)] }),
            ]
        );
        MapInspection inspection = MapCheck.Inspect(other);

        Assert.Same(other, inspection.Map);
        Assert.Empty(inspection.Findings);
    }

    [Fact]
    public void Patches_listed_against_the_clock_are_turned_and_keep_what_they_carry()
    {
        QuiltMap map = Found(Square(seams: [("slant", "a", "c", 0)]));
        QuiltMap turned = map.With(
            patches:
            [
                .. map.Patches.Select(
                    (p, i) =>
                        p with
                        {
                            Id = $"mine{Digit(i)}",
                            Seams = [.. p.Seams.Reverse()],
                            Color = "#8a3f52",
                            Leave = true,
                        }
                ),
            ]
        );
        MapInspection inspection = MapCheck.Inspect(turned);

        Assert.Equal(["patches-found-again"], inspection.Findings.Select(f => f.What));
        Assert.Equal(["mine0", "mine1"], inspection.Map.Patches.Select(p => p.Id).Order(StringComparer.Ordinal));
        Assert.All(inspection.Map.Patches, p => Assert.Equal(("#8a3f52", true), (p.Color, p.Leave)));
        Assert.All(inspection.Map.Patches, p => AssertClockwise(inspection.Map, p.Seams));
    }

    [Fact]
    public void A_map_without_patches_gets_them_and_nothing_is_said()
    {
        MapInspection inspection = MapCheck.Inspect(Square(seams: [("slant", "a", "c", 0)]));

        Assert.Empty(inspection.Findings);
        Assert.Equal(2, inspection.Map.Patches.Count);
        Assert.Equal(["top", "right", "bottom", "left", "slant"], inspection.Map.Seams.Select(s => s.Id));
    }

    [Fact]
    public void A_seam_that_runs_through_a_point_is_split_there_and_its_pieces_are_numbered()
    {
        // The top runs through e, where an upright seam hangs.
        QuiltMap map = Square([("e", 1, 0), ("f", 1, 4)], [("up", "e", "f", 0)]);
        map = map.With(
            seams: [.. map.Seams.Select(s => s.Id == "top" ? s with { Ditch = Side.Left, Confidence = 0.5 } : s)]
        );
        MapInspection inspection = MapCheck.Inspect(map);

        Assert.True(inspection.IsPlane);
        Assert.Equal(["seam-split", "seam-split"], inspection.Findings.Select(f => f.What));
        Assert.Contains("top at e", inspection.Findings[0].Where, StringComparison.Ordinal);
        Assert.Equal(
            ["top.1", "top.2", "right", "bottom.1", "bottom.2", "left", "up"],
            inspection.Map.Seams.Select(s => s.Id)
        );
        Assert.Equal(("a", "e", Side.Left, 0.5), Parts(inspection.Map.SeamOf("top.1")));
        Assert.Equal(("e", "b", Side.Left, 0.5), Parts(inspection.Map.SeamOf("top.2")));
        Assert.Equal([4, 12], Areas(inspection.Map).Order(), (a, b) => Math.Abs(a - b) < 1e-12);

        static (string, string, Side?, double) Parts(Seam s) => (s.From, s.To, s.Ditch, s.Confidence);
    }

    [Fact]
    public void An_arc_is_split_into_arcs_of_the_same_circle()
    {
        // The half circle from (1, 2) to (3, 2) through (2, 1), where a seam comes down from the top.
        QuiltMap map = Square(
            [("e", 1, 2), ("f", 3, 2), ("g", 2, 1), ("h", 2, 0)],
            [("arc", "e", "f", 1), ("chord", "f", "e", 0), ("stem", "h", "g", 0)]
        );
        MapInspection inspection = MapCheck.Inspect(map);

        Assert.True(inspection.IsPlane);
        Assert.Equal(Math.Tan(Math.PI / 8), inspection.Map.SeamOf("arc.1").Bulge, 1e-15);
        Assert.Equal(Math.Tan(Math.PI / 8), inspection.Map.SeamOf("arc.2").Bulge, 1e-15);
        Assert.Equal(2, inspection.Map.Patches.Count);
    }

    [Fact]
    public void A_split_never_takes_an_id_that_stands_already()
    {
        QuiltMap map = Square([("e", 1, 0), ("f", 1, 4)], [("top.1", "e", "f", 0)]);
        MapInspection inspection = MapCheck.Inspect(map);

        Assert.Equal(("e", "f"), (inspection.Map.SeamOf("top.1").From, inspection.Map.SeamOf("top.1").To));
        Assert.Equal(["top.2", "top.3"], inspection.Map.Seams.Take(2).Select(s => s.Id));
    }

    [Fact]
    public void After_a_repair_untouched_patches_keep_their_ids_and_split_ones_their_colour()
    {
        QuiltMap whole = Found(Square([("e", 2, 2)], Spokes()));
        QuiltMap coloured = whole.With(
            patches: [.. whole.Patches.Select((p, i) => p with { Id = $"q{Digit(i)}", Color = $"#00000{Digit(i)}" })]
        );

        // A new point on the top and a seam from it to the centre cut the upper triangle in two.
        QuiltMap cut = coloured.With(
            junctions: [.. coloured.Junctions, new("t", Estimate<Point<ClothSpace>>.Exact(new(2, 0)))],
            seams: [.. coloured.Seams, new("stem", "t", "e")]
        );
        MapInspection inspection = MapCheck.Inspect(cut);
        Patch upper = coloured.Patches.Single(p => p.Seams.Contains("top"));

        Assert.Equal(["seam-split", "patches-found-again"], inspection.Findings.Select(f => f.What));
        Assert.Equal(5, inspection.Map.Patches.Count);
        foreach (Patch p in coloured.Patches.Where(p => p != upper))
        {
            Assert.Equal(p.Color, inspection.Map.PatchOf(p.Id).Color);
        }

        Assert.Equal(2, inspection.Map.Patches.Count(p => p.Color == upper.Color));
    }

    [Fact]
    public void Splitting_a_side_keeps_the_patch_that_it_bounds()
    {
        QuiltMap map = Found(Square());
        QuiltMap mine = map.With(patches: [map.Patches[0] with { Id = "cloth", Color = "#8a3f52" }]);
        MapInspection inspection = MapCheck.Inspect(
            mine.With(junctions: [.. mine.Junctions, new("t", Estimate<Point<ClothSpace>>.Exact(new(2, 0)))])
        );

        Patch p = Assert.Single(inspection.Map.Patches);
        Assert.Equal(("cloth", "#8a3f52"), (p.Id, p.Color));
        Assert.Contains("top.2", p.Seams);
    }

    [Fact]
    public void Seams_that_cross_without_a_point_are_reported_with_the_place()
    {
        MapInspection inspection = MapCheck.Inspect(Square(seams: [("down", "a", "c", 0), ("up", "d", "b", 0)]));

        Assert.False(inspection.IsPlane);
        Finding f = Assert.Single(inspection.Findings);
        Assert.Equal("seams-cross", f.What);
        Assert.Equal("seams down and up near (2, 2) in", f.Where);
        InputException e = Assert.Throws<InputException>(() => MapCheck.RequirePlane(inspection, "quilt.json"));
        Assert.StartsWith("quilt.json", e.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void Seams_that_run_along_each_other_over_other_points_are_split_and_the_copy_is_left_out()
    {
        // d–b runs through the centre, where a–c has no business; the shorter copy d–e lies on its first half.
        MapInspection inspection = MapCheck.Inspect(
            Square([("e", 2, 2)], [("long", "d", "b", 0), ("short", "e", "d", 0)])
        );

        Assert.True(inspection.IsPlane);
        Assert.Equal(["seam-split", "seam-stands-twice"], inspection.Findings.Select(f => f.What));
        Assert.Equal(2, inspection.Map.Patches.Count);
    }

    [Fact]
    public void Arcs_of_one_circle_that_overlap_are_split_at_each_other_s_ends_and_the_copy_is_left_out()
    {
        // Two half circles of radius 1 about (2, 2) that share the quarter from (2, 1) to (3, 2).
        QuiltMap map = Square(
            [("e", 1, 2), ("f", 3, 2), ("g", 2, 1), ("h", 2, 3)],
            [("first", "e", "f", 1), ("second", "g", "h", 1)]
        );
        MapInspection inspection = MapCheck.Inspect(map);

        Assert.True(inspection.IsPlane);
        Assert.Contains(
            new("seam-stands-twice", "seam second.1", "It was left out; seam first.2 lies there."),
            inspection.Findings
        );
        Assert.Equal(["first.1", "first.2", "second.2"], inspection.Map.Seams.Skip(4).Select(s => s.Id));
    }

    [Fact]
    public void A_seam_that_ends_in_a_patch_dangles_and_the_map_can_still_be_planned_on()
    {
        MapInspection inspection = MapCheck.Inspect(Square([("e", 2, 2)], [("loose", "a", "e", 0)]));

        Assert.True(inspection.IsPlane);
        Assert.Equal(("seam-dangles", "e at (2, 2) in"), (inspection.Findings[0].What, inspection.Findings[0].Where));
    }

    [Fact]
    public void Points_that_coincide_are_made_one()
    {
        // As a program writes it that gives each seam ends of its own: the spokes' inner ends are four points.
        QuiltMap map = Square(
            [("e1", 2, 2), ("e2", 2, 2), ("e3", 2, 2.0005), ("e4", 1.9995, 2)],
            [("s1", "a", "e1", 0), ("s2", "b", "e2", 0), ("s3", "c", "e3", 0), ("s4", "d", "e4", 0)]
        );
        MapInspection inspection = MapCheck.Inspect(map);

        Assert.Equal(
            ["points-coincide", "points-coincide", "points-coincide"],
            inspection.Findings.Select(f => f.What)
        );
        Assert.Equal(["a", "b", "c", "d", "e1"], inspection.Map.Junctions.Select(j => j.Id));
        Assert.Equal(4, inspection.Map.Patches.Count);
    }

    [Fact]
    public void Empty_seams_and_second_copies_are_left_out()
    {
        MapInspection inspection = MapCheck.Inspect(
            Square(
                seams: [("nothing", "a", "a", 0), ("one", "a", "c", 0), ("two", "c", "a", 0), ("three", "a", "c", 1e-4)]
            )
        );

        Assert.Equal(
            ["seam-of-no-length", "seam-stands-twice", "seam-stands-twice"],
            inspection.Findings.Select(f => f.What)
        );
        Assert.Equal(2, inspection.Map.Patches.Count);
        Assert.NotNull(inspection.Map.FindSeam("one"));
    }

    [Theory]
    [InlineData(0.41421356237309503)] // tan 22.5°, nearest double
    [InlineData(0.41421356237309515)]
    [InlineData(0.41421356)]
    [InlineData(0.4142)] // four places
    [InlineData(0.41425)]
    public void A_quarter_circle_that_leaves_a_corner_along_the_side_is_no_crossing(double bulge)
    {
        // Quarter-circle petal (handbook 3.4): radius 4 across a square of side 4, tangent to two sides at its ends.
        MapInspection inspection = MapCheck.Inspect(
            Square(seams: [("one", "b", "d", bulge), ("two", "b", "d", -bulge)])
        );

        Assert.True(inspection.IsPlane, string.Join("; ", inspection.Findings));
        double petal = 8 * (Math.PI - 2);
        double[] areas = [.. Areas(inspection.Map).Order()];
        Assert.Equal([(16 - petal) / 2, (16 - petal) / 2, petal], areas, (a, b) => Math.Abs(a - b) < 0.01);
    }

    [Fact]
    public void An_arc_that_truly_leaves_the_square_is_a_crossing()
    {
        // From b to d with bulge 0.6 it is more than a quarter circle, so it leaves b beyond the right side.
        MapInspection inspection = MapCheck.Inspect(Square(seams: [("wild", "b", "d", 0.6)]));
        Assert.False(inspection.IsPlane);
        Assert.All(inspection.Findings, f => Assert.Equal("seams-cross", f.What));
    }

    [Fact]
    public void Unknown_fields_and_blocks_survive_a_repair()
    {
        const string text = """
            { "format": "overlayplanner.quilt-map", "version": 1, "unit": "in", "maker": "me",
              "size": { "width": 4, "height": 4 },
              "junctions": [ { "id": "a", "x": 0, "y": 0, "thread": 1 }, { "id": "b", "x": 4, "y": 0 },
                { "id": "c", "x": 4, "y": 4 }, { "id": "d", "x": 0, "y": 4 }, { "id": "t", "x": 2, "y": 0 } ],
              "seams": [ { "id": "s1", "from": "a", "to": "b", "hand": true }, { "id": "s2", "from": "b", "to": "c" },
                { "id": "s3", "from": "c", "to": "d" }, { "id": "s4", "from": "d", "to": "a" } ],
              "patches": [ { "id": "p7", "seams": ["s3", "s4", "s1", "s2"], "cloth": "linen" } ],
              "blocks": [ { "id": "b1", "corners": [[0,0],[4,0],[4,4],[0,4]], "patches": ["p7"], "aunt": "Ida" } ] }
            """;
        QuiltMap map = QuiltMapFile.Read(System.Text.Encoding.UTF8.GetBytes(text), "quilt.json");
        string back = System.Text.Encoding.UTF8.GetString(QuiltMapFile.Write(MapCheck.Inspect(map).Map));

        foreach (string kept in new[] { "maker", "thread", "hand", "cloth", "aunt", "p7" })
        {
            Assert.Contains(kept, back, StringComparison.Ordinal);
        }

        Assert.Contains("s1.2", back, StringComparison.Ordinal);
        Assert.Equal(["p7"], MapCheck.Inspect(map).Map.Blocks[0].Patches);
    }

    private static QuiltMap Found(QuiltMap map) => MapCheck.Inspect(map).Map;

    private static IEnumerable<(string, string, string, double)> Spokes() =>
        [("s1", "a", "e", 0), ("s2", "b", "e", 0), ("s3", "c", "e", 0), ("s4", "d", "e", 0)];

    private static string Digit(int i) => i.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
