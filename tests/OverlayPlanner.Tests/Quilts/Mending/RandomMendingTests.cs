using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Tests.Quilts.Mending;

/// <summary>Whatever a hand does, the map stays a map.</summary>
public class RandomMendingTests
{
    private const int Tops = 8;
    private const int EditsEach = 250;

    [Fact]
    public void Any_sequence_of_edits_leaves_a_sound_map_or_is_refused_with_a_reason()
    {
        int done = 0;
        int refused = 0;
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                RandomEdits hand = new(seed);
                QuiltMap map = MapCheck.Inspect(hand.Top()).Map;
                HashSet<string> ever = [.. IdsOf(map)];
                for (int i = 0; i < EditsEach; i++)
                {
                    (MapEdit edit, Box<ClothSpace>? touches) = hand.Draw(map);
                    string step = FormattableString.Invariant($"edit {i}: {edit}");
                    QuiltMap next;
                    try
                    {
                        next = Mender.Apply(map, edit).Map;
                        done++;
                    }
                    catch (InputException e)
                    {
                        Assert.NotEmpty(e.Remedy);
                        refused++;
                        continue;
                    }

                    AssertSound(next, step);
                    HashSet<string> before = [.. IdsOf(map)];
                    Assert.All(
                        IdsOf(next).Where(id => !before.Contains(id)),
                        id => Assert.False(ever.Contains(id), $"{id} was the id of something else; {step}")
                    );
                    ever.UnionWith(IdsOf(next));
                    AssertUntouched(map, next, touches, step);
                    map = next;
                }
            },
            Tops
        );

        // Most of what a careless hand does is possible; where nothing is refused the guard would not be tested.
        Assert.InRange(done, Tops * EditsEach / 3, Tops * EditsEach);
        Assert.True(refused > Tops * EditsEach / 50, FormattableString.Invariant($"{refused} refused of {done}"));
    }

    [Fact]
    public void Undo_gives_back_exactly_the_earlier_map_and_redo_the_later_one()
    {
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                RandomEdits hand = new(seed);
                EditLog log = new(hand.Top());
                List<byte[]> states = [QuiltMapFile.Write(log.Map)];
                for (int i = 0; i < 120; i++)
                {
                    try
                    {
                        log.Apply(hand.Draw(log.Map).Edit);
                        states.Add(QuiltMapFile.Write(log.Map));
                    }
                    catch (InputException)
                    {
                        Assert.Equal(states.Count - 1, log.Count);
                    }
                }

                IReadOnlyList<MapEdit> edits = log.Edits;
                for (int at = states.Count - 2; at >= 0; at--)
                {
                    Assert.Equal(states[at], QuiltMapFile.Write(log.Undo()));
                }

                Assert.False(log.CanUndo);
                for (int at = 1; at < states.Count; at++)
                {
                    Assert.Equal(states[at], QuiltMapFile.Write(log.Redo()));
                }

                Assert.False(log.CanRedo);
                Assert.Equal(edits, log.Edits);
            },
            8
        );
    }

    // The check of maps finds faces over the whole map and apart from the mending: nothing may be left for it to repair.
    private static void AssertSound(QuiltMap map, string step)
    {
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.True(
            inspection.IsPlane,
            $"{step}: {string.Join("; ", inspection.Findings.Where(f => f.What != "seam-dangles"))}"
        );
        Assert.True(
            ReferenceEquals(inspection.Map, map),
            $"{step}: {string.Join("; ", inspection.Findings.Where(f => f.What != "seam-dangles"))}"
        );
        Assert.All(inspection.Findings, f => Assert.Equal("seam-dangles", f.What));
        HashSet<string> patches = [.. map.Patches.Select(p => p.Id)];
        Assert.All(map.Blocks, b => Assert.All(b.Patches, p => Assert.Contains(p, patches)));
    }

    private static void AssertUntouched(QuiltMap before, QuiltMap after, Box<ClothSpace>? touches, string step)
    {
        if (touches is not { } box)
        {
            return;
        }

        // An end may be drawn to what lies 1/8 in off, and seams on the way are led through what lies half as near.
        Box<ClothSpace> near = box.Grown(0.26);
        foreach (Seam s in before.Seams.Where(s => !near.Meets(before.EdgeOf(s).Bounds())))
        {
            Assert.True(ReferenceEquals(s, after.FindSeam(s.Id)), $"{s.Id} was not touched; {step}");
        }

        HashSet<Patch> kept = [.. after.Patches];
        foreach (
            Patch p in before.Patches.Where(p =>
                p.Seams.All(s => !near.Meets(before.EdgeOf(before.SeamOf(s)).Bounds()))
            )
        )
        {
            bool around = PatchFinder
                .ToPolygon(before, p, 0.01)
                .Intersects(
                    new NetTopologySuite.Geometries.GeometryFactory().ToGeometry(
                        new(near.Left, near.Right, near.Top, near.Bottom)
                    )
                );
            Assert.True(around || kept.Contains(p), $"{p.Id} was not touched; {step}");
        }
    }

    private static IEnumerable<string> IdsOf(QuiltMap map) =>
        map
            .Junctions.Select(j => j.Id)
            .Concat(map.Seams.Select(s => s.Id))
            .Concat(map.Patches.Select(p => p.Id))
            .Concat(map.Blocks.Select(b => b.Id));
}
