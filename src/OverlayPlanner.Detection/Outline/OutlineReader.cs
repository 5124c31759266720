using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Outline;

/// <summary>Tells for each side of the mapped area whether a seam runs there, the top ends there, or only the map does.</summary>
/// <remarks>
/// A top that lies on something throws a soft shadow, so beyond a raw edge it is darker close by than farther off; at a seam the
/// cloth changes without that; where only the map ends, the cloth goes on as it was. Known limit: light that falls along a side
/// throws no shadow over it, and a raw edge then passes for a seam; a side whose look fits none keeps what is usual.
/// </remarks>
public static class OutlineReader
{
    // Over 100 sides of made tops: shadows of raw edges 0.24 and more, of seams 0.15 at most.
    private const double LeastShadow = 0.19;
    private const double MostShadowError = 0.05;
    private const double SeamFrom = 0.4;
    private const double CutTo = 0.25;
    private const double ClearLine = 2;

    private static readonly string[] Names = ["top", "right", "bottom", "left"];

    /// <summary>The map with each outline seam's kind, and a finding that says which side was taken as what.</summary>
    /// <param name="map">The map; its outline is a rectangle from the origin.</param>
    /// <param name="rectified">The cloth from above.</param>
    /// <param name="margin">Cloth that the picture shows beyond the mapped area on each side; under 0.3 in nothing is told.</param>
    /// <param name="usual">What a side is taken as where the picture does not show it.</param>
    public static (QuiltMap Map, Finding Finding) Read(QuiltMap map, Picture rectified, Length margin, EdgeKind usual)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(rectified);
        double w = map.Width.Inches;
        double h = map.Height.Inches;
        (Point<ClothSpace> From, Point<ClothSpace> To, Vector<ClothSpace> Out)[] sides =
        [
            (new(0, 0), new(w, 0), new(0, -1)),
            (new(w, 0), new(w, h), new(1, 0)),
            (new(w, h), new(0, h), new(0, 1)),
            (new(0, h), new(0, 0), new(-1, 0)),
        ];
        EdgeKind?[] kinds = [.. sides.Select(s => KindOf(rectified, margin.Inches, s.From, s.To, s.Out))];
        Seam[] seams =
        [
            .. map.Seams.Select(s =>
            {
                if (s.Role != SeamRole.Edge)
                {
                    return s;
                }

                Point<ClothSpace> middle = map.EdgeOf(s).PointAt(0.5);
                int side = Enumerable
                    .Range(0, 4)
                    .MinBy(i => new Edge<ClothSpace>(sides[i].From, sides[i].To).Nearest(middle).Distance);
                return s with { Edge = kinds[side] ?? usual };
            }),
        ];
        string where = string.Join(
            ", ",
            Enumerable
                .Range(0, 4)
                .Select(i =>
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{Names[i]} {Words(kinds[i] ?? usual)}{(kinds[i] is null ? " (not seen, the usual)" : "")}"
                    )
                )
        );
        return (
            map.With(seams: seams),
            new("outline-sides", where, "Where that is not so, say it: --edge seam, raw or cut for all four sides.")
        );
    }

    private static EdgeKind? KindOf(
        Picture picture,
        double margin,
        Point<ClothSpace> from,
        Point<ClothSpace> to,
        Vector<ClothSpace> outward
    )
    {
        if (SideLook.Of(picture, margin, from, to, outward) is not { } look)
        {
            return null;
        }

        if (look.Shadow >= LeastShadow && look.ShadowError <= MostShadowError)
        {
            return EdgeKind.Raw;
        }

        if (look.StepShare >= SeamFrom)
        {
            return EdgeKind.Seam;
        }

        bool line = look.Line > ClearLine && look.Line > 4 * look.LineError;
        return look.StepShare > CutTo ? null
            : line ? EdgeKind.Seam
            : EdgeKind.Cut;
    }

    private static string Words(EdgeKind kind) =>
        kind switch
        {
            EdgeKind.Seam => "a seam",
            EdgeKind.Raw => "the raw edge",
            _ => "cut, the cloth goes on",
        };
}
