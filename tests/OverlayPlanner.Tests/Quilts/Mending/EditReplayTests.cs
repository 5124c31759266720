using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Tests.Quilts.Mending;

/// <summary>Edits carried over to a map that was made anew.</summary>
public class EditReplayTests
{
    private static QuiltMap Top() =>
        MapCheck
            .Inspect(BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 2, 2, Length.Zero))
            .Map;

    // As another photograph gives it: points a little elsewhere, every id another one.
    private static QuiltMap Anew(QuiltMap map, int seed)
    {
        Random random = new(seed);
        Dictionary<string, string> points = Shuffled(map.Junctions.Select(j => j.Id), random);
        Dictionary<string, string> seams = Shuffled(map.Seams.Select(s => s.Id), random);
        Dictionary<string, string> patches = Shuffled(map.Patches.Select(p => p.Id), random);
        Dictionary<string, string> blocks = Shuffled(map.Blocks.Select(b => b.Id), random);
        double Off() => (random.NextDouble() - 0.5) * 0.1;
        bool Inner(Point<ClothSpace> p) => p.X > 0 && p.Y > 0 && p.X < map.Width.Inches && p.Y < map.Height.Inches;
        return new(
            map.Width,
            map.Height,
            [
                .. map.Junctions.Select(j => new Junction(
                    points[j.Id],
                    Estimate<Point<ClothSpace>>.Exact(
                        Inner(j.Place) ? j.Place + new Vector<ClothSpace>(Off(), Off()) : j.Place
                    )
                )),
            ],
            [
                .. map.Seams.Select(s =>
                    random.Next(2) == 0
                        ? s with
                        {
                            Id = seams[s.Id],
                            From = points[s.From],
                            To = points[s.To],
                        }
                        : s with
                        {
                            Id = seams[s.Id],
                            From = points[s.To],
                            To = points[s.From],
                            Bulge = -s.Bulge,
                        }
                ),
            ],
            [.. map.Patches.Select(p => p with { Id = patches[p.Id], Seams = [.. p.Seams.Select(s => seams[s])] })],
            [.. map.Blocks.Select(b => b with { Id = blocks[b.Id], Patches = [.. b.Patches.Select(p => patches[p])] })]
        );
    }

    private static Dictionary<string, string> Shuffled(IEnumerable<string> ids, Random random)
    {
        string[] all = [.. ids];
        string[] other = [.. all];
        random.Shuffle(other);
        return all.Zip(other).ToDictionary(p => p.First, p => p.Second);
    }

    private static EditLog Mended()
    {
        EditLog log = new(Top());
        string seam = Spots.FindSeam(log.Map, Spot.Near(5, 3))!.Id;
        string inner = Spots.FindPoint(log.Map, Spot.Near(8, 4))!.Id;
        log.Apply(new AddSeam(new(13, 13), new(15, 15)));
        log.Apply(new AddSeam(new(4, 6), new(8, 6)));
        log.Apply(new MovePoint(new(inner), new(8.3, 4.2)));
        log.Apply(new RemoveSeam(new(Spots.FindSeam(log.Map, Spot.Near(19, 3))!.Id)));
        log.Apply(new BendSeam(new(seam), 0.25));
        log.Apply(new SayDitch(new(Spots.FindSeam(log.Map, Spot.Near(16, 2))!.Id), LowSide.Left));
        log.Apply(new LeavePatch(new(Spots.PatchAt(log.Map, new(2, 14))!.Id)));
        log.Apply(new NameBlock(new(log.Map.Blocks[3].Id), "churn-dash") { Turn = 1 });
        return log;
    }

    [Fact]
    public void On_the_same_map_edits_give_the_same_map_again()
    {
        EditLog log = Mended();
        EditList kept = EditsFile.Read(EditsFile.Write(new(log.Edits)), "edits.json");
        ReplayedMap again = EditReplay.Run(Top(), kept.Edits, "edits.json");
        Assert.Equal(QuiltMapFile.Write(log.Map), QuiltMapFile.Write(again.Map));
        Assert.Empty(again.NewSeamIds);
        Assert.DoesNotContain(again.Findings, f => f.What.StartsWith("edit-", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    public void On_a_map_made_anew_objects_are_found_by_place_and_get_their_ids_back(int seed)
    {
        EditLog log = Mended();
        ReplayedMap again = EditReplay.Run(Anew(Top(), seed), log.Edits, "edits.json");

        Assert.True(ReferenceEquals(again.Map, MapCheck.Inspect(again.Map).Map));
        Assert.DoesNotContain(again.Findings, f => f.What.StartsWith("edit-", StringComparison.Ordinal));
        Assert.Equal(log.Map.Junctions.Count, again.Map.Junctions.Count);
        Assert.Equal(log.Map.Seams.Count, again.Map.Seams.Count);
        Assert.Equal(log.Map.Patches.Count, again.Map.Patches.Count);
        foreach (MapEdit edit in log.Edits)
        {
            switch (edit)
            {
                case MovePoint e:
                    Assert.Equal(e.To, again.Map.JunctionOf(e.Point.Id!).Place);
                    break;
                case BendSeam e:
                    AssertSamePlace(log.Map, again.Map, e.Seam.Id!);
                    break;
                case SayDitch e:
                    AssertSamePlace(log.Map, again.Map, e.Seam.Id!);
                    AssertSameLowSide(log.Map, again.Map, e.Seam.Id!);
                    break;
                case LeavePatch e:
                    Assert.True(again.Map.PatchOf(e.Patch.Id!).Leave);
                    break;
                case NameBlock e:
                    Assert.Equal("churn-dash", again.Map.FindBlock(e.Block.Id!)!.Pattern);
                    break;
                case AddSeam e:
                    Assert.Contains(again.Map.Seams, s => s.Id.StartsWith(e.Seam!, StringComparison.Ordinal));
                    break;
                default:
                    break;
            }
        }
    }

    [Fact]
    public void An_edit_whose_object_is_gone_is_reported_and_kept()
    {
        EditLog log = Mended();
        QuiltMap bare = MapCheck.Inspect(Maps.Build(24, 0.01)).Map;
        ReplayedMap again = EditReplay.Run(bare, log.Edits, "edits.json");
        Assert.Equal(log.Edits.Count, again.Edits.Count);
        Assert.Contains(
            again.Findings,
            f => f.What == "edit-lost" && f.Where.Contains("edits[2]", StringComparison.Ordinal)
        );
        Assert.Contains(
            again.Findings,
            f => f.What == "edit-lost" && f.Where.Contains("name", StringComparison.Ordinal)
        );
        Assert.All(again.Findings, f => Assert.NotEmpty(f.Remedy));
    }

    [Fact]
    public void A_seam_that_is_found_by_itself_the_next_time_needs_no_edit()
    {
        EditLog log = Mended();
        QuiltMap found = Mender.Apply(Top(), new AddSeam(new(4, 6), new(8, 6))).Map;
        ReplayedMap again = EditReplay.Run(found, log.Edits, "edits.json");
        Assert.Single(again.Findings, f => f.What == "edit-not-needed");
    }

    [Fact]
    public void What_was_removed_is_not_replaced_by_a_neighbour()
    {
        // Twice the same removal: the second finds nothing of that name, though another seam lies within reach.
        QuiltMap map = MapCheck.Inspect(Maps.Build(4, 0.01, Maps.Line(2, 0, 2, 4), Maps.Line(2.25, 0, 2.25, 4))).Map;
        RemoveSeam remove = new(new(Spots.FindSeam(map, Spot.Near(2, 2))!.Id, new Point<ClothSpace>(2, 2)));
        ReplayedMap again = EditReplay.Run(map, [remove, remove], "edits.json");
        Assert.Equal(2, again.Map.Patches.Count);
        Assert.Single(again.Findings, f => f.What == "edit-lost");
    }

    [Fact]
    public void A_block_is_taught_between_the_edits_before_and_after_it()
    {
        QuiltMap top = Top();
        string block = top.Blocks[0].Id;
        MapEdit[] edits =
        [
            new AddSeam(new(4, 6), new(8, 6)),
            new TeachBlock(new(block, new Point<ClothSpace>(6, 6))),
            new LeavePatch(new(null, new Point<ClothSpace>(2, 2))),
        ];
        int seamsWhenTaught = 0;
        ReplayedMap done = EditReplay.Run(
            top,
            edits,
            "edits.json",
            (map, id) =>
            {
                Assert.Equal(block, id);
                Assert.DoesNotContain(map.Patches, p => p.Leave);
                seamsWhenTaught = map.Seams.Count;
                return (map, [new("copies-fitted", "b2, b3, b4", "Look.")]);
            }
        );
        Assert.True(seamsWhenTaught > top.Seams.Count);
        Assert.Contains(done.Map.Patches, p => p.Leave);
        Assert.Contains(done.Findings, f => f.What == "copies-fitted");

        InputException e = Assert.Throws<InputException>(() => EditReplay.Run(top, edits, "edits.json"));
        Assert.Contains("edits[1]", e.Where, StringComparison.Ordinal);
        Assert.Contains("copy", e.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void Ids_and_marks_are_carried_to_a_map_whose_ids_are_all_new()
    {
        QuiltMap top = Mended().Map;
        QuiltMap carried = IdCarrier.Carry(Anew(top, 9), top).Map;
        Assert.Equal(top.Junctions.Select(j => j.Id).Order(), carried.Junctions.Select(j => j.Id).Order());
        Assert.Equal(top.Seams.Select(s => s.Id).Order(), carried.Seams.Select(s => s.Id).Order());
        Assert.Equal(top.Patches.Select(p => p.Id).Order(), carried.Patches.Select(p => p.Id).Order());
        Assert.Equal(
            top.Patches.Where(p => p.Leave).Select(p => p.Id),
            carried.Patches.Where(p => p.Leave).Select(p => p.Id)
        );
        foreach (Seam s in top.Seams)
        {
            AssertSamePlace(top, carried, s.Id);
            AssertSameLowSide(top, carried, s.Id);
        }
    }

    private static void AssertSamePlace(QuiltMap before, QuiltMap after, string id) =>
        Assert.InRange(
            before.EdgeOf(before.SeamOf(id)).PointAt(0.5).DistanceTo(after.EdgeOf(after.SeamOf(id)).PointAt(0.5)),
            0,
            0.12
        );

    // The place a little to the low side, which does not depend on the seam's way.
    private static void AssertSameLowSide(QuiltMap before, QuiltMap after, string id)
    {
        Vector<ClothSpace>? a = LowSideOf(before, before.SeamOf(id));
        Vector<ClothSpace>? b = LowSideOf(after, after.SeamOf(id));
        Assert.Equal(a is null, b is null);
        Assert.True(a is not { } x || b is not { } y || x.Dot(y) > 0.9);
    }

    private static Vector<ClothSpace>? LowSideOf(QuiltMap map, Seam s) =>
        s.Ditch is not { } side ? null
        : side == Side.Left ? map.EdgeOf(s).DirectionAt(0.5).TurnedLeft
        : -map.EdgeOf(s).DirectionAt(0.5).TurnedLeft;
}
