using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Quilts;

public class BlockLibraryTests
{
    private static readonly Lazy<IReadOnlyDictionary<string, JsonElement>> Table = new(ReadTable);

    public static TheoryData<string> Ids() => [.. BlockLibrary.All.Select(b => b.Id)];

    public static TheoryData<string> CurvedIds() =>
        [.. BlockLibrary.All.Where(b => b.Patches.Any(p => p.Any(c => c.Bulge != 0))).Select(b => b.Id)];

    [Fact]
    public void Names_and_ids_are_unique_and_follow_the_contract_s_rule()
    {
        IReadOnlyList<BlockDraft> all = BlockLibrary.All;

        Assert.True(all.Count >= 66);
        Assert.Equal(all.Count, all.Select(b => b.Id).Distinct().Count());
        Assert.Equal(all.Count, all.Select(b => b.Name.ToUpperInvariant()).Distinct().Count());
        Assert.All(all, b => Assert.Matches("^[a-z0-9]+(-[a-z0-9]+)*$", b.Id));
        Assert.All(all, b => Assert.Same(b, BlockLibrary.Find(b.Name)));
        Assert.All(all, b => Assert.Same(b, BlockLibrary.Find(b.Id)));
    }

    [Fact]
    public void Blocks_beyond_the_first_27_say_that_they_are_drafts_from_memory_and_know_their_values_and_run_clockwise()
    {
        Assert.All(
            BlockLibrary.All.Skip(27),
            b =>
            {
                Assert.StartsWith("draft from memory", b.Note, StringComparison.Ordinal);
                Assert.Equal(b.Patches.Count, b.Values.Count);
                Assert.All(b.Values, v => Assert.True(Enum.IsDefined(v)));
                Assert.True(b.Values.Distinct().Count() > 1, b.Name);
                Assert.All(b.Patches.Select((_, k) => AreaOf(b, k, 1)), a => Assert.True(a > 0, "clockwise as seen"));
            }
        );
    }

    [Theory]
    [MemberData(nameof(Ids))]
    public void Patches_tile_the_block_exactly(string id)
    {
        BlockDraft draft = BlockLibrary.Find(id);

        foreach (double side in new[] { 6.0, 12.0 })
        {
            QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(side), 1, 1, Length.Zero);

            RequireWhole(map);
            Assert.Equal(draft.Patches.Count, map.Patches.Count);

            // The faces that the seams make are the patches that were drawn: same areas, one for one. Coordinates are
            // joined within 1e-5 of the side, so an area is good to about 4e-5 of the block's.
            double[] drawn = [.. draft.Patches.Select((_, k) => Math.Abs(AreaOf(draft, k, side))).Order()];
            double[] made = [.. map.Patches.Select(p => AreaOf(PatchFinder.RingOf(map, p.Seams))).Order()];
            Assert.Equal(side * side, drawn.Sum(), 1e-9 * side * side);
            for (int i = 0; i < drawn.Length; i++)
            {
                Assert.Equal(drawn[i], made[i], 4e-5 * side * side);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Ids))]
    public void Blocks_set_side_by_side_and_with_sashing_stay_whole(string id)
    {
        BlockDraft draft = BlockLibrary.Find(id);

        QuiltMap straight = BlockDrafting.Draft(draft, Length.FromInches(6), 2, 2, Length.Zero);
        QuiltMap sashed = BlockDrafting.Draft(draft, Length.FromInches(12), 2, 2, Length.FromInches(1.5));

        RequireWhole(straight);
        RequireWhole(sashed);
        Assert.Equal(4 * draft.Patches.Count, straight.Patches.Count);
        Assert.Equal(4 * draft.Patches.Count + 4 + 1, sashed.Patches.Count); // and four strips about one cornerstone
        Assert.All(straight.Blocks, b => Assert.Equal(draft.Patches.Count, b.Patches.Count));
        Assert.All(sashed.Blocks, b => Assert.Equal(draft.Patches.Count, b.Patches.Count));
    }

    [Theory]
    [MemberData(nameof(Ids))]
    public void Seams_agree_with_the_table_that_was_worked_out_apart_from_the_program(string id)
    {
        // library-table.json comes from library_table.py, which shares nothing with the program but the drafts, and which
        // reproduces the handbook's table 1.4. Its lengths are rounded to 1e-4; the first file's eight-point drafts reach it
        // rounded to four places, 0.0002 in at this size for each end of some fifty seams.
        BlockDraft draft = BlockLibrary.Find(id);
        JsonElement row = Table.Value[draft.Name];
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);

        Assert.Equal(row.GetProperty("patches").GetInt32(), map.Patches.Count);
        Assert.Equal(row.GetProperty("curved").GetBoolean(), map.Seams.Any(s => s.Bulge != 0));
        RequireSame(row.GetProperty("inner"), map, s => s.Role != SeamRole.Edge);
        RequireSame(row.GetProperty("outlined"), map, _ => true);
    }

    [Fact]
    public void The_table_has_a_row_for_every_block()
    {
        Assert.Equal(BlockLibrary.All.Select(b => b.Name).Order(), Table.Value.Keys.Order());
    }

    [Theory]
    [MemberData(nameof(CurvedIds))]
    public void A_curved_seam_between_two_patches_is_one_seam(string id)
    {
        BlockDraft draft = BlockLibrary.Find(id);
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);

        // No arc of the library lies on the outline, so each is a side of two patches.
        int arcSides = draft.Patches.Sum(p => p.Count(c => c.Bulge != 0));
        Assert.Equal(arcSides, 2 * map.Seams.Count(s => s.Bulge != 0));
    }

    [Fact]
    public void Drunkard_s_path_has_the_handbook_s_lengths()
    {
        // Handbook 1.3: 16 units of 3 in, r = 2: 24 u = 72.00 straight and 16 × π r / 2 = 50.27 curved.
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("drunkards-path"),
            Length.FromInches(12),
            1,
            1,
            Length.Zero
        );
        Edge<ClothSpace>[] inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge).Select(map.EdgeOf)];

        Assert.Equal(72, inner.Where(e => e.IsLine).Sum(e => e.Length), 1e-9);
        Assert.Equal(16 * Math.PI, inner.Where(e => !e.IsLine).Sum(e => e.Length), 1e-9);
        Assert.All(inner.Where(e => !e.IsLine), e => Assert.Equal(2, e.Radius, 1e-9));
    }

    [Fact]
    public void Patches_have_colours_only_where_they_are_asked_for()
    {
        BlockDraft draft = BlockLibrary.Find("orange-peel");
        Length side = Length.FromInches(8);

        QuiltMap plain = BlockDrafting.Draft(draft, side, 2, 1, Length.FromInches(1));
        QuiltMap colored = BlockDrafting.Draft(
            draft,
            side,
            2,
            1,
            Length.FromInches(1),
            v => v == PatchValue.Dark ? "#102040" : "#f0e0d0"
        );

        Assert.All(plain.Patches, p => Assert.Null(p.Color));
        // Each of two blocks has four dark petals and four light pieces of ground; the strip between has no value.
        Assert.Equal(8, colored.Patches.Count(p => p.Color == "#102040"));
        Assert.Equal(8, colored.Patches.Count(p => p.Color == "#f0e0d0"));
        Assert.Single(colored.Patches, p => p.Color is null);
        Assert.All(
            colored.Patches.Where(p => p.Color == "#102040"),
            p => Assert.Equal(2, p.Seams.Count) // a petal is two arcs
        );
    }

    private static void RequireWhole(QuiltMap map)
    {
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.True(inspection.IsPlane);
        Assert.Empty(inspection.Findings);
        Assert.All(map.Patches, p => Assert.Empty(p.Holes));

        // Every seam inside is a side of two patches that run along it in opposite directions; the outline of one.
        Dictionary<string, List<bool>> directions = map.Seams.ToDictionary(s => s.Id, _ => new List<bool>());
        double area = 0;
        foreach (Patch patch in map.Patches)
        {
            IReadOnlyList<Edge<ClothSpace>> ring = PatchFinder.RingOf(map, patch.Seams);
            for (int i = 0; i < ring.Count; i++)
            {
                Assert.Equal(ring[i].To, ring[(i + 1) % ring.Count].From);
                Edge<ClothSpace> stored = map.EdgeOf(map.SeamOf(patch.Seams[i]));
                Assert.True(ring[i] == stored || ring[i] == stored.Reversed);
                directions[patch.Seams[i]].Add(ring[i] == stored);
            }

            area += AreaOf(ring);
        }

        foreach (Seam seam in map.Seams)
        {
            List<bool> runs = directions[seam.Id];
            Assert.Equal(seam.Role == SeamRole.Edge ? 1 : 2, runs.Count);
            Assert.Equal(runs.Count, runs.Distinct().Count());
        }

        Assert.Equal(map.Width.Inches * map.Height.Inches, area, 1e-9 * area);
    }

    private static void RequireSame(JsonElement row, QuiltMap map, Func<Seam, bool> pick)
    {
        Seam[] seams = [.. map.Seams.Where(pick)];
        Dictionary<string, int> degree = seams
            .SelectMany(s => new[] { s.From, s.To })
            .GroupBy(j => j)
            .ToDictionary(g => g.Key, g => g.Count());

        Assert.Equal(row.GetProperty("length").GetDouble(), seams.Sum(s => map.EdgeOf(s).Length), 0.005);
        Assert.Equal(row.GetProperty("odd").GetInt32(), degree.Values.Count(d => d % 2 == 1));
        Assert.Equal(
            row.GetProperty("lines").GetInt32(),
            PiecesOf(seams).Sum(piece => Math.Max(1, piece.Count(j => degree[j] % 2 == 1) / 2))
        );
    }

    private static List<HashSet<string>> PiecesOf(IEnumerable<Seam> seams)
    {
        List<HashSet<string>> pieces = [];
        foreach (Seam seam in seams)
        {
            HashSet<string> joined = [seam.From, seam.To];
            foreach (HashSet<string> piece in pieces.Where(p => p.Overlaps(joined)).ToArray())
            {
                joined.UnionWith(piece);
                pieces.Remove(piece);
            }

            pieces.Add(joined);
        }

        return pieces;
    }

    private static double AreaOf(BlockDraft draft, int patch, double side) =>
        AreaOf(draft.SidesOf(patch, new(0, 0), Length.FromInches(side)));

    // Positive for a ring that runs clockwise as seen: the polygon of its corners, and the segment r² (θ − sin θ) / 2 between
    // each arc and its chord, added where the arc bows out to the left of travel.
    private static double AreaOf(IReadOnlyList<Edge<ClothSpace>> ring) =>
        ring.Sum(e =>
        {
            double chordPart = (e.From.X * e.To.Y - e.To.X * e.From.Y) / 2;
            return e.IsLine ? chordPart : chordPart + e.Radius * e.Radius * (e.Sweep - Math.Sin(e.Sweep)) / 2;
        });

    private static IReadOnlyDictionary<string, JsonElement> ReadTable()
    {
        DirectoryInfo? folder = new(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "OverlayPlanner.sln")))
        {
            folder = folder.Parent;
        }

        string path = Path.Combine(
            folder?.FullName ?? ".",
            "tests",
            "OverlayPlanner.Tests",
            "Quilts",
            "library-table.json"
        );
        using JsonDocument document = JsonDocument.Parse(File.ReadAllBytes(path));
        return document
            .RootElement.GetProperty("blocks")
            .EnumerateArray()
            .ToDictionary(b => b.GetProperty("name").GetString()!, b => b.Clone());
    }
}
