using System.Globalization;
using System.Xml;
using System.Xml.Linq;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Routing;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>The plotter's SVG read back by .NET's XML reader, by the rules of SVG 1.1, chapters 7 and 8.</summary>
public class PlotterReadingTests
{
    private static readonly XNamespace Svg = "http://www.w3.org/2000/svg";

    [Fact]
    public void The_svg_is_well_formed_and_its_millimetres_are_the_mapped_area()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock("ohio-star", 12);

        XElement root = Read(PlotterFile.Render(route, candidate, PlotterFormat.Svg, PlotterMarks.None).Bytes);

        // 12 in × 25.4 mm.
        Assert.Equal("304.8mm", root.Attribute("width")!.Value);
        Assert.Equal("304.8mm", root.Attribute("height")!.Value);
        Assert.Equal("0 0 304.8 304.8", root.Attribute("viewBox")!.Value);
    }

    [Fact]
    public void Each_thread_is_one_path_and_nothing_else_is_drawn()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock("bears-paw", 12);

        XElement root = Read(PlotterFile.Render(route, candidate, PlotterFormat.Svg, PlotterMarks.None).Bytes);

        XElement[] parts = [.. root.Elements()];
        Assert.Equal(candidate.Measures.Starts, parts.Length);
        Assert.All(parts, p => Assert.Equal(Svg + "path", p.Name));

        // The pen goes down once for each path.
        Assert.All(parts, p => Assert.Single(p.Attribute("d")!.Value, c => c == 'M'));
    }

    [Fact]
    public void Marks_add_one_path_of_four_corners()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock("ohio-star", 12);

        XElement root = Read(PlotterFile.Render(route, candidate, PlotterFormat.Svg, PlotterMarks.Corners).Bytes);

        Assert.Equal(candidate.Measures.Starts + 1, root.Elements().Count());
    }

    [Fact]
    public void Every_end_of_a_move_stands_in_its_path_to_a_hundred_thousandth_of_a_millimetre()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock(
            "friendship-star",
            9.7,
            LineChoice.SeamsAndArcs
        );

        XElement[] paths =
        [
            .. Read(PlotterFile.Render(route, candidate, PlotterFormat.Svg, PlotterMarks.None).Bytes).Elements(),
        ];

        for (int r = 0; r < candidate.Runs.Count; r++)
        {
            string d = paths[r].Attribute("d")!.Value;
            (double X, double Y)[] ends = [.. Ends(d)];
            IReadOnlyList<Move> moves = candidate.Runs[r].Moves;
            Assert.Equal(moves.Count + 1, ends.Length);
            for (int i = 0; i < moves.Count; i++)
            {
                Assert.Equal(moves[i].Path.To.X * 25.4, ends[i + 1].X, 1e-5);
                Assert.Equal(moves[i].Path.To.Y * 25.4, ends[i + 1].Y, 1e-5);
            }

            Assert.Equal(moves.Count(m => !m.Path.IsLine), d.Count(c => c == 'A'));
        }
    }

    private static IEnumerable<(double, double)> Ends(string d)
    {
        foreach (string part in System.Text.RegularExpressions.Regex.Split(d, "(?=[MLA])").Where(p => p.Length > 0))
        {
            double[] numbers =
            [
                .. part[1..]
                    .Split(' ', StringSplitOptions.RemoveEmptyEntries)
                    .Select(n => double.Parse(n, CultureInfo.InvariantCulture)),
            ];
            yield return (numbers[^2], numbers[^1]);
        }
    }

    private static XElement Read(byte[] svg)
    {
        using MemoryStream stream = new(svg);
        using XmlReader reader = XmlReader.Create(
            stream,
            new XmlReaderSettings { DtdProcessing = DtdProcessing.Prohibit, CheckCharacters = true }
        );
        XElement root = XDocument.Load(reader).Root!;
        Assert.Equal(Svg + "svg", root.Name);
        return root;
    }
}
