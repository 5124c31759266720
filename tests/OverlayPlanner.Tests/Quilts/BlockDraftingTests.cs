using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Tests.Quilts;

public class BlockDraftingTests
{
    public static TheoryData<string, int, double, int, double, int> HandbookTable() =>
        // Handbook 1.4, for a 12 in block: patches, inner seams and their odd junctions, with the outline the same two.
        new()
        {
            { "four-patch", 4, 24.00, 4, 72.00, 4 },
            { "nine-patch", 9, 48.00, 8, 96.00, 8 },
            { "puss-in-the-corner", 9, 48.00, 8, 96.00, 8 },
            { "shoofly", 13, 70.63, 0, 118.63, 0 },
            { "friendship-star", 13, 70.63, 8, 118.63, 8 },
            { "ohio-star", 21, 93.25, 0, 141.25, 0 },
            { "churn-dash", 17, 86.63, 8, 134.63, 8 },
            { "card-trick", 24, 115.88, 12, 163.88, 12 },
            { "sawtooth-star", 17, 81.94, 0, 129.94, 0 },
            { "pinwheel", 8, 57.94, 8, 105.94, 8 },
            { "broken-dishes", 32, 139.88, 16, 187.88, 16 },
            { "hourglass", 4, 33.94, 4, 81.94, 4 },
            { "dutchmans-puzzle", 24, 115.88, 4, 163.88, 4 },
            { "bears-paw", 45, 141.65, 16, 189.65, 16 },
            { "log-cabin", 13, 82.29, 24, 130.29, 24 },
            { "courthouse-steps", 13, 82.29, 24, 130.29, 24 },
            { "rail-fence", 12, 72.00, 20, 120.00, 20 },
            { "snowball", 5, 22.63, 8, 70.63, 8 },
            { "square-in-a-square", 5, 33.94, 0, 81.94, 0 },
            { "economy", 9, 57.94, 0, 105.94, 0 },
            { "jacobs-ladder", 28, 110.63, 24, 158.63, 24 },
            { "snails-trail", 20, 92.91, 4, 140.91, 4 },
            { "sisters-choice", 33, 123.15, 16, 171.15, 16 },
            { "spool", 5, 38.63, 8, 86.63, 8 },
            { "attic-windows", 3, 21.66, 4, 69.66, 4 },
            { "lemoyne-star", 16, 84.35, 8, 132.35, 8 },
            { "kaleidoscope", 12, 71.84, 0, 119.84, 0 },
        };

    [Theory]
    [MemberData(nameof(HandbookTable))]
    public void Every_library_block_has_the_handbook_s_seams(
        string id,
        int patches,
        double inner,
        int oddInner,
        double all,
        int oddAll
    )
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

        Assert.Equal(patches, map.Patches.Count);
        Assert.Equal(inner, Total(map, s => s.Role != SeamRole.Edge), 0.005 + 1e-9);
        Assert.Equal(all, Total(map, _ => true), 0.005 + 1e-9);
        Assert.Equal(oddInner, Odd(map, s => s.Role != SeamRole.Edge));
        Assert.Equal(oddAll, Odd(map, _ => true));
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.True(inspection.IsPlane);
        Assert.Empty(inspection.Findings);
    }

    [Fact]
    public void The_library_holds_the_handbook_s_27_blocks_first_and_46_more()
    {
        Assert.Equal(27 + 46, BlockLibrary.All.Count);
        Assert.Equal(
            HandbookTable().Select(row => row.Data.Item1).Order(),
            BlockLibrary.All.Take(27).Select(b => b.Id).Order()
        );
        Assert.Equal("dutchmans-puzzle", BlockLibrary.IdOf("Dutchman's puzzle"));
        Assert.Equal("square-in-a-square", BlockLibrary.IdOf("Square in a square"));
    }

    [Fact]
    public void Repeats_and_sashing_make_blocks_strips_and_cornerstones()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("four-patch"),
            Length.FromInches(12),
            3,
            2,
            Length.FromInches(2)
        );

        Assert.Equal(40, map.Width.Inches, 1e-9); // 3 × 12 + 2 × 2
        Assert.Equal(26, map.Height.Inches, 1e-9); // 2 × 12 + 2
        Assert.Equal(6, map.Blocks.Count);
        Assert.All(map.Blocks, b => Assert.Equal(4, b.Patches.Count));
        Assert.Equal((6 * 4) + 4 + 3 + 2, map.Patches.Count); // patches, upright strips, level strips, cornerstones
        Assert.True(MapCheck.Inspect(map).IsPlane);
    }

    [Fact]
    public void A_map_reads_back_as_it_was_written_and_keeps_unknown_fields()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("ohio-star"),
            Length.FromInches(11.3),
            2,
            2,
            Length.FromInches(1.5)
        );
        string text = System.Text.Encoding.UTF8.GetString(QuiltMapFile.Write(map));
        text = text.Replace(
            "\"unit\": \"in\",",
            "\"unit\": \"in\", \"later\": {\"a\": [1, 2]},",
            StringComparison.Ordinal
        );

        QuiltMap back = QuiltMapFile.Read(System.Text.Encoding.UTF8.GetBytes(text), "quilt.json");
        string again = System.Text.Encoding.UTF8.GetString(QuiltMapFile.Write(back));

        Assert.Contains("\"later\"", again, StringComparison.Ordinal);
        Assert.Equal(map.Junctions.Select(j => j.Place), back.Junctions.Select(j => j.Place));
        Assert.Equal(
            map.Patches.Select(p => string.Join(' ', p.Seams)),
            back.Patches.Select(p => string.Join(' ', p.Seams))
        );
    }

    [Fact]
    public void Seam_lengths_agree_with_the_handbook_s_hand_checks()
    {
        // Handbook 1.4, "hand checks": a 12 in block, inner seams.
        Assert.Equal(4 * 12, Inner("nine-patch"), 1e-9);
        Assert.Equal(48 + (8 * 4 * Math.Sqrt(2)), Inner("ohio-star"), 1e-9);
        Assert.Equal(24 + (2 * 12 * Math.Sqrt(2)), Inner("pinwheel"), 1e-9);
        Assert.Equal(48 + (4 * 4 * Math.Sqrt(2)) + (4 * 4), Inner("churn-dash"), 1e-9); // 5.657 = 4 √2
        Assert.Equal(24 * 12 / (2 + Math.Sqrt(2)), Inner("lemoyne-star"), 1e-9); // 24 equal edges, side / (2 + √2) = 3.5147

        static double Inner(string id) =>
            Total(
                BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero),
                s => s.Role != SeamRole.Edge
            );
    }

    [Theory]
    [InlineData(15, 4.3936)] // handbook 12, rows 7, 8 and 10: an eight-pointed star's short side is block / 3.414
    [InlineData(6, 1.7574)]
    [InlineData(18, 5.2724)]
    public void An_eight_pointed_star_has_its_printed_side(double size, double side)
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("lemoyne-star"),
            Length.FromInches(size),
            1,
            1,
            Length.Zero
        );

        // Printed figures: 15 / 3.414 is rounded twice.
        Assert.All(map.Seams.Where(s => s.Role == SeamRole.Seam), s => Assert.Equal(side, map.EdgeOf(s).Length, 5e-4));
    }

    public static TheoryData<string, double, int, int, double> Sizes()
    {
        TheoryData<string, double, int, int, double> data = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            data.Add(block.Id, 11.3, 2, 3, 0);
            data.Add(block.Id, 6, 2, 2, 1.1);
            data.Add(block.Id, 0.5, 3, 2, 0.125);
            data.Add(block.Id, 200, 2, 1, 7.77);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Sizes))]
    public void Every_block_is_drafted_alike_at_any_size(string id, double size, int columns, int rows, double sash)
    {
        BlockDraft draft = BlockLibrary.Find(id);
        QuiltMap one = BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(size), columns, rows, Length.FromInches(sash));

        int strips = sash == 0 ? 0 : (columns - 1) * rows + (rows - 1) * columns + (columns - 1) * (rows - 1);
        Assert.Equal(columns * rows * draft.Patches.Count + strips, map.Patches.Count);
        Assert.All(map.Blocks, b => Assert.Equal(draft.Patches.Count, b.Patches.Count));
        Assert.Equal(columns * rows * draft.Patches.Count, map.Blocks.SelectMany(b => b.Patches).Distinct().Count());
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.Empty(inspection.Findings);
        Assert.Same(map, inspection.Map);

        // Seams inside the blocks: as many times those of one block, to scale.
        double inner = Total(one, s => s.Role != SeamRole.Edge) * size / 12 * columns * rows;
        Assert.Equal(inner, Total(map, s => s.Role == SeamRole.Seam && InsideBlock(map, s)), inner * 1e-9);

        // The outline is four straight lines of the mapped area's own numbers.
        double width = (columns * size) + ((columns - 1) * sash);
        double height = (rows * size) + ((rows - 1) * sash);
        Assert.Equal(2 * (width + height), Total(map, s => s.Role == SeamRole.Edge), 1e-9 * (width + height));
        Assert.Equal(width * height, Maps.Areas(map).Sum(), 1e-9 * width * height);
        AssertReadingOrder(map);
    }

    [Theory]
    [InlineData(0.49, 1, 1, 0, "--size")]
    [InlineData(201, 1, 1, 0, "--size")]
    [InlineData(-12, 1, 1, 0, "--size")]
    [InlineData(double.NaN, 1, 1, 0, "--size")]
    [InlineData(double.PositiveInfinity, 1, 1, 0, "--size")]
    [InlineData(12, 0, 1, 0, "--repeat")]
    [InlineData(12, 1, -3, 0, "--repeat")]
    [InlineData(12, 51, 50, 0, "--repeat")]
    [InlineData(12, int.MaxValue, int.MaxValue, 0, "--repeat")]
    [InlineData(12, 2, 2, -1, "--sash")]
    [InlineData(12, 2, 2, 0.001, "--sash")]
    [InlineData(12, 2, 2, 101, "--sash")]
    [InlineData(12, 2, 2, double.NaN, "--sash")]
    public void Impossible_numbers_are_refused_by_option(double size, int columns, int rows, double sash, string where)
    {
        BlockDraft draft = BlockLibrary.Find("four-patch");
        InputException e = Assert.Throws<InputException>(() =>
            BlockDrafting.Draft(draft, Length.FromInches(size), columns, rows, Length.FromInches(sash))
        );
        Assert.Equal(where, e.Where);
        Assert.NotEmpty(e.Remedy);
    }

    [Theory]
    [InlineData("Dutchman's puzzle", "dutchmans-puzzle")]
    [InlineData("Dutchman’s puzzle", "dutchmans-puzzle")]
    [InlineData("Snail's trail / monkey wrench", "snails-trail-monkey-wrench")]
    [InlineData("LeMoyne star", "lemoyne-star")]
    [InlineData("  Nine -- patch!  ", "nine-patch")]
    [InlineData("54-40 or fight", "54-40-or-fight")]
    [InlineData("", "")]
    [InlineData("!?", "")]
    public void An_id_is_the_name_in_lower_case_with_hyphens(string name, string id) =>
        Assert.Equal(id, BlockLibrary.IdOf(name));

    [Fact]
    public void A_block_is_found_by_its_id_and_by_its_name_and_a_misspelt_one_is_answered_with_the_nearest()
    {
        Assert.All(BlockLibrary.All, b => Assert.Same(b, BlockLibrary.Find(b.Id)));
        Assert.All(BlockLibrary.All, b => Assert.Same(b, BlockLibrary.Find(b.Name.ToUpperInvariant())));
        Assert.Equal(BlockLibrary.All.Count, BlockLibrary.All.Select(b => b.Id).Distinct().Count());
        InputException e = Assert.Throws<InputException>(() => BlockLibrary.Find("ohoi star"));
        Assert.Contains("ohio-star", e.Remedy, StringComparison.Ordinal);
        Assert.Throws<InputException>(() => BlockLibrary.Find(""));
    }

    [Fact]
    public void The_library_is_the_data_file_of_the_reference_data()
    {
        string reference = File.ReadAllText(SharedData.PathOf("blocks.json"));
        string ours = File.ReadAllText(Repository.PathOf("src/OverlayPlanner.Quilts/Blocks/blocks.json"));
        Assert.True(
            System.Text.Json.Nodes.JsonNode.DeepEquals(
                System.Text.Json.Nodes.JsonNode.Parse(reference),
                System.Text.Json.Nodes.JsonNode.Parse(ours)
            )
        );
    }

    private static bool InsideBlock(QuiltMap map, Seam seam)
    {
        Point<ClothSpace> middle = map.EdgeOf(seam).PointAt(0.5);
        return map.Blocks.Any(b => PatchFinder.IsInside(b.Corners, middle));
    }

    private static void AssertReadingOrder(QuiltMap map)
    {
        for (int i = 1; i < map.Junctions.Count; i++)
        {
            (Point<ClothSpace> a, Point<ClothSpace> b) = (map.Junctions[i - 1].Place, map.Junctions[i].Place);
            Assert.True(b.Y > a.Y + 1e-6 || (Math.Abs(a.Y - b.Y) < 1e-6 && b.X > a.X), $"{a} before {b}");
        }
    }

    private static double Total(QuiltMap map, Func<Seam, bool> pick) =>
        map.Seams.Where(pick).Sum(s => map.EdgeOf(s).Length);

    private static int Odd(QuiltMap map, Func<Seam, bool> pick) =>
        map.Seams.Where(pick).SelectMany(s => new[] { s.From, s.To }).GroupBy(j => j).Count(g => g.Count() % 2 == 1);
}
