using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Plotter;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>Writes pen paths as HP-GL: absolute plotter units, 1016 to the inch unless the device says otherwise, y up.</summary>
/// <remarks>HP 7475A Interfacing and Programming Manual, 1984: IN, SP, PU, PD, PA, AA.</remarks>
internal static class HpglFormat
{
    // Readers with short buffers want short instructions.
    private const int PairsInOne = 20;

    /// <summary>The file, ASCII.</summary>
    public static byte[] Write(IReadOnlyList<PenPath<PlotterSpace>> paths, PlotterDevice device)
    {
        double unitsPerMm = device.UnitsPerInch / Length.MillimetersPerInch;
        StringBuilder to = new("IN;\n");
        int pen = 0;
        foreach (PenPath<PlotterSpace> path in paths)
        {
            int wanted = path.IsMark && device.Pens > 1 ? 2 : 1;
            if (wanted != pen)
            {
                pen = wanted;
                to.Append(CultureInfo.InvariantCulture, $"PU;SP{pen};\n");
            }

            to.Append("PU").Append(At(path.From)).Append(";\n");
            List<string> pairs = [];
            foreach (Edge<PlotterSpace> e in path.Edges)
            {
                if (e.IsLine || !device.Arcs)
                {
                    pairs.AddRange(e.Flatten(device.ChordErrorMm).Skip(1).Select(At));
                }
                else
                {
                    Flush();

                    // Bulge in the plotter's own axes: positive is anticlockwise, as AA's angle is. The pen comes from a
                    // rounded place to a rounded centre, so the true end follows as a point.
                    double degrees = e.Sweep * 180 / Math.PI;
                    to.Append("PD;AA").Append(At(e.Center)).Append(',');
                    to.Append(degrees.ToString("0.####", CultureInfo.InvariantCulture)).Append(";\n");
                    pairs.Add(At(e.To));
                }
            }

            Flush();

            void Flush()
            {
                foreach (string[] some in pairs.Chunk(PairsInOne))
                {
                    to.Append("PD").AppendJoin(',', some).Append(";\n");
                }

                pairs.Clear();
            }
        }

        return Encoding.ASCII.GetBytes(to.Append("PU0,0;SP0;\n").ToString());

        string At(Point<PlotterSpace> p) =>
            string.Create(
                CultureInfo.InvariantCulture,
                $"{(long)Math.Round(p.X * unitsPerMm)},{(long)Math.Round(p.Y * unitsPerMm)}"
            );
    }
}
