using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Tests.Quilts.Mending;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Mending;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Mending;

public sealed class MendingDeskTests : IDisposable
{
    private static readonly LengthWords Inches = new(LengthUnits.Inches);
    private readonly string folder = Directory.CreateTempSubdirectory("overlayplanner-desk-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Theory]
    [InlineData(3)]
    [InlineData(14)]
    [InlineData(159)]
    public void Undo_to_the_start_and_redo_to_the_end_give_the_same_bytes_with_the_program_killed_in_between(int seed)
    {
        RandomEdits hand = new(seed);
        (QuiltStore store, KeptQuilt quilt) = Keep(hand.Top());
        List<byte[]> maps = [MapIn(quilt)];
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        for (int i = 0; i < 60; i++)
        {
            try
            {
                if (!desk.Apply(hand.Draw(desk.Map).Edit))
                {
                    continue;
                }
            }
            catch (InputException)
            {
                continue;
            }

            maps.Add(MapIn(quilt));
            Assert.Equal(QuiltMapFile.Write(desk.Map), maps[^1]);
            if (i % 7 == 0)
            {
                // A desk that is left without a word, as when the program is killed; another takes over.
                desk = MendingDesk.Open(new QuiltStore(folder), quilt.Id);
            }
        }

        Assert.True(maps.Count > 20, $"{maps.Count}");
        for (int at = maps.Count - 2; at >= 0; at--)
        {
            desk.Undo();
            Assert.Equal(maps[at], MapIn(quilt));
            if (at % 9 == 0)
            {
                desk = MendingDesk.Open(new QuiltStore(folder), quilt.Id);
            }
        }

        Assert.Null(desk.ToUndo);
        for (int at = 1; at < maps.Count; at++)
        {
            desk.Redo();
            Assert.Equal(maps[at], MapIn(quilt));
            if (at % 9 == 0)
            {
                desk = MendingDesk.Open(new QuiltStore(folder), quilt.Id);
            }
        }

        Assert.Null(desk.ToRedo);
        Assert.Equal(maps.Count - 1, desk.Edits.Count);
    }

    [Fact]
    public void The_file_of_edits_leads_from_the_map_as_found_to_the_map_in_use()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(WithDoubt(Stars(), out string doubtful));
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        QuiltMap found = desk.Map;
        Assert.True(desk.Apply(new RemoveSeam(new(Inner(desk.Map).Id))));
        Assert.True(desk.Apply(new SureSeam(new(doubtful))));
        Assert.True(desk.Apply(MendingWords.Naming(desk.Map.Blocks[0].Id, "Grandmother's star")));
        string path = quilt.PathOf("edits.json");
        ReplayedMap again = EditReplay.Run(
            InputFiles.ReadPlaneMap(quilt.PathOf("as-found.json")).Map,
            EditsFile.Read(File.ReadAllBytes(path), path).Edits,
            path
        );
        Assert.Equal(QuiltMapFile.Write(desk.Map), QuiltMapFile.Write(again.Map));
        Assert.Equal("Grandmother's star", MendingWords.NameOf(again.Map.Blocks[0]));
        Assert.NotEqual(found.Seams.Count, again.Map.Seams.Count);
    }

    [Fact]
    public void A_second_window_is_refused_in_words_and_goes_on_once_opened_again()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        MendingDesk one = MendingDesk.Open(store, quilt.Id);
        MendingDesk two = MendingDesk.Open(new QuiltStore(folder), quilt.Id);
        one.Apply(new RemoveSeam(new(Inner(one.Map).Id)));
        byte[] saved = MapIn(quilt);
        QuiltMap seen = two.Map;

        InputException refused = Assert.Throws<InputException>(() =>
            two.Apply(new LeavePatch(new(two.Map.Patches[0].Id)))
        );
        Assert.Contains("another window", refused.What, StringComparison.Ordinal);
        Assert.True(two.IsStale);
        Assert.Equal(QuiltMapFile.Write(seen), QuiltMapFile.Write(two.Map));
        Assert.Null(two.ToUndo);
        Assert.Equal(saved, MapIn(quilt));
        Assert.Throws<InputException>(two.Undo);

        two = MendingDesk.Open(store, quilt.Id);
        Assert.IsType<RemoveSeam>(two.ToUndo);
        Assert.True(two.Apply(new LeavePatch(new(two.Map.Patches[0].Id))));
        Assert.False(two.IsStale);
    }

    [Fact]
    public void A_refused_move_leaves_what_could_be_done_again()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        desk.Apply(new RemoveSeam(new(Inner(desk.Map).Id)));
        desk.Undo();
        store.Save(quilt, ("note.txt", "another window"u8.ToArray()));
        Assert.Throws<InputException>(() => desk.Apply(new LeavePatch(new(desk.Map.Patches[0].Id))));
        Assert.IsType<RemoveSeam>(desk.ToRedo);
        Assert.Null(desk.ToUndo);

        // The bytes are as they were: what was refused has left nothing.
        MendingDesk again = MendingDesk.Open(store, quilt.Id);
        Assert.IsType<RemoveSeam>(again.ToRedo);
        again.Redo();
        Assert.Equal(desk.Map.Seams.Count, MendingDesk.Open(store, quilt.Id).Map.Seams.Count + 1);
    }

    [Fact]
    public void Routes_and_sheets_that_no_longer_agree_with_the_map_are_taken_away_and_the_photo_is_not()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        quilt = store.Save(
            quilt,
            ("route.json", "{}"u8.ToArray()),
            ("sheets.pdf", "%PDF"u8.ToArray()),
            ("choice.json", "{}"u8.ToArray()),
            ("photo.jpg", "photo"u8.ToArray())
        );
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        Assert.Throws<InputException>(() => desk.Apply(new RemoveSeam(new("no such seam"))));
        Assert.True(File.Exists(quilt.PathOf("route.json")));
        desk.Apply(new RemoveSeam(new(Inner(desk.Map).Id)));
        Assert.All(["route.json", "sheets.pdf", "choice.json"], f => Assert.False(File.Exists(quilt.PathOf(f)), f));
        Assert.True(File.Exists(quilt.PathOf("photo.jpg")));
    }

    [Fact]
    public void One_block_put_right_is_laid_into_all_its_copies_in_one_move()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        Block right = desk.Map.Blocks[0];
        PartReading reading = desk.Read(new(QuiltPartKind.Block, right.Id), Inches)!;
        Assert.Equal(desk.Map.Blocks.Count - 1, reading.Copies.Count);
        Point<ClothSpace> middle = new(right.Corners.Average(c => c.X), right.Corners.Average(c => c.Y));
        int before = desk.Map.Patches.Count;
        Assert.True(
            desk.Apply(new AddSeam(middle + new Vector<ClothSpace>(-1.5, 0), middle + new Vector<ClothSpace>(1.5, 0)))
        );
        int more = desk.Map.Patches.Count - before;
        Assert.True(more > 0);
        Assert.True(desk.Apply(new CopyBlock(new(right.Id))));
        Assert.Equal(before + more * desk.Map.Blocks.Count, desk.Map.Patches.Count);
        Assert.Equal("made the copies of a block like it", MendingWords.Did(desk.ToUndo!));
        desk.Undo();
        Assert.Equal(before + more, desk.Map.Patches.Count);
    }

    [Fact]
    public void A_map_made_anew_begins_its_own_mending_and_keeps_the_edits_for_the_next()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        desk.Apply(new RemoveSeam(new(Inner(desk.Map).Id)));
        byte[] mended = MapIn(quilt);
        store.Save(quilt, (QuiltStore.MapFile, QuiltMapFile.Write(Stars())));
        MendingDesk anew = MendingDesk.Open(store, quilt.Id);
        Assert.Null(anew.ToUndo);
        Assert.Single(anew.Edits);
        Assert.NotEqual(mended, QuiltMapFile.Write(anew.Map));
        anew.Apply(new LeavePatch(new(anew.Map.Patches[0].Id)));
        anew = MendingDesk.Open(store, quilt.Id);
        Assert.IsType<LeavePatch>(anew.ToUndo);
        Assert.Equal(2, anew.Edits.Count);
    }

    [Fact]
    public void What_is_there_already_is_no_move()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        string patch = desk.Map.Patches[0].Id;
        Assert.True(desk.Apply(new LeavePatch(new(patch))));
        Assert.False(desk.Apply(new LeavePatch(new(patch))));
        Assert.Single(desk.Edits);
    }

    [Fact]
    public void Doubtful_seams_are_asked_one_by_one_and_a_seam_that_is_there_is_asked_no_more()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(WithDoubt(Stars(), out string doubtful));
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        LookStep asked = Assert.Single(desk.LookFirst(Inches));
        Assert.Equal(new QuiltPart(QuiltPartKind.Seam, doubtful), asked.Part);
        Assert.Contains("of 10, about 4 like it are seams", asked.Why, StringComparison.Ordinal);
        desk.Apply(new SureSeam(new(doubtful)));
        Assert.Empty(desk.LookFirst(Inches));
        desk.Undo();
        Assert.Single(desk.LookFirst(Inches));
    }

    [Fact]
    public void A_line_that_may_be_a_seam_is_asked_until_it_is_added_or_said_to_be_none()
    {
        (QuiltStore store, KeptQuilt quilt) = Keep(Stars());
        quilt = store.Save(quilt, ("missed-lines.json", "[[1,0.6,2.2,0.6,0,0.7],[1,1.4,2.2,1.4,0,0.5]]"u8.ToArray()));
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        IReadOnlyList<LookStep> asked = desk.LookFirst(Inches);
        Assert.Equal(2, asked.Count);
        Assert.All(asked, a => Assert.Equal(LookQuestion.IsMissed, a.Question));
        desk.SayNoSeam(asked[0]);
        LookStep left = Assert.Single(desk.LookFirst(Inches));
        Assert.NotEqual(asked[0].Key, left.Key);
        desk = MendingDesk.Open(new QuiltStore(folder), quilt.Id);
        Assert.Equal(left.Key, Assert.Single(desk.LookFirst(Inches)).Key);
        Edge<ClothSpace> line = left.Missed!.Value;
        Assert.True(desk.Apply(new AddSeam(line.From, line.To, line.Bulge)));
        Assert.Empty(desk.LookFirst(Inches));
    }

    [Fact]
    public void A_seams_length_carries_the_error_of_its_two_points()
    {
        // Two points, each within 0.02 in along the seam: √2 × 0.02 × 1.96 is 0.055 in, one sixteenth when rounded up.
        QuiltMap map = new(
            Length.FromInches(10),
            Length.FromInches(10),
            [At("a", 0, 0), At("b", 10, 0), At("c", 10, 10), At("d", 0, 10), At("e", 0, 5), At("f", 10, 5)],
            [
                Outline("s1", "a", "b"),
                Outline("s2", "b", "f"),
                Outline("s3", "f", "c"),
                Outline("s4", "c", "d"),
                Outline("s5", "d", "e"),
                Outline("s6", "e", "a"),
                new("s7", "e", "f") { Ditch = Side.Left },
            ]
        );
        (QuiltStore store, KeptQuilt quilt) = Keep(map);
        PartReading seam = MendingDesk.Open(store, quilt.Id).Read(new(QuiltPartKind.Seam, "s7"), Inches)!;
        Assert.Contains(("Length", "10 in, within 1/16"), seam.Lines);

        // Left of a way to the right is up on the page (y down).
        Assert.Contains(("Low side", "above"), seam.Lines);
        Assert.Equal([new(LowSide.Left, "above"), new(LowSide.Right, "below")], seam.Sides);

        // A rise of 1 in over a chord of 10 in, toward above.
        MendingDesk desk = MendingDesk.Open(store, quilt.Id);
        desk.Apply(MendingWords.Bending(desk.Map, "s7", Length.FromInches(1), LowSide.Left));
        Edge<ClothSpace> arc = desk.Map.EdgeOf(desk.Map.SeamOf("s7"));
        Assert.Equal(4, arc.PointAt(0.5).Y, 9);
        Assert.Contains(("Rise of the arc", "1 in"), desk.Read(new(QuiltPartKind.Seam, "s7"), Inches)!.Lines);

        static Junction At(string id, double x, double y) => new(id, new(new(x, y), Length.FromInches(0.02)));
        static Seam Outline(string id, string from, string to) =>
            new(id, from, to, 0, SeamRole.Edge) { Edge = EdgeKind.Seam };
    }

    [Fact]
    public void A_typed_name_is_the_librarys_where_it_has_one_and_else_her_own()
    {
        BlockDraft known = BlockLibrary.All[0];
        Assert.Equal(known.Id, MendingWords.Naming("b1", " " + known.Name.ToUpperInvariant()).Pattern);
        NameBlock own = MendingWords.Naming("b1", "Grandmother's star");
        Assert.Null(own.Pattern);
        Assert.Equal("Grandmother's star", own.Called);
        Assert.Equal(known.Name, MendingWords.NamesLike(known.Name)[0]);
    }

    private static QuiltMap Stars() =>
        BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(9), 2, 2, Length.Zero);

    private static Seam Inner(QuiltMap map) => map.Seams.First(s => s.Role == SeamRole.Seam);

    private static byte[] MapIn(KeptQuilt quilt) => File.ReadAllBytes(quilt.PathOf(QuiltStore.MapFile));

    private (QuiltStore Store, KeptQuilt Quilt) Keep(QuiltMap map)
    {
        QuiltStore store = new(folder);
        KeptQuilt quilt = store.Save(
            store.Create("Stars"),
            (QuiltStore.MapFile, QuiltMapFile.Write(MapCheck.Inspect(map).Map))
        );
        return (store, quilt);
    }

    private static QuiltMap WithDoubt(QuiltMap map, out string doubtful)
    {
        Seam last = map.Seams.Last(s => s.Role == SeamRole.Seam);
        doubtful = last.Id;
        return map.With(seams: [.. map.Seams.Select(s => s == last ? s with { Confidence = 0.4 } : s)]);
    }
}
