using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Finds what an edit names: by its id, or by its place where no id is given.</summary>
internal static class Spots
{
    /// <summary>How far a point or a seam may lie from the place that an edit gives, inches.</summary>
    public const double ReachInches = 3 / 8.0;

    // What has the id is taken before a neighbour that is hardly nearer.
    private const double PreferInches = 1 / 16.0;

    public static Junction Point(QuiltMap map, Spot spot) =>
        Require(spot, "point", FindPoint(map, spot), map.Junctions.Select(j => j.Id));

    public static Seam Seam(QuiltMap map, Spot spot) =>
        Require(spot, "seam", FindSeam(map, spot), map.Seams.Select(s => s.Id));

    public static Patch Patch(QuiltMap map, Spot spot) =>
        Require(spot, "patch", FindPatch(map, spot), map.Patches.Select(p => p.Id));

    public static Block Block(QuiltMap map, Spot spot) =>
        Require(spot, "block", FindBlock(map, spot), map.Blocks.Select(b => b.Id));

    /// <summary>The point with the id, or nearest to the place within reach where it has no id; null where there is none.</summary>
    public static Junction? FindPoint(QuiltMap map, Spot spot) =>
        spot.Id is { } id ? map.Junctions.FirstOrDefault(j => j.Id == id)
        : spot.At is { } at ? Nearest(map.Junctions, null, j => j.Id, j => j.Place.DistanceTo(at))
        : null;

    /// <summary>As <see cref="FindPoint"/>, for a seam.</summary>
    public static Seam? FindSeam(QuiltMap map, Spot spot) =>
        spot.Id is { } id ? map.FindSeam(id)
        : spot.At is { } at ? Nearest(map.Seams, null, s => s.Id, s => DistanceTo(map, s, at))
        : null;

    /// <summary>As <see cref="FindPoint"/>, for the patch that holds the place.</summary>
    public static Patch? FindPatch(QuiltMap map, Spot spot) =>
        spot.Id is { } id ? map.Patches.FirstOrDefault(p => p.Id == id)
        : spot.At is { } at ? PatchAt(map, at)
        : null;

    /// <summary>As <see cref="FindPoint"/>, for the block that holds the place.</summary>
    public static Block? FindBlock(QuiltMap map, Spot spot) =>
        spot.Id is { } id ? map.FindBlock(id)
        : spot.At is { } at ? BlockAt(map, at)
        : null;

    /// <summary>
    /// The nearest of its kind within reach of a place; the one with the id where it lies about as near; null where there is none.
    /// </summary>
    public static T? Nearest<T>(IEnumerable<T> items, string? id, Func<T, string> idOf, Func<T, double> distanceOf)
        where T : class
    {
        T? best = null;
        double least = double.PositiveInfinity;
        foreach (T item in items)
        {
            double d = distanceOf(item);
            if (d <= ReachInches)
            {
                d -= idOf(item) == id ? PreferInches : 0;
                (best, least) = d < least ? (item, d) : (best, least);
            }
        }

        return best;
    }

    /// <summary>Distance of a seam from a place; of two seams that meet there, the one whose middle is nearer.</summary>
    public static double DistanceTo(QuiltMap map, Seam seam, Point<ClothSpace> at)
    {
        Edge<ClothSpace> path = map.EdgeOf(seam);
        return path.Bounds().Grown(ReachInches).Holds(at)
            ? path.Nearest(at).Distance + 1e-3 * Math.Min(1, path.PointAt(0.5).DistanceTo(at))
            : double.PositiveInfinity;
    }

    public static Patch? PatchAt(QuiltMap map, Point<ClothSpace> at)
    {
        NetTopologySuite.Geometries.Point p = new(at.X, at.Y);
        return map
            .Patches.Where(q =>
                Box<ClothSpace>
                    .Around(
                        q.Seams.Select(s => map.EdgeOf(map.SeamOf(s)).Bounds())
                            .SelectMany(b => new Point<ClothSpace>[] { new(b.Left, b.Top), new(b.Right, b.Bottom) })
                    )
                    .Holds(at)
            )
            .FirstOrDefault(q => PatchFinder.ToPolygon(map, q, 0.01).Distance(p) == 0);
    }

    public static Block? BlockAt(QuiltMap map, Point<ClothSpace> at) =>
        map.Blocks.Where(b => PatchFinder.IsInside(b.Corners, at)).MinBy(b => MiddleOf(b).DistanceTo(at));

    /// <summary>The middle of a block's corners.</summary>
    public static Point<ClothSpace> MiddleOf(Block block) =>
        new(block.Corners.Average(c => c.X), block.Corners.Average(c => c.Y));

    /// <summary>1 where a way is meant as the edge runs, −1 where against it.</summary>
    public static int Along(Edge<ClothSpace> path, Vector<ClothSpace>? way) =>
        way is { } w && (path.To - path.From).Dot(w) < 0 ? -1 : 1;

    private static T Require<T>(Spot spot, string kind, T? found, IEnumerable<string> ids)
        where T : class
    {
        if (found is not null)
        {
            return found;
        }

        if (spot.Id is not { } id)
        {
            throw new InputException(
                $"There is no {kind} there",
                spot.At is { } p
                    ? string.Create(CultureInfo.InvariantCulture, $"({p.X:0.##}, {p.Y:0.##}) in")
                    : "the edit",
                $"Give the id of a {kind}, or a place on one."
            );
        }

        string[] near =
        [
            .. ids.OrderBy(o => Math.Abs(o.Length - id.Length) + o.Zip(id).Count(c => c.First != c.Second)).Take(3),
        ];
        throw new InputException(
            $"The map has no {kind} \"{id}\"",
            kind,
            near.Length > 0 ? $"Nearest: {string.Join(", ", near)}." : $"The map has no {kind} at all."
        );
    }
}
