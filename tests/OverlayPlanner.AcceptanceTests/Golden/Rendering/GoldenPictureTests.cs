using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Rendering.Sheets;
using SkiaSharp;
using UglyToad.PdfPig;
using UglyToad.PdfPig.Content;
using UglyToad.PdfPig.Core;
using UglyToad.PdfPig.Graphics;

namespace OverlayPlanner.AcceptanceTests.Golden.Rendering;

/// <summary>
/// What was drawn last time. A difference is not wrong by itself: look at it, and rewrite with ./dev golden if it is meant.
/// </summary>
public class GoldenPictureTests
{
    private const string Rewrite = "OVERLAYPLANNER_GOLDEN";

    [Fact]
    public void The_plotter_s_svg_is_as_it_was() =>
        Compare(
            "two-triangles.svg",
            PlotterFile.Render(Plain, Plain.Candidates[0], PlotterFormat.Svg, PlotterMarks.Corners).Bytes
        );

    [Fact]
    public void The_route_s_picture_is_as_it_was() =>
        Compare("two-triangles-route.png", RoutePicture.Render(Plain, Plain.Candidates[0], 480).Bytes);

    [Fact]
    public void The_projector_s_frame_is_as_it_was() =>
        Compare(
            "two-triangles-frame.png",
            ProjectorFrame
                .Render(Plain, Plain.Candidates[0], new([70, 4, 60, -3, 68, 40, 0.002, 0.001, 1]), 640, 480)
                .Bytes
        );

    [Fact]
    public void What_stands_on_the_sheet_is_as_it_was() =>
        Compare(
            "two-triangles-sheet.txt",
            Describe(TraceSheets.Render(Plain, Plain.Candidates[0], new SheetWishes()).Bytes)
        );

    [Fact]
    public void What_stands_on_the_card_is_as_it_was() =>
        Compare(
            "two-triangles-card.txt",
            Describe(StitchCard.Render(Plain, Plain.Candidates[0], new CardWishes()).Bytes)
        );

    [Fact]
    public void The_comparer_finds_a_line_that_moved_by_two_pixels()
    {
        byte[] a = ProjectorFrame
            .Render(Plain, Plain.Candidates[0], new([70, 0, 60, 0, 70, 40, 0, 0, 1]), 640, 480)
            .Bytes;
        byte[] b = ProjectorFrame
            .Render(Plain, Plain.Candidates[0], new([70, 0, 62, 0, 70, 40, 0, 0, 1]), 640, 480)
            .Bytes;

        Assert.True(ShareThatDiffers(a, a) == 0);
        Assert.True(ShareThatDiffers(a, b) > MostThatDiffers);
    }

    // Rasterisers on other processors round an edge dot by a few levels; a moved line changes thousands.
    private const double MostThatDiffers = 0.0005;

    // A square of 6 in with one diagonal and an arc: five moves, one of them stitched twice.
    private static Route Plain { get; } = MakePlain();

    private static Route MakePlain()
    {
        (string, double, double)[] places = [("j1", 0, 0), ("j2", 6, 0), ("j3", 6, 6), ("j4", 0, 6)];
        Junction[] junctions =
        [
            .. places.Select(p => new Junction(p.Item1, Estimate<Point<ClothSpace>>.Exact(new(p.Item2, p.Item3)))),
        ];
        Seam[] seams =
        [
            new("s1", "j1", "j2", 0, SeamRole.Edge) { Edge = EdgeKind.Seam },
            new("s2", "j2", "j3", 0, SeamRole.Edge) { Edge = EdgeKind.Seam },
            new("s3", "j3", "j4", 0, SeamRole.Edge) { Edge = EdgeKind.Seam },
            new("s4", "j4", "j1", 0, SeamRole.Edge) { Edge = EdgeKind.Seam },
            new("s5", "j1", "j3") { Ditch = Side.Left },
        ];
        Patch[] patches =
        [
            new("p1", ["s1", "s2", "s5"]) { Color = "#2b4c7e" },
            new("p2", ["s5", "s3", "s4"]) { Color = "#e8dcc4" },
        ];
        QuiltMap map = new(Length.FromInches(6), Length.FromInches(6), junctions, seams, patches);
        Edge<ClothSpace> diagonal = map.EdgeOf(seams[4]);
        Move[] moves =
        [
            new(MoveKind.Ditch, diagonal, "s5", null),
            new(MoveKind.Arc, new(new(6, 6), new(0, 6), 0.2), null, null),
            new(MoveKind.Frame, map.EdgeOf(seams[3]), "s4", null),
            new(MoveKind.Retrace, diagonal, "s5", null),
        ];
        double length = moves.Sum(m => m.Path.Length);
        return new(
            map,
            [
                new(
                    "A",
                    [new(moves)],
                    new(
                        1,
                        0,
                        Length.FromInches(diagonal.Length),
                        Length.FromInches(length),
                        Length.FromInches(moves[1].Path.Length),
                        Length.Zero,
                        4
                    ),
                    new([], 1, Length.Zero, false)
                ),
            ]
        );
    }

    // Lines to 1/10 pt and words, as PdfPig reads them: packing and the last digits may differ between systems.
    private static byte[] Describe(byte[] pdf)
    {
        StringBuilder text = new();
        using PdfDocument document = PdfDocument.Open(pdf);
        foreach (Page page in document.GetPages())
        {
            text.Append(CultureInfo.InvariantCulture, $"page {page.Number}\n");
            foreach (PdfPath path in page.Paths)
            {
                PdfRectangle box = path.GetBoundingRectangle() ?? default;
                text.Append(
                    CultureInfo.InvariantCulture,
                    $"{(path.IsFilled ? "fill" : "line")} {path.LineWidth:0.##} {box.Left:0.0} {box.Bottom:0.0} {box.Right:0.0} {box.Top:0.0}\n"
                );
            }

            foreach (Word word in page.GetWords())
            {
                PdfRectangle box = word.BoundingBox;
                text.Append(CultureInfo.InvariantCulture, $"{word.Text} {box.Left:0.0} {box.Bottom:0.0}\n");
            }
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }

    private static void Compare(string name, byte[] drawn)
    {
        string folder = Path.Combine(FindRoot(), "tests", "OverlayPlanner.AcceptanceTests", "Golden", "Rendering");
        string path = Path.Combine(folder, name);
        if (Environment.GetEnvironmentVariable(Rewrite) == "rewrite")
        {
            File.WriteAllBytes(path, drawn);
            Assert.Fail($"{name} was rewritten. Look at it, then run the tests again without {Rewrite}.");
        }

        Assert.True(File.Exists(path), $"{name} is missing; ./dev golden draws it.");
        byte[] before = File.ReadAllBytes(path);
        if (name.EndsWith(".png", StringComparison.Ordinal))
        {
            Assert.InRange(ShareThatDiffers(before, drawn), 0, MostThatDiffers);
        }
        else
        {
            Assert.True(before.AsSpan().SequenceEqual(drawn), $"{name} differs from what was drawn last time.");
        }
    }

    // Share of the dots that differ by more than 24 levels in a channel; 1 where the sizes differ.
    private static double ShareThatDiffers(byte[] a, byte[] b)
    {
        using SKBitmap x = SKBitmap.Decode(a);
        using SKBitmap y = SKBitmap.Decode(b);
        if (x.Width != y.Width || x.Height != y.Height)
        {
            return 1;
        }

        SKColor[] p = x.Pixels;
        SKColor[] q = y.Pixels;
        int differ = p.Where(
                (c, i) =>
                    Math.Abs(c.Red - q[i].Red) > 24
                    || Math.Abs(c.Green - q[i].Green) > 24
                    || Math.Abs(c.Blue - q[i].Blue) > 24
            )
            .Count();
        return (double)differ / p.Length;
    }

    private static string FindRoot()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "OverlayPlanner.sln")))
        {
            folder = Path.GetDirectoryName(folder);
        }

        return folder ?? throw new InvalidOperationException("The repository's root is not above the tests.");
    }
}
