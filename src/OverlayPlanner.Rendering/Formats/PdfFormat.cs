using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;
using PdfSharp.Drawing;
using PdfSharp.Fonts;
using PdfSharp.Pdf;
using PdfSharp.Pdf.Advanced;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// Writes drawings as the pages of a PDF. Lines and arcs are written as operators of our own, to 1e-5 pt; words go through
/// PDFsharp, which embeds the font.
/// </summary>
/// <remarks>
/// Each <see cref="Layer"/> is an optional content group (ISO 32000-1, 8.11) that a viewer can switch. The catalog asks
/// viewers not to scale (PrintScaling None, 12.2). The same drawings give the same bytes: dates, identifiers and font
/// prefixes follow from the content.
/// </remarks>
internal static class PdfFormat
{
    /// <summary>Farthest that a Bézier piece may leave its arc, points: 1/10,000 in.</summary>
    public const double CurveError = 0.0072;

    private const string FontName = "OverlayPlanner Hyperlegible";
    private static readonly Lock OneAtATime = new();

    /// <summary>The PDF of the pages.</summary>
    /// <param name="title">Shown by viewers as the window's title.</param>
    public static byte[] Write(IReadOnlyList<Drawing.Drawing> pages, string title, CancellationToken ct)
    {
        // PDFsharp keeps its fonts in shared tables.
        lock (OneAtATime)
        {
            GlobalFontSettings.FontResolver ??= new BundledFonts();
            using PdfDocument document = new();
            document.Info.Title = title;
            document.Info.Creator = "OverlayPlanner";
            document.ViewerPreferences.DisplayDocTitle = true;
            document.ViewerPreferences.Elements.SetName("/PrintScaling", "/None");
            document.Options.CompressContentStreams = true;
            document.Options.NoCompression = false;
            PdfReference[] groups = AddLayers(document);
            foreach (Drawing.Drawing drawing in pages)
            {
                ct.ThrowIfCancellationRequested();
                AddPage(document, drawing, groups);
            }

            using MemoryStream stream = new();
            document.Save(stream, closeStream: false);
            return PdfFinish.Finish(stream.ToArray());
        }
    }

    /// <summary>The cubic Bézier pieces of an arc: two control points and an end each.</summary>
    /// <remarks>
    /// Pieces of at most 45°, fewer where the radius asks for it. The radial error of the standard piece is
    /// (4/27) r sin⁶(θ/4) / cos²(θ/4) (Goldapp 1991), an excess only.
    /// </remarks>
    public static IEnumerable<(Point<PageSpace> C1, Point<PageSpace> C2, Point<PageSpace> End)> Curve(
        Edge<PageSpace> arc
    )
    {
        int n = (int)Math.Ceiling(Math.Abs(arc.Sweep) / (Math.PI / 4) - 1e-9);
        while (ErrorOf(arc.Radius, arc.Sweep / n) > CurveError)
        {
            n++;
        }

        double k = 4.0 / 3 * Math.Tan(Math.Abs(arc.Sweep) / n / 4) * arc.Radius;
        for (int i = 0; i < n; i++)
        {
            double t0 = (double)i / n;
            double t1 = (double)(i + 1) / n;
            Point<PageSpace> a = arc.PointAt(t0);
            Point<PageSpace> b = arc.PointAt(t1);
            yield return (a + arc.DirectionAt(t0) * k, b - arc.DirectionAt(t1) * k, b);
        }

        static double ErrorOf(double radius, double sweep) =>
            4.0 / 27 * radius * Math.Pow(Math.Sin(Math.Abs(sweep) / 4), 6) / Math.Pow(Math.Cos(sweep / 4), 2);
    }

    private static PdfReference[] AddLayers(PdfDocument document)
    {
        string[] names = ["Page", "Seams", "Route", "Numbers and marks", "Rulers and crosses", "Words"];
        PdfArray all = new(document);
        PdfReference[] groups = new PdfReference[names.Length];
        for (int i = 0; i < names.Length; i++)
        {
            PdfDictionary group = new(document);
            group.Elements.SetName("/Type", "/OCG");
            group.Elements.SetString("/Name", names[i]);
            document.Internals.AddObject(group);
            groups[i] = group.Reference!;
            all.Elements.Add(groups[i]);
        }

        PdfDictionary shown = new(document);
        shown.Elements["/Order"] = all.Clone();
        shown.Elements.SetName("/BaseState", "/ON");
        PdfDictionary properties = new(document);
        properties.Elements["/OCGs"] = all;
        properties.Elements["/D"] = shown;
        document.Internals.Catalog.Elements["/OCProperties"] = properties;
        return groups;
    }

    private static void AddPage(PdfDocument document, Drawing.Drawing drawing, PdfReference[] groups)
    {
        PdfPage page = document.AddPage();
        (double across, double down) = drawing.Stretch;
        page.Width = XUnit.FromPoint(drawing.Width * across);
        page.Height = XUnit.FromPoint(drawing.Height * down);
        bool stretched = across != 1 || down != 1;
        PdfDictionary names = new(document);
        foreach (IGrouping<Layer, DrawnItem> layer in drawing.Items.GroupBy(i => i.Layer).OrderBy(g => g.Key))
        {
            string name = string.Create(CultureInfo.InvariantCulture, $"/L{(int)layer.Key}");
            names.Elements[name] = groups[(int)layer.Key];
            StringBuilder lines = new($"/OC {name} BDC\n");
            lines.Append(stretched ? $"q {Number(across)} 0 0 {Number(down)} 0 0 cm\n" : "");
            WriteLines(lines, layer.Where(i => i is Stroke or Fill), drawing.Height);
            lines.Append(stretched ? "Q\n" : "");
            Append(page, lines.ToString());
            if (layer.Any(i => i is Words))
            {
                using XGraphics graphics = XGraphics.FromPdfPage(page, XGraphicsPdfPageOptions.Append);
                if (stretched)
                {
                    graphics.ScaleTransform(across, down);
                }

                foreach (Words words in layer.OfType<Words>())
                {
                    Write(graphics, words);
                }
            }

            Append(page, "EMC\n");
        }

        page.Resources.Elements["/Properties"] = names;
    }

    private static void Append(PdfPage page, string operators) =>
        page.Contents.AppendContent().CreateStream(Encoding.ASCII.GetBytes(operators));

    private static void Write(XGraphics graphics, Words words)
    {
        XFontStyleEx style = words.Weight == Weight.Bold ? XFontStyleEx.Bold : XFontStyleEx.Regular;
        XFont font = new(FontName, words.Size, style, new XPdfFontOptions(PdfFontEncoding.Unicode));
        XSolidBrush brush = new(XColor.FromArgb(words.Ink.Red, words.Ink.Green, words.Ink.Blue));
        XPoint at = new(words.At.X, words.At.Y);
        if (words.Quarters == 0)
        {
            graphics.DrawString(words.Text, font, brush, at, XStringFormats.BaseLineLeft);
            return;
        }

        XGraphicsState state = graphics.Save();
        graphics.RotateAtTransform(-90.0 * words.Quarters, at);
        graphics.DrawString(words.Text, font, brush, at, XStringFormats.BaseLineLeft);
        graphics.Restore(state);
    }

    private static void WriteLines(StringBuilder to, IEnumerable<DrawnItem> items, double height)
    {
        foreach (DrawnItem item in items)
        {
            to.Append("q\n");
            if (item is Stroke stroke)
            {
                to.Append(Numbers(stroke.Ink)).Append("RG ").Append(Number(stroke.Width)).Append(" w ");
                to.Append(stroke.RoundEnds ? "1 J 1 j " : "0 J 0 j ");
                if (stroke.Dash is { Count: > 0 } dash)
                {
                    to.Append('[').AppendJoin(' ', dash.Select(Number)).Append("] 0 d ");
                }

                to.Append('\n');
                WritePath(to, stroke.Path, height);
                to.Append("S\n");
            }
            else if (item is Fill fill)
            {
                to.Append(Numbers(fill.Ink)).Append("rg\n");
                WritePath(to, fill.Path, height);
                to.Append("f\n");
            }

            to.Append("Q\n");
        }
    }

    private static void WritePath(StringBuilder to, IReadOnlyList<Edge<PageSpace>> path, double height)
    {
        Point<PageSpace> start = default;
        Point<PageSpace> pen = new(double.NaN, double.NaN);
        for (int i = 0; i < path.Count; i++)
        {
            Edge<PageSpace> e = path[i];
            if (e.From != pen)
            {
                start = e.From;
                to.Append(At(e.From)).Append("m\n");
            }

            bool closes = !e.IsLine ? false : e.To == start && (i + 1 == path.Count || path[i + 1].From != e.To);
            if (closes)
            {
                to.Append("h\n");
            }
            else if (e.IsLine)
            {
                to.Append(At(e.To)).Append("l\n");
            }
            else
            {
                foreach ((Point<PageSpace> c1, Point<PageSpace> c2, Point<PageSpace> end) in Curve(e))
                {
                    to.Append(At(c1)).Append(At(c2)).Append(At(end)).Append("c\n");
                }
            }

            pen = closes ? new(double.NaN, double.NaN) : e.To;
        }

        string At(Point<PageSpace> p) => $"{Number(p.X)} {Number(height - p.Y)} ";
    }

    private static string Numbers(Ink ink) =>
        $"{Number(ink.Red / 255.0)} {Number(ink.Green / 255.0)} {Number(ink.Blue / 255.0)} ";

    private static string Number(double v) => Math.Round(v, 5).ToString("0.#####", CultureInfo.InvariantCulture);

    private sealed class BundledFonts : IFontResolver
    {
        public byte[] GetFont(string faceName) => Typeface.FileOf(faceName == "Bold" ? Weight.Bold : Weight.Regular);

        public FontResolverInfo ResolveTypeface(string familyName, bool bold, bool italic) =>
            new(bold ? "Bold" : "Regular");
    }
}
