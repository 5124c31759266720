using System.Globalization;
using System.Text.Json;
using System.Xml;
using System.Xml.Linq;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows;

/// <summary>Reads a path drawn by hand: JSON <c>[[[x,y],…],…]</c>, one list of points for each stroke, or SVG in inches.</summary>
public static class DrawnStrokes
{
    private const int MostPoints = 200_000;

    /// <summary>The strokes, inches on the cloth.</summary>
    /// <exception cref="InputException">Neither JSON of that shape nor SVG with a path; a number that is none.</exception>
    public static IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> Read(ReadOnlyMemory<byte> bytes, string name)
    {
        string text = System.Text.Encoding.UTF8.GetString(bytes.Span).TrimStart('\uFEFF').TrimStart();
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes = text.StartsWith('<')
            ? ReadSvg(text, name)
            : ReadJson(text, name);
        int points = strokes.Sum(s => s.Count);
        if (points == 0)
        {
            throw new InputException("The drawing holds no stroke", name, "Draw at least one line.");
        }

        if (points > MostPoints)
        {
            throw new InputException(
                "The drawing has more than 200,000 points",
                name,
                "Draw with fewer points, or thin them out."
            );
        }

        return strokes;
    }

    private static List<List<Point<ClothSpace>>> ReadJson(string text, string name)
    {
        try
        {
            using JsonDocument document = JsonDocument.Parse(text, new JsonDocumentOptions { MaxDepth = 8 });
            return
            [
                .. document
                    .RootElement.EnumerateArray()
                    .Select(stroke => stroke.EnumerateArray().Select(PointOf).ToList()),
            ];
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or FormatException)
        {
            throw new InputException(
                "The drawing is neither SVG nor a list of strokes",
                name,
                "Give [[[x,y],[x,y],…],…] in inches, one list for each stroke, or an SVG with paths.",
                e
            );
        }

        Point<ClothSpace> PointOf(JsonElement e)
        {
            Point<ClothSpace> p =
                e.ValueKind == JsonValueKind.Array && e.GetArrayLength() == 2
                    ? new(e[0].GetDouble(), e[1].GetDouble())
                    : throw new FormatException("A point is [x, y].");
            return p.IsFinite && Math.Abs(p.X) < 1e6 && Math.Abs(p.Y) < 1e6
                ? p
                : throw new FormatException("Not a place.");
        }
    }

    private static IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> ReadSvg(string text, string name)
    {
        try
        {
            XmlReaderSettings settings = new() { DtdProcessing = DtdProcessing.Ignore, XmlResolver = null };
            using XmlReader reader = XmlReader.Create(new StringReader(text), settings);
            return SvgDrawing.Strokes(XDocument.Load(reader));
        }
        catch (Exception e) when (e is XmlException or FormatException)
        {
            throw new InputException(
                e is FormatException
                    ? $"The SVG drawing can't be read: {e.Message.TrimEnd('.')}"
                    : "The SVG drawing can't be read",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{name}{(e is XmlException x ? $", line {x.LineNumber}" : "")}"
                ),
                "Give well-formed SVG whose user unit is an inch.",
                e
            );
        }
    }
}
