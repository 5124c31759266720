using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Plotter;

/// <summary>A file format that pen plotters read.</summary>
public enum PlotterFormat
{
    /// <summary>SVG 1.1 in millimetres, y down, real arcs.</summary>
    Svg,
}

/// <summary>What is drawn beside the route.</summary>
public enum PlotterMarks
{
    /// <summary>Nothing.</summary>
    None,

    /// <summary>An L in each corner of the mapped area.</summary>
    Corners,
}

/// <summary>Files for pen plotters: nothing but the route unless marks are wanted.</summary>
public static class PlotterFile
{
    private const double MarkArmInches = 0.25;

    /// <summary>
    /// Draws a candidate's moves, each run one path, in the order and the direction of stitching; backtracks are drawn a second
    /// time on their line.
    /// </summary>
    /// <param name="marks">
    /// Adds an L in each corner of the mapped area, its arms 1/4 in long and inward, as a path of its own.
    /// </param>
    /// <returns>Origin at the mapped area's top left; 1 in is 25.4 mm; coordinates are rounded to 1e-5 mm.</returns>
    /// <exception cref="InputException">The candidate has no moves.</exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        PlotterFormat format,
        PlotterMarks marks,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ct.ThrowIfCancellationRequested();
        if (!candidate.AllMoves.Any())
        {
            throw new InputException(
                "There is nothing to draw: the route has no moves",
                $"candidate {candidate.Name}",
                "Plan a route first, or choose another with --candidate."
            );
        }

        Similarity<PageSpace, ClothSpace> pageFromCloth = new(Length.PointsPerInch, 0, 0, 0);
        double width = route.Quilt.Width.Points;
        double height = route.Quilt.Height.Points;
        Drawing.Drawing drawing = new(width, height);
        if (marks == PlotterMarks.Corners)
        {
            double arm = MarkArmInches * Length.PointsPerInch;
            List<Edge<PageSpace>> corners = [];
            foreach ((double x, double y) in new[] { (0.0, 0.0), (width, 0.0), (width, height), (0.0, height) })
            {
                Point<PageSpace> corner = new(x, y);
                corners.Add(new(new(x, y == 0 ? arm : y - arm), corner));
                corners.Add(new(corner, new(x == 0 ? arm : x - arm, y)));
            }

            drawing.Add(new Stroke(Layer.Rulers, corners, Palette.Black, 0.5));
        }

        foreach (Run run in candidate.Runs.Where(r => r.Moves.Count > 0))
        {
            drawing.Add(
                new Stroke(
                    Layer.Route,
                    [.. run.Moves.Select(m => pageFromCloth.Apply(m.Path))],
                    Palette.Black,
                    Length.FromMillimeters(0.35).Points
                )
            );
        }

        return new(
            format switch
            {
                PlotterFormat.Svg => SvgFormat.Write(drawing),
                _ => throw new ArgumentOutOfRangeException(nameof(format), format, "This format is not written."),
            },
            []
        );
    }
}
