using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Projector;

/// <summary>The picture that a projector throws on the cloth: black, and the route in light where it belongs.</summary>
public static class ProjectorFrame
{
    /// <summary>Largest side of a frame, pixels.</summary>
    public const int MostPixels = 16_384;

    // Flattened arcs stay this near to the true curve in the picture, pixels.
    private const double CurveErrorPx = 0.1;

    // A bent line is drawn in pieces of this length: a bend of 10 px over the picture leaves them straight to 0.01 px.
    private const double BentPiecePx = 40;

    private static readonly Ink Light = new(0x9C, 0xC9, 0xEA);
    private static readonly Ink Bright = new(0xFF, 0xD9, 0xA0);
    private static readonly Ink Dim = new(0x46, 0x4C, 0x5C);
    private static readonly Ink Words = new(0xF7, 0xF2, 0xE8);

    /// <summary>The frame as a PNG of exactly this size.</summary>
    /// <param name="projectorFromCloth">
    /// Takes cloth inches to projector pixels, whose centres are at integers.
    /// </param>
    /// <param name="widthPx">1 to <see cref="MostPixels"/>.</param>
    /// <param name="heightPx">1 to <see cref="MostPixels"/>.</param>
    /// <param name="step">
    /// The number of the step that is stitched next: it is brightest, what lies before it is dim and without numbers. Null for
    /// the whole route at its beginning.
    /// </param>
    /// <param name="bend">What the projector's lens adds to the map, pixels to pixels; null for nothing.</param>
    /// <returns>
    /// The PNG; the finding <c>outside-projector</c> where part of the route falls outside the picture.
    /// </returns>
    /// <exception cref="InputException">The size is impossible, or the profile throws the route to infinity.</exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        Homography<ProjectorSpace, ClothSpace> projectorFromCloth,
        int widthPx,
        int heightPx,
        int? step = null,
        Func<Point<ProjectorSpace>, Point<ProjectorSpace>>? bend = null,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ArgumentNullException.ThrowIfNull(projectorFromCloth);
        ct.ThrowIfCancellationRequested();
        if (widthPx < 1 || heightPx < 1 || widthPx > MostPixels || heightPx > MostPixels)
        {
            throw new InputException(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"A projector of {widthPx} × {heightPx} pixels can't be drawn"
                ),
                "projector profile, width and height",
                "Give the projector's own picture size, for example 1920x1080."
            );
        }

        Box<ClothSpace> covered = FigureContent.CoveredBy(route.Quilt, candidate);
        RequireFinite(projectorFromCloth, covered);
        double pixelsPerInch = ScaleAt(projectorFromCloth, covered.Center);
        FigureContent content = FigureContent.Of(
            route.Quilt,
            candidate,
            covered,
            e => Thrown(projectorFromCloth, e, bend),
            Math.Max(6, pixelsPerInch / 8)
        );
        int now = step ?? 1;
        if (now < 1 || now > Math.Max(1, content.Steps.Count))
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There is no step {now}"),
                "--step",
                string.Create(CultureInfo.InvariantCulture, $"Choose from 1 to {content.Steps.Count}.")
            );
        }

        double number = Math.Clamp(0.42 * pixelsPerInch, 16, 64);
        FigureStyle style = new()
        {
            Seam = Dim,
            SeamWidth = 1.2,
            Route = Light,
            RouteWidth = Math.Clamp(pixelsPerInch / 24, 2.2, 5),
            Halo = ClothHalo.Against(ClothHalo.ClothsOf(route.Quilt), Light),
            FirstStep = Bright,
            First = now,
            Mark = Words,
            Ground = Palette.Black,
            NumberSizes = [number, number * 0.85, Math.Max(14, number * 0.7)],
            WordSize = number * 0.85,
            Arrow = Math.Clamp(pixelsPerInch / 4, 10, 30),
            MarkScales = [number / 12, number / 15, number / 18],
            BacktrackDash = [pixelsPerInch / 9, pixelsPerInch / 11],
            Stretch = Math.Max(34, pixelsPerInch * 0.8),
            Repeat = Math.Max(8 * pixelsPerInch, 300),
        };
        Box<PageSpace> frame = new(0, 0, widthPx, heightPx);
        Drawing.Drawing drawing = new(widthPx, heightPx);
        foreach (FigureStep done in content.Steps.Where(s => s.Step.Number < now))
        {
            drawing.Add(new Stroke(Layer.Seams, done.Path, Dim, style.RouteWidth));
        }

        FigureContent toCome =
            now == 1
                ? content
                : content with
                {
                    Steps = [.. content.Steps.Where(s => s.Step.Number >= now)],
                    Starts = [],
                };
        PlacedFigure figure = RouteFigure.Place(toCome, style, frame, frame.Grown(-4));
        drawing.Add(figure.Items);

        List<Finding> findings = [];
        double outside = OutsideInches(candidate, projectorFromCloth, frame, bend);
        if (outside > 0.01)
        {
            findings.Add(
                new(
                    "outside-projector",
                    string.Create(CultureInfo.InvariantCulture, $"{outside:0.#} in of the route"),
                    "Part of the route falls outside the projector's picture: move the projector or the quilt, or project one block."
                )
            );
        }

        if (figure.Unplaced.Count > 0)
        {
            findings.Add(Unnumbered.Finding(figure.Unplaced, "projector picture"));
        }

        return new(PngFormat.Write(drawing, 1, Palette.Black), findings);
    }

    private static void RequireFinite(Homography<ProjectorSpace, ClothSpace> map, Box<ClothSpace> covered)
    {
        IReadOnlyList<double> m = map.RowByRow;
        double[] w =
        [
            .. new[]
            {
                (covered.Left, covered.Top),
                (covered.Right, covered.Top),
                (covered.Right, covered.Bottom),
                (covered.Left, covered.Bottom),
            }.Select(p => m[6] * p.Item1 + m[7] * p.Item2 + m[8]),
        ];
        if (map.Determinant == 0 || w.Any(v => v == 0 || Math.Sign(v) != Math.Sign(w[0])))
        {
            throw new InputException(
                "The projector's profile throws part of the route to infinity",
                "projector profile, projectorFromCloth",
                "Calibrate the projector again with points all over its picture."
            );
        }
    }

    private static double ScaleAt(Homography<ProjectorSpace, ClothSpace> map, Point<ClothSpace> at)
    {
        (double xx, double xy, double yx, double yy) = map.DerivativeAt(at);
        return Math.Sqrt(Math.Abs(xx * yy - xy * yx));
    }

    private static Edge<PageSpace>[] Thrown(
        Homography<ProjectorSpace, ClothSpace> map,
        Edge<ClothSpace> edge,
        Func<Point<ProjectorSpace>, Point<ProjectorSpace>>? bend
    )
    {
        double scale = new[] { 0, 0.25, 0.5, 0.75, 1 }.Max(t =>
        {
            (double xx, double xy, double yx, double yy) = map.DerivativeAt(edge.PointAt(t));
            return Math.Sqrt(xx * xx + xy * xy + yx * yx + yy * yy);
        });
        IReadOnlyList<Point<ClothSpace>> points = edge.Flatten(CurveErrorPx / 2 / Math.Max(scale, 1e-9));
        if (bend is not null)
        {
            points = Divided(points, BentPiecePx / Math.Max(scale, 1e-9));
        }

        Edge<PageSpace>[] thrown = new Edge<PageSpace>[points.Count - 1];
        for (int i = 0; i < thrown.Length; i++)
        {
            thrown[i] = new(At(points[i]), At(points[i + 1]));
        }

        return thrown;

        // The drawing's corner is the corner of the first pixel, half a pixel from its centre.
        Point<PageSpace> At(Point<ClothSpace> p)
        {
            Point<ProjectorSpace> q = map.Apply(p);
            q = bend?.Invoke(q) ?? q;
            return new(q.X + 0.5, q.Y + 0.5);
        }
    }

    private static List<Point<ClothSpace>> Divided(IReadOnlyList<Point<ClothSpace>> points, double longest)
    {
        List<Point<ClothSpace>> all = [points[0]];
        for (int i = 1; i < points.Count; i++)
        {
            Vector<ClothSpace> way = points[i] - points[i - 1];
            int pieces = (int)Math.Clamp(Math.Ceiling(way.Norm / longest), 1, 1_000);
            for (int k = 1; k < pieces; k++)
            {
                all.Add(points[i - 1] + way * ((double)k / pieces));
            }

            all.Add(points[i]);
        }

        return all;
    }

    private static double OutsideInches(
        RouteCandidate candidate,
        Homography<ProjectorSpace, ClothSpace> map,
        Box<PageSpace> frame,
        Func<Point<ProjectorSpace>, Point<ProjectorSpace>>? bend
    )
    {
        double outside = 0;
        foreach (Move move in candidate.AllMoves)
        {
            const int Pieces = 64;
            int beyond = Enumerable
                .Range(0, Pieces)
                .Select(i => map.Apply(move.Path.PointAt((i + 0.5) / Pieces)))
                .Select(q => bend?.Invoke(q) ?? q)
                .Count(q => !frame.Holds(new(q.X + 0.5, q.Y + 0.5)));
            outside += move.Path.Length * beyond / Pieces;
        }

        return outside;
    }
}
