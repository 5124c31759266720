using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Rendering;

/// <summary>
/// The plotter's files read by strict readers of this test's own, written from the formats' published rules, against the route.
/// </summary>
public class PlotterFormatTests
{
    [Fact]
    public void A_line_is_these_hp_gl_bytes()
    {
        Route route = SampleRoutes.OfRectangle(2, 1);

        string hpgl = Text(route, PlotterFormat.Hpgl);

        // 2 × 1 in at 1016 to the inch, y up from the bottom left; round the rectangle from its top left.
        Assert.Equal("IN;\nPU;SP1;\nPU0,1016;\nPD2032,1016,2032,0,0,0,0,1016;\nPU0,0;SP0;\n", hpgl);
    }

    [Fact]
    public void A_line_is_these_g_code_bytes()
    {
        Route route = SampleRoutes.OfRectangle(2, 1);

        Assert.Equal(
            """
            (OverlayPlanner: millimetres, y up, origin at the bottom left)
            G21 G90 G17
            G0 Z5
            G0 X0 Y25.4
            G1 Z0 F1500
            F1500
            G1 X50.8 Y25.4
            G1 X50.8 Y0
            G1 X0 Y0
            G1 X0 Y25.4
            G0 Z5
            G0 X0 Y0
            M2

            """.ReplaceLineEndings("\n"),
            Text(route, PlotterFormat.Gcode)
        );
    }

    [Theory]
    [InlineData(PlotterFormat.Svg)]
    [InlineData(PlotterFormat.Hpgl)]
    [InlineData(PlotterFormat.Dxf)]
    [InlineData(PlotterFormat.Gcode)]
    public void A_closed_thread_far_from_the_pen_s_home_is_drawn_whole(PlotterFormat format)
    {
        // One closed thread, its nearest point 30 in from the origin: the search for the nearest path must still end.
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("square-in-a-square"),
            Length.FromInches(60),
            1,
            1,
            Length.Zero
        );
        Route route = RoutePlanner.Plan(map, new RouteWishes { Lines = LineChoice.Seams }).Route;

        RenderedFile file = PlotterFile.Render(route, route.Candidates[0], format, PlotterMarks.None);

        Assert.Equal(route.Candidates[0].Runs[0].Moves[0].Path.From, route.Candidates[0].Runs[0].Moves[^1].Path.To);
        Assert.True(file.Bytes.Length > 60);
    }

    [Fact]
    public void A_positive_bulge_is_G2_and_a_negative_dxf_bulge()
    {
        Route route = OneArc(0.5);

        Assert.Matches(
            "^G2 ",
            Lines(Text(route, PlotterFormat.Gcode))
                .Single(l =>
                    l.StartsWith("G2 ", StringComparison.Ordinal) || l.StartsWith("G3 ", StringComparison.Ordinal)
                )
        );
        Assert.Contains("\n 42\r\n-0.5\r\n", Text(route, PlotterFormat.Dxf), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(PlotterFormat.Hpgl, false)]
    [InlineData(PlotterFormat.Hpgl, true)]
    [InlineData(PlotterFormat.Dxf, false)]
    [InlineData(PlotterFormat.Gcode, false)]
    public void Every_place_of_the_route_is_drawn_within_a_fortieth_of_a_millimetre(PlotterFormat format, bool arcs)
    {
        foreach (string id in new[] { "drunkards-path", "ohio-star", "orange-peel", "bears-paw" })
        {
            Route route = SampleRoutes.OfBlock(id, 11.3, LineChoice.SeamsAndArcs);
            RouteCandidate candidate = route.Candidates[0];
            byte[] file = PlotterFile
                .Render(
                    route,
                    candidate,
                    new PlotterWishes
                    {
                        Format = format,
                        Device = new() { Arcs = arcs },
                    }
                )
                .Bytes;
            List<List<(double X, double Y)>> strokes = Read(format, Encoding.ASCII.GetString(file));

            // One stroke for each thread: the pen goes down no more often than the needle starts.
            Assert.Equal(candidate.Runs.Count(r => r.Moves.Count > 0), strokes.Count);
            double height = route.Quilt.Height.Millimeters;
            ((double X, double Y) A, (double X, double Y) B)[] drawn = [.. strokes.SelectMany(s => s.Zip(s.Skip(1)))];
            foreach (Move move in candidate.AllMoves)
            {
                for (int k = 0; k <= 16; k++)
                {
                    Point<ClothSpace> p = move.Path.PointAt(k / 16.0);
                    double off = drawn.Min(d => Distance(p.X * 25.4, height - p.Y * 25.4, d));

                    // Half a unit each way is 0.0177 mm, the chord 0.004.
                    Assert.True(off <= 0.0251, FormattableString.Invariant($"{id} {format}: {off} mm off"));
                }
            }
        }
    }

    [Fact]
    public void A_device_that_makes_no_sense_is_refused()
    {
        PlotterDevice usual = new();
        foreach (
            PlotterDevice device in new[]
            {
                usual with
                {
                    UnitsPerInch = 0,
                },
                usual with
                {
                    UnitsPerInch = double.NaN,
                },
                usual with
                {
                    Pens = 0,
                },
                usual with
                {
                    ChordErrorMm = -1,
                },
                usual with
                {
                    FeedMmPerMinute = 0,
                },
                usual with
                {
                    Up = -1,
                },
                usual with
                {
                    BedWidth = Length.FromInches(20),
                },
            }
        )
        {
            Assert.Throws<InputException>(() => device.Checked());
        }

        Assert.Throws<InputException>(() => PlotterDevice.Read("[]"u8, "plotter.json"));
        Assert.Equal(
            PenLift.Servo,
            PlotterDevice
                .Read(
                    """{"format":"overlayplanner.plotter","version":1,"lift":"servo","up":40,"down":90}"""u8,
                    "p.json"
                )
                .Lift
        );
    }

    [Fact]
    public void Panels_cover_the_whole_and_their_crosses_meet()
    {
        Route route = SampleRoutes.OfRectangle(40, 20);
        PlotterWishes wishes = new()
        {
            Format = PlotterFormat.Svg,
            Marks = true,
            Device = new() { BedWidth = Length.FromInches(18), BedHeight = Length.FromInches(24) },
        };

        IReadOnlyList<PlotterPanel> panels = PlotterFile.RenderPanels(route, route.Candidates[0], wishes);

        // ⌈(40 − 1) / (18 − 1)⌉ = 3 across, one down.
        Assert.Equal(3, panels.Count);
        Assert.Equal(40, panels[^1].Cloth.Right, 9);
        Assert.All(panels.Zip(panels.Skip(1)), p => Assert.True(p.First.Cloth.Right - p.Second.Cloth.Left >= 1 - 1e-9));
        Assert.All(panels, p => Assert.True(p.Cloth.Width <= 18 + 1e-9));
    }

    private static Route OneArc(double bulge)
    {
        Route round = SampleRoutes.OfRectangle(4, 4);
        Edge<ClothSpace> arc = new(new(0, 4), new(4, 4), bulge);
        RouteCandidate a = round.Candidates[0];
        return round with { Candidates = [a with { Runs = [new([new Move(MoveKind.Arc, arc, null, null)])] }] };
    }

    private static string Text(Route route, PlotterFormat format) =>
        Encoding.ASCII.GetString(PlotterFile.Render(route, route.Candidates[0], format, PlotterMarks.None).Bytes);

    private static IEnumerable<string> Lines(string text) => text.Split('\n', StringSplitOptions.RemoveEmptyEntries);

    private static double Distance(double x, double y, ((double X, double Y) A, (double X, double Y) B) s)
    {
        (double dx, double dy) = (s.B.X - s.A.X, s.B.Y - s.A.Y);
        double dd = dx * dx + dy * dy;
        double t = dd == 0 ? 0 : Math.Clamp(((x - s.A.X) * dx + (y - s.A.Y) * dy) / dd, 0, 1);
        return Math.Sqrt(Math.Pow(s.A.X + t * dx - x, 2) + Math.Pow(s.A.Y + t * dy - y, 2));
    }

    private static List<List<(double X, double Y)>> Read(PlotterFormat format, string text) =>
        format switch
        {
            PlotterFormat.Hpgl => ReadHpgl(text),
            PlotterFormat.Dxf => ReadDxf(text),
            _ => ReadGcode(text),
        };

    private static List<List<(double X, double Y)>> ReadHpgl(string text)
    {
        List<List<(double X, double Y)>> strokes = [];
        (double X, double Y) pen = (0, 0);
        bool down = false;
        foreach (
            string word in text.Replace("\n", "", StringComparison.Ordinal)
                .Split(';', StringSplitOptions.RemoveEmptyEntries)
        )
        {
            double[] n = [.. word[2..].Split(',', StringSplitOptions.RemoveEmptyEntries).Select(Number)];
            switch (word[..2])
            {
                case "PU":
                    down = false;
                    pen = n.Length == 0 ? pen : (n[^2] / 40, n[^1] / 40);
                    break;
                case "PD":
                    if (!down)
                    {
                        strokes.Add([pen]);
                        down = true;
                    }

                    for (int i = 0; i < n.Length; i += 2)
                    {
                        pen = (n[i] / 40, n[i + 1] / 40);
                        strokes[^1].Add(pen);
                    }

                    break;
                case "AA":
                    Turn(strokes[^1], ref pen, (n[0] / 40, n[1] / 40), n[2] * Math.PI / 180);
                    break;
                default:
                    Assert.True(word is "IN" || word.StartsWith("SP", StringComparison.Ordinal), word);
                    break;
            }
        }

        return strokes;
    }

    private static List<List<(double X, double Y)>> ReadGcode(string text)
    {
        List<List<(double X, double Y)>> strokes = [];
        (double X, double Y) pen = (0, 0);
        foreach (string line in Lines(text))
        {
            Dictionary<char, double> w = [];
            foreach (Match m in Regex.Matches(Regex.Replace(line, @"\(.*\)", ""), @"([A-Z])(-?[\d.]+)"))
            {
                w[m.Groups[1].Value[0]] = Number(m.Groups[2].Value);
            }

            if (w.TryGetValue('Z', out double z) && z <= 0)
            {
                strokes.Add([pen]);
            }

            if (!w.ContainsKey('X'))
            {
                continue;
            }

            (double X, double Y) to = (w['X'], w['Y']);
            if (w['G'] is 2 or 3)
            {
                (double X, double Y) c = (pen.X + w['I'], pen.Y + w['J']);
                double a = Math.Atan2(pen.Y - c.Y, pen.X - c.X);
                double b = Math.Atan2(to.Y - c.Y, to.X - c.X);
                double turn =
                    w['G'] == 3 ? (b - a + 4 * Math.PI) % (2 * Math.PI) : -((a - b + 4 * Math.PI) % (2 * Math.PI));

                // RS-274: both ends at one radius, within 0.002 mm.
                Assert.Equal(
                    Math.Sqrt(Math.Pow(pen.X - c.X, 2) + Math.Pow(pen.Y - c.Y, 2)),
                    Math.Sqrt(Math.Pow(to.X - c.X, 2) + Math.Pow(to.Y - c.Y, 2)),
                    0.002
                );
                Turn(strokes[^1], ref pen, c, turn);
            }

            pen = to;
            if (w['G'] != 0)
            {
                strokes[^1].Add(pen);
            }
        }

        return strokes;
    }

    private static List<List<(double X, double Y)>> ReadDxf(string text)
    {
        string[] lines = text.Split("\r\n");
        List<List<(double X, double Y)>> strokes = [];
        List<(double X, double Y, double Bulge)> vertices = [];
        string entity = "";
        for (int i = 0; i + 1 < lines.Length; i += 2)
        {
            int code = int.Parse(lines[i], CultureInfo.InvariantCulture);
            string value = lines[i + 1];
            if (code == 0)
            {
                entity = value;
                if (value == "VERTEX")
                {
                    vertices.Add(default);
                }
                else if (value == "SEQEND")
                {
                    List<(double X, double Y)> stroke = [(vertices[0].X, vertices[0].Y)];
                    for (int v = 1; v < vertices.Count; v++)
                    {
                        (double X, double Y) pen = (vertices[v - 1].X, vertices[v - 1].Y);
                        double bulge = vertices[v - 1].Bulge;
                        if (bulge != 0)
                        {
                            double dx = vertices[v].X - pen.X;
                            double dy = vertices[v].Y - pen.Y;
                            double k = (1 - bulge * bulge) / (4 * bulge);
                            Turn(
                                stroke,
                                ref pen,
                                (pen.X + dx / 2 - dy * k, pen.Y + dy / 2 + dx * k),
                                4 * Math.Atan(bulge)
                            );
                        }

                        stroke.Add((vertices[v].X, vertices[v].Y));
                    }

                    strokes.Add(stroke);
                    vertices.Clear();
                }
            }
            else if (entity == "VERTEX" && code is 10 or 20 or 42 && vertices.Count > 0)
            {
                (double X, double Y, double Bulge) v = vertices[^1];
                vertices[^1] = code switch
                {
                    10 => (Number(value), v.Y, v.Bulge),
                    20 => (v.X, Number(value), v.Bulge),
                    _ => (v.X, v.Y, Number(value)),
                };
            }
        }

        return strokes;
    }

    private static void Turn(
        List<(double X, double Y)> stroke,
        ref (double X, double Y) pen,
        (double X, double Y) c,
        double turn
    )
    {
        double r = Math.Sqrt(Math.Pow(pen.X - c.X, 2) + Math.Pow(pen.Y - c.Y, 2));
        double a = Math.Atan2(pen.Y - c.Y, pen.X - c.X);
        int n = 1 + (int)(Math.Abs(turn) * r / 0.1);
        for (int i = 1; i <= n; i++)
        {
            pen = (c.X + r * Math.Cos(a + turn * i / n), c.Y + r * Math.Sin(a + turn * i / n));
            stroke.Add(pen);
        }
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
