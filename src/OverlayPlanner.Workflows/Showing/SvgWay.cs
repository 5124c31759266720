using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>
/// Lines and arcs as SVG path data with real arcs (W3C, SVG 1.1, 8.3.8), in cloth inches, whose y runs down as SVG's does.
/// </summary>
public static class SvgWay
{
    /// <summary>One edge as a path of its own: <c>M x y L x y</c> or <c>M x y A r r 0 large sweep x y</c>.</summary>
    public static string Of(Edge<ClothSpace> edge) => $"M{At(edge.From)}{To(edge)}";

    /// <summary>Edges as one path; an edge that begins where the last ended goes on from there.</summary>
    /// <exception cref="ArgumentNullException"><paramref name="edges"/> is null.</exception>
    public static string Of(IEnumerable<Edge<ClothSpace>> edges)
    {
        ArgumentNullException.ThrowIfNull(edges);
        System.Text.StringBuilder way = new();
        Point<ClothSpace>? last = null;
        foreach (Edge<ClothSpace> edge in edges)
        {
            if (last is not { } end || end != edge.From)
            {
                way.Append('M').Append(At(edge.From));
            }

            way.Append(To(edge));
            last = edge.To;
        }

        return way.ToString();
    }

    /// <summary>A number as SVG takes it, whatever the machine's language: at most four decimals of an inch.</summary>
    public static string Number(double value) => value.ToString("0.####", CultureInfo.InvariantCulture);

    private static string To(Edge<ClothSpace> edge)
    {
        if (edge.IsLine)
        {
            return "L" + At(edge.To);
        }

        string r = Number(edge.Radius);

        // A positive bulge bows to the left of travel as seen on the page: with y down that is SVG's positive-angle sweep.
        string large = Math.Abs(edge.Sweep) > Math.PI ? "1" : "0";
        string sweep = edge.Bulge > 0 ? "1" : "0";
        return $"A{r} {r} 0 {large} {sweep} {At(edge.To)}";
    }

    private static string At(Point<ClothSpace> p) => $"{Number(p.X)} {Number(p.Y)}";
}
