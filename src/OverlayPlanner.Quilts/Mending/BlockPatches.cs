using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Which patches lie in which block, for some of them alone.</summary>
internal static class BlockPatches
{
    /// <summary>The blocks, the one with this id with the patches whose inner point lies between its corners.</summary>
    public static IReadOnlyList<Block> Enter(QuiltMap map, IReadOnlyList<Block> blocks, string id)
    {
        Block block = blocks.First(b => b.Id == id);
        Box<ClothSpace> box = Box<ClothSpace>.Around(block.Corners);
        Dictionary<string, Point<ClothSpace>> inner = map
            .Patches.Where(p => p.Seams.Any(s => box.Meets(map.EdgeOf(map.SeamOf(s)).Bounds())))
            .ToDictionary(p => p.Id, p => PatchFinder.InteriorPoint(map, p));
        Block entered = Enter(map.Patches, [block], inner)[0];
        return [.. blocks.Select(b => b.Id == id ? entered : b)];
    }

    /// <summary>The blocks with those patches whose inner point lies between their corners, in the list's order.</summary>
    /// <param name="patches">All patches.</param>
    /// <param name="blocks">The blocks, without the patches that are to be entered.</param>
    /// <param name="inner">A place well inside each patch that is to be entered.</param>
    public static IReadOnlyList<Block> Enter(
        IReadOnlyList<Patch> patches,
        IReadOnlyList<Block> blocks,
        IReadOnlyDictionary<string, Point<ClothSpace>> inner
    )
    {
        if (blocks.Count == 0 || inner.Count == 0)
        {
            return blocks;
        }

        Dictionary<string, int> rank = new(patches.Count);
        for (int i = 0; i < patches.Count; i++)
        {
            rank[patches[i].Id] = i;
        }

        return
        [
            .. blocks.Select(b =>
            {
                Box<ClothSpace> box = Box<ClothSpace>.Around(b.Corners);
                string[] inside =
                [
                    .. inner
                        .Where(p => box.Holds(p.Value) && PatchFinder.IsInside(b.Corners, p.Value))
                        .Select(p => p.Key),
                ];
                return inside.Length == 0
                    ? b
                    : b with
                    {
                        Patches = [.. b.Patches.Concat(inside).Distinct().OrderBy(p => rank[p])],
                    };
            }),
        ];
    }
}
