using System.Globalization;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Routing;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>The plotter's files read by programs from outside the project: ezdxf for DXF, hp2xx for HP-GL (Debian's both).</summary>
public class PlotterProgramsTests
{
    private const string SystemPython = "/usr/bin/python3";

    [Fact]
    public void Ezdxf_reads_the_dxf_without_an_error_and_finds_the_route_s_length()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock("ohio-star", 12, LineChoice.SeamsAndArcs);
        using OutsideReader.Folder folder = new();
        string dxf = folder.Write(
            "route.dxf",
            PlotterFile.Render(route, candidate, PlotterFormat.Dxf, PlotterMarks.None).Bytes
        );
        string script = folder.Write(
            "read.py",
            """
            import sys
            try:
                import ezdxf
                from ezdxf.math import bulge_to_arc
            except ImportError:
                print("absent"); sys.exit(0)
            doc = ezdxf.readfile(sys.argv[1])
            errors = len(doc.audit().errors)
            length = 0.0
            for p in doc.modelspace().query("POLYLINE"):
                for e in p.virtual_entities():
                    if e.dxftype() == "LINE":
                        length += (e.dxf.end - e.dxf.start).magnitude
                    else:
                        from math import radians
                        length += e.dxf.radius * radians((e.dxf.end_angle - e.dxf.start_angle) % 360)
            print(doc.dxfversion, errors, repr(length))
            """u8.ToArray()
        );

        // Debian's ezdxf belongs to the system's python, which need not be the first one on the path.
        (string output, int status) = File.Exists(SystemPython)
            ? OutsideReader.Run(SystemPython, script, dxf)
            : OutsideReader.Run("python3", script, dxf);
        if (output.StartsWith("absent", StringComparison.Ordinal))
        {
            (output, status) = OutsideReader.Run("python3", script, dxf);
        }

        Assert.SkipWhen(
            output.StartsWith("absent", StringComparison.Ordinal),
            "ezdxf is not installed (Debian: python3-ezdxf)."
        );
        Assert.True(status == 0, output);
        string[] words = output.Trim().Split('\n')[^1].Split(' ');
        Assert.Equal("AC1009", words[0]);
        Assert.Equal("0", words[1]);

        // The moves' lengths in mm; DXF's numbers are rounded to 1e-6 mm.
        double expected = candidate.AllMoves.Sum(m => m.Path.Length) * 25.4;
        Assert.Equal(expected, double.Parse(words[2], CultureInfo.InvariantCulture), 0.01);
    }

    [Fact]
    public void Hp2xx_draws_the_hp_gl_at_its_true_size()
    {
        (Route route, RouteCandidate candidate) = SheetReadingTests.PlanBlock("ohio-star", 6);
        using OutsideReader.Folder folder = new();
        string hpgl = folder.Write(
            "route.hpgl",
            PlotterFile.Render(route, candidate, PlotterFormat.Hpgl, PlotterMarks.None).Bytes
        );
        string eps = Path.Combine(folder.Path, "route.eps");

        (string output, int status) = OutsideReader.Run("hp2xx", "-t", "-m", "eps", "-f", eps, hpgl);

        Assert.True(status == 0, output);
        string[] box = File.ReadLines(eps)
            .First(l => l.StartsWith("%%BoundingBox:", StringComparison.Ordinal))
            .Split(' ', StringSplitOptions.RemoveEmptyEntries);
        double[] at = [.. box[1..].Select(w => double.Parse(w, CultureInfo.InvariantCulture))];

        // The route covers the block: 6 in are 432 pt; an EPS box is whole points outward, and the pen's width.
        Assert.Equal(432, at[2] - at[0], 4.0);
        Assert.Equal(432, at[3] - at[1], 4.0);
    }
}
