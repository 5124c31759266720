using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

/// <summary>What the user says is a strong prior, and never more.</summary>
public sealed class LatticeHintTests
{
    // Six by four squares of 4 in without colours: nothing says where blocks begin.
    private static readonly QuiltMap Squares = Grid(6, 4, 4);

    [Fact]
    public void The_lattice_that_was_said_is_taken_where_the_seams_allow_it()
    {
        FoundLattice found = BlockLattice.Find(Squares, new() { Lattice = (2, 3) });
        Assert.Equal(6, found.Blocks.Count);
        Assert.All(found.Blocks, b => Assert.Equal(8, b.Corners[0].DistanceTo(b.Corners[1]), 1e-6));
        Assert.DoesNotContain(found.Findings, f => f.What == "hint-not-followed");
    }

    [Fact]
    public void A_lattice_that_the_seams_do_not_have_gives_a_finding_with_what_was_seen()
    {
        QuiltMap map = Stars(SettingKind.Straight, 3, 2);
        FoundLattice found = BlockLattice.Find(map, new() { Lattice = (5, 7) });
        Assert.Equal(6, found.Blocks.Count);
        Finding finding = Assert.Single(found.Findings, f => f.What == "hint-not-followed");
        Assert.Contains("5 x 7", finding.Where, StringComparison.Ordinal);
        Assert.Contains("2 x 3", finding.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void On_point_the_blocks_that_stand_corner_to_corner_are_counted()
    {
        FoundLattice found = BlockLattice.Find(Stars(SettingKind.OnPoint, 3, 2), new() { Lattice = (2, 3) });
        Assert.Equal(8, found.Blocks.Count);
        Assert.Empty(found.Findings);
    }

    [Fact]
    public void One_marked_block_says_where_all_lie()
    {
        // The second 8 in square block from the left, its corners touched half an inch off.
        Point<ClothSpace>[] marked = [new(8.3, 0.2), new(16.4, -0.2), new(15.8, 8.3), new(7.7, 8.1)];
        FoundLattice found = BlockLattice.Find(Squares, new() { BlockCorners = marked });
        Assert.Equal(6, found.Blocks.Count);
        Assert.Contains(found.Blocks, b => b.Corners[0].DistanceTo(new(8, 0)) < 1e-6);
        Assert.Empty(found.Findings);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(3)]
    [InlineData(5)]
    public void Corners_that_are_not_four_are_named_and_passed_over(int count)
    {
        Point<ClothSpace>[] corners = [.. Enumerable.Range(0, count).Select(i => new Point<ClothSpace>(i, i))];
        FoundLattice found = BlockLattice.Find(Stars(SettingKind.Straight, 2, 2), new() { BlockCorners = corners });
        Assert.Equal(4, found.Blocks.Count);
        Assert.Single(found.Findings, f => f.What == "hint-not-followed");
    }

    public static TheoryData<string> Nonsense => ["flat", "backwards", "far", "not finite"];

    [Theory]
    [MemberData(nameof(Nonsense))]
    public void Nonsense_corners_never_break_the_reading(string kind)
    {
        Point<ClothSpace>[] corners = kind switch
        {
            "flat" => [new(1, 1), new(5, 1), new(9, 1), new(3, 1)],
            "backwards" => [new(0, 0), new(0, 9), new(9, 9), new(9, 0)],
            "far" => [new(900, 900), new(909, 900), new(909, 909), new(900, 909)],
            _ => [new(double.NaN, 0), new(9, 0), new(9, 9), new(0, double.PositiveInfinity)],
        };
        FoundLattice found = BlockLattice.Find(Stars(SettingKind.Straight, 2, 2), new() { BlockCorners = corners });
        Assert.Equal(4, found.Blocks.Count);
        Assert.Single(found.Findings, f => f.What == "hint-not-followed");
    }

    [Fact]
    public void The_pattern_that_was_said_needs_less_agreement_but_some()
    {
        QuiltMap map = Stars(SettingKind.Straight, 2, 2);
        Assert.Empty(BlockLattice.Find(map, new() { Pattern = "Sawtooth star" }).Findings);

        FoundLattice other = BlockLattice.Find(map, new() { Pattern = "log-cabin" });
        Assert.All(other.Blocks, b => Assert.Equal("sawtooth-star", b.Pattern));
        Finding finding = Assert.Single(other.Findings, f => f.What == "hint-not-followed");
        Assert.Contains("sawtooth-star", finding.Remedy, StringComparison.Ordinal);

        Assert.Single(
            BlockLattice.Find(map, new() { Pattern = "no such block" }).Findings,
            f => f.What == "hint-not-followed"
        );
    }

    [Fact]
    public void Without_seams_every_hint_is_named_as_not_followed()
    {
        QuiltMap bare = MapBuilder.Build(Length.FromInches(9), Length.FromInches(9), [], [], Length.FromInches(0.01));
        FoundLattice found = BlockLattice.Find(
            bare,
            new()
            {
                Lattice = (2, 2),
                Pattern = "ohio-star",
                BlockCorners = [new(0, 0), new(3, 0), new(3, 3), new(0, 3)],
            }
        );
        Assert.Empty(found.Blocks);
        Assert.Equal(3, found.Findings.Count(f => f.What == "hint-not-followed"));
    }

    private static QuiltMap Stars(SettingKind kind, int columns, int rows)
    {
        BlockDraft star = BlockLibrary.Find("sawtooth-star");
        QuiltMap draft = SettingDraft.Draft(
            new()
            {
                Kind = kind,
                Columns = columns,
                Rows = rows,
                Block = Length.FromInches(9),
                PlaceAt = (_, _) => new(star),
            }
        );
        return draft.With(blocks: []);
    }

    private static QuiltMap Grid(int columns, int rows, double side)
    {
        List<SeamLine> lines = [];
        for (int i = 1; i < columns; i++)
        {
            lines.Add(new(new(new(i * side, 0), new(i * side, rows * side))));
        }

        for (int i = 1; i < rows; i++)
        {
            lines.Add(new(new(new(0, i * side), new(columns * side, i * side))));
        }

        return MapBuilder.Build(
            Length.FromInches(columns * side),
            Length.FromInches(rows * side),
            lines,
            [],
            Length.FromInches(0.01)
        );
    }
}
