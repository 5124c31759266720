using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;

namespace OverlayPlanner.Routing;

/// <summary>Makes the centres of squares points of the map, for straight lines from corner to corner through them.</summary>
internal static class CenterPoints
{
    // A sewn square's sides differ by a few hundredths of their length, its corners by a few degrees.
    private const double SideShare = 0.06;
    private const double Turn = 0.08;

    /// <summary>The map with one more junction in each square patch, and the junction's id by the patch's.</summary>
    /// <param name="map">The map.</param>
    /// <param name="block">Only this block's patches, or all.</param>
    public static (QuiltMap Map, IReadOnlyDictionary<string, string> CenterOf) Add(QuiltMap map, string? block)
    {
        HashSet<string>? only = block is null ? null : [.. map.FindBlock(block)?.Patches ?? []];
        HashSet<string> taken = [.. map.Junctions.Select(j => j.Id)];
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        List<Junction> added = [];
        Dictionary<string, string> centerOf = [];
        int number = map.Junctions.Count;
        foreach (
            Patch p in map.Patches.Where(p => (only is null || only.Contains(p.Id)) && !p.Leave && p.Holes.Count == 0)
        )
        {
            if (PatchShape.Of(map, p, index) is not { } shape || !IsSquare(shape))
            {
                continue;
            }

            string id;
            do
            {
                number++;
                id = string.Create(CultureInfo.InvariantCulture, $"j{number}");
            } while (!taken.Add(id));

            // A measured square is no square: the mean of its corners lies where the eye sees its centre.
            Point<ClothSpace>[] corners = [.. shape.Corners.Select(v => map.Junctions[v].Place)];
            Point<ClothSpace> center = new(corners.Average(c => c.X), corners.Average(c => c.Y));
            double sigma = shape.Corners.Average(v => map.Junctions[v].At.Sigma.Inches) / 2;
            added.Add(new(id, new(center, Length.FromInches(sigma))));
            centerOf[p.Id] = id;
        }

        return (added.Count == 0 ? map : map.With(junctions: [.. map.Junctions, .. added]), centerOf);
    }

    private static bool IsSquare(PatchShape shape)
    {
        double most = shape.Sides.Max(s => s.Chord);
        return shape.Corners.Count == 4
            && shape.Sides.All(s => most - s.Chord <= SideShare * most && Math.Abs(s.RiseInside) < 0.02 * most)
            && shape.Angles.All(a => Math.Abs(a - Math.PI / 2) <= Turn);
    }
}
