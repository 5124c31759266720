using OverlayPlanner.AcceptanceTests.Reference.Rendering;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>The printable targets, drawn by a program that the project does not contain (poppler) and read back by ours.</summary>
public sealed class TargetReadingTests
{
    private const int DotsPerInch = 150;

    [Theory]
    [InlineData("letter", "cards-3in.pdf", 12)]
    [InlineData("a4", "cards-3in.pdf", 12)]
    [InlineData("letter", "cards-2in.pdf", 12)]
    [InlineData("a4", "cards-4in.pdf", 12)]
    [InlineData("letter", "card-strips.pdf", 12)]
    public void Every_pattern_is_read_from_the_page_at_its_drawn_size(string paper, string file, int patterns)
    {
        using OutsideReader.Folder folder = new();
        IReadOnlyList<Photo> pages = Draw(folder, paper, file);
        List<SeenPattern> seen = [.. pages.SelectMany(p => CardFinder.Find(p).Patterns)];
        Assert.Equal(patterns, seen.Select(p => p.Pattern.Id).Distinct().Count());
        foreach (SeenPattern pattern in seen)
        {
            Assert.Equal(24, pattern.Corners.Count);

            // All pairs of corners, in inches on the page; poppler puts each edge on a quarter of a dot.
            foreach ((Point<ClothSpace> a, Point<PhotoSpace> pa) in pattern.Corners)
            {
                foreach ((Point<ClothSpace> b, Point<PhotoSpace> pb) in pattern.Corners)
                {
                    Assert.Equal(a.DistanceTo(b), pa.DistanceTo(pb) / DotsPerInch, 0.35 / DotsPerInch);
                }
            }
        }
    }

    [Theory]
    [InlineData("letter")]
    [InlineData("a4")]
    public void The_lens_board_is_read_whole_at_its_drawn_size(string paper)
    {
        using OutsideReader.Folder folder = new();
        Photo page = Assert.Single(Draw(folder, paper, "lens-board.pdf"));
        using OpenCvSharp.Mat grey = GreyPicture.From(page.Picture);
        (BoardView view, double square) = BoardFinder.Find(grey, "board", CalibrationBoard.Printed)!.Value;
        Assert.Equal((LensBoard.Across - 1) * (LensBoard.Down - 1), view.Points.Count);
        Assert.Equal(DotsPerInch, square, 2.0);
        (Point<ClothSpace> first, Point<PhotoSpace> at) = view.Points[0];
        Assert.All(
            view.Points,
            p => Assert.Equal(first.DistanceTo(p.Board), at.DistanceTo(p.Seen) / DotsPerInch, 0.35 / DotsPerInch)
        );
    }

    [Fact]
    public void The_layout_puts_no_card_on_the_area_and_none_far_from_the_next()
    {
        IReadOnlyList<OverlayPlanner.Rendering.Targets.LaidCard> cards = MakeTargets.Lay(
            Length.FromInches(90),
            Length.FromInches(18)
        );
        Assert.Equal(cards.Count, cards.Select(c => c.Number).Distinct().Count());
        Assert.All(cards, c => Assert.True(c.Y + c.Height.Inches / 2 <= 0 || c.Y - c.Height.Inches / 2 >= 18));
        Assert.All(
            cards,
            c => Assert.True(cards.Where(o => o != c).Min(o => Math.Abs(o.X - c.X) + Math.Abs(o.Y - c.Y)) <= 40)
        );
    }

    private static List<Photo> Draw(OutsideReader.Folder folder, string paper, string file)
    {
        MakeTargets.Run(new() { Folder = folder.Path, Paper = PaperSize.Parse(paper) }, new OutputFiles(force: false));
        string root = Path.Combine(folder.Path, "page");
        string dots = DotsPerInch.ToString(System.Globalization.CultureInfo.InvariantCulture);
        Assert.Equal(
            0,
            OutsideReader.Run("pdftoppm", "-r", dots, "-png", Path.Combine(folder.Path, file), root).Status
        );
        return
        [
            .. Directory
                .GetFiles(folder.Path, "page*.png")
                .Order(StringComparer.Ordinal)
                .Select(p => PhotoReader.Read(p)),
        ];
    }
}
