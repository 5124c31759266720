using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Sheets;

namespace OverlayPlanner.Tests.Rendering;

public class SheetSplittingTests
{
    // Handbook 8.1: ceil((W − o) / (P − 2m − o)) for each axis, m = 1/4, o = 1/2, portrait; our pages keep these counts though
    // each also has rulers and a strip with the check square.
    [Theory]
    [InlineData(12, "letter", 2, 2)]
    [InlineData(12, "a4", 2, 2)]
    [InlineData(12, "a3", 2, 1)]
    [InlineData(12, "tabloid", 2, 1)]
    [InlineData(8, "letter", 1, 1)]
    [InlineData(8, "a4", 2, 1)]
    [InlineData(9, "letter", 2, 1)]
    [InlineData(10, "letter", 2, 1)]
    public void Blocks_need_the_handbook_s_sheets(double inches, string paper, int columns, int rows)
    {
        Route route = SampleRoutes.OfRectangle(inches, inches);

        SheetPlan plan = TraceSheets.Plan(
            route,
            route.Candidates[0],
            new SheetWishes { Paper = PaperSize.Parse(paper) }
        );

        Assert.Equal((columns, rows), (plan.Columns, plan.Rows));
        Assert.Equal(PaperSize.Parse(paper).Width, plan.Paper.Width); // upright
    }

    [Theory]
    [InlineData(12, 12, "letter")]
    [InlineData(37.3, 21.9, "a4")]
    [InlineData(60, 80, "tabloid")]
    [InlineData(8, 8, "letter")]
    [InlineData(0.5, 0.5, "letter")]
    [InlineData(25, 3, "legal")]
    [InlineData(11, 7, "5x7")]
    public void Sheets_cover_all_of_the_cloth_and_share_half_an_inch(double width, double height, string paper)
    {
        Route route = SampleRoutes.OfRectangle(width, height);

        SheetPlan plan = TraceSheets.Plan(
            route,
            route.Candidates[0],
            new SheetWishes { Paper = PaperSize.Parse(paper) }
        );

        Assert.Equal(plan.Rows * plan.Columns, plan.Sheets.Count);
        Assert.True(plan.Sheets.Min(s => s.Cloth.Left) <= 1e-9);
        Assert.True(plan.Sheets.Min(s => s.Cloth.Top) <= 1e-9);
        Assert.True(plan.Sheets.Max(s => s.Cloth.Right) >= width - 1e-9);
        Assert.True(plan.Sheets.Max(s => s.Cloth.Bottom) >= height - 1e-9);
        foreach (Sheet sheet in plan.Sheets)
        {
            // 72 points to the inch, no turn, and 1/4 in of the paper left blank.
            Assert.Equal(72, sheet.PageFromCloth.Scale, 1e-12);
            Assert.Equal(0, sheet.PageFromCloth.B);
            Point<PageSpace> a = sheet.PageFromCloth.Apply(new Point<ClothSpace>(sheet.Cloth.Left, sheet.Cloth.Top));
            Point<PageSpace> b = sheet.PageFromCloth.Apply(
                new Point<ClothSpace>(sheet.Cloth.Right, sheet.Cloth.Bottom)
            );
            Assert.True(a.X >= 18 - 1e-9 && a.Y >= 18 - 1e-9);
            Assert.True(b.X <= plan.Paper.Width.Points - 18 + 1e-9);
            Assert.True(
                b.Y <= plan.Paper.Height.Points - 18 - 72 * 1.0 + 1e-9 || b.X <= plan.Paper.Width.Points - 18 - 72
            );
            if (plan.Sheets.FirstOrDefault(s => s.Row == sheet.Row && s.Column == sheet.Column + 1) is { } right)
            {
                Assert.InRange(sheet.Cloth.Right - right.Cloth.Left, 0.5 - 1e-9, 0.625 + 1e-9);
            }

            if (plan.Sheets.FirstOrDefault(s => s.Row == sheet.Row + 1 && s.Column == sheet.Column) is { } below)
            {
                Assert.InRange(sheet.Cloth.Bottom - below.Cloth.Top, 0.5 - 1e-9, 0.625 + 1e-9);
            }
        }
    }

    [Fact]
    public void No_paper_seam_runs_through_a_point_of_a_four_patch()
    {
        // Its middle point lies at 6 in, where two equal halves would meet.
        Route route = SampleRoutes.OfBlock("four-patch", 12, Routing.LineChoice.Seams);

        SheetPlan plan = TraceSheets.Plan(route, route.Candidates[0], new SheetWishes());

        foreach (Junction j in route.Quilt.Junctions.Where(j => j.Place.X is > 0 and < 12))
        {
            foreach (Sheet sheet in plan.Sheets.Where(s => s.Column > 0))
            {
                // The shared band runs from the later sheet's left edge for half an inch.
                Assert.False(j.Place.X >= sheet.Cloth.Left && j.Place.X <= sheet.Cloth.Left + 0.5);
            }
        }
    }

    [Fact]
    public void More_than_500_sheets_are_refused_and_a_smaller_job_is_named()
    {
        Route route = SampleRoutes.OfRectangle(250, 250);

        InputException e = Assert.Throws<InputException>(() =>
            TraceSheets.Render(route, route.Candidates[0], new SheetWishes())
        );

        Assert.Contains("--block", e.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void Paper_that_holds_no_check_square_beside_the_cloth_is_refused()
    {
        Route route = SampleRoutes.OfRectangle(8, 8);

        Assert.Throws<InputException>(() =>
            TraceSheets.Plan(route, route.Candidates[0], new SheetWishes { Paper = PaperSize.Parse("3x3") })
        );
    }
}
