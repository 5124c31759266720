using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>A picture of a route for people: the patches' own colours, paled, and the route in chalk blue.</summary>
public static class RoutePicture
{
    /// <summary>Least and most pixels across.</summary>
    public static readonly (int Least, int Most) Widths = (64, 8_000);

    /// <summary>The picture as a PNG.</summary>
    /// <param name="widthPx">Pixels across, within <see cref="Widths"/>; the height follows.</param>
    /// <exception cref="InputException">The width is out of range.</exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        int widthPx,
        CancellationToken ct = default
    )
    {
        RequireWidth(widthPx, Widths);
        (Drawing.Drawing drawing, PlacedFigure figure) = Draw(route, candidate, ct);
        return new(PngFormat.Write(drawing, widthPx / drawing.Width, Palette.Unbleached), FindingsOf(figure));
    }

    /// <summary>The picture as an SVG: lines stay lines at every size, and words are outlines.</summary>
    public static RenderedFile RenderSvg(Route route, RouteCandidate candidate, CancellationToken ct = default)
    {
        (Drawing.Drawing drawing, PlacedFigure figure) = Draw(route, candidate, ct);
        Drawing.Drawing grounded = new(drawing.Width, drawing.Height);
        grounded.Add(new Fill(Layer.Ground, Sides(drawing), Palette.Unbleached));
        grounded.Add(drawing.Items);
        return new(SvgFormat.Write(grounded), FindingsOf(figure));
    }

    internal static void RequireWidth(int widthPx, (int Least, int Most) range)
    {
        if (widthPx < range.Least || widthPx > range.Most)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"A picture can't be {widthPx} pixels wide"),
                "width",
                string.Create(CultureInfo.InvariantCulture, $"Choose from {range.Least} to {range.Most}.")
            );
        }
    }

    /// <summary>The room that a candidate takes, and its place on the page.</summary>
    internal static (Box<ClothSpace> Covered, Similarity<PageSpace, ClothSpace> PageFromCloth, double Margin) Lay(
        Route route,
        RouteCandidate candidate
    )
    {
        Box<ClothSpace> covered = FigureContent.CoveredBy(route.Quilt, candidate);

        // A block fills some 500 points; larger maps get larger pages, so that a number keeps its size against a patch.
        double across = Math.Max(covered.Width, 1e-6);
        double pointsPerInch = Math.Clamp(
            42,
            480 / Math.Max(across, covered.Height),
            2_400 / Math.Max(across, covered.Height)
        );
        const double Margin = 18;
        return (
            covered,
            new(pointsPerInch, 0, Margin - covered.Left * pointsPerInch, Margin - covered.Top * pointsPerInch),
            Margin
        );
    }

    /// <summary>The picture before it is written.</summary>
    internal static (Drawing.Drawing Drawing, PlacedFigure Figure) Draw(
        Route route,
        RouteCandidate candidate,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ct.ThrowIfCancellationRequested();
        (Box<ClothSpace> covered, Similarity<PageSpace, ClothSpace> pageFromCloth, double margin) = Lay(
            route,
            candidate
        );
        Drawing.Drawing drawing = new(
            covered.Width * pageFromCloth.Scale + 2 * margin,
            covered.Height * pageFromCloth.Scale + 2 * margin
        );
        drawing.Add(PatchFills.Of(route.Quilt, covered, pageFromCloth, Palette.Unbleached, 0.72));
        FigureContent content = FigureContent.Of(
            route.Quilt,
            candidate,
            covered,
            e => [pageFromCloth.Apply(e)],
            FigureContent.BacktrackOffset
        );
        FigureStyle style = new()
        {
            Seam = new(0x8C, 0x86, 0x7A),
            SeamWidth = 0.7,
            Route = Palette.Chalk,
            RouteWidth = 1.8,
            Halo = Palette.Unbleached with { Alpha = 190 },
            FirstStep = Palette.Madder,
            Mark = Palette.Ink,
            Ground = Palette.Unbleached,
        };
        Box<PageSpace> page = new(0, 0, drawing.Width, drawing.Height);
        PlacedFigure figure = RouteFigure.Place(content, style, page, page.Grown(-3));
        drawing.Add(figure.Items);
        return (drawing, figure);
    }

    private static IReadOnlyList<Finding> FindingsOf(PlacedFigure figure) =>
        figure.Unplaced.Count > 0 ? [Unnumbered.Finding(figure.Unplaced, "route picture")] : [];

    private static Edge<PageSpace>[] Sides(Drawing.Drawing page)
    {
        Point<PageSpace>[] c = [new(0, 0), new(page.Width, 0), new(page.Width, page.Height), new(0, page.Height)];
        return [.. c.Select((p, i) => new Edge<PageSpace>(p, c[(i + 1) % 4]))];
    }
}
