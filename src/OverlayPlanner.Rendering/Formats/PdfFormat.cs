using System.Globalization;
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
    private static readonly byte[] EndOfLayer = new PdfOperators().Add("EMC\n").Packed();

    /// <summary>The PDF of the pages.</summary>
    /// <param name="title">Shown by viewers as the window's title.</param>
    public static byte[] Write(IReadOnlyList<Drawing.Drawing> pages, string title, CancellationToken ct)
    {
        PreparedLayer[][] prepared = new PreparedLayer[pages.Count][];
        Parallel.For(
            0,
            pages.Count,
            new ParallelOptions { CancellationToken = ct },
            i => prepared[i] = [.. Prepare(pages[i])]
        );

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
            for (int i = 0; i < pages.Count; i++)
            {
                ct.ThrowIfCancellationRequested();
                AddPage(document, pages[i], prepared[i], groups);
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

    private static IEnumerable<PreparedLayer> Prepare(Drawing.Drawing drawing)
    {
        (double across, double down) = drawing.Stretch;
        bool stretched = drawing.Stretch != (1, 1);
        foreach (IGrouping<Layer, DrawnItem> layer in drawing.Items.GroupBy(i => i.Layer).OrderBy(g => g.Key))
        {
            PdfOperators lines = new();
            lines.Add($"/OC {NameOf(layer.Key)} BDC\n");
            if (stretched)
            {
                lines.Add("q ").Add(across).Add("0 0 ").Add(down).Add("0 0 cm\n");
            }

            lines.AddLines(layer, drawing.Height).Add(stretched ? "Q\n" : "");
            yield return new(layer.Key, lines.Packed(), [.. layer.OfType<Words>()]);
        }
    }

    private static void AddPage(
        PdfDocument document,
        Drawing.Drawing drawing,
        PreparedLayer[] layers,
        PdfReference[] groups
    )
    {
        PdfPage page = document.AddPage();
        (double across, double down) = drawing.Stretch;
        page.Width = XUnit.FromPoint(drawing.Width * across);
        page.Height = XUnit.FromPoint(drawing.Height * down);
        PdfDictionary names = new(document);
        foreach (PreparedLayer layer in layers)
        {
            names.Elements[NameOf(layer.Layer)] = groups[(int)layer.Layer];
            Append(page, layer.Lines);
            if (layer.Words.Length > 0)
            {
                using XGraphics graphics = XGraphics.FromPdfPage(page, XGraphicsPdfPageOptions.Append);
                if (drawing.Stretch != (1, 1))
                {
                    graphics.ScaleTransform(across, down);
                }

                foreach (Words words in layer.Words)
                {
                    Write(graphics, words);
                }
            }

            Append(page, EndOfLayer);
        }

        page.Resources.Elements["/Properties"] = names;
    }

    private static string NameOf(Layer layer) => string.Create(CultureInfo.InvariantCulture, $"/L{(int)layer}");

    private static void Append(PdfPage page, byte[] packed)
    {
        PdfContent content = page.Contents.AppendContent();
        content.CreateStream(packed);
        content.Elements.SetName("/Filter", "/FlateDecode");
    }

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

    // One layer of a page: its lines packed, and its words, which PDFsharp sets.
    private sealed record PreparedLayer(Layer Layer, byte[] Lines, Words[] Words);

    private sealed class BundledFonts : IFontResolver
    {
        public byte[] GetFont(string faceName) => Typeface.FileOf(faceName == "Bold" ? Weight.Bold : Weight.Regular);

        public FontResolverInfo ResolveTypeface(string familyName, bool bold, bool italic) =>
            new(bold ? "Bold" : "Regular");
    }
}
