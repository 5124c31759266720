using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Which seams are sides of blocks.</summary>
internal static class BlockSides
{
    // A measured side wanders by piecing error from the straight line between its corners.
    private const double OnSideInches = 0.2;
    private const double Parallel = 0.98;

    /// <summary>The role of a seam that is none of the outline's.</summary>
    public static SeamRole RoleOf(IReadOnlyList<Block> blocks, Edge<ClothSpace> path)
    {
        if (!path.IsLine || path.From == path.To)
        {
            return SeamRole.Seam;
        }

        foreach (Block b in blocks)
        {
            for (int i = 0; i < b.Corners.Count; i++)
            {
                if (RunsAlong(path, new(b.Corners[i], b.Corners[(i + 1) % b.Corners.Count])))
                {
                    return SeamRole.Block;
                }
            }
        }

        return SeamRole.Seam;
    }

    private static bool RunsAlong(Edge<ClothSpace> seam, Edge<ClothSpace> side) =>
        side.Bounds().Grown(OnSideInches).Holds(seam.From)
        && side.Nearest(seam.From).Distance <= OnSideInches
        && side.Nearest(seam.To).Distance <= OnSideInches
        && Math.Abs((seam.To - seam.From).Unit.Dot((side.To - side.From).Unit)) > Parallel;
}
