using System.Globalization;
using System.Text;
using System.Xml;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;
using SkiaSharp;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// Writes a drawing as SVG 1.1 in millimetres, y down; arcs are <c>A</c> commands, and each stroke is one path. Words are
/// outlines of the bundled font, so that they look alike on every machine; nothing that a plotter draws has any.
/// </summary>
internal static class SvgFormat
{
    private const double MillimetersPerPoint = Length.MillimetersPerInch / Length.PointsPerInch;

    /// <summary>The SVG, UTF-8 without a byte order mark.</summary>
    public static byte[] Write(Drawing.Drawing drawing)
    {
        string width = Mm(drawing.Width);
        string height = Mm(drawing.Height);
        using MemoryStream stream = new();
        XmlWriterSettings settings = new()
        {
            Indent = true,
            Encoding = new UTF8Encoding(false),
            NewLineChars = "\n",
        };
        using (XmlWriter xml = XmlWriter.Create(stream, settings))
        {
            xml.WriteStartElement("svg", "http://www.w3.org/2000/svg");
            xml.WriteAttributeString("version", "1.1");
            xml.WriteAttributeString("width", width + "mm");
            xml.WriteAttributeString("height", height + "mm");
            xml.WriteAttributeString("viewBox", $"0 0 {width} {height}");
            foreach (DrawnItem item in drawing.Items.OrderBy(i => i.Layer))
            {
                Write(xml, item);
            }

            xml.WriteEndElement();
        }

        stream.WriteByte((byte)'\n');
        return stream.ToArray();
    }

    private static void Write(XmlWriter xml, DrawnItem item)
    {
        switch (item)
        {
            case Stroke stroke:
                xml.WriteStartElement("path");
                xml.WriteAttributeString("fill", "none");
                xml.WriteAttributeString("stroke", stroke.Ink.Hex);
                WriteOpacity(xml, "stroke-opacity", stroke.Ink);
                xml.WriteAttributeString("stroke-width", Mm(stroke.Width));
                xml.WriteAttributeString("stroke-linecap", stroke.RoundEnds ? "round" : "butt");
                xml.WriteAttributeString("stroke-linejoin", stroke.RoundEnds ? "round" : "miter");
                if (stroke.Dash is { Count: > 0 } dash)
                {
                    xml.WriteAttributeString("stroke-dasharray", string.Join(' ', dash.Select(Mm)));
                }

                xml.WriteAttributeString("d", PathOf(stroke.Path, close: false));
                xml.WriteEndElement();
                break;
            case Fill fill:
                xml.WriteStartElement("path");
                xml.WriteAttributeString("fill", fill.Ink.Hex);
                WriteOpacity(xml, "fill-opacity", fill.Ink);
                xml.WriteAttributeString("d", PathOf(fill.Path, close: true));
                xml.WriteEndElement();
                break;
            case Words words:
                xml.WriteStartElement("path");
                xml.WriteAttributeString("aria-label", words.Text);
                xml.WriteAttributeString("fill", words.Ink.Hex);
                WriteOpacity(xml, "fill-opacity", words.Ink);
                xml.WriteAttributeString("d", OutlineOf(words));
                xml.WriteEndElement();
                break;
        }
    }

    private static void WriteOpacity(XmlWriter xml, string name, Ink ink)
    {
        if (ink.Alpha < byte.MaxValue)
        {
            xml.WriteAttributeString(name, (ink.Alpha / 255.0).ToString("0.###", CultureInfo.InvariantCulture));
        }
    }

    private static string OutlineOf(Words words)
    {
        using SKFont font = new(Typeface.SkiaOf(words.Weight), (float)words.Size)
        {
            Hinting = SKFontHinting.None,
            Subpixel = true,
        };
        using SKPath outline = font.GetTextPath(words.Text, new SKPoint(0, 0));
        SKMatrix place = SKMatrix
            .CreateScale((float)MillimetersPerPoint, (float)MillimetersPerPoint)
            .PreConcat(SKMatrix.CreateTranslation((float)words.At.X, (float)words.At.Y))
            .PreConcat(SKMatrix.CreateRotationDegrees(-90 * words.Quarters));
        outline.Transform(in place);
        return outline.ToSvgPathData();
    }

    private static string PathOf(IReadOnlyList<Edge<PageSpace>> edges, bool close)
    {
        StringBuilder d = new();
        Point<PageSpace> pen = new(double.NaN, double.NaN);
        foreach (Edge<PageSpace> e in edges)
        {
            if (e.From != pen)
            {
                d.Append(close && d.Length > 0 ? "Z" : "").Append($"M{At(e.From)}");
            }

            if (e.IsLine)
            {
                d.Append($"L{At(e.To)}");
            }
            else
            {
                // An arc that bows to the left of travel runs clockwise as seen (y down): SVG's positive angle, sweep 1.
                string radius = Mm(e.Radius);
                string large = Math.Abs(e.Bulge) > 1 ? "1" : "0";
                string sweep = e.Bulge > 0 ? "1" : "0";
                d.Append($"A{radius} {radius} 0 {large} {sweep} {At(e.To)}");
            }

            pen = e.To;
        }

        return d.Append(close ? "Z" : "").ToString();

        static string At(Point<PageSpace> p) => $"{Mm(p.X)} {Mm(p.Y)}";
    }

    // 1e-5 mm is far below what a pen holds, and keeps whole sixteenths of an inch exact.
    private static string Mm(double points)
    {
        double mm = Math.Round(points * MillimetersPerPoint, 5);
        return (mm == 0 ? 0 : mm).ToString("0.#####", CultureInfo.InvariantCulture);
    }
}
