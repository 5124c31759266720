using OverlayPlanner.Benchmarks.Detection;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

/// <summary>Whole settings, drafted and spoilt, are read back.</summary>
public sealed class SettingsReadTests
{
    [Theory]
    [InlineData(SettingKind.OnPoint, 3, 3, 12, 0, 5, 5)]
    [InlineData(SettingKind.OnPoint, 3, 2, 9, 2, 3, 5)]
    [InlineData(SettingKind.Straight, 4, 3, 8, 1.5, 3, 4)]
    [InlineData(SettingKind.Straight, 1, 4, 10, 0, 4, 1)]
    public void Rows_and_columns_of_a_setting_are_read_back(
        SettingKind kind,
        int columns,
        int rows,
        double side,
        double sash,
        int strings,
        int stringsAcross
    )
    {
        QuiltMap draft = SettingDraft.Draft(
            Wishes(kind, columns, rows, side) with
            {
                Sash = Length.FromInches(sash),
                Borders = [new(Length.FromInches(3), Length.FromInches(2), Length.FromInches(5), Length.FromInches(2))],
            }
        );
        IReadOnlyList<Block> found = BlockLattice.Find(Bare(draft));
        Assert.Equal(draft.Blocks.Count, found.Count);
        Assert.Equal(strings - 1, found.Max(b => b.Row));
        Assert.Equal(stringsAcross - 1, found.Max(b => b.Column));
        foreach ((Block f, Block t) in found.Zip(draft.Blocks))
        {
            Assert.Equal((t.Row, t.Column, t.Pattern), (f.Row, f.Column, f.Pattern));
            for (int i = 0; i < 4; i++)
            {
                Assert.True(f.Corners[i].DistanceTo(t.Corners[i]) < 0.01, Text($"block {f.Id}, corner {i}"));
            }
        }
    }

    [Fact]
    public void Plain_blocks_in_turn_are_blocks_without_a_pattern()
    {
        BlockDraft draft = BlockLibrary.Find("sawtooth-star");
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.Straight, 4, 3, 9) with
            {
                PlaceAt = (row, column) => (row + column) % 2 == 0 ? new(draft) : new(null),
            }
        );
        IReadOnlyList<Block> found = BlockLattice.Find(Bare(map));
        Assert.Equal(
            map.Blocks.Select(b => (b.Row, b.Column, b.Pattern)),
            found.Select(b => (b.Row, b.Column, b.Pattern))
        );
    }

    [Fact]
    public void Each_block_of_a_sampler_has_its_own_name_turn_and_mirror()
    {
        string[] ids = ["maple-leaf", "churn-dash", "bears-paw", "lady-of-the-lake", "cake-stand", "sawtooth-star"];
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.Straight, 3, 2, 12) with
            {
                Sash = Length.FromInches(2),
                PlaceAt = (row, column) =>
                    new(BlockLibrary.Find(ids[row * 3 + column]), (row + column) % 4, column == 1),
            }
        );
        IReadOnlyList<Block> found = BlockLattice.Find(Bare(map));
        Assert.Equal(ids, found.Select(b => b.Pattern));
        foreach ((Block f, Block t) in found.Zip(map.Blocks))
        {
            // A symmetric block lies several ways alike; the way that was named must draw the same seams.
            CellPattern plain = CellPattern.Of(BlockLibrary.Find(t.Pattern!));
            Assert.True(
                plain.In(new(f.Turn, f.Mirror)).AgreementWith(plain.In(new(t.Turn, t.Mirror)), 0.02) > 0.99,
                Text($"{t.Pattern} {f.Turn} {f.Mirror}")
            );
            Assert.True(f.Unknown.Values["patternMargin"].GetDouble() > 0);
        }
    }

    [Fact]
    public void Rows_of_unequal_blocks_give_no_block_that_is_none()
    {
        // A row of four 12 in stars over a row of six 8 in ones: 48 in wide both.
        QuiltMap top = SettingDraft.Draft(Wishes(SettingKind.Straight, 4, 1, 12));
        QuiltMap below = SettingDraft.Draft(Wishes(SettingKind.Straight, 6, 1, 8, "churn-dash"));
        SeamLine[] lines =
        [
            .. top.Seams.Select(s => new SeamLine(top.EdgeOf(s))),
            .. below
                .Seams.Select(below.EdgeOf)
                .Select(e => new SeamLine(new(new(e.From.X, e.From.Y + 12), new(e.To.X, e.To.Y + 12), e.Bulge))),
        ];
        QuiltMap map = MapBuilder.Build(
            Length.FromInches(48),
            Length.FromInches(20),
            lines,
            [],
            Length.FromInches(0.01)
        );
        IReadOnlyList<Block> found = BlockLattice.Find(map);
        Assert.NotEmpty(found);
        Assert.All(
            found,
            b =>
            {
                bool upper = b.Corners[2].Y < 12.5;
                Assert.Equal(upper ? "sawtooth-star" : "churn-dash", b.Pattern);
                Assert.Equal(upper ? 12 : 8, b.Corners[0].DistanceTo(b.Corners[1]), 0.1);
            }
        );
    }

    // One top of each setting, the scoreboard's own figures over many: wobble 1/8 in, 10 % of seams missing, 10 % false.
    [Fact]
    public void Most_spoilt_tops_are_read_exactly()
    {
        LatticeScoreboard.Outcome[] all =
        [
            .. Enumerable
                .Range(0, LatticeScoreboard.Settings.Count)
                .SelectMany(s =>
                    new[] { 0, 1 }.Select(i => LatticeScoreboard.Try(s, 500 + 10 * s + i, new(0.125, 0.1, 0.1)))
                ),
        ];
        int exact = all.Count(o => o.Exact);
        Assert.True(
            exact >= 0.85 * all.Length,
            string.Join("; ", all.Where(o => !o.Exact).Select(o => Text($"{o.Setting}, seed {o.Seed}: {o.Words}")))
        );
        Assert.All(all.Where(o => o.Exact), o => Assert.True(o.PitchOff < 0.003, Text($"{o.Setting}: {o.PitchOff}")));
    }

    [Fact]
    public void A_large_top_is_not_taken_for_one_block()
    {
        DraftedTop top = DraftedTop.Spoil(
            SettingDraft.Draft(Wishes(SettingKind.Straight, 15, 20, 6)),
            new(0.125, 0.1, 0.1),
            new Random(3)
        );
        IReadOnlyList<Block> found = BlockLattice.Find(top.Map);
        Assert.Equal(300, found.Count);
        Assert.All(found, b => Assert.Equal("sawtooth-star", b.Pattern));
    }

    [Fact]
    public void Foreign_patterns_are_unknown()
    {
        const int Tried = 30;
        int unknown = Enumerable
            .Range(0, Tried)
            .Count(seed =>
                PatternNamer.OfLibrary.Name([CellPattern.Of(ForeignDraft.Make(new Random(300 + seed)))]) is null
            );
        Assert.True(unknown >= 0.9 * Tried, Text($"{unknown} of {Tried}"));
    }

    [Fact]
    public void Taught_drafts_are_named_before_those_of_the_library()
    {
        BlockDraft mine = ForeignDraft.Make(new Random(77)) with { Id = "mine" };
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.OnPoint, 2, 2, 10) with
            {
                PlaceAt = (row, _) => new(mine, row % 4),
            }
        );
        Assert.All(BlockLattice.Find(Bare(map)), b => Assert.Null(b.Pattern));
        Assert.All(
            BlockLattice.Find(Bare(map), new() { Drafts = [mine] }).Blocks,
            b => Assert.Equal("mine", b.Pattern)
        );

        BlockDraft star = BlockLibrary.Find("sawtooth-star") with { Id = "my-star" };
        Assert.All(
            BlockLattice
                .Find(Bare(SettingDraft.Draft(Wishes(SettingKind.Straight, 2, 2, 9))), new() { Drafts = [star] })
                .Blocks,
            b => Assert.Equal("my-star", b.Pattern)
        );
    }

    private static string Text(FormattableString text) => FormattableString.Invariant(text);

    private static SettingWishes Wishes(
        SettingKind kind,
        int columns,
        int rows,
        double block,
        string id = "sawtooth-star"
    )
    {
        BlockDraft draft = BlockLibrary.Find(id);
        return new()
        {
            Kind = kind,
            Columns = columns,
            Rows = rows,
            Block = Length.FromInches(block),
            PlaceAt = (_, _) => new(draft),
        };
    }

    private static QuiltMap Bare(QuiltMap draft) =>
        draft.With(
            seams: [.. draft.Seams.Select(s => s.Role == SeamRole.Block ? s with { Role = SeamRole.Seam } : s)],
            blocks: []
        );
}
