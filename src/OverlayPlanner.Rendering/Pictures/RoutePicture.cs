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
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ct.ThrowIfCancellationRequested();
        if (widthPx < Widths.Least || widthPx > Widths.Most)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"A picture can't be {widthPx} pixels wide"),
                "width",
                "Choose from 64 to 8000."
            );
        }

        Box<ClothSpace> covered = FigureContent.CoveredBy(route.Quilt, candidate);

        // A block fills some 500 points; larger maps get larger pages, so that a number keeps its size against a patch.
        double across = Math.Max(covered.Width, 1e-6);
        double pointsPerInch = Math.Clamp(
            42,
            480 / Math.Max(across, covered.Height),
            2_400 / Math.Max(across, covered.Height)
        );
        const double Margin = 18;
        Similarity<PageSpace, ClothSpace> pageFromCloth = new(
            pointsPerInch,
            0,
            Margin - covered.Left * pointsPerInch,
            Margin - covered.Top * pointsPerInch
        );
        Drawing.Drawing drawing = new(
            covered.Width * pointsPerInch + 2 * Margin,
            covered.Height * pointsPerInch + 2 * Margin
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
        return new(
            PngFormat.Write(drawing, widthPx / drawing.Width, Palette.Unbleached),
            figure.Unplaced.Count > 0 ? [Unnumbered.Finding(figure.Unplaced, "route picture")] : []
        );
    }
}
