using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Tests.Quilts.Mending;

/// <summary>Each kind of edit on maps small enough to be drawn on paper.</summary>
public class MenderTests
{
    // A square of side 4, four patches: a cross through its middle (2, 2).
    private static QuiltMap Cross() =>
        MapCheck.Inspect(Maps.Build(4, 0.01, Maps.Line(2, 0, 2, 4), Maps.Line(0, 2, 4, 2)).With(blocks: [])).Map;

    private static string At(QuiltMap map, double x, double y) =>
        map.Junctions.Single(j => j.Place.DistanceTo(new(x, y)) < 1e-6).Id;

    private static string Between(QuiltMap map, double x, double y) =>
        map.Seams.MinBy(s => map.EdgeOf(s).PointAt(0.5).DistanceTo(new(x, y)))!.Id;

    [Fact]
    public void A_seam_across_two_patches_splits_what_it_crosses_and_keeps_names_with_suffixes()
    {
        QuiltMap map = Cross();
        string crossed = Between(map, 2, 1);
        string patch = Spots.PatchAt(map, new(1, 1))!.Id;

        MendedMap mended = Mender.Apply(map, new AddSeam(new(0.05, 0.98), new(4, 1)));

        // The ends go to the outline 0.05 in off; 4 points more on it and on the crossed seam, 3; 2 patches become 4.
        Assert.Equal(map.Junctions.Count + 3, mended.Map.Junctions.Count);
        Assert.Equal(map.Patches.Count + 2, mended.Map.Patches.Count);
        Assert.Contains(mended.Map.Seams, s => s.Id == crossed + ".1");
        Assert.Contains(mended.Map.Seams, s => s.Id == crossed + ".2");
        Assert.DoesNotContain(mended.Map.Seams, s => s.Id == crossed);
        Assert.Equal(
            [patch + ".1", patch + ".2"],
            mended.Map.Patches.Select(p => p.Id).Where(id => id.StartsWith(patch + ".", StringComparison.Ordinal))
        );
        string added = ((AddSeam)mended.Edit).Seam!;
        Assert.Equal(
            [added + ".1", added + ".2"],
            mended.Map.Seams.Select(s => s.Id).Where(id => id.StartsWith(added, StringComparison.Ordinal))
        );
        Assert.Equal(16, Maps.Areas(mended.Map).Sum(), 6);
    }

    [Fact]
    public void A_removed_seam_joins_its_patches_and_takes_the_points_of_the_straight_run_along()
    {
        QuiltMap map = Cross();
        string larger = Spots.PatchAt(map, new(1, 1))!.Id;

        QuiltMap mended = Mender.Apply(map, new RemoveSeam(new(Between(map, 2, 1)))).Map;

        // The T on the top edge is taken out, the middle stays as a T.
        Assert.Equal(map.Junctions.Count - 1, mended.Junctions.Count);
        Assert.Equal(3, mended.Patches.Count);
        Assert.Equal([4.0, 4, 8], Maps.Areas(mended).Select(a => Math.Round(a, 9)).Order());
        Assert.Contains(mended.Patches, p => p.Id == larger);
    }

    [Fact]
    public void What_dangles_after_a_removal_goes_too()
    {
        QuiltMap map = Mender.Apply(Cross(), new AddSeam(new(2, 1), new(3, 1))).Map;
        map = Mender.Apply(map, new AddSeam(new(3, 1), new(3, 0))).Map;
        string last = Between(map, 3, 0.5);

        QuiltMap mended = Mender.Apply(map, new RemoveSeam(new(last))).Map;

        Assert.Equal(Cross().Patches.Count, mended.Patches.Count);
        Assert.Equal(Cross().Seams.Count, mended.Seams.Count);
    }

    [Fact]
    public void The_outline_stays()
    {
        QuiltMap map = Cross();
        InputException e = Assert.Throws<InputException>(() =>
            Mender.Apply(map, new RemoveSeam(new(Between(map, 1, 0))))
        );
        Assert.Contains("outline", e.What, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => Mender.Apply(map, new BendSeam(new(Between(map, 1, 0)), 0.2)));
        Assert.Throws<InputException>(() => Mender.Apply(map, new MovePoint(new(At(map, 0, 0)), new(0.1, 0.1))));
        QuiltMap slid = Mender.Apply(map, new MovePoint(new(At(map, 2, 0)), new(2.5, 0.1))).Map;
        Assert.Equal(new Point<ClothSpace>(2.5, 0), slid.JunctionOf(At(map, 2, 0)).Place);
    }

    [Fact]
    public void A_moved_point_takes_its_seams_along_and_nothing_else()
    {
        QuiltMap map = Cross();
        QuiltMap mended = Mender.Apply(map, new MovePoint(new(At(map, 2, 2)), new(2.5, 1.5))).Map;

        Assert.Equal(map.Seams, mended.Seams);
        Assert.Equal(map.Patches.Select(p => p.Id), mended.Patches.Select(p => p.Id));
        Assert.Equal(map.Junctions.Count(j => mended.Junctions.Contains(j)), map.Junctions.Count - 1);
    }

    [Fact]
    public void A_point_moved_over_a_seam_would_flip_a_patch_and_is_refused()
    {
        QuiltMap map = Cross();
        InputException e = Assert.Throws<InputException>(() =>
            Mender.Apply(
                Mender.Apply(map, new AddSeam(new(0, 2), new(2, 0))).Map,
                new MovePoint(new(At(map, 2, 2)), new(0.4, 0.4))
            )
        );
        Assert.Contains("flip", e.What, StringComparison.Ordinal);
        Assert.Contains("(0.4, 0.4)", e.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void A_point_moved_onto_a_neighbour_becomes_one_with_it()
    {
        QuiltMap map = Mender.Apply(Cross(), new AddSeam(new(0, 1), new(2, 1))).Map;
        QuiltMap mended = Mender.Apply(map, new MovePoint(new(At(map, 2, 1)), new(2, 1.97))).Map;

        // The patch above the new seam and the one below it stay, as a trapezoid of area 3 and a triangle of area 1.
        Assert.Equal(map.Junctions.Count - 1, mended.Junctions.Count);
        Assert.Equal([1.0, 3, 4, 4, 4], Maps.Areas(mended).Select(a => Math.Round(a, 9)).Order());
    }

    [Fact]
    public void A_seam_becomes_an_arc_by_its_bulge_or_through_a_place()
    {
        QuiltMap map = Cross();
        string seam = Between(map, 2, 1);
        Edge<ClothSpace> path = map.EdgeOf(map.SeamOf(seam));

        // From the chord's middle by half a chord × bulge: 1 in × 0.3, to the left of travel.
        Point<ClothSpace> top = path.PointAt(0.5) + (path.To - path.From).Unit.TurnedLeft * 0.3;
        QuiltMap byBulge = Mender.Apply(map, new BendSeam(new(seam), 0.3)).Map;
        QuiltMap through = Mender.Apply(map, new BendSeam(new(seam), 0) { Through = top }).Map;
        Assert.Equal(0.3, through.SeamOf(seam).Bulge, 9);
        Assert.Equal(0, byBulge.EdgeOf(byBulge.SeamOf(seam)).PointAt(0.5).DistanceTo(top), 9);

        // Said for the way back, the bow lies on the other side.
        QuiltMap back = Mender.Apply(map, new BendSeam(new(seam), 0.3) { Along = path.From - path.To }).Map;
        Assert.Equal(-0.3, back.SeamOf(seam).Bulge, 9);
    }

    [Fact]
    public void The_low_side_holds_for_a_part_of_a_seam_and_turns_with_the_way()
    {
        QuiltMap map = Cross();
        Seam seam = map.SeamOf(Between(map, 1, 2));
        Edge<ClothSpace> path = map.EdgeOf(seam);

        QuiltMap whole = Mender
            .Apply(map, new SayDitch(new(seam.Id), LowSide.Left) { Along = path.From - path.To })
            .Map;
        Assert.Equal(Side.Right, whole.SeamOf(seam.Id).Ditch);

        QuiltMap part = Mender
            .Apply(map, new SayDitch(new(seam.Id), LowSide.Left) { Part = (path.PointAt(0.25), path.PointAt(0.75)) })
            .Map;
        Assert.Equal(
            [null, Side.Left, null],
            new[] { ".1", ".2", ".3" }.Select(suffix => part.SeamOf(seam.Id + suffix).Ditch)
        );
        QuiltMap open = Mender.Apply(whole, new SayDitch(new(seam.Id), LowSide.Open)).Map;
        Assert.Null(open.SeamOf(seam.Id).Ditch);
        Assert.Equal("you", open.SeamOf(seam.Id).DitchWhy);
    }

    [Fact]
    public void The_outline_of_a_whole_side_is_said_at_once()
    {
        QuiltMap map = Cross();
        QuiltMap mended = Mender.Apply(map, new SayEdge(new(Between(map, 1, 0)), EdgeKind.Raw, OutlineReach.Side)).Map;
        Assert.Equal(2, mended.Seams.Count(s => s.Edge == EdgeKind.Raw));
        Assert.All(mended.Seams.Where(s => s.Edge == EdgeKind.Raw), s => Assert.Equal(0, mended.EdgeOf(s).From.Y));
    }

    [Fact]
    public void A_patch_keeps_its_colour_and_mark_when_it_is_split_and_the_rest_keeps_its_own()
    {
        QuiltMap map = Cross();
        string patch = Spots.PatchAt(map, new(1, 1))!.Id;
        map = map.With(patches: [.. map.Patches.Select(p => p with { Color = p.Id == patch ? "#112233" : "#445566" })]);
        map = Mender.Apply(map, new LeavePatch(new(patch))).Map;
        map = Mender.Apply(map, new AddSeam(new(0, 1), new(2, 1))).Map;
        Assert.Equal(2, map.Patches.Count(p => p.Leave && p.Color == "#112233"));
        Assert.Equal(3, map.Patches.Count(p => !p.Leave && p.Color == "#445566"));
    }

    [Fact]
    public void A_shape_drawn_inside_a_patch_is_a_patch_of_its_own_and_a_hole_in_the_other()
    {
        QuiltMap map = Cross();
        Patch around = Spots.PatchAt(map, new(1, 1))!;
        map = Mender.Apply(map, new AddSeam(new(0.6, 1), new(1.4, 1), 1)).Map;
        map = Mender.Apply(map, new AddSeam(new(0.6, 1), new(1.4, 1), -1)).Map;

        // A circle of radius 0.4 in a square of side 2.
        Assert.Equal(5, map.Patches.Count);
        Assert.Single(map.PatchOf(around.Id).Holes);
        // Flattened within 1e-5 in along 2.5 in of rim.
        Assert.Equal(Math.PI * 0.16, Maps.Areas(map).Min(), 3e-5);
        Assert.True(ReferenceEquals(map, MapCheck.Inspect(map).Map));
    }

    [Fact]
    public void A_block_is_drawn_whole_and_its_seams_can_be_taken_away_again()
    {
        QuiltMap bare = MapCheck.Inspect(Maps.Build(20, 0.01)).Map;
        QuiltMap map = Mender
            .Apply(bare, new AddBlock([new(4, 4), new(16, 4), new(16, 16), new(4, 16)]) { Pattern = "ohio-star" })
            .Map;
        QuiltMap alone = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 1, 1, Length.Zero);

        // The draft's patches, and what lies round the block.
        Assert.Equal(alone.Patches.Count + 1, map.Patches.Count);
        Assert.Equal(alone.Seams.Count + 4, map.Seams.Count);
        Block block = Assert.Single(map.Blocks);
        Assert.Equal(alone.Patches.Count, block.Patches.Count);
        QuiltMap gone = Mender.Apply(map, new RemoveBlock(new(block.Id), BlockSeams.Draw)).Map;
        Assert.Empty(gone.Blocks);
        Assert.Equal(2, gone.Patches.Count);
    }

    [Fact]
    public void A_corrected_block_is_copied_into_the_others_turned_and_mirrored_as_they_lie()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("pinwheel"), Length.FromInches(8), 2, 1, Length.Zero);
        map = Mender.Apply(map, new NameBlock(new(map.Blocks[1].Id), "pinwheel") { Turn = 1 }).Map;

        // In the first block's top left quarter a seam more, from (1, 0) to (1, 1) of its own grid of 8 in.
        map = Mender.Apply(map, new AddSeam(new(0, 2), new(2, 2))).Map;
        QuiltMap copied = Mender.Apply(map, new CopyBlock(new(map.Blocks[0].Id))).Map;

        // (x, y) of the first lies at (16 − y, x) in the second, a quarter turn clockwise about its own middle.
        Assert.NotNull(Spots.FindSeam(copied, Spot.Near(14, 1)));
        Assert.Equal(copied.Blocks[0].Patches.Count, copied.Blocks[1].Patches.Count);
        Assert.True(ReferenceEquals(copied, MapCheck.Inspect(copied).Map));
    }

    [Fact]
    public void An_id_that_was_removed_never_comes_back_for_something_else()
    {
        QuiltMap map = Cross();
        MendedMap first = Mender.Apply(map, new AddSeam(new(0, 1), new(2, 1)));
        string added = ((AddSeam)first.Edit).Seam!;
        MendedMap gone = Mender.Apply(first.Map, new RemoveSeam(new(added)));
        MendedMap second = Mender.Apply(gone.Map, new AddSeam(new(0, 3), new(2, 3)));
        Assert.NotEqual(added, ((AddSeam)second.Edit).Seam);
    }

    [Fact]
    public void Nonsense_is_refused_with_what_where_and_a_remedy()
    {
        QuiltMap map = Cross();
        string seam = Between(map, 2, 1);
        string point = At(map, 2, 2);
        MapEdit[] wrong =
        [
            new AddSeam(new(double.NaN, 0), new(1, 1)),
            new AddSeam(new(0, 0), new(double.PositiveInfinity, 1)),
            new AddSeam(new(0, 0), new(1e300, 1)),
            new AddSeam(new(0, 1), new(2, 1), double.NaN),
            new AddSeam(new(0, 1), new(2, 1), 40),
            new AddSeam(new(1, 1), new(1, 1)),
            new AddSeam(new(2, 0), new(2, 4)),
            new AddSeam(new(0, 0.4), new(4, 0.4), 1),
            new AddSeam(new(0, 1), new(2, 1)) { Snap = Length.FromInches(double.NaN) },
            new MovePoint(new(point), new(double.NaN, 1)),
            new MovePoint(new("j99"), new(1, 1)),
            new MovePoint(new(null), new(1, 1)),
            new MovePoint(new(null, new Point<ClothSpace>(1, 1)), new(1, 1)),
            new RemoveSeam(new("")),
            new BendSeam(new(seam), double.PositiveInfinity),
            new BendSeam(new(seam), 0) { Through = map.EdgeOf(map.SeamOf(seam)).From },
            new LeavePatch(new(null, new Point<ClothSpace>(-0.5, 1))),
            new SayDitch(new(seam), LowSide.Left) { Part = (new(2, 0.5), new(2, 0.5)) },
            new SayEdge(new(seam), EdgeKind.Raw),
            new NameBlock(new("b1"), "ohio-star"),
            new NameBlock(new("b1"), "no such block"),
            new SetCorners(new("b1"), [new(0, 0), new(1, 0), new(1, 1)]),
            new AddBlock([new(0, 0), new(0, 4), new(4, 4), new(4, 0)]),
            new AddBlock([new(0, 0), new(4, 0), new(4, 4), new(0, 4)]) { Turn = 7 },
            new CopyBlock(new("b1")),
            new TeachBlock(new("b1")),
        ];
        Assert.All(
            wrong,
            edit =>
            {
                InputException e = Assert.Throws<InputException>(() => Mender.Apply(map, edit));
                Assert.NotEmpty(e.Where);
                Assert.NotEmpty(e.Remedy);
            }
        );
    }
}
