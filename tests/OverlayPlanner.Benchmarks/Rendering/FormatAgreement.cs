using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Plotter;

namespace OverlayPlanner.Benchmarks.Rendering;

/// <summary>
/// One design written in every format and read back by readers from outside. At places along every move the nearest drawn point of
/// each format is taken; what is reported is the most that two of those lie apart, and the farthest that any format draws from the
/// design, mm.
/// </summary>
internal static class FormatAgreement
{
    private const double Allowed = 0.025;

    /// <summary>The rows; a reader that is not installed is named, and then the row is not met.</summary>
    public static IEnumerable<(string Case, string Number, string Target, bool Met)> Measure(Route route)
    {
        RouteCandidate candidate = route.Candidates[0];
        Edge<PlotterSpace>[] design = [.. candidate.AllMoves.Select(m => InMillimeters(m.Path))];
        Point<PlotterSpace>[] places =
        [
            .. design.SelectMany(e => Enumerable.Range(0, 9).Select(i => e.PointAt(i / 8.0))),
        ];
        (string Name, Segment[]? Drawn)[] formats = Read(route, candidate);
        string[] absent = [.. formats.Where(f => f.Drawn is null).Select(f => f.Name)];
        (string Name, Segment[] Drawn, Point<PlotterSpace>[] Feet)[] read =
        [
            .. formats
                .Where(f => f.Drawn is not null)
                .Select(f => (f.Name, f.Drawn!, places.Select(p => Foot(f.Drawn!, p)).ToArray())),
        ];
        double apart = 0;
        string pair = "";
        for (int a = 0; a < read.Length; a++)
        {
            for (int b = a + 1; b < read.Length; b++)
            {
                double worst = read[a].Feet.Zip(read[b].Feet, (p, q) => p.DistanceTo(q)).Max();
                if (worst >= apart)
                {
                    (apart, pair) = (worst, $"{read[a].Name}, {read[b].Name}");
                }
            }
        }

        string without = absent.Length == 0 ? "" : $"; not installed here: {string.Join(", ", absent)}";
        yield return (
            string.Create(
                CultureInfo.InvariantCulture,
                $"one design in {string.Join(", ", formats.Select(f => f.Name))}: most that two are apart at {places.Length} places"
            ),
            string.Create(CultureInfo.InvariantCulture, $"{apart:0.0000} mm ({pair}){without}"),
            "≤ 0.025 mm",
            absent.Length == 0 && apart <= Allowed
        );

        // Nearest points alone would not see a line too many.
        (string Name, double Stray)[] strays =
        [
            .. read.Select(f =>
                (
                    f.Name,
                    f.Drawn.SelectMany(s => new[] { s.From, s.To }).Max(p => design.Min(e => e.Nearest(p).Distance))
                )
            ),
        ];
        (string farthest, double stray) = strays.MaxBy(s => s.Stray);
        yield return (
            "the same: farthest that any of them draws from the design",
            string.Create(CultureInfo.InvariantCulture, $"{stray:0.0000} mm ({farthest}){without}"),
            "≤ 0.025 mm",
            absent.Length == 0 && stray <= Allowed
        );
    }

    private static (string Name, Segment[]? Drawn)[] Read(Route route, RouteCandidate candidate)
    {
        double height = route.Quilt.Height.Millimeters;
        string folder = Directory.CreateTempSubdirectory("overlayplanner-formats-").FullName;
        try
        {
            return
            [
                ("PDF by PdfPig", FormatReaders.FromPdf(route, candidate)),
                ("SVG by Skia", FormatReaders.FromSvg(Bytes(PlotterFormat.Svg))),
                ("HP-GL by hp2xx", Flipped(FormatReaders.FromHpgl(Keep("route.hpgl", PlotterFormat.Hpgl), folder))),
                ("DXF by ezdxf", Flipped(FormatReaders.FromDxf(Keep("route.dxf", PlotterFormat.Dxf), folder))),
                ("G-code by rs274", Flipped(FormatReaders.FromGcode(Keep("route.ngc", PlotterFormat.Gcode), folder))),
            ];
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }

        byte[] Bytes(PlotterFormat format) => PlotterFile.Render(route, candidate, format, PlotterMarks.None).Bytes;

        string Keep(string name, PlotterFormat format)
        {
            string path = Path.Combine(folder, name);
            File.WriteAllBytes(path, Bytes(format));
            return path;
        }

        // Plotters' y runs upward from the bottom.
        Segment[]? Flipped(IEnumerable<Segment>? drawn) =>
            drawn?.Select(s => new Segment(new(s.From.X, height - s.From.Y), new(s.To.X, height - s.To.Y))).ToArray();
    }

    private static Edge<PlotterSpace> InMillimeters(Edge<ClothSpace> e) =>
        new(
            new(e.From.X * Length.MillimetersPerInch, e.From.Y * Length.MillimetersPerInch),
            new(e.To.X * Length.MillimetersPerInch, e.To.Y * Length.MillimetersPerInch),
            e.Bulge
        );

    private static Point<PlotterSpace> Foot(Segment[] drawn, Point<PlotterSpace> p)
    {
        Point<PlotterSpace> best = default;
        double least = double.PositiveInfinity;
        foreach (Segment s in drawn)
        {
            Vector<PlotterSpace> d = s.To - s.From;
            double dd = d.Dot(d);
            Point<PlotterSpace> foot = s.From + d * (dd == 0 ? 0 : Math.Clamp((p - s.From).Dot(d) / dd, 0, 1));
            if (foot.DistanceTo(p) < least)
            {
                (best, least) = (foot, foot.DistanceTo(p));
            }
        }

        return best;
    }
}
