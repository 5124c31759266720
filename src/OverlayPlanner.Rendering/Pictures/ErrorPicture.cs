using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;
using OverlayPlanner.Rendering.Pictures.Errors;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>
/// How far off a position may be, anywhere on the cloth: contour lines at the ruler's fractions over the cloth in grey, with the
/// cards and the points.
/// </summary>
public static class ErrorPicture
{
    private const double MostAcross = 1_500;
    private const double MostDown = 1_400;
    private const double MostPixelsPerInch = 64;
    private const double LeastAcross = 620;
    private const double Border = 34;
    private const double Title = 24;
    private const double Text = 16;
    private const double Line = 22;

    // Crossings of the grid along the longer side; a point stands out over several of its cells.
    private const double Cells = 200;

    // A card farther out than this share of the longer side would leave little room for the cloth.
    private const double CardReach = 0.25;

    /// <summary>The picture as a PNG, a pixel for each point.</summary>
    /// <param name="rectified">The cloth from above; its <see cref="Picture.PixelsPerInch"/> must be known.</param>
    /// <param name="map">The map whose points are marked.</param>
    /// <param name="field">How far off a position on that map may be.</param>
    /// <param name="cards">The cards that the inches come from; none where they come from measured corners.</param>
    /// <param name="margin">Cloth that the picture shows beyond the mapped area on each side; it has no numbers.</param>
    /// <exception cref="ArgumentException">The picture's scale is unknown.</exception>
    public static RenderedFile Render(
        Picture rectified,
        QuiltMap map,
        ErrorField field,
        IReadOnlyList<CardOnCloth> cards,
        Length margin,
        CancellationToken ct = default
    ) => new(PngFormat.Write(Draw(rectified, map, field, cards, margin, ct), 1, Palette.Unbleached), []);

    /// <summary>The same as a drawing, a point for each pixel.</summary>
    internal static Drawing.Drawing Draw(
        Picture rectified,
        QuiltMap map,
        ErrorField field,
        IReadOnlyList<CardOnCloth> cards,
        Length margin,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(rectified);
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(field);
        ArgumentNullException.ThrowIfNull(cards);
        double density =
            rectified.PixelsPerInch
            ?? throw new ArgumentException("A rectified picture knows its pixels to the inch.", nameof(rectified));
        Box<ClothSpace> mapped = new(0, 0, map.Width.Inches, map.Height.Inches);
        ScalarGrid<ClothSpace> within95 = ScalarGrid<ClothSpace>.Sample(
            mapped,
            Math.Max(mapped.Width, mapped.Height) / Cells,
            at => field.Within95At(at).Inches,
            ct
        );
        CardOnCloth[] near = [.. cards.Where(c => IsNear(c, mapped))];
        Box<ClothSpace> shown = near.Aggregate(
            mapped.Grown(margin.Inches),
            (box, card) => box.With(Box<ClothSpace>.Around(card.Outline))
        );
        double scale = Math.Min(MostPixelsPerInch, Math.Min(MostAcross / shown.Width, MostDown / shown.Height));
        double width = Math.Max(LeastAcross, shown.Width * scale) + 2 * Border;

        IReadOnlyList<Edge<ClothSpace>[]>[] lines =
        [
            .. ErrorLevel.All.Select(l =>
                ContourLine.Trace(within95, l.Inches).Select(c => c.Edges.ToArray()).ToArray()
            ),
        ];
        ErrorLevel[] drawn = [.. ErrorLevel.All.Where((_, i) => lines[i].Count > 0)];
        IReadOnlyList<string> head = Typesetting.Wrap(
            ErrorWords.Headline(within95, drawn),
            Text,
            Weight.Regular,
            width - 2 * Border
        );
        double top = Border + Title + 12 + head.Count * Line + 12;
        double bottom = top + shown.Height * scale;
        ErrorLegend legend = new(drawn, near, map.Junctions.Count, width - 2 * Border);
        Drawing.Drawing drawing = new(width, bottom + 20 + legend.Height + Border - 12);
        Similarity<PageSpace, ClothSpace> pageFromCloth = new(
            scale,
            0,
            (width - shown.Width * scale) / 2 - shown.Left * scale,
            top - shown.Top * scale
        );
        drawing.Add(
            Typesetting.Set(
                Layer.Words,
                new(Border, Border + Title * 0.8),
                ErrorWords.Title,
                Title,
                Weight.Bold,
                Palette.Ink
            )
        );
        for (int i = 0; i < head.Count; i++)
        {
            Point<PageSpace> at = new(Border, Border + Title + 12 + (i + 0.7) * Line);
            drawing.Add(Typesetting.Set(Layer.Words, at, head[i], Text, Weight.Regular, Palette.Ink));
        }

        DrawCloth(drawing, rectified, density, margin.Inches, map, within95, pageFromCloth);
        ErrorLabels labels = new(new(pageFromCloth.Apply(new Point<ClothSpace>(0, 0)).X, top, width - Border, bottom));
        foreach (CardOnCloth card in near)
        {
            DrawCard(drawing, card, pageFromCloth, labels);
        }

        DrawLines(drawing, lines, pageFromCloth, labels);
        drawing.Add(legend.At(new(Border, bottom + 20)));
        return drawing;
    }

    private static bool IsNear(CardOnCloth card, Box<ClothSpace> mapped)
    {
        Box<ClothSpace> reach = mapped.Grown(CardReach * Math.Max(mapped.Width, mapped.Height));
        return card.Outline.All(reach.Holds);
    }

    private static void DrawCloth(
        Drawing.Drawing drawing,
        Picture rectified,
        double density,
        double margin,
        QuiltMap map,
        ScalarGrid<ClothSpace> within95,
        Similarity<PageSpace, ClothSpace> pageFromCloth
    )
    {
        drawing.Add(ErrorGround.Bleached(rectified, density, margin, within95, pageFromCloth));
        IReadOnlyList<Edge<PageSpace>> hatch = ErrorGround.Hatch(within95, pageFromCloth);
        if (hatch.Count > 0)
        {
            drawing.Add(new Stroke(Layer.Ground, hatch, Palette.SoftInk with { Alpha = 150 }, 1));
        }

        Box<PageSpace> frame = Box<PageSpace>.Around(
            pageFromCloth.Apply(new Point<ClothSpace>(within95.Area.Left, within95.Area.Top)),
            pageFromCloth.Apply(new Point<ClothSpace>(within95.Area.Right, within95.Area.Bottom))
        );
        drawing.Add(new Stroke(Layer.Seams, Marks.Rectangle(frame), Palette.SoftInk, 1.2) { RoundEnds = false });
        foreach (Junction point in map.Junctions)
        {
            drawing.Add(ErrorLegend.PointAt(Layer.Seams, pageFromCloth.Apply(point.Place)));
        }
    }

    private static void DrawCard(
        Drawing.Drawing drawing,
        CardOnCloth card,
        Similarity<PageSpace, ClothSpace> pageFromCloth,
        ErrorLabels labels
    )
    {
        Point<PageSpace>[] corners = [.. card.Outline.Select(pageFromCloth.Apply)];
        Edge<PageSpace>[] outline =
        [
            .. corners.Select((c, i) => new Edge<PageSpace>(c, corners[(i + 1) % corners.Length])),
        ];
        Box<PageSpace> box = Box<PageSpace>.Around(corners);
        labels.Avoid(box);
        drawing.Add(ErrorLegend.Card(Layer.Seams, outline, card.Use));
        string number = card.Number.ToString(CultureInfo.InvariantCulture);
        double size = Math.Clamp(box.Height * 0.42, 11, 20);
        drawing.Add(
            Typesetting.SetCentered(
                Layer.Seams,
                new(box.Center.X, box.Center.Y + size * 0.34),
                number,
                size,
                Weight.Bold,
                Palette.Ink
            )
        );
    }

    private static void DrawLines(
        Drawing.Drawing drawing,
        IReadOnlyList<Edge<ClothSpace>[]>[] lines,
        Similarity<PageSpace, ClothSpace> pageFromCloth,
        ErrorLabels labels
    )
    {
        (ErrorLevel Level, Edge<PageSpace>[] Path)[] paths =
        [
            .. lines.SelectMany(
                (l, i) => l.Select(path => (ErrorLevel.All[i], path.Select(pageFromCloth.Apply).ToArray()))
            ),
        ];
        foreach ((ErrorLevel level, Edge<PageSpace>[] path) in paths)
        {
            drawing.Add(new Stroke(Layer.Route, path, Palette.Unbleached with { Alpha = 215 }, level.Width + 2.6));
            labels.Add(path, level.Width);
        }

        foreach ((ErrorLevel level, Edge<PageSpace>[] path) in paths)
        {
            drawing.Add(new Stroke(Layer.Route, path, level.Ink, level.Width, level.Dash));
        }

        // The longest first: where room is scarce, the small ones are told by their dashes.
        foreach ((ErrorLevel level, Edge<PageSpace>[] path) in paths.OrderByDescending(p => p.Path.Sum(e => e.Chord)))
        {
            drawing.Add(labels.Place(path, level));
        }
    }
}
