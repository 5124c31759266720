using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;
using SkiaSharp;
using UglyToad.PdfPig;
using UglyToad.PdfPig.Content;
using UglyToad.PdfPig.Core;
using UglyToad.PdfPig.Graphics;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>
/// Sheets rendered by poppler, laid together by the crosses that their pictures show, and held against the map in inches.
/// </summary>
public class AssembledSheetsTests
{
    private const int Dpi = 300;
    private const double DotsPerPoint = Dpi / 72.0;

    // A cross's arms are 9 pt long; nothing else stands within them.
    private const double CrossArm = 9;

    // A dot and a half; the thinnest line is two and a half dots wide.
    private const double Tolerance = 0.13 / 25.4;

    [Theory]
    [InlineData("bears-paw", "letter", LineChoice.Seams)]
    [InlineData("friendship-star", "a4", LineChoice.SeamsAndArcs)]
    public void Assembled_by_their_crosses_the_sheets_ink_every_seam_and_move_of_the_map(
        string id,
        string paper,
        LineChoice lines
    )
    {
        (int seen, int missing) = Assemble(id, paper, lines, new(0, 0));

        Assert.True(seen > 1_000, FormattableString.Invariant($"{seen} places looked at"));
        Assert.Equal(0, missing);
    }

    [Fact]
    public void A_sheet_laid_a_millimetre_beside_its_crosses_is_caught()
    {
        (int seen, int missing) = Assemble("bears-paw", "letter", LineChoice.Seams, new(1 / 25.4, 1 / 25.4));

        Assert.True(missing > seen / 10, FormattableString.Invariant($"{missing} of {seen} places"));
    }

    // Places on the map's seams and the route's moves, all sheets together, and those with no ink within the tolerance.
    private static (int Seen, int Missing) Assemble(
        string id,
        string paper,
        LineChoice lines,
        Vector<ClothSpace> lastSheetOff
    )
    {
        using OutsideReader.Folder folder = new();
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock(id, 12, lines);
        SheetWishes wishes = new() { Paper = PaperSize.Parse(paper) };
        IReadOnlyList<Sheet> sheets = TraceSheets.Plan(route, candidate, wishes).Sheets;
        byte[] bytes = TraceSheets.Render(route, candidate, wishes).Bytes;
        string root = Path.Combine(folder.Path, "page");
        string resolution = Dpi.ToString(System.Globalization.CultureInfo.InvariantCulture);
        string pdf = folder.Write("sheets.pdf", bytes);
        Assert.Equal(0, OutsideReader.Run("pdftoppm", "-r", resolution, "-gray", "-png", pdf, root).Status);
        string[] pictures = [.. Directory.GetFiles(folder.Path, "page*.png").Order(StringComparer.Ordinal)];
        Assert.Equal(sheets.Count, pictures.Length);
        Assert.True(sheets.Count > 1);
        using PdfDocument document = PdfDocument.Open(bytes);
        Point<ClothSpace>[] places =
        [
            .. route
                .Quilt.Seams.Select(route.Quilt.EdgeOf)
                .Concat(candidate.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Path))
                .SelectMany(e => Enumerable.Range(0, 41).Select(i => e.PointAt(i / 40.0))),
        ];
        bool[] inked = new bool[places.Length];
        bool[] shown = new bool[places.Length];
        for (int s = 0; s < sheets.Count; s++)
        {
            using SKBitmap picture = SKBitmap.Decode(pictures[s]);
            Vector<ClothSpace> off = s == sheets.Count - 1 ? lastSheetOff : new(0, 0);
            (double x, double y) = Registered(picture, document.GetPage(s + 1));
            for (int i = 0; i < places.Length; i++)
            {
                if (!sheets[s].Cloth.Grown(-0.05).Holds(places[i]))
                {
                    continue;
                }

                shown[i] = true;
                Point<PageSpace> at = sheets[s].PageFromCloth.Apply(places[i] + off);
                inked[i] |= HasInk(picture, at.X * DotsPerPoint + x, at.Y * DotsPerPoint + y);
            }
        }

        // Each place that any sheet shows: in the overlaps one sheet of two is enough.
        return (shown.Count(b => b), shown.Zip(inked).Count(p => p.First && !p.Second));
    }

    // How far the picture lies from the page's own numbers, dots: the mean over the crosses that PdfPig finds on the page, each
    // measured in the picture as the middle of the ink of its arms.
    private static (double X, double Y) Registered(SKBitmap picture, Page page)
    {
        PdfRectangle[] crosses =
        [
            .. page
                .Paths.Where(p => p.IsStroked && Math.Abs(p.LineWidth - 0.5) < 0.05)
                .Where(p => p.SelectMany(s => s.Commands).Count(c => c is PdfSubpath.Line) == 2)
                .Select(p => p.GetBoundingRectangle())
                .OfType<PdfRectangle>()
                .Where(b => Math.Abs(b.Width - 2 * CrossArm) < 0.01 && Math.Abs(b.Height - 2 * CrossArm) < 0.01),
        ];
        Assert.NotEmpty(crosses);
        double x = 0;
        double y = 0;
        foreach (PdfRectangle cross in crosses)
        {
            double cx = (cross.Left + cross.Right) / 2 * DotsPerPoint;
            double cy = (page.Height - (cross.Bottom + cross.Top) / 2) * DotsPerPoint;
            x += MiddleOfArms(picture, cx, cy, upright: true) - cx;
            y += MiddleOfArms(picture, cx, cy, upright: false) - cy;
        }

        return (x / crosses.Length, y / crosses.Length);
    }

    private static double MiddleOfArms(SKBitmap picture, double cx, double cy, bool upright)
    {
        double ink = 0;
        double moment = 0;
        double along = upright ? cy : cx;
        double across = upright ? cx : cy;
        for (int a = (int)(along - 8 * DotsPerPoint); a <= along + 8 * DotsPerPoint; a++)
        {
            if (Math.Abs(a - along) < 3 * DotsPerPoint)
            {
                continue;
            }

            for (int b = (int)(across - 2.5 * DotsPerPoint); b <= across + 2.5 * DotsPerPoint; b++)
            {
                double dark = 255 - (upright ? picture.GetPixel(b, a) : picture.GetPixel(a, b)).Red;
                ink += dark;
                moment += dark * (b + 0.5);
            }
        }

        Assert.True(ink > 0, "The picture shows no cross where the page has one.");
        return moment / ink;
    }

    private static bool HasInk(SKBitmap picture, double x, double y)
    {
        double reach = Tolerance * Dpi;
        for (int px = (int)Math.Floor(x - reach); px <= x + reach; px++)
        {
            for (int py = (int)Math.Floor(y - reach); py <= y + reach; py++)
            {
                bool near = Math.Pow(px + 0.5 - x, 2) + Math.Pow(py + 0.5 - y, 2) <= reach * reach;
                if (near && picture.GetPixel(px, py).Red < 210)
                {
                    return true;
                }
            }
        }

        return false;
    }
}
