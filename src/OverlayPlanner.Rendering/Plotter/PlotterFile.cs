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

    /// <summary>HP-GL, 1016 units to the inch, y up; chords unless the device draws arcs.</summary>
    Hpgl,

    /// <summary>DXF of release 12 in millimetres, y up; arcs are bulges.</summary>
    Dxf,

    /// <summary>G-code in millimetres, y up; arcs are G2 and G3.</summary>
    Gcode,
}

/// <summary>What is drawn beside the route.</summary>
public enum PlotterMarks
{
    /// <summary>Nothing.</summary>
    None,

    /// <summary>An L in each corner of the mapped area.</summary>
    Corners,
}

/// <summary>How a plotter's file is wanted.</summary>
public sealed record PlotterWishes
{
    /// <summary>The format.</summary>
    public PlotterFormat Format { get; init; }

    /// <summary>
    /// Adds an L in each corner of the mapped area, its arms 1/4 in long and inward, as paths of their own; on panels, crosses
    /// where they join as well.
    /// </summary>
    public bool Marks { get; init; }

    /// <summary>In which order the threads are drawn.</summary>
    public PenOrder Order { get; init; } = PenOrder.KeepWay;

    /// <summary>The machine.</summary>
    public PlotterDevice Device { get; init; } = new();
}

/// <summary>One file of a plot that is larger than the bed.</summary>
/// <param name="Row">From 0 at the top.</param>
/// <param name="Column">From 0 at the left.</param>
/// <param name="Cloth">The cloth that it holds, inches; its bottom left is the file's origin.</param>
/// <param name="File">The file.</param>
public sealed record PlotterPanel(int Row, int Column, Box<ClothSpace> Cloth, RenderedFile File);

/// <summary>Files for pen plotters: nothing but the route unless marks are wanted.</summary>
public static class PlotterFile
{
    /// <summary>Panels share this with their neighbours, inches.</summary>
    public const double PanelOverlapInches = 1;

    private const int MostPanels = 500;
    private const double MarkArmInches = 0.25;
    private const double CrossArmInches = 0.2;

    /// <summary>
    /// Draws a candidate's moves, each run one path in the direction of stitching; backtracks are drawn a second time on their
    /// line.
    /// </summary>
    /// <param name="marks">As <see cref="PlotterWishes.Marks"/>.</param>
    /// <returns>
    /// SVG: origin at the mapped area's top left, y down; the others: at its bottom left, y up. 1 in is 25.4 mm; SVG's
    /// coordinates are rounded to 1e-5 mm, DXF's to 1e-6, G-code's to 1e-4, HP-GL's to its unit.
    /// </returns>
    /// <exception cref="InputException">The candidate has no moves.</exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        PlotterFormat format,
        PlotterMarks marks,
        CancellationToken ct = default
    ) => Render(route, candidate, new PlotterWishes { Format = format, Marks = marks == PlotterMarks.Corners }, ct);

    /// <summary>One file of the whole, whatever the bed.</summary>
    /// <inheritdoc cref="Render(Route, RouteCandidate, PlotterFormat, PlotterMarks, CancellationToken)"/>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        PlotterWishes wishes,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        ct.ThrowIfCancellationRequested();
        PlotterDevice device = wishes.Device.Checked();
        Drawing.Drawing drawing = Draw(route, candidate, wishes.Marks);
        List<Finding> findings = [];
        if (
            device is { BedWidth: { } w, BedHeight: { } h }
            && (drawing.Width > w.Points + 1e-6 || drawing.Height > h.Points + 1e-6)
        )
        {
            findings.Add(
                new(
                    "larger-than-bed",
                    $"{route.Quilt.Width.ToSixteenths()} × {route.Quilt.Height.ToSixteenths()} in on a bed of {w.ToSixteenths()} × {h.ToSixteenths()} in",
                    "Plot it in panels, or plan one block with --block."
                )
            );
        }

        return new(Write(drawing, wishes), findings);
    }

    /// <summary>
    /// The whole in as few files as the bed allows, row by row; neighbours share 1 in, with a registration cross at both ends of
    /// what they share, at one place of the cloth. One file where all fits.
    /// </summary>
    /// <exception cref="InputException">
    /// The candidate has no moves, the device's numbers make no sense, it has no bed, or more than 500 panels are needed.
    /// </exception>
    public static IReadOnlyList<PlotterPanel> RenderPanels(
        Route route,
        RouteCandidate candidate,
        PlotterWishes wishes,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        if (wishes.Device.Checked() is not { BedWidth: { } bedWidth, BedHeight: { } bedHeight })
        {
            throw new InputException("Panels need the size of the bed", "--bed", "Give it, for example --bed 24x36.");
        }

        Drawing.Drawing whole = Draw(route, candidate, wishes.Marks);
        double[] lefts = Starts(route.Quilt.Width.Inches, bedWidth.Inches);
        double[] tops = Starts(route.Quilt.Height.Inches, bedHeight.Inches);
        if ((long)lefts.Length * tops.Length > MostPanels)
        {
            throw new InputException(
                string.Create(
                    System.Globalization.CultureInfo.InvariantCulture,
                    $"The plot would need {(long)lefts.Length * tops.Length} panels; the most is {MostPanels}"
                ),
                "--bed",
                "Plan one block with --block, or use a larger bed."
            );
        }

        List<PlotterPanel> panels = [];
        for (int row = 0; row < tops.Length; row++)
        {
            for (int column = 0; column < lefts.Length; column++)
            {
                ct.ThrowIfCancellationRequested();
                Box<ClothSpace> cloth = new(
                    lefts[column],
                    tops[row],
                    Math.Min(lefts[column] + bedWidth.Inches, route.Quilt.Width.Inches),
                    Math.Min(tops[row] + bedHeight.Inches, route.Quilt.Height.Inches)
                );
                Drawing.Drawing panel = Cut(whole, cloth);
                if (wishes.Marks)
                {
                    AddCrosses(panel, cloth, lefts, tops, row, column);
                }

                panels.Add(new(row, column, cloth, new(Write(panel, wishes), [])));
            }
        }

        return panels;
    }

    private static Drawing.Drawing Draw(Route route, RouteCandidate candidate, bool marks)
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
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
        if (marks)
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

        return drawing;
    }

    // Panels begin at whole eighths as near as they can, so that crosses and rulers agree; the last ends with the cloth.
    private static double[] Starts(double cloth, double bed)
    {
        int count = Math.Max(1, (int)Math.Ceiling((cloth - PanelOverlapInches) / (bed - PanelOverlapInches) - 1e-9));
        double pitch = count == 1 ? 0 : Math.Ceiling((cloth - bed) / (count - 1) * 8 - 1e-9) / 8;
        pitch = Math.Min(pitch, bed - PanelOverlapInches);
        return [.. Enumerable.Range(0, count).Select(k => k * pitch)];
    }

    private static Drawing.Drawing Cut(Drawing.Drawing whole, Box<ClothSpace> cloth)
    {
        const double Points = Length.PointsPerInch;
        Box<PageSpace> box = new(cloth.Left * Points, cloth.Top * Points, cloth.Right * Points, cloth.Bottom * Points);
        Similarity<PageSpace, PageSpace> shift = new(1, 0, -box.Left, -box.Top);
        Drawing.Drawing panel = new(box.Width, box.Height);
        foreach (Stroke stroke in whole.Items.OfType<Stroke>())
        {
            Edge<PageSpace>[] inside =
            [
                .. stroke.Path.SelectMany(e => EdgeClipping.Inside(e, box)).Select(shift.Apply),
            ];
            if (inside.Length > 0)
            {
                panel.Add(stroke with { Path = inside });
            }
        }

        return panel;
    }

    private static void AddCrosses(
        Drawing.Drawing panel,
        Box<ClothSpace> cloth,
        double[] lefts,
        double[] tops,
        int row,
        int column
    )
    {
        List<Point<ClothSpace>> places = [];
        foreach (int c in new[] { column, column + 1 })
        {
            if (c > 0 && c < lefts.Length)
            {
                // In the middle of the band that columns c − 1 and c share.
                double x = lefts[c] + PanelOverlapInches / 2;
                places.Add(new(x, cloth.Top + PanelOverlapInches / 2));
                places.Add(new(x, cloth.Bottom - PanelOverlapInches / 2));
            }
        }

        foreach (int r in new[] { row, row + 1 })
        {
            if (r > 0 && r < tops.Length)
            {
                double y = tops[r] + PanelOverlapInches / 2;
                places.Add(new(cloth.Left + PanelOverlapInches / 2, y));
                places.Add(new(cloth.Right - PanelOverlapInches / 2, y));
            }
        }

        foreach (Point<ClothSpace> p in places.Where(cloth.Holds).Distinct())
        {
            Point<PageSpace> at = new(
                (p.X - cloth.Left) * Length.PointsPerInch,
                (p.Y - cloth.Top) * Length.PointsPerInch
            );
            panel.Add(Marks.Cross(Layer.Rulers, at, CrossArmInches * Length.PointsPerInch, Palette.Black, 0.5));
        }
    }

    private static byte[] Write(Drawing.Drawing drawing, PlotterWishes wishes)
    {
        IReadOnlyList<PenPath<PageSpace>> paths = InOrder(drawing, wishes.Order);
        PlotterDevice device = wishes.Device;
        return wishes.Format switch
        {
            PlotterFormat.Svg => SvgFormat.Write(Redrawn(drawing, paths)),
            PlotterFormat.Hpgl => HpglFormat.Write(ToMillimeters(), device),
            PlotterFormat.Dxf => DxfFormat.Write(
                ToMillimeters(),
                Millimeters(drawing.Width),
                Millimeters(drawing.Height)
            ),
            PlotterFormat.Gcode => GcodeFormat.Write(ToMillimeters(), device),
            _ => throw new ArgumentOutOfRangeException(nameof(wishes), wishes.Format, "This format is not written."),
        };

        IReadOnlyList<PenPath<PlotterSpace>> ToMillimeters() =>
            [.. paths.Select(p => PenPaths.ToMillimeters(p, drawing.Height))];
    }

    private static double Millimeters(double points) => Length.FromPoints(points).Millimeters;

    // The route first and the marks after it, so that a carousel changes its pen once.
    private static List<PenPath<PageSpace>> InOrder(Drawing.Drawing drawing, PenOrder order)
    {
        List<PenPath<PageSpace>> sorted = [];
        Point<PageSpace> pen = new(0, drawing.Height);
        foreach (
            IGrouping<bool, PenPath<PageSpace>> group in PenPaths.Of(drawing).GroupBy(p => p.IsMark).OrderBy(g => g.Key)
        )
        {
            PenPath<PageSpace>[] paths = [.. group];
            foreach ((int path, bool backward) in PenTravel.Order([.. paths.Select(p => (p.From, p.To))], pen, order))
            {
                sorted.Add(backward ? paths[path].Reversed : paths[path]);
            }

            pen = sorted[^1].To;
        }

        return sorted;
    }

    // One stroke for each path, and the marks together as the one stroke that they were.
    private static Drawing.Drawing Redrawn(Drawing.Drawing drawing, IReadOnlyList<PenPath<PageSpace>> paths)
    {
        Drawing.Drawing again = new(drawing.Width, drawing.Height);
        Edge<PageSpace>[] marks = [.. paths.Where(p => p.IsMark).SelectMany(p => p.Edges)];
        if (marks.Length > 0)
        {
            again.Add(new Stroke(Layer.Rulers, marks, Palette.Black, 0.5));
        }

        foreach (PenPath<PageSpace> path in paths.Where(p => !p.IsMark))
        {
            again.Add(new Stroke(Layer.Route, path.Edges, Palette.Black, Length.FromMillimeters(0.35).Points));
        }

        return again;
    }
}
