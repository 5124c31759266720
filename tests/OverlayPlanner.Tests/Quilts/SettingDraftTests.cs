using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Quilts;

public sealed class SettingDraftTests
{
    // 3 × 3 blocks of 12 in corner to corner: 3 × 12 × √2 = 50.912 in.
    [Fact]
    public void An_on_point_top_measures_its_diagonals()
    {
        QuiltMap map = Draft(SettingKind.OnPoint, 3, 3, 12);
        Assert.Equal(50.912, map.Width.Inches, 5e-4);
        Assert.Equal(50.912, map.Height.Inches, 5e-4);

        // 3 × 3 corner to corner and 2 × 2 between them.
        Assert.Equal(13, map.Blocks.Count);
        Assert.All(map.Blocks, b => Assert.Equal(0, (b.Row!.Value + b.Column!.Value) % 2));
        Block first = map.Blocks[0];
        Assert.Equal((0, 0), (first.Row, first.Column));

        // Top, right, bottom, left: half a diagonal of 16.971 in is 8.485.
        Assert.Equal(8.485, first.Corners[0].X, 5e-4);
        Assert.Equal(0, first.Corners[0].Y, 1e-9);
        Assert.Equal(16.971, first.Corners[1].X, 5e-4);
        Assert.Equal(8.485, first.Corners[1].Y, 5e-4);
        Assert.Equal(0, first.Corners[3].X, 1e-9);
    }

    // 2 × (rows + columns − 2) side triangles and four corners; area of a side triangle F² / 2, of a corner F² / 4
    // (the trade's calculators; geometry).
    [Theory]
    [InlineData(3, 3, 8)]
    [InlineData(4, 5, 14)]
    [InlineData(1, 1, 0)]
    public void Sides_and_corners_of_an_on_point_top_are_filled_with_triangles(int columns, int rows, int sides)
    {
        QuiltMap map = Draft(SettingKind.OnPoint, columns, rows, 8);
        Patch[] side = [.. map.Patches.Where(p => SettingPartField.PartOf(p) == SettingPart.SettingTriangle)];
        Patch[] corner = [.. map.Patches.Where(p => SettingPartField.PartOf(p) == SettingPart.CornerTriangle)];
        Assert.Equal(sides, side.Length);
        Assert.Equal(sides, SettingCuts.SideTriangles(rows, columns));
        Assert.Equal(4, corner.Length);
        Assert.All(side, p => Assert.Equal(32, AreaOf(map, p), 1e-6));
        Assert.All(corner, p => Assert.Equal(16, AreaOf(map, p), 1e-6));
        Assert.Equal(map.Width.Inches * map.Height.Inches, map.Patches.Sum(p => AreaOf(map, p)), 1e-6);
    }

    // The published chart of floated triangles (1/2 in more than these): 6 → 10 1/4 and 5 5/8, 8 → 13 1/8 and 7 1/8,
    // 9 → 14 1/2 and 7 3/4, 10 → 16 and 8 1/2, 12 → 18 3/4 and 9 7/8; guild handbooks give 9 3/4 and 5 1/8 for 6 in.
    [Theory]
    [InlineData(6, 9.75, 5.125)]
    [InlineData(8, 12.625, 6.625)]
    [InlineData(9, 14, 7.25)]
    [InlineData(10, 15.5, 8)]
    [InlineData(12, 18.25, 9.375)]
    public void Triangles_are_cut_as_the_trade_cuts_them(double block, double side, double corner)
    {
        Assert.Equal(side, SettingCuts.SideTriangleSquare(Length.FromInches(block)).Inches, 1e-9);
        Assert.Equal(corner, SettingCuts.CornerTriangleSquare(Length.FromInches(block)).Inches, 1e-9);
    }

    // 3 × 2 of 12 in with strips of 2: 40 × 26; with borders 2 and 4 all round 52 × 38. Butted: four pieces to a border.
    [Theory]
    [InlineData(BorderCorners.Butted, 8)]
    [InlineData(BorderCorners.Mitred, 8)]
    [InlineData(BorderCorners.Squares, 16)]
    public void Borders_lie_round_the_whole(BorderCorners corners, int pieces)
    {
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.Straight, 3, 2, 12) with
            {
                Sash = Length.FromInches(2),
                Borders = [BorderBand.Equal(Length.FromInches(2)), BorderBand.Equal(Length.FromInches(4))],
                BorderCorners = corners,
            }
        );
        Assert.Equal(52, map.Width.Inches, 1e-9);
        Assert.Equal(38, map.Height.Inches, 1e-9);
        Assert.Equal(new Point<ClothSpace>(6, 6), map.Blocks[0].Corners[0]);
        Assert.Equal(pieces, Count(map, SettingPart.Border));

        // Two columns of strips in two rows, three strips between the rows, two stones.
        Assert.Equal(4 + 3, Count(map, SettingPart.Sash));
        Assert.Equal(2, Count(map, SettingPart.Cornerstone));

        // A mitred corner runs from the inner to the outer corner: a quarter turn halved.
        if (corners == BorderCorners.Mitred)
        {
            Assert.Contains(
                map.Seams,
                s => map.EdgeOf(s) is var e && e.From.DistanceTo(new(0, 0)) < 1e-9 && e.To.DistanceTo(new(4, 4)) < 1e-9
            );
        }
    }

    [Fact]
    public void A_border_may_be_wider_on_some_sides_and_missing_on_others()
    {
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.Straight, 2, 2, 10) with
            {
                Borders = [new(Length.FromInches(6), Length.FromInches(3), Length.Zero, Length.FromInches(3))],
            }
        );
        Assert.Equal(26, map.Width.Inches, 1e-9);
        Assert.Equal(26, map.Height.Inches, 1e-9);
        Assert.Equal(3, Count(map, SettingPart.Border));
        Assert.Equal(new Point<ClothSpace>(3, 6), map.Blocks[0].Corners[0]);
    }

    // On point with strips of 2 in: pitch 14 in, 3 × 14 × √2 = 59.397 in.
    [Fact]
    public void Strips_of_an_on_point_top_run_to_halved_cornerstones()
    {
        QuiltMap map = SettingDraft.Draft(Wishes(SettingKind.OnPoint, 3, 3, 12) with { Sash = Length.FromInches(2) });
        Assert.Equal(59.397, map.Width.Inches, 5e-4);
        Assert.Equal(13, map.Blocks.Count);
        Assert.Equal(8, Count(map, SettingPart.SettingTriangle));
        Assert.Equal(4, Count(map, SettingPart.CornerTriangle));

        // Each of the 13 blocks has four strips of its own, those between two blocks counted once: a block has a neighbour
        // on 16 of its 52 sides twice over, so 52 − 16 = 36.
        Assert.Equal(36, Count(map, SettingPart.Sash));
        Patch[] stones = [.. map.Patches.Where(p => SettingPartField.PartOf(p) == SettingPart.Cornerstone)];
        Assert.Equal(12, stones.Count(p => Math.Abs(AreaOf(map, p) - 4) < 1e-6));
        Assert.Equal(12, stones.Count(p => Math.Abs(AreaOf(map, p) - 2) < 1e-6));
        Assert.Equal(map.Width.Inches * map.Height.Inches, map.Patches.Sum(p => AreaOf(map, p)), 1e-6);
    }

    [Fact]
    public void Long_strips_run_through_where_there_are_no_cornerstones()
    {
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.Straight, 3, 3, 9) with
            {
                Sash = Length.FromInches(1.5),
                Cornerstones = Cornerstones.None,
            }
        );

        // Two short strips in each of three rows and two long ones.
        Assert.Equal(8, Count(map, SettingPart.Sash));
        Assert.Equal(0, Count(map, SettingPart.Cornerstone));
    }

    [Fact]
    public void Every_second_block_may_be_plain_turned_or_mirrored()
    {
        BlockDraft draft = BlockLibrary.Find("jacobs-ladder");
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.Straight, 3, 2, 9) with
            {
                PlaceAt = (row, column) =>
                    ((row * 3) + column) switch
                    {
                        1 => new(null),
                        2 => new(draft, 1),
                        3 => new(draft, 2, Mirror: true),
                        _ => new(draft),
                    },
            }
        );
        Assert.Null(map.Blocks[1].Pattern);
        Assert.Single(map.Blocks[1].Patches);
        Assert.Equal((1, false), (map.Blocks[2].Turn, map.Blocks[2].Mirror));
        Assert.Equal((2, true), (map.Blocks[3].Turn, map.Blocks[3].Mirror));
        Assert.Equal(draft.Patches.Count, map.Blocks[2].Patches.Count);

        // A quarter turn clockwise takes (x, y) to (1 − y, x): each junction of the first block lies so in the third.
        foreach (Junction j in map.Junctions.Where(j => j.Place.X <= 9 && j.Place.Y <= 9))
        {
            Point<ClothSpace> turned = new(18 + 9 - j.Place.Y, j.Place.X);
            Assert.Contains(map.Junctions, k => k.Place.DistanceTo(turned) < 1e-6);
        }
    }

    [Theory]
    [InlineData("sawtooth-star")]
    [InlineData("drunkards-path")]
    [InlineData("lemoyne-star")]
    [InlineData("churn-dash")]
    public void Every_setting_is_a_plane_map(string id)
    {
        foreach (SettingKind kind in Enum.GetValues<SettingKind>())
        {
            foreach (double sash in new[] { 0, 1.5 })
            {
                QuiltMap map = SettingDraft.Draft(
                    Wishes(kind, 3, 2, 7.5, id) with
                    {
                        Sash = Length.FromInches(sash),
                        Borders = [BorderBand.Equal(Length.FromInches(2.25))],
                        BorderCorners = BorderCorners.Mitred,
                    }
                );
                MapInspection seen = MapCheck.Inspect(map);
                Assert.True(seen.IsPlane);
                Assert.Empty(seen.Findings);
                int blocks = kind == SettingKind.OnPoint ? 3 * 2 + 2 : 6;
                Assert.Equal(blocks, map.Blocks.Count);
                Assert.All(map.Blocks, b => Assert.Equal(BlockLibrary.Find(id).Patches.Count, b.Patches.Count));
            }
        }
    }

    [Fact]
    public void Patches_are_coloured_by_their_part_and_value()
    {
        BlockDraft draft = BlockLibrary.All.First(b => b.Values.Distinct().Count() > 1);
        QuiltMap map = SettingDraft.Draft(
            Wishes(SettingKind.OnPoint, 2, 2, 9, draft.Id) with
            {
                PlaceAt = (row, _) => new(draft, row, row % 2 == 1),
                ColorOf = (part, value) =>
                    part != SettingPart.Block ? "#808080"
                    : value == PatchValue.Dark ? "#101010"
                    : "#f0f0f0",
            }
        );
        int dark = draft.Values.Count(v => v == PatchValue.Dark);
        Assert.All(map.Blocks, b => Assert.Equal(dark, b.Patches.Count(p => map.PatchOf(p).Color == "#101010")));
    }

    private static QuiltMap Draft(SettingKind kind, int columns, int rows, double block) =>
        SettingDraft.Draft(Wishes(kind, columns, rows, block));

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

    private static int Count(QuiltMap map, SettingPart part) =>
        map.Patches.Count(p => SettingPartField.PartOf(p) == part);

    private static double AreaOf(QuiltMap map, Patch patch) => PatchFinder.ToPolygon(map, patch, 1e-3).Area;
}
