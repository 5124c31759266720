using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Rendering;

public class SheetWishesTests
{
    [Fact]
    public void A_printer_that_is_far_off_is_refused()
    {
        Assert.Throws<InputException>(() => new PrinterScale(0.5, 1));
        Assert.Throws<InputException>(() => new PrinterScale(1, double.NaN));
    }

    [Theory]
    [InlineData(LoadedUp.Bottom, false, 11, 17)]
    [InlineData(LoadedUp.Left, false, 17, 1)]
    [InlineData(LoadedUp.Right, false, 3, 11)]
    [InlineData(LoadedUp.Top, true, 11, 3)]
    public void The_quilt_is_turned_and_mirrored_as_it_is_loaded(LoadedUp up, bool mirror, double x, double y)
    {
        // 12 × 20 in; the place (1, 3). Bottom up: (12 − 1, 20 − 3). Left up, a quarter clockwise: (20 − 3, 1). Right up:
        // (3, 12 − 1). Mirrored: (12 − 1, 3).
        TurnedRoute turned = TurnedRoute.Of(SampleRoutes.OfRectangle(12, 20), up, mirror);

        Assert.Equal(new Point<ClothSpace>(x, y), turned.TurnedFromQuilt.Apply(new Point<ClothSpace>(1, 3)));
        Assert.All(
            turned.Route.Candidates[0].AllMoves,
            m => Assert.Equal(turned.Route.Quilt.EdgeOf(turned.Route.Quilt.SeamOf(m.Seam!)).Length, m.Path.Length, 9)
        );
    }

    [Fact]
    public void Dots_are_as_far_apart_as_asked()
    {
        Route route = SampleRoutes.OfRectangle(4, 4);
        SheetWishes wishes = new() { Dots = Length.FromInches(1.0 / 8) };

        DrawnSheet sheet = Assert.Single(TraceSheets.Draw(route, route.Candidates[0], wishes).Sheets);

        Stroke[] lines = [.. sheet.Page.Items.OfType<Stroke>().Where(s => s.Layer == Layer.Route)];
        Assert.All(lines, s => Assert.Equal(9, s.Dash!.Sum(), 9)); // 1/8 in is 9 pt
        Assert.NotEmpty(lines);
        Assert.Throws<InputException>(() =>
            TraceSheets.Render(route, route.Candidates[0], new SheetWishes { Dots = Length.FromInches(2) })
        );
    }

    [Fact]
    public void One_sheet_serves_all_blocks_of_a_kind()
    {
        // With the outline left alone, outer blocks are stitched on fewer sides than inner ones and are of another kind.
        Route route = RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find("shoofly"), Length.FromInches(6), 2, 2, Length.FromInches(1)),
                new RouteWishes
                {
                    Lines = LineChoice.Seams,
                    Outline = OutlineChoice.Any,
                    Candidates = 1,
                }
            )
            .Route;
        RouteCandidate a = route.Candidates[0];

        IReadOnlyList<BlockKind> each = BlockKind.Of(route.Quilt, a, null);
        IReadOnlyList<BlockKind> kinds = BlockKind.Of(route.Quilt, a, BlockKind.FitsWithin);

        Assert.Equal(4, each.Count);

        // Every block stands in one kind only.
        Assert.Equal(
            ["b1", "b2", "b3", "b4"],
            kinds.SelectMany(k => k.Fits).Select(b => b.Id).Order(StringComparer.Ordinal)
        );
        Assert.Single(kinds);
    }
}
