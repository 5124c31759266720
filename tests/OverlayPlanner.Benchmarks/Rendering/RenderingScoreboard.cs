using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Benchmarks.Rendering;

/// <summary>The drawing stage in numbers: labels that found room, sheets against the handbook's, times.</summary>
public static class RenderingScoreboard
{
    /// <summary>Runs all; <paramref name="quick"/> takes every third block.</summary>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        List<(string, string, string, bool)> rows = [];
        AddLabels(rows, quick);
        AddSheetCounts(rows);
        AddTimes(rows);
        rows.AddRange(PaperScoreboard.Run());
        return rows;
    }

    private static void AddLabels(List<(string, string, string, bool)> rows, bool quick)
    {
        int placed = 0;
        int unplaced = 0;
        int led = 0;
        double smallest = double.MaxValue;
        foreach (BlockDraft draft in BlockLibrary.All.Where((_, i) => !quick || i % 3 == 0))
        {
            foreach (double inches in new[] { 6.0, 12 })
            {
                Route route = Plan(draft, inches);
                foreach (
                    PaperSize paper in new[]
                    {
                        PaperSize.Letter,
                        PaperSize.Legal,
                        PaperSize.Tabloid,
                        PaperSize.A4,
                        PaperSize.A3,
                    }
                )
                {
                    foreach (
                        PlacedFigure figure in TraceSheets
                            .Draw(route, route.Candidates[0], new SheetWishes { Paper = paper })
                            .Sheets.Select(s => s.Figure)
                    )
                    {
                        placed += figure.Labels.Count;
                        unplaced += figure.Unplaced.Count;
                        led += figure.Labels.Count(l => l.Leader);
                        smallest = figure.Labels.Select(l => l.Size).Append(smallest).Min();
                    }
                }
            }
        }

        rows.Add(
            (
                "labels without room, library blocks on Letter, legal, tabloid, A4 and A3",
                Text($"{unplaced} of {placed + unplaced}, {led} on leaders"),
                "0",
                unplaced == 0
            )
        );
        rows.Add(("smallest label", Text($"{smallest:0.#} pt"), "≥ 9 pt", smallest >= 9));
    }

    private static void AddSheetCounts(List<(string, string, string, bool)> rows)
    {
        // Handbook 8.1.
        foreach (
            (double inches, string paper, int expected) in new[]
            {
                (12.0, "letter", 4),
                (12, "a4", 4),
                (12, "a3", 2),
                (12, "tabloid", 2),
                (8, "letter", 1),
                (8, "a4", 2),
                (9, "letter", 2),
                (10, "letter", 2),
            }
        )
        {
            Route route = Plan(BlockLibrary.Find("sawtooth-star"), inches);
            int sheets = TraceSheets
                .Plan(route, route.Candidates[0], new SheetWishes { Paper = PaperSize.Parse(paper) })
                .Sheets.Count;
            rows.Add(
                (
                    Text($"sheets, {inches} in block on {paper}"),
                    sheets.ToString(CultureInfo.InvariantCulture),
                    expected.ToString(CultureInfo.InvariantCulture),
                    sheets == expected
                )
            );
        }
    }

    private static void AddTimes(List<(string, string, string, bool)> rows)
    {
        Route route = Plan(BlockLibrary.Find("bears-paw"), 12);
        RouteCandidate candidate = route.Candidates[0];
        Homography<ProjectorSpace, ClothSpace> straight = new([80, 0, 300, 0, 80, 60, 0, 0, 1]);
        foreach (
            (string name, Action render) in new (string, Action)[]
            {
                (
                    "sheets, bear's paw, four Letter pages",
                    () => TraceSheets.Render(route, candidate, new SheetWishes())
                ),
                ("card, bear's paw", () => StitchCard.Render(route, candidate, new CardWishes())),
                ("projector frame, 1920 × 1080", () => ProjectorFrame.Render(route, candidate, straight, 1_920, 1_080)),
            }
        )
        {
            render();
            Stopwatch watch = Stopwatch.StartNew();
            render();
            rows.Add((name, Text($"{watch.ElapsedMilliseconds} ms"), "< 1000 ms", watch.ElapsedMilliseconds < 1_000));
        }
    }

    private static Route Plan(BlockDraft draft, double inches) =>
        RoutePlanner
            .Plan(
                BlockDrafting.Draft(draft, Length.FromInches(inches), 1, 1, Length.Zero),
                new RouteWishes { Lines = LineChoice.Seams, Candidates = 1 }
            )
            .Route;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
