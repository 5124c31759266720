using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Puts blocks into a map and tells which seams are their sides.</summary>
internal static class BlockRoles
{
    // A measured side wanders by piecing error from the straight line between its corners.
    private const double OnSideInches = 0.2;

    /// <summary>The map with the blocks, their patches, and the role block along their sides.</summary>
    public static QuiltMap Give(QuiltMap map, IReadOnlyList<Block> blocks)
    {
        Edge<ClothSpace>[] sides =
        [
            .. blocks.SelectMany(b =>
                Enumerable.Range(0, 4).Select(i => new Edge<ClothSpace>(b.Corners[i], b.Corners[(i + 1) % 4]))
            ),
        ];
        Seam[] seams =
        [
            .. map.Seams.Select(s =>
                s.Role == SeamRole.Seam && s.Bulge == 0 && Array.Exists(sides, side => RunsAlong(map.EdgeOf(s), side))
                    ? s with
                    {
                        Role = SeamRole.Block,
                    }
                    : s
            ),
        ];
        QuiltMap roled = map.With(seams: seams);
        return roled.With(blocks: PatchFinder.Assign(roled, blocks));
    }

    private static bool RunsAlong(Edge<ClothSpace> seam, Edge<ClothSpace> side) =>
        side.Nearest(seam.From).Distance <= OnSideInches
        && side.Nearest(seam.To).Distance <= OnSideInches
        && Math.Abs((seam.To - seam.From).Unit.Dot((side.To - side.From).Unit)) > 0.98;
}
