using System.Globalization;
using System.Text;
using System.Xml;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// Writes a drawing as SVG 1.1 in millimetres, y down; arcs are <c>A</c> commands, and each stroke is one path. Words are left
/// to the reader's fonts, so nothing that a plotter draws uses them.
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
                xml.WriteAttributeString("d", PathOf(fill.Path, close: true));
                xml.WriteEndElement();
                break;
            case Words words:
                xml.WriteStartElement("text");
                xml.WriteAttributeString("x", Mm(words.At.X));
                xml.WriteAttributeString("y", Mm(words.At.Y));
                xml.WriteAttributeString("font-family", "Atkinson Hyperlegible, sans-serif");
                xml.WriteAttributeString("font-size", Mm(words.Size));
                xml.WriteAttributeString("font-weight", words.Weight == Weight.Bold ? "700" : "400");
                xml.WriteAttributeString("fill", words.Ink.Hex);
                if (words.Quarters != 0)
                {
                    xml.WriteAttributeString(
                        "transform",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"rotate({-90 * words.Quarters} {Mm(words.At.X)} {Mm(words.At.Y)})"
                        )
                    );
                }

                xml.WriteString(words.Text);
                xml.WriteEndElement();
                break;
        }
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
