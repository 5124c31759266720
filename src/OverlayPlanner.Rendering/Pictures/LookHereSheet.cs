using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>The places to look at first, worst first, as crops of the rectified picture on one sheet.</summary>
/// <remarks>A doubtful seam runs between two fine rails, so that the cloth in it can be seen.</remarks>
public static class LookHereSheet
{
    private const double Cell = 300;
    private const double Gap = 26;
    private const double Margin = 34;
    private const double Title = 24;
    private const double Text = 15;
    private const double Line = 20;
    private const double Caption = 72;
    private const double Locator = 52;
    private const double Overview = 380;
    private const double RailInches = 0.1;

    /// <summary>The sheet as a PNG, a pixel for each point.</summary>
    /// <param name="rectified">The cloth from above; its <see cref="Picture.PixelsPerInch"/> must be known.</param>
    /// <param name="map">The map that the places are of.</param>
    /// <param name="look">The places.</param>
    /// <param name="margin">Cloth that the picture shows beyond the mapped area on each side.</param>
    /// <exception cref="ArgumentException">The picture's scale is unknown.</exception>
    public static RenderedFile Render(
        Picture rectified,
        QuiltMap map,
        LookHere look,
        Length margin,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(rectified);
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(look);
        double density =
            rectified.PixelsPerInch
            ?? throw new ArgumentException("A rectified picture knows its pixels to the inch.", nameof(rectified));
        int columns = Math.Clamp(look.Places.Count, 2, 4);
        int rows = (look.Places.Count + columns - 1) / columns;
        double width = 2 * Margin + columns * Cell + (columns - 1) * Gap;
        double scale = Math.Min((width - 2 * Margin) / map.Width.Inches, Overview / map.Height.Inches);
        IReadOnlyList<string> head = Typesetting.Wrap(Headline(map, look), Text, Weight.Regular, width - 2 * Margin);
        double mapTop = Margin + Title + 14 + head.Count * Line + 6;
        double top = mapTop + map.Height.Inches * scale + 36;
        Drawing.Drawing drawing = new(width, top + Math.Max(0, rows * (Cell + Caption + Gap) - Gap) + Margin - 10);
        drawing.Add(
            Typesetting.Set(
                Layer.Words,
                new(Margin, Margin + Title * 0.8),
                look.Places.Count == 0 ? "Nothing to look at first" : "Look here first",
                Title,
                Weight.Bold,
                Palette.Ink
            )
        );
        for (int i = 0; i < head.Count; i++)
        {
            Write(drawing, Margin, Margin + Title + 14 + (i + 0.7) * Line, head[i], Text, Weight.Regular, Palette.Ink);
        }

        DrawOverview(drawing, map, look, new(scale, 0, Margin, mapTop));
        for (int i = 0; i < look.Places.Count; i++)
        {
            ct.ThrowIfCancellationRequested();
            double x = Margin + i % columns * (Cell + Gap);
            double y = top + i / columns * (Cell + Caption + Gap);
            DrawCrop(drawing, rectified, density, margin.Inches, map, look.Places[i], x, y);
            DrawCaption(drawing, map, look.Places[i], i + 1, x, y + Cell);
        }

        return new(PngFormat.Write(drawing, 1, Palette.Unbleached), []);
    }

    private static string Headline(QuiltMap map, LookHere look)
    {
        int inner = map.Seams.Count(s => s.Role != SeamRole.Edge);
        if (look.Places.Count == 0)
        {
            return inner == 0
                ? "No seam was found, so there is none to doubt. Come closer, or light the top from one side."
                : string.Create(
                    CultureInfo.InvariantCulture,
                    $"All {inner} seams are at least {look.SureFrom * 100:0} % sure, and no line was seen that may be a missed one."
                );
        }

        string more =
            look.MoreSeams > 0
                ? string.Create(CultureInfo.InvariantCulture, $" {look.MoreSeams} more doubtful seams are not shown.")
                : "";
        return string.Create(
            CultureInfo.InvariantCulture,
            $"{Plural(look.Places.Count, "place")}, the worst first. Compare each with the cloth: keep, move, add or remove the seam between the rails.{more}"
        );
    }

    private static void DrawOverview(
        Drawing.Drawing drawing,
        QuiltMap map,
        LookHere look,
        Similarity<PageSpace, ClothSpace> pageFromCloth
    )
    {
        foreach (Seam s in map.Seams)
        {
            drawing.Add(
                new Stroke(
                    Layer.Seams,
                    [pageFromCloth.Apply(map.EdgeOf(s))],
                    s.Role == SeamRole.Seam ? Palette.Seam : Palette.SoftInk,
                    s.Role == SeamRole.Seam ? 0.8 : 1.2
                )
            );
        }

        // The worst lie on top.
        for (int i = look.Places.Count - 1; i >= 0; i--)
        {
            Point<PageSpace> at = pageFromCloth.Apply(look.Places[i].Area.Center);
            const double Radius = 10.5;
            drawing.Add(Marks.Disc(Layer.Numbers, at, Radius + 1.2, Palette.Unbleached));
            drawing.Add(Marks.Disc(Layer.Numbers, at, Radius, Palette.Unbleached));
            drawing.Add(Marks.Ring(Layer.Numbers, at, Radius, Palette.Ochre, 2.6));
            string number = Number(i + 1);
            drawing.Add(
                Typesetting.SetCentered(Layer.Numbers, new(at.X, at.Y + 4.4), number, 12.5, Weight.Bold, Palette.Ink)
            );
        }
    }

    private static void DrawCrop(
        Drawing.Drawing drawing,
        Picture rectified,
        double density,
        double margin,
        QuiltMap map,
        LookPlace place,
        double x,
        double y
    )
    {
        // Whole pixels, inside the picture; what lies beyond stays ground.
        int left = Math.Clamp((int)Math.Ceiling((place.Area.Left + margin) * density), 0, rectified.Width - 1);
        int top = Math.Clamp((int)Math.Ceiling((place.Area.Top + margin) * density), 0, rectified.Height - 1);
        int right = Math.Clamp((int)Math.Floor((place.Area.Right + margin) * density), left + 1, rectified.Width);
        int bottom = Math.Clamp((int)Math.Floor((place.Area.Bottom + margin) * density), top + 1, rectified.Height);
        double scale = Cell / place.Area.Width;
        Similarity<PageSpace, ClothSpace> pageFromCloth = new(
            scale,
            0,
            x - place.Area.Left * scale,
            y - place.Area.Top * scale
        );
        Box<PageSpace> frame = new(x, y, x + Cell, y + Cell);
        byte[] rgb = new byte[(right - left) * (bottom - top) * Picture.Channels];
        for (int row = top; row < bottom; row++)
        {
            Array.Copy(
                rectified.Rgb,
                rectified.IndexOf(left, row),
                rgb,
                (row - top) * (right - left) * Picture.Channels,
                (right - left) * Picture.Channels
            );
        }

        Point<PageSpace> from = pageFromCloth.Apply(
            new Point<ClothSpace>(left / density - margin, top / density - margin)
        );
        Point<PageSpace> to = pageFromCloth.Apply(
            new Point<ClothSpace>(right / density - margin, bottom / density - margin)
        );
        drawing.Add(
            new PlacedPicture(
                Layer.Ground,
                new(right - left, bottom - top, rgb),
                new(from.X, from.Y, to.X, to.Y),
                Palette.Unbleached,
                0
            )
        );

        HashSet<string> doubtful = [.. place.Seams];
        foreach (Seam s in map.Seams.Where(s => !doubtful.Contains(s.Id)))
        {
            AddClipped(
                drawing,
                [pageFromCloth.Apply(map.EdgeOf(s))],
                frame,
                Palette.Unbleached with
                {
                    Alpha = 150,
                },
                2.6
            );
            AddClipped(drawing, [pageFromCloth.Apply(map.EdgeOf(s))], frame, Palette.Chalk with { Alpha = 215 }, 1.1);
        }

        foreach (string id in place.Seams)
        {
            AddRails(drawing, map.EdgeOf(map.SeamOf(id)), pageFromCloth, frame, null);
        }

        foreach (SeamLine line in place.Missing)
        {
            AddRails(drawing, line.Path, pageFromCloth, frame, [7, 5]);
        }

        foreach (string id in place.Points)
        {
            Junction j = map.JunctionOf(id);
            double radius = Math.Clamp(2 * j.At.Sigma.Inches * scale, 6, Cell / 3);
            Point<PageSpace> at = pageFromCloth.Apply(j.Place);
            if (frame.Holds(at))
            {
                AddClipped(
                    drawing,
                    Marks.Ring(Layer.Numbers, at, radius, Palette.Ochre, 2).Path,
                    frame,
                    Palette.Unbleached,
                    4.4
                );
                AddClipped(
                    drawing,
                    Marks.Ring(Layer.Numbers, at, radius, Palette.Ochre, 2).Path,
                    frame,
                    Palette.Ochre,
                    2.2
                );
            }
        }

        drawing.Add(new Stroke(Layer.Numbers, Marks.Rectangle(frame), Palette.Ink, 1) { RoundEnds = false });
    }

    private static void AddRails(
        Drawing.Drawing drawing,
        Edge<ClothSpace> path,
        Similarity<PageSpace, ClothSpace> pageFromCloth,
        Box<PageSpace> frame,
        IReadOnlyList<double>? dash
    )
    {
        IReadOnlyList<Point<ClothSpace>> line = path.Flatten(0.01);
        foreach (double side in new[] { RailInches, -RailInches })
        {
            Point<PageSpace>[] rail =
            [
                .. line.Select(
                    (p, i) =>
                    {
                        Vector<ClothSpace> along = line[Math.Min(i + 1, line.Count - 1)] - line[Math.Max(i - 1, 0)];
                        return pageFromCloth.Apply(p + along.Unit.TurnedLeft * side);
                    }
                ),
            ];
            Edge<PageSpace>[] edges =
            [
                .. Enumerable.Range(0, rail.Length - 1).Select(i => new Edge<PageSpace>(rail[i], rail[i + 1])),
            ];
            AddClipped(drawing, edges, frame, Palette.Unbleached, 4.2, dash);
            AddClipped(drawing, edges, frame, Palette.Ochre, 2, dash);
        }
    }

    private static void AddClipped(
        Drawing.Drawing drawing,
        IReadOnlyList<Edge<PageSpace>> path,
        Box<PageSpace> frame,
        Ink ink,
        double width,
        IReadOnlyList<double>? dash = null
    )
    {
        Edge<PageSpace>[] inside = [.. path.SelectMany(e => EdgeClipping.Inside(e, frame))];
        if (inside.Length > 0)
        {
            drawing.Add(new Stroke(Layer.Route, inside, ink, width, dash) { RoundEnds = false });
        }
    }

    private static void DrawCaption(
        Drawing.Drawing drawing,
        QuiltMap map,
        LookPlace place,
        int number,
        double x,
        double y
    )
    {
        string title = Typesetting.Wrap($"{Number(number)}  {What(map, place)}", Text, Weight.Bold, Cell - Locator - 10)
            is var lines
            ? lines[0]
            : "";
        Write(drawing, x, y + 20, title, Text, Weight.Bold, Palette.Ink);
        double next = y + 20;
        foreach (string line in lines.Skip(1).Take(1))
        {
            next += Line;
            Write(drawing, x, next, line, Text, Weight.Bold, Palette.Ink);
        }

        Point<ClothSpace> c = place.Area.Center;
        Write(
            drawing,
            x,
            next + Line,
            $"{Length.FromInches(c.X).ToSixteenths()} across, {Length.FromInches(c.Y).ToSixteenths()} down, in",
            Text,
            Weight.Regular,
            Palette.SoftInk
        );

        // Where on the top it is.
        double scale = Locator / Math.Max(map.Width.Inches, map.Height.Inches);
        double left = x + Cell - map.Width.Inches * scale;
        double top = y + 8;
        Box<PageSpace> whole = new(left, top, left + map.Width.Inches * scale, top + map.Height.Inches * scale);
        drawing.Add(new Fill(Layer.Words, Marks.Rectangle(whole), Palette.White));
        drawing.Add(new Stroke(Layer.Words, Marks.Rectangle(whole), Palette.SoftInk, 1));
        foreach (Block b in map.Blocks)
        {
            Point<PageSpace>[] corners =
            [
                .. b.Corners.Select(p => new Point<PageSpace>(left + p.X * scale, top + p.Y * scale)),
            ];
            drawing.Add(
                new Stroke(
                    Layer.Words,
                    [.. Enumerable.Range(0, 4).Select(i => new Edge<PageSpace>(corners[i], corners[(i + 1) % 4]))],
                    Palette.Seam,
                    0.6
                )
            );
        }

        drawing.Add(Marks.Disc(Layer.Words, new(left + c.X * scale, top + c.Y * scale), 3.6, Palette.Ochre));
        drawing.Add(Marks.Ring(Layer.Words, new(left + c.X * scale, top + c.Y * scale), 3.6, Palette.Ink, 0.8));
    }

    private static string What(QuiltMap map, LookPlace place)
    {
        List<string> parts = [];
        if (place.Seams.Count > 0)
        {
            double least = place.Seams.Min(s => map.SeamOf(s).Confidence);
            parts.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{(place.Seams.Count == 1 ? "seam " + place.Seams[0] : $"{place.Seams.Count} seams, {place.Seams[0]}")}: {least * 100:0} % sure"
                )
            );
        }

        if (place.Missing.Count > 0)
        {
            parts.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{(place.Missing.Count == 1 ? "a seam" : $"{place.Missing.Count} seams")} missing? {place.Missing.Max(m => m.Confidence) * 100:0} %"
                )
            );
        }

        if (place.Points.Count > 0 && parts.Count == 0)
        {
            Junction worst = place.Points.Select(map.JunctionOf).MaxBy(j => j.At.Sigma)!;
            parts.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"point {worst.Id}: ± {Measured.SigmasOf95 * worst.At.Sigma.Inches:0.00} in"
                )
            );
        }

        return string.Join("; ", parts);
    }

    private static void Write(
        Drawing.Drawing drawing,
        double x,
        double y,
        string text,
        double size,
        Weight weight,
        Ink ink
    ) => drawing.Add(Typesetting.Set(Layer.Words, new(x, y), text, size, weight, ink));

    private static string Number(int n) => n.ToString(CultureInfo.InvariantCulture);

    private static string Plural(int n, string word) => Number(n) + " " + word + (n == 1 ? "" : "s");
}
