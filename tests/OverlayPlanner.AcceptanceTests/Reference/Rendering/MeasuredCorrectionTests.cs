using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Sheets;
using UglyToad.PdfPig;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>Sheets for a printer that was measured, read back by PdfPig.</summary>
public class MeasuredCorrectionTests
{
    [Fact]
    public void A_measured_printer_is_taken_out_again()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock("shoofly", 6);

        // 6 in of ruler came out 3 % short across and 1.5 % long down.
        PrinterScale printer = PrinterScale.FromMeasured(
            (Length.FromInches(5.82), Length.FromInches(6.09)),
            (Length.FromInches(6), Length.FromInches(6))
        );
        byte[] pdf = TraceSheets.Render(route, candidate, new SheetWishes { Printer = printer }).Bytes;
        using PdfDocument document = PdfDocument.Open(pdf);
        UglyToad.PdfPig.Content.Page page = document.GetPage(1);

        // The page is Letter still, and a line that the route draws is 6 in again once the printer has done its worst.
        Assert.Equal(612, page.Width, 0.01);
        Assert.Equal(792, page.Height, 0.01);
        UglyToad.PdfPig.Core.PdfRectangle[] boxes =
        [
            .. page.Paths.Select(p => p.GetBoundingRectangle()).Where(b => b is not null).Select(b => b!.Value),
        ];
        UglyToad.PdfPig.Core.PdfRectangle round = boxes
            .Where(b => b.Width > 400 && b.Width < 500 && b.Height > 400 && b.Height < 500)
            .MinBy(b => b.Width + b.Height);
        Assert.Equal(6 * 72, round.Width * 0.97, 0.03);
        Assert.Equal(6 * 72, round.Height * 1.015, 0.03);
        Assert.Contains("Corrected", page.Text.Replace(" ", "", StringComparison.Ordinal), StringComparison.Ordinal);
    }
}
