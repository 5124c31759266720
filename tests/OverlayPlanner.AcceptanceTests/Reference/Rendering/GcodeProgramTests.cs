using System.Globalization;
using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Routing;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>
/// The G-code run by rs274, the stand-alone RS274/NGC interpreter that LinuxCNC drives its machines with (Debian:
/// linuxcnc-uspace). It says each motion as a canonical command (Kramer, Proctor and Messina 2000, chapter 4).
/// </summary>
public partial class GcodeProgramTests
{
    // rs274 prints four decimals, as we write: half of the last on either side.
    private const double Tolerance = 2e-4;

    [Theory]
    [InlineData("friendship-star", 9.7)]
    public void The_interpreter_draws_every_move_where_the_route_has_it(string id, double inches)
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock(id, inches, LineChoice.SeamsAndArcs);

        Motion[] drawn =
        [
            .. Run(PlotterFile.Render(route, candidate, PlotterFormat.Gcode, PlotterMarks.None).Bytes)
                .Where(m => m.IsFeed && m.To.Z == 0 && m.From != m.To && (m.From.X, m.From.Y) != (m.To.X, m.To.Y)),
        ];
        Move[] moves = [.. candidate.Runs.SelectMany(r => r.Moves)];
        double height = route.Quilt.Height.Millimeters;

        // An arc flatter than 5 m is written as chords; none of these blocks has one.
        Assert.Equal(moves.Length, drawn.Length);
        Assert.Contains(drawn, m => m.Center is not null);
        for (int i = 0; i < moves.Length; i++)
        {
            Edge<ClothSpace> path = moves[i].Path;
            Assert.Equal(path.To.X * Length.MillimetersPerInch, drawn[i].To.X, Tolerance);
            Assert.Equal(height - path.To.Y * Length.MillimetersPerInch, drawn[i].To.Y, Tolerance);
            Assert.Equal(path.IsLine, drawn[i].Center is null);
            if (drawn[i].Center is { } center)
            {
                // The arc's top, by the interpreter's centre and turn, against the route's own.
                Point<ClothSpace> top = path.PointAt(0.5);
                (double x, double y) = drawn[i].Middle(center);
                Assert.Equal(top.X * Length.MillimetersPerInch, x, 0.005);
                Assert.Equal(height - top.Y * Length.MillimetersPerInch, y, 0.005);
            }
        }
    }

    [Fact]
    public void An_arc_whose_ends_lie_on_two_circles_is_refused_so_silence_means_something()
    {
        string output = Say("G21 G90 G17\nG0 X0 Y0\nG1 X10 Y0 F100\nG2 X20 Y10 I0 J7\nM2\n"u8.ToArray());

        Assert.Contains("Radius", output, StringComparison.OrdinalIgnoreCase);
    }

    private static IEnumerable<Motion> Run(byte[] gcode)
    {
        string output = Say(gcode);
        Assert.Contains("PROGRAM_END()", output, StringComparison.Ordinal);
        Assert.Contains("USE_LENGTH_UNITS(CANON_UNITS_MM)", output, StringComparison.Ordinal);
        (double X, double Y, double Z) pen = (0, 0, 0);
        foreach (Match match in Canonical().Matches(output))
        {
            double[] n =
            [
                .. match.Groups[2].Value.Split(',').Select(w => double.Parse(w, CultureInfo.InvariantCulture)),
            ];
            bool arc = match.Groups[1].Value == "ARC_FEED";
            (double X, double Y, double Z) to = arc ? (n[0], n[1], n[5]) : (n[0], n[1], n[2]);
            yield return new(
                pen,
                to,
                match.Groups[1].Value != "STRAIGHT_TRAVERSE",
                arc ? (n[2], n[3]) : null,
                arc ? (int)n[4] : 0
            );
            pen = to;
        }
    }

    private static string Say(byte[] gcode)
    {
        using OutsideReader.Folder folder = new();
        string file = folder.Write("route.ngc", gcode);
        string variables = folder.Write("rs274.var", "\n"u8.ToArray());
        string tools = folder.Write("rs274.tbl", []);
        string said = Path.Combine(folder.Path, "said.txt");
        (string output, _) = OutsideReader.Run("rs274", "-v", variables, "-t", tools, "-g", file, said);
        return output + (File.Exists(said) ? File.ReadAllText(said) : "");
    }

    [GeneratedRegex(@"(STRAIGHT_TRAVERSE|STRAIGHT_FEED|ARC_FEED)\(([^)]*)\)")]
    private static partial Regex Canonical();

    /// <summary>One motion in mm, y up.</summary>
    /// <param name="Turn">1 for anticlockwise, −1 for clockwise, 0 for a line.</param>
    private sealed record Motion(
        (double X, double Y, double Z) From,
        (double X, double Y, double Z) To,
        bool IsFeed,
        (double X, double Y)? Center,
        int Turn
    )
    {
        /// <summary>Half way along the arc.</summary>
        public (double X, double Y) Middle((double X, double Y) center)
        {
            double from = Math.Atan2(From.Y - center.Y, From.X - center.X);
            double to = Math.Atan2(To.Y - center.Y, To.X - center.X);
            double sweep = (to - from) * Turn;
            sweep = sweep <= 0 ? sweep + 2 * Math.PI : sweep;
            double radius = Math.Sqrt(Math.Pow(From.X - center.X, 2) + Math.Pow(From.Y - center.Y, 2));
            double middle = from + Turn * sweep / 2;
            return (center.X + radius * Math.Cos(middle), center.Y + radius * Math.Sin(middle));
        }
    }
}
