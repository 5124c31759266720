using System.Globalization;
using System.Xml.Linq;
using OverlayPlanner.Geometry;
using SkiaSharp;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>Reads strokes out of an SVG drawing whose user unit is an inch of cloth.</summary>
/// <remarks>
/// Paths, polylines, polygons and lines, with the transforms of their groups; path data by Skia's parser. Fill, style, use,
/// clipping and style sheets are not looked at.
/// </remarks>
public static class SvgDrawing
{
    // Curves become points at most this far apart along the line, inches.
    private const float Pitch = 0.05f;

    /// <summary>The strokes, inches; a path with several pieces gives several strokes.</summary>
    /// <exception cref="FormatException">Path data, points or a transform can't be read.</exception>
    public static IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> Strokes(XDocument svg)
    {
        ArgumentNullException.ThrowIfNull(svg);
        List<IReadOnlyList<Point<ClothSpace>>> strokes = [];
        if (svg.Root is { } root)
        {
            Walk(root, SKMatrix.Identity, strokes);
        }

        return strokes;
    }

    private static void Walk(XElement element, SKMatrix outer, List<IReadOnlyList<Point<ClothSpace>>> strokes)
    {
        SKMatrix matrix = element.Attribute("transform") is { } t ? outer.PreConcat(Transform(t.Value)) : outer;
        switch (element.Name.LocalName)
        {
            case "path":
                string data = element.Attribute("d")?.Value ?? "";
                if (
                    data.Contains("nan", StringComparison.OrdinalIgnoreCase)
                    || data.Contains("inf", StringComparison.OrdinalIgnoreCase)
                )
                {
                    throw new FormatException("A path holds what is no number (NaN or infinity).");
                }

                using (
                    SKPath path =
                        SKPath.ParseSvgPathData(data) ?? throw new FormatException("The path data can't be read.")
                )
                {
                    AddPath(path, matrix, strokes);
                }

                break;
            case "polyline" or "polygon":
                List<double> numbers = Numbers(element.Attribute("points")?.Value ?? "");
                List<SKPoint> points = [];
                for (int i = 0; i + 1 < numbers.Count; i += 2)
                {
                    points.Add(new((float)numbers[i], (float)numbers[i + 1]));
                }

                if (points.Count > 0 && element.Name.LocalName == "polygon")
                {
                    points.Add(points[0]);
                }

                Add(points, matrix, strokes);
                break;
            case "line":
                Add([new(Number("x1"), Number("y1")), new(Number("x2"), Number("y2"))], matrix, strokes);
                break;
            case "defs" or "symbol" or "clipPath" or "mask" or "pattern" or "marker":
                return;
        }

        foreach (XElement child in element.Elements())
        {
            Walk(child, matrix, strokes);
        }

        float Number(string name) => element.Attribute(name) is { } a ? (float)Numbers(a.Value).FirstOrDefault() : 0;
    }

    private static void AddPath(SKPath path, SKMatrix matrix, List<IReadOnlyList<Point<ClothSpace>>> strokes)
    {
        using SKPathMeasure measure = new(path, forceClosed: false, resScale: 1000);
        do
        {
            float length = measure.Length;
            if (!float.IsFinite(length))
            {
                throw new FormatException("A path has no finite length.");
            }

            int n = Math.Clamp((int)Math.Ceiling(length / Pitch), 1, 100_000);
            List<SKPoint> points = [];
            for (int i = 0; i <= n; i++)
            {
                if (measure.GetPosition(length * i / n, out SKPoint p))
                {
                    points.Add(p);
                }
            }

            Add(points, matrix, strokes);
        } while (measure.NextContour());
    }

    private static void Add(List<SKPoint> points, SKMatrix matrix, List<IReadOnlyList<Point<ClothSpace>>> strokes)
    {
        if (points.Count > 0)
        {
            strokes.Add([.. points.Select(matrix.MapPoint).Select(p => new Point<ClothSpace>(p.X, p.Y))]);
        }
    }

    private static SKMatrix Transform(string text)
    {
        SKMatrix matrix = SKMatrix.Identity;
        foreach (string part in text.Split(')', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            int open = part.IndexOf('(', StringComparison.Ordinal);
            if (open < 0)
            {
                throw new FormatException("A transform can't be read.");
            }

            List<double> n = Numbers(part[(open + 1)..]);
            string name = part[..open].Trim(' ', ',', '\n', '\t', '\r');
            float At(int i, double otherwise) => (float)(i < n.Count ? n[i] : otherwise);
            SKMatrix step = name switch
            {
                "translate" => SKMatrix.CreateTranslation(At(0, 0), At(1, 0)),
                "scale" => SKMatrix.CreateScale(At(0, 1), At(1, At(0, 1))),
                "rotate" => SKMatrix.CreateRotationDegrees(At(0, 0), At(1, 0), At(2, 0)),
                "matrix" when n.Count == 6 => new(At(0, 1), At(2, 0), At(4, 0), At(1, 0), At(3, 1), At(5, 0), 0, 0, 1),
                _ => throw new FormatException("A transform can't be read."),
            };
            matrix = matrix.PreConcat(step);
        }

        return matrix;
    }

    private static List<double> Numbers(string text)
    {
        List<double> numbers = [];
        foreach (string word in text.Split([' ', ',', '\n', '\r', '\t'], StringSplitOptions.RemoveEmptyEntries))
        {
            if (
                !double.TryParse(word, NumberStyles.Float, CultureInfo.InvariantCulture, out double v)
                || !double.IsFinite(v)
            )
            {
                throw new FormatException($"\"{word}\" is no number.");
            }

            numbers.Add(v);
        }

        return numbers;
    }
}
