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

    private static double Total(QuiltMap map, Func<Seam, bool> pick) =>
        map.Seams.Where(pick).Sum(s => map.EdgeOf(s).Length);

    private static int Odd(QuiltMap map, Func<Seam, bool> pick) =>
        map.Seams.Where(pick).SelectMany(s => new[] { s.From, s.To }).GroupBy(j => j).Count(g => g.Count() % 2 == 1);
}
