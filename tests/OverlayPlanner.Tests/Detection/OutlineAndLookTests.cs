using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Outline;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Tests.Detection;

public class OutlineAndLookTests
{
    private const double Density = 32;
    private const int Side = (int)((8 + 2) * Density);

    [Theory]
    [InlineData(EdgeKind.Cut)]
    [InlineData(EdgeKind.Seam)]
    public void Each_side_is_told_by_what_lies_beyond_it(EdgeKind usual)
    {
        // Top: the cloth goes on. Right: another cloth. Bottom: a paler ground in the top's soft shadow. Left: no cloth step, but a
        // dark line.
        Picture picture = Paint(
            (x, y) =>
            {
                double shade =
                    x >= 0 && x < 8 && y >= 8 ? 1 - 0.45 * Math.Exp(-(y - 8) / 0.12)
                    : Math.Abs(x) < 0.03 ? 0.6
                    : 1;
                double tone =
                    x >= 8 ? 60
                    : y >= 8 ? 205
                    : 140;
                return tone * shade;
            }
        );

        (QuiltMap map, Finding finding) = OutlineReader.Read(Draft(), picture, Length.FromInches(1), usual);

        Assert.Equal(EdgeKind.Cut, KindAt(map, 4, 0));
        Assert.Equal(EdgeKind.Seam, KindAt(map, 8, 4));
        Assert.Equal(EdgeKind.Raw, KindAt(map, 4, 8));
        Assert.Equal(EdgeKind.Seam, KindAt(map, 0, 4));
        Assert.Equal("outline-sides", finding.What);
        Assert.Contains("bottom the raw edge", finding.Where, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(EdgeKind.Cut)]
    [InlineData(EdgeKind.Raw)]
    public void Where_the_margin_shows_nothing_a_side_is_what_is_usual(EdgeKind usual)
    {
        (QuiltMap map, Finding finding) = OutlineReader.Read(
            Draft(),
            Paint((_, _) => 128),
            Length.FromInches(0.1),
            usual
        );

        Assert.All(map.Seams.Where(s => s.Role == SeamRole.Edge), s => Assert.Equal(usual, s.Edge));
        Assert.Contains("not seen", finding.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void The_worst_places_come_first_and_neighbours_share_one()
    {
        QuiltMap map = Draft();
        Seam[] inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        map = map.With(
            seams:
            [
                .. map.Seams.Select(s =>
                    s == inner[0] ? s with { Confidence = 0.4 }
                    : s == inner[1] ? s with { Confidence = 0.3 }
                    : s
                ),
            ]
        );
        SeamLine missing = new(new(new(6, 6), new(7.5, 7)), 0.9);

        LookHere look = LookHereChooser.Choose(map, [missing]);

        Assert.Equal(look.Places.Select(p => p.Doubt).OrderDescending(), look.Places.Select(p => p.Doubt));
        Assert.Equal(0.9, look.Places[0].Doubt);
        Assert.Equal(missing, Assert.Single(look.Places[0].Missing));
        Assert.Equal(new[] { inner[0].Id, inner[1].Id }.Order(), look.Places.SelectMany(p => p.Seams).Order());
        Assert.Equal(0, look.MoreSeams);
    }

    [Fact]
    public void No_more_places_are_shown_than_one_looks_at_and_the_rest_are_counted()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 5, 5, Length.Zero);
        map = map.With(seams: [.. map.Seams.Select(s => s with { Confidence = 0.5 })]);

        LookHere look = LookHereChooser.Choose(map);

        int doubtful = map.Seams.Count(s => s.Role != SeamRole.Edge);
        Assert.Equal(LookHereChooser.MostPlaces, look.Places.Count);
        Assert.Equal(doubtful, look.Places.Sum(p => p.Seams.Count) + look.MoreSeams);
    }

    [Fact]
    public void The_sheet_shows_the_cloth_between_the_rails_and_says_so_when_all_is_sure()
    {
        Picture picture = Paint((x, y) => 100 + 10 * (x + y));
        QuiltMap map = Draft();
        RenderedFile sure = LookHereSheet.Render(picture, map, LookHereChooser.Choose(map), Length.FromInches(1));
        QuiltMap doubtful = map.With(
            seams: [.. map.Seams.Select(s => s.Role == SeamRole.Edge ? s : s with { Confidence = 0.5 })]
        );
        RenderedFile unsure = LookHereSheet.Render(
            picture,
            doubtful,
            LookHereChooser.Choose(doubtful),
            Length.FromInches(1)
        );

        // PNG (ISO/IEC 15948): eight bytes, then the header chunk with width and height.
        Assert.Equal([0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A], sure.Bytes[..8]);
        Assert.True(HeightOf(unsure) > HeightOf(sure) + 300);
        Assert.Equal(
            unsure.Bytes,
            LookHereSheet.Render(picture, doubtful, LookHereChooser.Choose(doubtful), Length.FromInches(1)).Bytes
        );

        static int HeightOf(RenderedFile png) =>
            System.Buffers.Binary.BinaryPrimitives.ReadInt32BigEndian(png.Bytes.AsSpan(20));
    }

    private static QuiltMap Draft() =>
        BlockDrafting.Draft(BlockLibrary.Find("four-patch"), Length.FromInches(8), 1, 1, Length.Zero);

    private static EdgeKind? KindAt(QuiltMap map, double x, double y) =>
        map.Seams.Where(s => s.Role == SeamRole.Edge).MinBy(s => map.EdgeOf(s).Nearest(new(x, y)).Distance)!.Edge;

    private static Picture Paint(Func<double, double, double> tone)
    {
        byte[] rgb = new byte[Side * Side * 3];
        Random dice = new(3);
        for (int i = 0; i < Side * Side; i++)
        {
            double v =
                tone((i % Side + 0.5) / Density - 1, (i / Side + 0.5) / Density - 1) + 4 * (dice.NextDouble() - 0.5);
            rgb.AsSpan(3 * i, 3).Fill((byte)Math.Clamp(v, 0, 255));
        }

        return new(Side, Side, rgb, Density);
    }
}
