using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>A quilt map drawn without its photograph: patches in their colours, seams, points, and the names to call them by.</summary>
public static class MapSketch
{
    // Longer side in pixels; names can be read beside seams of a usual block.
    private const double LongerSide = 2_000;
    private const double Margin = 30;
    private const double MostPixelsPerInch = 100;

    /// <summary>The drawing as a PNG.</summary>
    /// <param name="map">The map; its patches need no colours.</param>
    /// <param name="ct">Stops before the drawing.</param>
    public static RenderedFile Render(QuiltMap map, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(map);
        ct.ThrowIfCancellationRequested();
        Box<ClothSpace> shown = Box<ClothSpace>.Around(
            map.Junctions.Select(j => j.Place).Append(new(0, 0)).Append(new(map.Width.Inches, map.Height.Inches))
        );
        double scale = Math.Min(MostPixelsPerInch, LongerSide / Math.Max(shown.Width, shown.Height));
        Drawing.Drawing drawing = new(shown.Width * scale + 2 * Margin, shown.Height * scale + 2 * Margin);
        Similarity<PageSpace, ClothSpace> pageFromCloth = new(
            scale,
            0,
            Margin - shown.Left * scale,
            Margin - shown.Top * scale
        );
        drawing.Add(PatchFills.Of(map, shown, pageFromCloth, Palette.Unbleached, 0.6));
        foreach (Seam s in map.Seams)
        {
            AddSeam(drawing, s, pageFromCloth.Apply(map.EdgeOf(s)));
        }

        foreach (Junction j in map.Junctions)
        {
            drawing.Add(Marks.Disc(Layer.Numbers, pageFromCloth.Apply(j.Place), 3, Palette.Ink));
        }

        AddNames(drawing, map, pageFromCloth);
        return new(PngFormat.Write(drawing, 1, Palette.Unbleached), []);
    }

    private static void AddSeam(Drawing.Drawing drawing, Seam seam, Edge<PageSpace> path)
    {
        bool cut = seam.Edge == EdgeKind.Cut;
        drawing.Add(
            new Stroke(
                Layer.Seams,
                [path],
                cut ? Palette.SoftInk : Palette.Chalk,
                seam.Role == SeamRole.Seam ? 1.8 : 2.8,
                cut ? [7, 6] : null
            )
        );
        if (seam.Ditch is not { } side)
        {
            return;
        }

        // A short tick on the low side, where the needle goes.
        Point<PageSpace> middle = path.PointAt(0.5);
        Vector<PageSpace> left = path.DirectionAt(0.5).TurnedLeft;
        drawing.Add(
            new Stroke(Layer.Seams, [new(middle, middle + left * (side == Side.Left ? 7 : -7))], Palette.Madder, 2.4)
        );
    }

    // A name stands where it fits: beside its point, on its seam's middle, in its patch's middle; the rest stay without.
    private static void AddNames(Drawing.Drawing drawing, QuiltMap map, Similarity<PageSpace, ClothSpace> pageFromCloth)
    {
        const double Size = 15;
        List<Box<PageSpace>> taken =
        [
            .. map
                .Junctions.Select(j => pageFromCloth.Apply(j.Place))
                .Select(p => Box<PageSpace>.Around(p, p).Grown(3)),
        ];
        foreach (Patch p in map.Patches)
        {
            Point<PageSpace> at = pageFromCloth.Apply(PatchFinder.InteriorPoint(map, p));
            Place(at, p.Leave ? p.Id + " left alone" : p.Id, Weight.Bold, Palette.SoftInk);
        }

        foreach (Junction j in map.Junctions)
        {
            // Seams leave a point the square ways more often than aslant.
            double half = Typesetting.Measure(j.Id, Size, Weight.Regular) / 2;
            Point<PageSpace> at = pageFromCloth.Apply(j.Place);
            _ = new[] { (1, -1), (-1, -1), (1, 1), (-1, 1) }.Any(way =>
                Place(
                    at + new Vector<PageSpace>(way.Item1 * (half + 7), way.Item2 * (Size / 2 + 4)),
                    j.Id,
                    Weight.Regular,
                    Palette.Ink
                )
            );
        }

        foreach (Seam s in map.Seams)
        {
            Edge<PageSpace> path = pageFromCloth.Apply(map.EdgeOf(s));
            Vector<PageSpace> off = path.DirectionAt(0.5).TurnedLeft;
            off = off.Y > 0.3 || (off.Y > -0.3 && off.X < 0) ? -off : off;
            double half = Typesetting.Measure(s.Id, Size, Weight.Regular) / 2;
            Place(
                path.PointAt(0.5) + off * (5 + Math.Abs(off.X) * half + Math.Abs(off.Y) * Size / 2),
                s.Id,
                Weight.Regular,
                Palette.Chalk
            );
        }

        foreach (Block b in map.Blocks)
        {
            Point<PageSpace> middle = pageFromCloth.Apply(
                new Point<ClothSpace>(b.Corners.Average(c => c.X), b.Corners.Average(c => c.Y))
            );
            for (int i = 0; i < 4; i++)
            {
                if (
                    Place(
                        middle + new Vector<PageSpace>(0, i * 1.3 * Size),
                        $"{b.Id} {b.Pattern ?? "unknown"}",
                        Weight.Bold,
                        Palette.Madder
                    )
                )
                {
                    break;
                }
            }
        }

        bool Place(Point<PageSpace> middle, string text, Weight weight, Ink ink)
        {
            double half = Typesetting.Measure(text, Size, weight) / 2;
            Box<PageSpace> box = new(
                middle.X - half - 2,
                middle.Y - Size / 2 - 1,
                middle.X + half + 2,
                middle.Y + Size / 2 + 1
            );
            if (
                box.Left < 0
                || box.Top < 0
                || box.Right > drawing.Width
                || box.Bottom > drawing.Height
                || taken.Exists(box.Meets)
            )
            {
                return false;
            }

            taken.Add(box);
            drawing.Add(
                Typesetting.SetCentered(Layer.Words, new(middle.X, middle.Y + Size * 0.34), text, Size, weight, ink)
            );
            return true;
        }
    }
}
