using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Quilts;

/// <summary>Small maps written by hand.</summary>
internal static class Maps
{
    /// <summary>A map of a size with points (id, x, y) and seams (id, from, to, bulge), patches not yet found.</summary>
    public static QuiltMap Of(
        double width,
        double height,
        IEnumerable<(string Id, double X, double Y)> points,
        IEnumerable<(string Id, string From, string To, double Bulge)> seams
    ) =>
        new(
            Length.FromInches(width),
            Length.FromInches(height),
            [
                .. points.Select(p => new Junction(
                    p.Id,
                    Estimate<Point<ClothSpace>>.Exact(new Point<ClothSpace>(p.X, p.Y))
                )),
            ],
            [.. seams.Select(s => new Seam(s.Id, s.From, s.To, s.Bulge))]
        );

    /// <summary>A square of side 4 with corners a, b, c, d clockwise from the top left, and more inside.</summary>
    public static QuiltMap Square(
        IEnumerable<(string Id, double X, double Y)>? points = null,
        IEnumerable<(string Id, string From, string To, double Bulge)>? seams = null
    ) =>
        Of(
            4,
            4,
            [("a", 0, 0), ("b", 4, 0), ("c", 4, 4), ("d", 0, 4), .. points ?? []],
            [
                ("top", "a", "b", 0),
                ("right", "b", "c", 0),
                ("bottom", "c", "d", 0),
                ("left", "d", "a", 0),
                .. seams ?? [],
            ]
        );

    /// <summary>The built map of a square of side <paramref name="side"/> with lines inside.</summary>
    public static QuiltMap Build(double side, double tolerance, params Edge<ClothSpace>[] lines) =>
        MapBuilder.Build(
            Length.FromInches(side),
            Length.FromInches(side),
            [.. lines.Select(l => new SeamLine(l))],
            [],
            Length.FromInches(tolerance)
        );

    /// <summary>A line from (x0, y0) to (x1, y1).</summary>
    public static Edge<ClothSpace> Line(double x0, double y0, double x1, double y1, double bulge = 0) =>
        new(new(x0, y0), new(x1, y1), bulge);

    /// <summary>Areas of the patches in order, holes taken out, square inches, arcs within 1e-5 in.</summary>
    public static double[] Areas(QuiltMap map) =>
        [.. map.Patches.Select(p => PatchFinder.ToPolygon(map, p, 1e-5).Area)];

    /// <summary>Asserts that every ring runs clockwise as seen, by the shoelace formula with y down.</summary>
    public static void AssertClockwise(QuiltMap map, IReadOnlyList<string> ring)
    {
        Point<ClothSpace>[] points = [.. PatchFinder.RingOf(map, ring).SelectMany(e => e.Flatten(1e-4).SkipLast(1))];
        double twice = 0;
        for (int i = 0; i < points.Length; i++)
        {
            Point<ClothSpace> next = points[(i + 1) % points.Length];
            twice += (points[i].X * next.Y) - (next.X * points[i].Y);
        }

        Assert.True(twice > 0, $"ring {string.Join(' ', ring)}: {twice.ToString(CultureInfo.InvariantCulture)}");
    }
}
