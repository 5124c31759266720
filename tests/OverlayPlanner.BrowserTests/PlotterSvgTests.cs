using System.Text;
using Microsoft.Playwright;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Routing;

namespace OverlayPlanner.BrowserTests;

/// <summary>The plotter's SVG measured by a browser: an arc drawn the wrong way round has another length or another box.</summary>
public class PlotterSvgTests
{
    [Theory]
    [InlineData("friendship-star", 9.7)]
    [InlineData("lemoyne-star", 12)]
    public async Task A_browser_measures_each_thread_s_length_and_extent(string id, double inches)
    {
        Route route = RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(inches), 1, 1, Length.Zero),
                new RouteWishes { Lines = LineChoice.SeamsAndArcs, Candidates = 1 }
            )
            .Route;
        await Measure(route, route.Candidates[0]);
    }

    [Theory]
    [InlineData(0.3)]
    [InlineData(-0.3)]
    [InlineData(1)]
    [InlineData(-1.8)]
    public async Task Arcs_bow_to_the_side_that_their_bulge_says(double bulge)
    {
        Junction a = new("j1", Estimate<Point<ClothSpace>>.Exact(new(4, 5)));
        Junction b = new("j2", Estimate<Point<ClothSpace>>.Exact(new(7, 6.5)));
        Seam seam = new("s1", "j1", "j2", bulge);
        QuiltMap map = new(Length.FromInches(12), Length.FromInches(12), [a, b], [seam]);
        RouteCandidate candidate = new(
            "A",
            [new([new(MoveKind.Ditch, map.EdgeOf(seam), "s1", null)])],
            new(1, 0, Length.Zero, Length.Zero, Length.Zero, Length.Zero, 1),
            new(["j1", "j2"], 1, Length.Zero, true)
        );
        await Measure(new(map, [candidate]), candidate);
    }

    private static async Task Measure(Route route, RouteCandidate candidate)
    {
        string chromium = Chromium.Find() ?? "";
        Assert.SkipWhen(chromium.Length == 0, Chromium.Missing);
        string svg = Encoding.UTF8.GetString(
            PlotterFile.Render(route, candidate, PlotterFormat.Svg, PlotterMarks.None).Bytes
        );
        using IPlaywright playwright = await Playwright.CreateAsync();
        await using IBrowser browser = await playwright.Chromium.LaunchAsync(
            new() { ExecutablePath = chromium, Args = ["--no-sandbox"] }
        );
        IPage page = await browser.NewPageAsync();
        await page.SetContentAsync(
            $"<!doctype html><body style='margin:0'>{svg[svg.IndexOf("<svg", StringComparison.Ordinal)..]}"
        );

        double[][] measured = await page.EvaluateAsync<double[][]>(
            """
            () => [...document.querySelectorAll('path')].map(p => {
              const b = p.getBBox();
              return [p.getTotalLength(), b.x, b.y, b.x + b.width, b.y + b.height];
            })
            """
        );
        double[] size = await page.EvaluateAsync<double[]>(
            "() => { const b = document.querySelector('svg').getBoundingClientRect(); return [b.width, b.height]; }"
        );

        // CSS: 96 px to the inch; a browser lays out to 1/64 px.
        Assert.Equal(route.Quilt.Width.Inches * 96, size[0], 1 / 32.0);
        Assert.Equal(route.Quilt.Height.Inches * 96, size[1], 1 / 32.0);
        Run[] runs = [.. candidate.Runs.Where(r => r.Moves.Count > 0)];
        Assert.Equal(runs.Length, measured.Length);
        for (int i = 0; i < runs.Length; i++)
        {
            double length = runs[i].Moves.Sum(m => m.Path.Length) * 25.4;
            Box<ClothSpace> box = runs[i].Moves.Select(m => m.Path.Bounds()).Aggregate((a, b) => a.With(b));

            // A browser draws arcs as Bézier pieces of a quarter circle, which bulge 2.7e-4 of the radius beyond the arc
            // (Goldapp 1991); a wrong arc is off by far more.
            Assert.Equal(length, measured[i][0], length * 2.7e-4);
            Assert.Equal(box.Left * 25.4, measured[i][1], 0.02);
            Assert.Equal(box.Top * 25.4, measured[i][2], 0.02);
            Assert.Equal(box.Right * 25.4, measured[i][3], 0.02);
            Assert.Equal(box.Bottom * 25.4, measured[i][4], 0.02);
        }
    }
}
