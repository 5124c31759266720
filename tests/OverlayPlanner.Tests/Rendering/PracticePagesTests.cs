using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Practice;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Rendering;

public class PracticePagesTests
{
    public static TheoryData<string> Blocks() => [.. BlockLibrary.All.Select(b => b.Id)];

    [Theory]
    [MemberData(nameof(Blocks))]
    public void Every_block_of_the_library_gives_pages_that_can_be_read_and_copied(string id)
    {
        Route route = SampleRoutes.OfBlock(id, 12, LineChoice.Seams, ThreadChoice.One);
        foreach (PracticeKind kind in Enum.GetValues<PracticeKind>())
        {
            foreach (DrawnPractice page in Draw(route, new() { Kind = kind }))
            {
                foreach (PlacedFigure figure in page.Figures)
                {
                    LabelTests.Check(page.Page, figure, $"{id}, {kind}");
                }

                // A photocopier keeps black and dark greys (common practice, no source): luminance below a half.
                Assert.All(
                    page.Page.Items.Select(InkOf).Where(i => i != Palette.White),
                    i =>
                        Assert.True(i.Red == i.Green && i.Green == i.Blue && i.Red < 128 || i == Palette.SoftInk, i.Hex)
                );
            }
        }
    }

    [Fact]
    public void Each_picture_of_the_sheet_gives_less_and_the_last_gives_the_seams_alone()
    {
        Route route = SampleRoutes.OfBlock("sawtooth-star", 12, LineChoice.Seams, ThreadChoice.One);
        IReadOnlyList<PlacedFigure> pictures = Draw(route, new())[0].Figures;
        Assert.Equal(6, pictures.Count);
        double[] inked = [.. pictures.Select(Inked)];
        Assert.Equal(inked[0], inked[1], 6);
        Assert.All(
            Enumerable.Range(2, 3),
            i => Assert.True(inked[i] < inked[i - 1], FormattableString.Invariant($"picture {i + 1}"))
        );
        Assert.Equal(0, inked[4]);
        Assert.Contains(pictures[4].Labels, l => l.Text == "Start");
        Assert.Empty(pictures[5].Labels);

        // All of the block's lines are there in the first: as long as the route says, in its scale.
        double stitched = route.Candidates[0].Measures.Stitched.Inches;
        Box<PageSpace> box = Around(pictures[5]);
        Assert.Equal(stitched, inked[0] / (box.Width / 12), 1e-3);
    }

    [Fact]
    public void For_the_left_hand_the_picture_to_copy_from_stands_on_the_right()
    {
        Route route = SampleRoutes.OfBlock("friendship-star", 9, LineChoice.Seams, ThreadChoice.One);
        double right = Around(Draw(route, new())[0].Figures[0]).Center.X;
        double left = Around(Draw(route, new() { Hand = Side.Left })[0].Figures[0]).Center.X;
        Assert.True(left > right + 100);
    }

    [Fact]
    public void The_class_pack_has_three_levels_the_answers_and_the_sizes_at_half_size_where_it_fits()
    {
        Route route = SampleRoutes.OfBlock("churn-dash", 12, LineChoice.Seams, ThreadChoice.One);
        IReadOnlyList<DrawnPractice> pages = Draw(route, new() { Kind = PracticeKind.ClassPack });
        Assert.Equal(6, pages.Count);

        // 12 in at half size: 6 in of 72 points.
        Assert.All(pages.Skip(1).Take(3), p => Assert.Equal(6 * 72, Around(p.Figures[0]).Width, 1e-6));
        Assert.Equal(["Start", "End"], pages[1].Figures[0].Labels.Select(l => l.Text));
        Assert.Empty(pages[3].Figures[0].Labels);
        Assert.Contains(Words(pages[1]), w => w.Contains("Not true size", StringComparison.Ordinal));

        // Handbook 3.1: a backing 4 in larger on each side of the pieced block's 12 1/2 in; a batting 6 in larger in all. A
        // fraction is set apart from its whole number.
        string[] sizes = [.. Words(pages[5])];
        Assert.Contains("20", sizes);
        Assert.Contains("18", sizes);

        Route large = SampleRoutes.OfBlock("churn-dash", 24, LineChoice.Seams, ThreadChoice.One);
        DrawnPractice page = Draw(large, new() { Kind = PracticeKind.ClassPack })[1];
        Assert.True(Around(page.Figures[0]).Width < 540);
        Assert.Contains(Words(page), w => w.Contains("Not true size: 1 to", StringComparison.Ordinal));
    }

    [Fact]
    public void The_strip_grows_step_by_step_and_each_step_comes_once()
    {
        Route route = SampleRoutes.OfBlock("ohio-star", 12, LineChoice.Seams, ThreadChoice.One);
        int steps = StitchStep.Of(route.Quilt, route.Candidates[0]).Count;
        PlacedFigure[] frames = [.. Draw(route, new() { Kind = PracticeKind.Strip }).SelectMany(p => p.Figures)];
        string[] numbers =
        [
            .. frames.SelectMany(f => f.Labels.Select(l => l.Text).Where(t => char.IsAsciiDigit(t[0])).Distinct()),
        ];
        Assert.Equal(
            Enumerable.Range(1, steps).Select(n => n.ToString(System.Globalization.CultureInfo.InvariantCulture)),
            numbers
        );
        Assert.Contains(frames[0].Labels, l => l.Text == "Start");
        Assert.Contains(frames[^1].Labels, l => l.Text == "End");
    }

    [Fact]
    public void A_block_that_is_none_and_a_paper_too_small_are_refused()
    {
        Route route = SampleRoutes.OfBlock("ohio-star", 12);
        RouteCandidate a = route.Candidates[0];
        Assert.Equal(
            "--block",
            Assert.Throws<InputException>(() => PracticePages.Render(route, a, new() { Block = "none" })).Where
        );
        Assert.Throws<InputException>(() => PracticePages.Render(route, a, new() { Paper = PaperSize.Parse("5x7") }));
    }

    private static IReadOnlyList<DrawnPractice> Draw(Route route, PracticeWishes wishes) =>
        PracticePages.Draw(route, route.Candidates[0], wishes).Pages;

    private static Ink InkOf(DrawnItem item) =>
        item switch
        {
            Stroke s => s.Ink,
            Fill f => f.Ink,
            Words w => w.Ink,
            _ => Palette.Black,
        };

    private static double Inked(PlacedFigure figure) =>
        figure.Items.OfType<Stroke>().Where(s => s.Layer == Layer.Route).SelectMany(s => s.Path).Sum(e => e.Length);

    private static Box<PageSpace> Around(PlacedFigure figure) =>
        Box<PageSpace>.Around(
            figure
                .Items.OfType<Stroke>()
                .Where(s => s.Layer == Layer.Seams)
                .SelectMany(s => s.Path)
                .SelectMany(e => new[] { e.From, e.To })
        );

    private static IEnumerable<string> Words(DrawnPractice page) => page.Page.Items.OfType<Words>().Select(w => w.Text);
}
