using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Rendering;

public class LabelTests
{
    public static TheoryData<string, double> BlocksAndSizes()
    {
        TheoryData<string, double> cases = [];
        foreach (BlockDraft draft in BlockLibrary.All)
        {
            cases.Add(draft.Id, 12);
            cases.Add(draft.Id, 6);
        }

        return cases;
    }

    [Theory]
    [MemberData(nameof(BlocksAndSizes))]
    public void No_label_covers_a_line_or_another_label(string id, double inches)
    {
        (LineChoice, ThreadChoice, PaperSize)[] cases =
            inches < 12
                ? [(LineChoice.Seams, ThreadChoice.Free, PaperSize.A4)]
                :
                [
                    (LineChoice.Seams, ThreadChoice.One, PaperSize.Letter),
                    (LineChoice.SeamsAndArcs, ThreadChoice.Free, PaperSize.Letter),
                ];
        foreach ((LineChoice lines, ThreadChoice thread, PaperSize paper) in cases)
        {
            Route route = SampleRoutes.OfBlock(id, inches, lines, thread);
            RouteCandidate candidate = route.Candidates[0];
            int steps = StitchStep.Of(route.Quilt, candidate).Count;
            string where = Where(id, inches, thread, paper) + string.Create(Culture, $", {lines}");
            HashSet<string> numbered = [];
            HashSet<string> unplaced = [];
            foreach (DrawnSheet sheet in TraceSheets.Draw(route, candidate, new() { Paper = paper }).Sheets)
            {
                Check(sheet.Page, sheet.Figure, where + " sheet");
                numbered.UnionWith(sheet.Figure.Labels.Select(l => l.Text));
                unplaced.UnionWith(sheet.Figure.Unplaced);
            }

            foreach (DrawnCard card in StitchCard.Draw(route, candidate, new() { Paper = paper }).Cards)
            {
                if (card.Figure is not null)
                {
                    Check(card.Page, card.Figure, where + " card");
                }
            }

            // At 12 in all seams' steps have room on some sheet. At 6 in, or with arcs added, there may truly be
            // none for a few; then the sheets say which.
            if (inches >= 12 && lines == LineChoice.Seams)
            {
                Assert.All(Enumerable.Range(1, steps), n => Assert.Contains(n.ToString(Culture), numbered));
                continue;
            }

            string[] missing =
            [
                .. Enumerable.Range(1, steps).Select(n => n.ToString(Culture)).Where(n => !numbered.Contains(n)),
            ];
            Assert.All(missing, n => Assert.Contains(n, unplaced));
            Assert.True(
                missing.Length <= steps / 20 + 1,
                FormattableString.Invariant($"{where}: {missing.Length} of {steps} steps have no number")
            );
            Assert.Equal(
                unplaced.Count > 0,
                TraceSheets
                    .Render(route, candidate, new() { Paper = paper })
                    .Findings.Any(f => f.What == "steps-unnumbered")
            );
        }
    }

    [Fact]
    public void The_check_itself_finds_a_label_on_a_line()
    {
        Box<PageSpace> box = new(0, 0, 10, 6);

        Assert.True(Touches(new(new(-5, 3), new(20, 3)), 0, box));
        Assert.True(Touches(new(new(-5, 12), new(15, 12), 0.8), 0, box)); // the arc rises 8 into the box
        Assert.False(Touches(new(new(-5, 7), new(20, 7)), 1, box));
        Assert.True(Touches(new(new(-5, 7), new(20, 7)), 2.5, box));
    }

    private static System.Globalization.CultureInfo Culture => System.Globalization.CultureInfo.InvariantCulture;

    private static string Where(string id, double inches, ThreadChoice thread, PaperSize paper) =>
        string.Create(Culture, $"{id} {inches} in, {thread}, {paper.Name}");

    internal static void Check(Drawing page, PlacedFigure figure, string where)
    {
        (Edge<PageSpace> Edge, double Width)[] lines =
        [
            .. page
                .Items.OfType<Stroke>()
                .Where(s => s.Layer != Layer.Words)
                .SelectMany(s => s.Path.Select(e => (e, s.Width))),
            .. page
                .Items.OfType<Fill>()
                .Where(f => f.Layer == Layer.Numbers)
                .SelectMany(f => f.Path.Select(e => (e, 0.0))),
        ];
        for (int i = 0; i < figure.Labels.Count; i++)
        {
            PlacedLabel label = figure.Labels[i];
            Assert.True(label.Size >= 9, $"{where}: label {label.Text} is too small");
            foreach ((Edge<PageSpace> edge, double width) in lines)
            {
                Assert.False(Touches(edge, width, label.Box), $"{where}: label {label.Text} lies on {edge}");
            }

            for (int j = 0; j < i; j++)
            {
                Assert.False(
                    label.Box.Meets(figure.Labels[j].Box),
                    $"{where}: labels {label.Text} and {figure.Labels[j].Text} meet"
                );
            }
        }
    }

    // Kept apart from the product's own geometry: the line is walked in steps of 1/20 pt.
    private static bool Touches(Edge<PageSpace> edge, double width, Box<PageSpace> box)
    {
        Box<PageSpace> grown = box.Grown(width / 2);
        if (!edge.Bounds().Meets(grown))
        {
            return false;
        }

        int n = (int)Math.Ceiling(edge.Length * 20) + 1;
        for (int i = 0; i <= n; i++)
        {
            if (grown.Holds(edge.PointAt((double)i / n)))
            {
                return true;
            }
        }

        return false;
    }
}
