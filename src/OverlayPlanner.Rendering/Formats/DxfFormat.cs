using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Plotter;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// Writes pen paths as DXF of AutoCAD release 12 (AC1009): a POLYLINE for each path, arcs as its vertices' bulges, millimetres,
/// y up. The release has no unit of its own, so a comment says it.
/// </summary>
/// <remarks>
/// Group codes: AutoCAD Release 12 DXF reference, 1992. A vertex's bulge (42) is the tangent of a quarter of the arc's angle to
/// the next vertex, negative where it runs clockwise.
/// </remarks>
internal static class DxfFormat
{
    /// <summary>The file, ASCII.</summary>
    public static byte[] Write(IReadOnlyList<PenPath<PlotterSpace>> paths, double widthMm, double heightMm)
    {
        StringBuilder to = new();
        Group(999, "OverlayPlanner. Lengths are millimetres, y up, origin at the bottom left.");
        Section("HEADER");
        Group(9, "$ACADVER");
        Group(1, "AC1009");
        Group(9, "$EXTMIN");
        Group(10, "0");
        Group(20, "0");
        Group(9, "$EXTMAX");
        Group(10, Mm(widthMm));
        Group(20, Mm(heightMm));
        Group(0, "ENDSEC");
        Section("TABLES");
        Group(0, "TABLE");
        Group(2, "LTYPE");
        Group(70, "1");
        Group(0, "LTYPE");
        Group(2, "CONTINUOUS");
        Group(70, "0");
        Group(3, "Solid line");
        Group(72, "65");
        Group(73, "0");
        Group(40, "0");
        Group(0, "ENDTAB");
        Group(0, "TABLE");
        Group(2, "LAYER");
        Group(70, "2");
        foreach ((string layer, string color) in new[] { ("ROUTE", "7"), ("MARKS", "8") })
        {
            Group(0, "LAYER");
            Group(2, layer);
            Group(70, "0");
            Group(62, color);
            Group(6, "CONTINUOUS");
        }

        Group(0, "ENDTAB");
        Group(0, "ENDSEC");
        Section("ENTITIES");
        foreach (PenPath<PlotterSpace> path in paths)
        {
            string layer = path.IsMark ? "MARKS" : "ROUTE";
            if (path.Edges is [var only] && only.From == only.To)
            {
                Group(0, "POINT");
                Group(8, layer);
                Place(only.From);
                continue;
            }

            Group(0, "POLYLINE");
            Group(8, layer);
            Group(66, "1");
            Group(10, "0");
            Group(20, "0");
            Group(30, "0");
            Group(70, "0");
            foreach (Edge<PlotterSpace> e in path.Edges)
            {
                Vertex(e.From, e.Bulge);
            }

            Vertex(path.To, 0);
            Group(0, "SEQEND");
            Group(8, layer);

            void Vertex(Point<PlotterSpace> at, double bulge)
            {
                Group(0, "VERTEX");
                Group(8, layer);
                Place(at);
                if (bulge != 0)
                {
                    Group(42, bulge.ToString("0.############", CultureInfo.InvariantCulture));
                }
            }
        }

        Group(0, "ENDSEC");
        Group(0, "EOF");
        return Encoding.ASCII.GetBytes(to.ToString());

        void Section(string name)
        {
            Group(0, "SECTION");
            Group(2, name);
        }

        void Place(Point<PlotterSpace> p)
        {
            Group(10, Mm(p.X));
            Group(20, Mm(p.Y));
            Group(30, "0");
        }

        void Group(int code, string value) =>
            to.Append(code.ToString(CultureInfo.InvariantCulture).PadLeft(3))
                .Append("\r\n")
                .Append(value)
                .Append("\r\n");
    }

    private static string Mm(double mm)
    {
        double rounded = Math.Round(mm, 6);
        return (rounded == 0 ? 0 : rounded).ToString("0.0#####", CultureInfo.InvariantCulture);
    }
}
