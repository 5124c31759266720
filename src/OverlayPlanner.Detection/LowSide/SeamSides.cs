using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>Which patch lies left and right of each seam's way.</summary>
internal sealed class SeamSides
{
    private readonly Dictionary<string, Patch> left = [];
    private readonly Dictionary<string, Patch> right = [];

    /// <summary>Reads the rings of all patches. O(seams).</summary>
    public SeamSides(QuiltMap map)
    {
        foreach (Patch p in map.Patches)
        {
            // The outer ring runs clockwise as seen, the patch on its right; a hole's clockwise ring has the patch on its left.
            Walk(map, p, p.Seams, right, left);
            foreach (IReadOnlyList<string> hole in p.Holes)
            {
                Walk(map, p, hole, left, right);
            }
        }
    }

    /// <summary>The patch on the left of the way, or null outside the map.</summary>
    public Patch? LeftOf(Seam seam) => left.GetValueOrDefault(seam.Id);

    /// <summary>The patch on the right of the way, or null outside the map.</summary>
    public Patch? RightOf(Seam seam) => right.GetValueOrDefault(seam.Id);

    private static void Walk(
        QuiltMap map,
        Patch patch,
        IReadOnlyList<string> ring,
        Dictionary<string, Patch> along,
        Dictionary<string, Patch> against
    )
    {
        IReadOnlyList<Edge<ClothSpace>> edges = PatchFinder.RingOf(map, ring);
        for (int i = 0; i < ring.Count; i++)
        {
            Edge<ClothSpace> own = map.EdgeOf(map.SeamOf(ring[i]));
            bool same = edges[i].From == own.From && edges[i].Bulge == own.Bulge;
            (same ? along : against)[ring[i]] = patch;
        }
    }
}
