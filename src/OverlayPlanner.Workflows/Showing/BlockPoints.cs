using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>A point of a block where a thread may start or end.</summary>
/// <param name="Id">The point's id in the map.</param>
/// <param name="Place">Cloth inches.</param>
/// <param name="Words">Where it is in the block, in words.</param>
/// <param name="Across">Per cent of the block's picture from its left.</param>
/// <param name="Down">Per cent from its top.</param>
/// <param name="IsOnRight">True on the side where the next block of the row begins.</param>
public sealed record BlockPoint(
    string Id,
    Point<ClothSpace> Place,
    string Words,
    double Across,
    double Down,
    bool IsOnRight
);

/// <summary>A block drawn with its points.</summary>
/// <param name="View">The picture's place as SVG's viewBox takes it, cloth inches.</param>
/// <param name="Seams">SVG path data of its seams.</param>
/// <param name="Inches">The picture's longer side.</param>
/// <param name="Points">Its points, row by row from the top left.</param>
public sealed record BlockPoints(string View, string Seams, double Inches, IReadOnlyList<BlockPoint> Points)
{
    // As near to a block's side as a sewn point lies to it.
    private const double OnSide = 0.125;

    /// <summary>The points of a block.</summary>
    /// <returns>Null where the map has no such block, or nothing is sewn in it.</returns>
    public static BlockPoints? Of(QuiltMap map, string? block, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(words);
        if (block is null || map.FindBlock(block) is not { } own)
        {
            return null;
        }

        Seam[] seams =
        [
            .. own
                .Patches.Select(map.PatchOf)
                .SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h)))
                .Distinct()
                .Select(map.SeamOf),
        ];
        Junction[] junctions = [.. seams.SelectMany(s => new[] { s.From, s.To }).Distinct().Select(map.JunctionOf)];
        if (junctions.Length == 0)
        {
            return null;
        }

        double left = junctions.Min(j => j.Place.X);
        double top = junctions.Min(j => j.Place.Y);
        double side = Math.Max(junctions.Max(j => j.Place.X) - left, junctions.Max(j => j.Place.Y) - top);
        double edge = side * 0.06;
        double wide = side + 2 * edge;
        Edge<ClothSpace> right = new(own.Corners[1], own.Corners[2]);
        BlockPoint[] points =
        [
            .. junctions
                .OrderBy(j => Math.Round((j.Place.Y - top) * 4))
                .ThenBy(j => j.Place.X)
                .Select(
                    (j, i) =>
                        new BlockPoint(
                            j.Id,
                            j.Place,
                            string.Create(
                                CultureInfo.InvariantCulture,
                                $"point {i + 1}: {words.Say(Length.FromInches(j.Place.X - left))} across, {words.Say(Length.FromInches(j.Place.Y - top))} down"
                            ),
                            100 * (j.Place.X - left + edge) / wide,
                            100 * (j.Place.Y - top + edge) / wide,
                            right.Nearest(j.Place).Distance <= OnSide
                        )
                ),
        ];
        string view = string.Join(' ', new[] { left - edge, top - edge, wide, wide }.Select(SvgWay.Number));
        return new(view, SvgWay.Of(seams.Select(map.EdgeOf)), wide, points);
    }
}
