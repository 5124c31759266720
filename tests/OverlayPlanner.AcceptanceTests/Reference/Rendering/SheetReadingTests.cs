using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;
using SkiaSharp;
using UglyToad.PdfPig;
using UglyToad.PdfPig.Content;
using UglyToad.PdfPig.Core;
using UglyToad.PdfPig.Graphics;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>
/// Trace sheets read back by programs that the project does not contain: poppler (pdftoppm, pdffonts), qpdf, PdfPig.
/// </summary>
public class SheetReadingTests
{
    // 0.01 mm in points.
    private const double Tolerance = 0.01 / 25.4 * 72;

    [Theory]
    [InlineData("letter")]
    [InlineData("a4")]
    [InlineData("tabloid")]
    public void The_check_square_measures_300_dots_both_ways_by_poppler(string paper)
    {
        using OutsideReader.Folder folder = new();
        (Route route, RouteCandidate candidate) = PlanBlock("sawtooth-star", 12);
        string pdf = folder.Write(
            "sheets.pdf",
            TraceSheets.Render(route, candidate, new SheetWishes { Paper = PaperSize.Parse(paper) }).Bytes
        );
        string root = Path.Combine(folder.Path, "page");

        Assert.Equal(0, OutsideReader.Run("pdftoppm", "-r", "300", "-gray", "-png", pdf, root).Status);

        string[] pages = [.. Directory.GetFiles(folder.Path, "page*.png").Order(StringComparer.Ordinal)];
        Assert.Equal(
            TraceSheets.Plan(route, candidate, new SheetWishes { Paper = PaperSize.Parse(paper) }).Sheets.Count,
            pages.Length
        );
        foreach (string page in pages)
        {
            using SKBitmap picture = SKBitmap.Decode(page);
            (double across, double down) = MeasureSquare(picture);
            Assert.InRange(across, 299, 301);
            Assert.InRange(down, 299, 301);
        }
    }

    [Theory]
    [InlineData("sawtooth-star", LineChoice.Seams)]
    [InlineData("friendship-star", LineChoice.SeamsAndArcs)]
    [InlineData("lemoyne-star", LineChoice.SeamsAndArcs)]
    public void Every_seam_and_move_lies_where_its_sheet_says_by_PdfPig(string id, LineChoice lines)
    {
        (Route route, RouteCandidate candidate) = PlanBlock(id, 11.3, lines);
        SheetWishes wishes = new();
        SheetPlan plan = TraceSheets.Plan(route, candidate, wishes);

        using PdfDocument document = PdfDocument.Open(TraceSheets.Render(route, candidate, wishes).Bytes);

        Assert.Equal(plan.Sheets.Count, document.NumberOfPages);
        foreach (Page page in document.GetPages())
        {
            Sheet sheet = plan.Sheets[page.Number - 1];
            Assert.Equal(plan.Paper.Width.Points, page.Width, 0.01);
            Assert.Equal(plan.Paper.Height.Points, page.Height, 0.01);
            PdfPoint[] drawn = [.. page.Paths.SelectMany(p => p).SelectMany(s => s.Commands).SelectMany(PointsOf)];
            IEnumerable<Edge<ClothSpace>> edges = route
                .Quilt.Seams.Select(route.Quilt.EdgeOf)
                .Concat(candidate.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Path));
            int seen = 0;
            foreach (Point<ClothSpace> end in edges.SelectMany(e => new[] { e.From, e.To, e.PointAt(0.5) }).Distinct())
            {
                // A corner of the cloth lies 72 points from the inch mark before it; pages count upward.
                bool isEnd = edges.Any(e => e.From == end || e.To == end);
                if (!sheet.Cloth.Grown(-0.01).Holds(end) || !isEnd)
                {
                    continue;
                }

                seen++;
                Point<PageSpace> at = sheet.PageFromCloth.Apply(end);
                Assert.Contains(
                    drawn,
                    p => Math.Abs(p.X - at.X) < Tolerance && Math.Abs(page.Height - p.Y - at.Y) < Tolerance
                );
            }

            Assert.True(seen > 0);
        }
    }

    [Fact]
    public void Arcs_on_the_sheet_leave_their_circle_by_less_than_a_thousandth_of_an_inch_by_PdfPig()
    {
        // One half circle of radius 3 in round (4, 4): every Bézier piece is sampled and held against x² + y² = 9.
        Route route = HalfCircle();
        SheetWishes wishes = new();
        Sheet sheet = TraceSheets.Plan(route, route.Candidates[0], wishes).Sheets[0];
        Point<PageSpace> center = sheet.PageFromCloth.Apply(new Point<ClothSpace>(4, 4));

        using PdfDocument document = PdfDocument.Open(TraceSheets.Render(route, route.Candidates[0], wishes).Bytes);
        Page page = document.GetPage(1);
        PdfSubpath.CubicBezierCurve[] large =
        [
            .. page
                .Paths.SelectMany(p => p)
                .SelectMany(s => s.Commands)
                .OfType<PdfSubpath.CubicBezierCurve>()
                .Where(c => Math.Abs(c.EndPoint.X - c.StartPoint.X) + Math.Abs(c.EndPoint.Y - c.StartPoint.Y) > 50),
        ];

        Assert.True(large.Length >= 4); // pieces of at most 45°
        foreach (PdfSubpath.CubicBezierCurve c in large)
        {
            for (int i = 0; i <= 20; i++)
            {
                double t = i / 20.0;
                double s = 1 - t;
                double x =
                    s * s * s * c.StartPoint.X
                    + 3 * s * s * t * c.FirstControlPoint.X
                    + 3 * s * t * t * c.SecondControlPoint.X
                    + t * t * t * c.EndPoint.X;
                double y =
                    s * s * s * c.StartPoint.Y
                    + 3 * s * s * t * c.FirstControlPoint.Y
                    + 3 * s * t * t * c.SecondControlPoint.Y
                    + t * t * t * c.EndPoint.Y;
                double r = Math.Sqrt(Math.Pow(x - center.X, 2) + Math.Pow(page.Height - y - center.Y, 2));
                Assert.Equal(3 * 72, r, 0.001 * 72);
            }
        }
    }

    [Fact]
    public void The_check_square_s_path_is_72_points_and_nothing_touches_it()
    {
        (Route route, RouteCandidate candidate) = PlanBlock("ohio-star", 12);
        using PdfDocument document = PdfDocument.Open(TraceSheets.Render(route, candidate, new SheetWishes()).Bytes);
        foreach (Page page in document.GetPages())
        {
            PdfPath square = Assert.Single(
                page.Paths,
                p =>
                    p.IsStroked
                    && p.Count == 1
                    && p.GetBoundingRectangle() is { } b
                    && Math.Abs(b.Width - 72) < 0.001
                    && Math.Abs(b.Height - 72) < 0.001
                    && p[0].Commands.Count is 5
            );
            Assert.True(square.LineWidth <= 0.5);
            (double red, double green, double blue) = square.StrokeColor!.ToRGBValues();
            Assert.Equal(0, red + green + blue, 1e-6);
            PdfRectangle box = square.GetBoundingRectangle()!.Value;
            Assert.DoesNotContain(
                page.Letters,
                l =>
                    l.BoundingBox.Right > box.Left - 2
                    && l.BoundingBox.Left < box.Right + 2
                    && l.BoundingBox.Top > box.Bottom - 2
                    && l.BoundingBox.Bottom < box.Top + 2
            );
            Assert.DoesNotContain(
                page.Paths.Where(p => !ReferenceEquals(p, square))
                    .SelectMany(p => p)
                    .SelectMany(s => s.Commands)
                    .SelectMany(PointsOf),
                p => p.X > box.Left - 2 && p.X < box.Right + 2 && p.Y > box.Bottom - 2 && p.Y < box.Top + 2
            );
        }
    }

    [Fact]
    public void Viewers_are_asked_not_to_scale_and_layers_are_named()
    {
        (Route route, RouteCandidate candidate) = PlanBlock("pinwheel", 8);
        string text = System.Text.Encoding.Latin1.GetString(
            TraceSheets.Render(route, candidate, new SheetWishes()).Bytes
        );

        Assert.Matches(@"/PrintScaling\s*/None", text);
        Assert.Matches(@"/OCProperties", text);
    }

    [Fact]
    public void All_fonts_are_embedded_by_poppler_and_qpdf_finds_nothing_wrong()
    {
        using OutsideReader.Folder folder = new();
        (Route route, RouteCandidate candidate) = PlanBlock("bears-paw", 12);
        foreach (
            byte[] pdf in new[]
            {
                TraceSheets.Render(route, candidate, new SheetWishes()).Bytes,
                StitchCard.Render(route, candidate, new CardWishes()).Bytes,
            }
        )
        {
            string path = folder.Write("file.pdf", pdf);
            string[] fonts =
            [
                .. OutsideReader
                    .Run("pdffonts", path)
                    .Output.Split('\n', StringSplitOptions.RemoveEmptyEntries)
                    .Skip(2),
            ];
            Assert.NotEmpty(fonts);

            // The columns at the end: emb sub uni, object, generation.
            Assert.All(fonts, f => Assert.Equal("yes", f.Split(' ', StringSplitOptions.RemoveEmptyEntries)[^5]));
            (string output, int status) = OutsideReader.Run("qpdf", "--check", path);
            Assert.Equal(0, status);
            Assert.DoesNotContain("WARNING", output, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Each_sheet_says_its_place_which_way_is_up_and_how_to_print_it()
    {
        using OutsideReader.Folder folder = new();
        (Route route, RouteCandidate candidate) = PlanBlock("sawtooth-star", 12);
        string pdf = folder.Write("sheets.pdf", TraceSheets.Render(route, candidate, new SheetWishes()).Bytes);

        string[] pages = OutsideReader.Run("pdftotext", "-layout", pdf, "-").Output.Split('\f');

        for (int i = 0; i < 4; i++)
        {
            string place = string.Create(
                CultureInfo.InvariantCulture,
                $"Sheet {i + 1} of 4, row {i / 2 + 1}, column {i % 2 + 1}"
            );
            Assert.Contains(place, pages[i], StringComparison.Ordinal);
            Assert.Contains("Sawtooth star", pages[i], StringComparison.Ordinal);
            Assert.Contains("12 × 12 in", pages[i], StringComparison.Ordinal);
            Assert.Contains("Top", pages[i], StringComparison.Ordinal);
            Assert.Contains("100 %", pages[i], StringComparison.Ordinal);
            Assert.Contains("measure the square both ways", pages[i], StringComparison.Ordinal);
        }

        Assert.DoesNotContain("Cut on the dashed line", pages[0], StringComparison.Ordinal);
        Assert.Contains("Cut on the dashed line", pages[3], StringComparison.Ordinal);
    }

    internal static (Route Route, RouteCandidate Candidate) PlanBlock(
        string id,
        double inches,
        LineChoice lines = LineChoice.Seams
    )
    {
        Route route = RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(inches), 1, 1, Length.Zero),
                new RouteWishes { Lines = lines, Candidates = 1 }
            )
            .Route;
        return (route, route.Candidates[0]);
    }

    private static Route HalfCircle()
    {
        Junction a = new("j1", Estimate<Point<ClothSpace>>.Exact(new(1, 4)));
        Junction b = new("j2", Estimate<Point<ClothSpace>>.Exact(new(7, 4)));
        Seam seam = new("s1", "j1", "j2", 1);
        QuiltMap map = new(Length.FromInches(8), Length.FromInches(8), [a, b], [seam]);
        Length length = Length.FromInches(3 * Math.PI);
        return new(
            map,
            [
                new(
                    "A",
                    [new([new(MoveKind.Ditch, map.EdgeOf(seam), "s1", null)])],
                    new(1, 0, Length.Zero, length, Length.Zero, Length.Zero, 1),
                    new(["j1", "j2"], 1, Length.Zero, true)
                ),
            ]
        );
    }

    private static IEnumerable<PdfPoint> PointsOf(PdfSubpath.IPathCommand command) =>
        command switch
        {
            PdfSubpath.Move m => [m.Location],
            PdfSubpath.Line l => [l.From, l.To],
            PdfSubpath.CubicBezierCurve c => [c.StartPoint, c.EndPoint],
            _ => [],
        };

    // The one frame of dark dots round white whose sides are alike and some 300 long: found by its left side, a dark upright
    // run of 290 to 310 dots; measured between the middles of its sides.
    private static (double Across, double Down) MeasureSquare(SKBitmap picture)
    {
        bool Dark(int x, int y) => picture.GetPixel(x, y).Red < 128;
        for (int x = 0; x < picture.Width / 3; x++)
        {
            int run = 0;
            for (int y = picture.Height / 2; y < picture.Height; y++)
            {
                run = Dark(x, y) ? run + 1 : 0;
                if (run == 0 || (y + 1 < picture.Height && Dark(x, y + 1)) || run is < 290 or > 310)
                {
                    continue;
                }

                int top = y - run + 1;
                int middle = top + run / 2;
                int right = Enumerable.Range(x + 3, 400).FirstOrDefault(i => Dark(i, middle));
                int last = right;
                while (Dark(last + 1, middle))
                {
                    last++;
                }

                int left = x;
                while (Dark(left + 1, middle))
                {
                    left++;
                }

                // The run down the side reaches over both rules, so its length less one rule is from middle to middle.
                int rule = left - x + 1;
                return ((right + last) / 2.0 - (x + left) / 2.0, run - rule);
            }
        }

        Assert.Fail("No check square on the page.");
        return default;
    }
}
