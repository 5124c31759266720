using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>
/// True-size sheets to lay on the cloth. Each is one known rectangle of cloth; 1 in of cloth is 72 points of page.
/// </summary>
/// <remarks>
/// Nothing is called true to scale before the check square was measured: its rule runs along a square of exactly 72 points, the
/// rule 0.24 pt wide, one dot at 300 to the inch, so that inner, middle and outer measure agree within one dot.
/// </remarks>
public static class TraceSheets
{
    /// <summary>How the candidate would be split, without drawing it.</summary>
    /// <exception cref="InputException">As for <see cref="Render"/>.</exception>
    public static SheetPlan Plan(Route route, RouteCandidate candidate, SheetWishes wishes) =>
        Split(
            TurnedRoute.Of(route, wishes.Up, wishes.Mirror),
            TurnedRoute.Of(route, wishes.Up, wishes.Mirror).Turned(candidate),
            wishes
        ).Plan;

    /// <summary>The sheets as a PDF, row by row; what the candidate covers, and its seams, whether stitched or not.</summary>
    /// <returns>The PDF; the finding <c>steps-unnumbered</c> where numbers found no room.</returns>
    /// <exception cref="InputException">
    /// The paper is too small, or more than 500 sheets would be needed.
    /// </exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        SheetWishes wishes,
        CancellationToken ct = default
    )
    {
        (IReadOnlyList<DrawnSheet> sheets, string title) = Draw(route, candidate, wishes, ct);
        List<Finding> findings = [];
        for (int i = 0; i < sheets.Count; i++)
        {
            if (sheets[i].Figure.Unplaced.Count > 0)
            {
                findings.Add(
                    Unnumbered.Finding(
                        sheets[i].Figure.Unplaced,
                        string.Create(System.Globalization.CultureInfo.InvariantCulture, $"sheet {i + 1}")
                    )
                );
            }
        }

        return new(PdfFormat.Write([.. sheets.Select(s => s.Page)], title, ct), findings);
    }

    /// <summary>The pages before they are written, with what was placed on them.</summary>
    internal static (IReadOnlyList<DrawnSheet> Sheets, string Title) Draw(
        Route route,
        RouteCandidate candidate,
        SheetWishes wishes,
        CancellationToken ct = default
    )
    {
        (IReadOnlyList<PlannedSheet> sheets, string title) = Prepare(route, candidate, wishes);
        List<DrawnSheet> drawn = [];
        foreach (PlannedSheet sheet in sheets)
        {
            ct.ThrowIfCancellationRequested();
            drawn.Add(sheet.Draw());
        }

        return (drawn, title);
    }

    /// <summary>The pages as they will be drawn, each on demand.</summary>
    internal static (IReadOnlyList<PlannedSheet> Sheets, string Title) Prepare(
        Route route,
        RouteCandidate candidate,
        SheetWishes wishes
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ArgumentNullException.ThrowIfNull(wishes);
        if (wishes.Dots is { } pitch && !(pitch.Inches is >= 1.0 / 32 and <= 1))
        {
            throw new InputException(
                $"Dots {pitch} apart can't be pricked",
                "--dots",
                "Give from 1/32 to 1 in, for example --dots 1/8."
            );
        }

        if (wishes.Scope != SheetScope.Top)
        {
            IReadOnlyList<BlockKind> kinds = BlockKind.Of(
                route.Quilt,
                candidate,
                wishes.Scope == SheetScope.Kinds ? BlockKind.FitsWithin : null
            );
            if (kinds.Count > 0)
            {
                List<PlannedSheet> all = [];
                foreach (BlockKind kind in kinds)
                {
                    all.AddRange(
                        Prepare(
                            route,
                            kind.Part,
                            wishes with
                            {
                                Scope = SheetScope.Top,
                                Title = wishes.Title ?? kind.TitleIn(route.Quilt),
                            }
                        ).Sheets
                    );
                }

                return (all, wishes.Title ?? RouteNames.TitleOf(route.Quilt, candidate));
            }
        }

        TurnedRoute turned = TurnedRoute.Of(route, wishes.Up, wishes.Mirror);
        candidate = turned.Turned(candidate);
        route = turned.Route;
        (SheetPlan plan, PageLayout layout, SheetFurniture furniture) = Split(turned, candidate, wishes);
        FigureStyle style = StyleOf(wishes);
        SheetJoins joins = SheetJoins.Plan(plan, route.Quilt, candidate);
        return (
            [.. plan.Sheets.Select(s => new PlannedSheet(s, plan, route.Quilt, furniture.Title, () => DrawOne(s)))],
            furniture.Title
        );

        DrawnSheet DrawOne(Sheet sheet)
        {
            Drawing.Drawing page = new(layout.Paper.Width.Points, layout.Paper.Height.Points)
            {
                Stretch = wishes.Printer is { } p ? (1 / p.Across, 1 / p.Down) : (1, 1),
            };
            FigureContent content = FigureContent.Of(
                route.Quilt,
                candidate,
                plan.Covered,
                e => [sheet.PageFromCloth.Apply(e)],
                FigureContent.BacktrackOffset
            );
            IReadOnlyList<Box<PageSpace>> taken =
            [
                .. joins.BoxesOn(sheet),
                .. SheetFurniture.RulerRoom(plan, layout, sheet),
            ];
            PlacedFigure figure = RouteFigure.Place(content, style, layout.Window, layout.Window.Grown(-3), taken);
            page.Add(figure.Items);
            page.Add(joins.ItemsOn(sheet, layout.Window));
            page.Add(furniture.Rulers(plan, layout, sheet, figure.Space));
            page.Add(furniture.Strip(plan, layout, sheet, joins));
            return new(sheet, page, figure);
        }
    }

    private static (SheetPlan Plan, PageLayout Layout, SheetFurniture Furniture) Split(
        TurnedRoute turned,
        RouteCandidate candidate,
        SheetWishes wishes
    )
    {
        Route route = turned.Route;
        Box<ClothSpace> covered = FigureContent.CoveredBy(route.Quilt, candidate);
        SheetFurniture furniture = new(
            wishes.Title ?? RouteNames.TitleOf(route.Quilt, candidate),
            $"{RouteNames.SizeOf(covered)}, route {candidate.Name}",
            [
                .. route
                    .Quilt.Seams.Select(route.Quilt.EdgeOf)
                    .Where(e => covered.Grown(1e-3).Holds(e.From) && covered.Grown(1e-3).Holds(e.To)),
            ],
            turned.TurnedFromQuilt,
            wishes
        );
        (SheetPlan plan, PageLayout layout) = SheetSplitting.Split(covered, route.Quilt, wishes, furniture.StripNeeds);
        return (plan, layout, furniture);
    }

    private static FigureStyle StyleOf(SheetWishes wishes)
    {
        FigureStyle style = FigureStyle.Paper;
        if (wishes.Use == SheetUse.LightTable)
        {
            // Seen through cloth, not under it: enough to follow, too little to show on the front.
            style = style with
            {
                Route = new(0x9A, 0x9A, 0x9E),
                Seam = new(0xD2, 0xD2, 0xD4),
                Mark = new(0x8A, 0x8A, 0x8E),
            };
        }

        // A dash without length and round ends is a dot.
        return wishes.Dots is { } pitch
            ? style with
            {
                RouteDash = [0.01, pitch.Points - 0.01],
                RouteWidth = 1.8,
            }
            : style;
    }
}

/// <summary>One sheet as it was drawn.</summary>
internal sealed record DrawnSheet(Sheet Sheet, Drawing.Drawing Page, PlacedFigure Figure);

/// <summary>One sheet before it is drawn.</summary>
/// <param name="Quilt">The map as it lies on the frame, turned as the sheet is.</param>
/// <param name="Title">What the sheet is called.</param>
/// <param name="Draw">Draws it.</param>
internal sealed record PlannedSheet(Sheet Sheet, SheetPlan Plan, QuiltMap Quilt, string Title, Func<DrawnSheet> Draw);
