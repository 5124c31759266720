using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Plotter;

namespace OverlayPlanner.Rendering.Formats;

/// <summary>
/// Writes pen paths as G-code for pen machines: G21 G90 G17, millimetres, y up; G2 and G3 with the centre as I and J from the
/// arc's beginning.
/// </summary>
/// <remarks>
/// NIST RS274/NGC Interpreter version 3 (Kramer, Proctor and Messina 2000), 3.5.3: an arc's ends may lie at radii that differ by
/// 0.002 mm at most, which four decimals keep.
/// </remarks>
internal static class GcodeFormat
{
    // Controllers compute in 32 bits; a radius above this would lose the third decimal. Flatter arcs are drawn as chords.
    private const double LargestRadiusMm = 5_000;
    private const double ChordError = 0.002;

    /// <summary>The file, ASCII.</summary>
    public static byte[] Write(IReadOnlyList<PenPath<PlotterSpace>> paths, PlotterDevice device)
    {
        StringBuilder to = new();
        to.Append("(OverlayPlanner: millimetres, y up, origin at the bottom left)\n");
        to.Append("G21 G90 G17\n");
        Lift();
        foreach (PenPath<PlotterSpace> path in paths)
        {
            to.Append("G0 ").Append(At(path.From)).Append('\n');
            if (device.Lift == PenLift.Z)
            {
                to.Append($"G1 Z{Number(device.Down)} F{Number(device.FeedMmPerMinute)}\n");
            }
            else
            {
                // The servo needs a moment.
                to.Append($"M3 S{Number(device.Down)}\nG4 P0.2\n");
            }

            to.Append($"F{Number(device.FeedMmPerMinute)}\n");
            foreach (Edge<PlotterSpace> e in path.Edges)
            {
                if (e.From == e.To)
                {
                    continue;
                }

                if (e.IsLine || e.Radius > LargestRadiusMm)
                {
                    foreach (Point<PlotterSpace> p in e.Flatten(ChordError).Skip(1))
                    {
                        to.Append("G1 ").Append(At(p)).Append('\n');
                    }
                }
                else
                {
                    Vector<PlotterSpace> arm = e.Center - e.From;
                    to.Append(e.Bulge < 0 ? "G2 " : "G3 ").Append(At(e.To));
                    to.Append($" I{Number(arm.X)} J{Number(arm.Y)}\n");
                }
            }

            Lift();
        }

        to.Append("G0 X0 Y0\nM2\n");
        return Encoding.ASCII.GetBytes(to.ToString());

        void Lift() =>
            to.Append(device.Lift == PenLift.Z ? $"G0 Z{Number(device.Up)}\n" : $"M3 S{Number(device.Up)}\nG4 P0.2\n");
    }

    private static string At(Point<PlotterSpace> p) => $"X{Number(p.X)} Y{Number(p.Y)}";

    private static string Number(double v)
    {
        double rounded = Math.Round(v, 4);
        return (rounded == 0 ? 0 : rounded).ToString("0.####", CultureInfo.InvariantCulture);
    }
}
