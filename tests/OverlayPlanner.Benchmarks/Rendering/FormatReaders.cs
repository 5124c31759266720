using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Sheets;
using SkiaSharp;
using UglyToad.PdfPig;
using UglyToad.PdfPig.Core;
using UglyToad.PdfPig.Graphics;

namespace OverlayPlanner.Benchmarks.Rendering;

/// <summary>
/// What is drawn in each of the five formats, found by readers from outside: PdfPig, Skia's SVG paths, hp2xx, ezdxf, rs274. All in
/// millimetres; null where a reader is not installed.
/// </summary>
internal static partial class FormatReaders
{
    // A curve of 150 mm radius and a quarter turn strays 0.0003 mm from so many chords.
    private const int Pieces = 256;

    // The route's own lines on one large sheet: those of its width.
    public static Segment[] FromPdf(Route route, RouteCandidate candidate)
    {
        SheetWishes wishes = new() { Paper = PaperSize.Parse("24x24") };
        Similarity<PageSpace, ClothSpace> place = TraceSheets.Plan(route, candidate, wishes).Sheets[0].PageFromCloth;
        Point<PageSpace> zero = place.Apply(new Point<ClothSpace>(0, 0));
        using PdfDocument document = PdfDocument.Open(TraceSheets.Render(route, candidate, wishes).Bytes);
        UglyToad.PdfPig.Content.Page page = document.GetPage(1);
        List<Segment> drawn = [];
        foreach (
            PdfSubpath.IPathCommand command in page
                .Paths.Where(p => Math.Abs(p.LineWidth - 1.4) < 0.01)
                .SelectMany(p => p)
                .SelectMany(s => s.Commands)
        )
        {
            if (command is PdfSubpath.Line l)
            {
                drawn.Add(new(At(l.From.X, l.From.Y), At(l.To.X, l.To.Y)));
            }
            else if (command is PdfSubpath.CubicBezierCurve c)
            {
                drawn.AddRange(
                    Curve(t =>
                    {
                        double s = 1 - t;
                        double k0 = s * s * s;
                        double k1 = 3 * s * s * t;
                        double k2 = 3 * s * t * t;
                        double k3 = t * t * t;
                        return At(
                            k0 * c.StartPoint.X
                                + k1 * c.FirstControlPoint.X
                                + k2 * c.SecondControlPoint.X
                                + k3 * c.EndPoint.X,
                            k0 * c.StartPoint.Y
                                + k1 * c.FirstControlPoint.Y
                                + k2 * c.SecondControlPoint.Y
                                + k3 * c.EndPoint.Y
                        );
                    })
                );
            }
        }

        return [.. drawn];

        Point<PlotterSpace> At(double x, double y) =>
            new(
                Length.FromPoints(x - zero.X).Millimeters,
                Length.FromPoints((double)page.Height - y - zero.Y).Millimeters
            );
    }

    // A user unit is a millimetre, as the file's width and viewBox say. Skia turns arcs into conics, which are exact.
    public static Segment[] FromSvg(byte[] svg)
    {
        List<Segment> drawn = [];
        foreach (
            XElement element in XDocument
                .Parse(Encoding.UTF8.GetString(svg))
                .Descendants()
                .Where(e => e.Name.LocalName == "path")
        )
        {
            using SKPath path = SKPath.ParseSvgPathData(element.Attribute("d")!.Value);
            using SKPath.RawIterator verbs = path.CreateRawIterator();
            SKPoint[] p = new SKPoint[4];
            for (SKPathVerb verb = verbs.Next(p); verb != SKPathVerb.Done; verb = verbs.Next(p))
            {
                if (verb == SKPathVerb.Line)
                {
                    drawn.Add(new(new(p[0].X, p[0].Y), new(p[1].X, p[1].Y)));
                }
                else if (verb == SKPathVerb.Conic)
                {
                    double w = verbs.ConicWeight();
                    (SKPoint a, SKPoint b, SKPoint c) = (p[0], p[1], p[2]);
                    drawn.AddRange(
                        Curve(t =>
                        {
                            double k0 = (1 - t) * (1 - t);
                            double k1 = 2 * w * t * (1 - t);
                            double k2 = t * t;
                            double sum = k0 + k1 + k2;
                            return new((k0 * a.X + k1 * b.X + k2 * c.X) / sum, (k0 * a.Y + k1 * b.Y + k2 * c.Y) / sum);
                        })
                    );
                }
            }
        }

        return [.. drawn];
    }

    // hp2xx writes what it has read as lines in mm, from the lowest x and y that are drawn; the design reaches 0 on both.
    public static List<Segment>? FromHpgl(string file, string folder)
    {
        string said = Path.Combine(folder, "said.dxf");
        if (Ask("hp2xx", "-q", "-t", "-m", "dxf", "-f", said, file) is null)
        {
            return null;
        }

        string[] words = [.. File.ReadLines(said).Select(l => l.Trim())];
        List<Segment> drawn = [];
        for (int i = 0; i + 1 < words.Length; i += 2)
        {
            if (words[i] == "0" && words[i + 1] == "LINE")
            {
                Dictionary<string, double> groups = [];
                for (int k = i + 2; words[k] != "0"; k += 2)
                {
                    groups[words[k]] = double.TryParse(words[k + 1], CultureInfo.InvariantCulture, out double v)
                        ? v
                        : 0;
                }

                drawn.Add(new(new(groups["10"], groups["20"]), new(groups["11"], groups["21"])));
            }
        }

        return drawn;
    }

    public static IEnumerable<Segment>? FromDxf(string file, string folder)
    {
        string script = Path.Combine(folder, "read.py");
        File.WriteAllText(
            script,
            """
            import sys
            import ezdxf
            for p in ezdxf.readfile(sys.argv[1]).modelspace().query("POLYLINE"):
                for e in p.virtual_entities():
                    v = [e.dxf.start, e.dxf.end] if e.dxftype() == "LINE" else list(e.flattening(0.0005))
                    for a, b in zip(v, v[1:]):
                        print(repr(float(a.x)), repr(float(a.y)), repr(float(b.x)), repr(float(b.y)))
            """
        );
        string? said = new[] { "/usr/bin/python3", "python3" }
            .Select(python => Ask(python, script, file))
            .FirstOrDefault(s => s is { Length: > 0 } && !s.Contains("Error", StringComparison.Ordinal));
        return said
            ?.Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(line => line.Split(' ').Select(w => double.Parse(w, CultureInfo.InvariantCulture)).ToArray())
            .Select(n => new Segment(new(n[0], n[1]), new(n[2], n[3])));
    }

    public static List<Segment>? FromGcode(string file, string folder)
    {
        string said = Path.Combine(folder, "said.txt");
        string variables = Path.Combine(folder, "rs274.var");
        File.WriteAllText(variables, "\n");
        if (Ask("rs274", "-v", variables, "-t", "/dev/null", "-g", file, said) is null)
        {
            return null;
        }

        List<Segment> drawn = [];
        Point<PlotterSpace> pen = new(0, 0);
        foreach (Match match in Canonical().Matches(File.ReadAllText(said)))
        {
            double[] n =
            [
                .. match.Groups[2].Value.Split(',').Select(w => double.Parse(w, CultureInfo.InvariantCulture)),
            ];
            Point<PlotterSpace> to = new(n[0], n[1]);
            if (match.Groups[1].Value == "ARC_FEED")
            {
                Point<PlotterSpace> center = new(n[2], n[3]);
                double from = Math.Atan2(pen.Y - center.Y, pen.X - center.X);
                double sweep = (Math.Atan2(to.Y - center.Y, to.X - center.X) - from) * n[4];
                sweep = n[4] * (sweep <= 0 ? sweep + 2 * Math.PI : sweep);
                double radius = center.DistanceTo(pen);
                drawn.AddRange(
                    Curve(t =>
                        center
                        + new Vector<PlotterSpace>(Math.Cos(from + t * sweep), Math.Sin(from + t * sweep)) * radius
                    )
                );
            }
            else if (match.Groups[1].Value == "STRAIGHT_FEED")
            {
                drawn.Add(new(pen, to));
            }

            pen = to;
        }

        return drawn;
    }

    private static IEnumerable<Segment> Curve(Func<double, Point<PlotterSpace>> at) =>
        Enumerable.Range(0, Pieces).Select(i => new Segment(at((double)i / Pieces), at((i + 1.0) / Pieces)));

    private static string? Ask(string program, params string[] arguments)
    {
        try
        {
            using Process process = Process.Start(
                new ProcessStartInfo(program, arguments)
                {
                    UseShellExecute = false,
                    RedirectStandardOutput = true,
                    RedirectStandardError = true,
                }
            )!;
            Task<string> error = process.StandardError.ReadToEndAsync();
            string said = process.StandardOutput.ReadToEnd() + error.Result;
            process.WaitForExit();
            return said;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return null;
        }
    }

    [GeneratedRegex(@"(STRAIGHT_TRAVERSE|STRAIGHT_FEED|ARC_FEED)\(([^)]*)\)")]
    private static partial Regex Canonical();
}

/// <summary>A straight piece of what a reader found drawn, mm.</summary>
internal readonly record struct Segment(Point<PlotterSpace> From, Point<PlotterSpace> To);
