using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Rendering;

/// <summary>Routes for the drawing tests: planned on drafts, or made by hand where the numbers must be plain.</summary>
internal static class SampleRoutes
{
    public static Route OfBlock(
        string id,
        double inches,
        LineChoice lines = LineChoice.SeamsAndArcs,
        ThreadChoice thread = ThreadChoice.Free,
        int columns = 1,
        int rows = 1,
        double sash = 0
    ) =>
        RoutePlanner
            .Plan(
                BlockDrafting.Draft(
                    BlockLibrary.Find(id),
                    Length.FromInches(inches),
                    columns,
                    rows,
                    Length.FromInches(sash)
                ),
                new RouteWishes
                {
                    Lines = lines,
                    Thread = thread,
                    Candidates = 1,
                }
            )
            .Route;

    /// <summary>A plain rectangle of cloth, stitched once round.</summary>
    public static Route OfRectangle(double width, double height)
    {
        Point<ClothSpace>[] corners = [new(0, 0), new(width, 0), new(width, height), new(0, height)];
        Junction[] junctions =
        [
            .. corners.Select((c, i) => new Junction(Id("j", i), Estimate<Point<ClothSpace>>.Exact(c))),
        ];
        Seam[] seams =
        [
            .. Enumerable
                .Range(0, 4)
                .Select(i => new Seam(Id("s", i), Id("j", i), Id("j", (i + 1) % 4), 0, SeamRole.Edge)
                {
                    Edge = EdgeKind.Seam,
                }),
        ];
        QuiltMap map = new(Length.FromInches(width), Length.FromInches(height), junctions, seams);
        Move[] moves = [.. seams.Select(s => new Move(MoveKind.Frame, map.EdgeOf(s), s.Id, null))];
        Length round = Length.FromInches(2 * (width + height));
        return new(
            map,
            [
                new(
                    "A",
                    [new(moves)],
                    new(1, 0, Length.Zero, round, Length.Zero, Length.Zero, 4),
                    new([], 1, Length.Zero, true)
                ),
            ]
        );
    }

    private static string Id(string kind, int i) =>
        kind + i.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
