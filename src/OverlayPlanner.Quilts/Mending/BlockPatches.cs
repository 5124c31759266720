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
        HashSet<string> near =
        [
            .. map.Patches.Where(p =>
                    p.Seams.Any(s => box.Meets(map.EdgeOf(map.SeamOf(s)).Bounds()))
                )
                .Select(p => p.Id),
        ];
        Block entered = Enter(map, [block], near)[0];
        return [.. blocks.Select(b => b.Id == id ? entered : b)];
    }

    /// <summary>The blocks with those of the named patches whose inner point lies between their corners, in the map's order.</summary>
    public static IReadOnlyList<Block> Enter(QuiltMap map, IReadOnlyList<Block> blocks, IReadOnlySet<string> patches)
    {
        Dictionary<string, int> rank = map.Patches.Select((p, i) => (p.Id, i)).ToDictionary(p => p.Id, p => p.i);
        (string Id, Point<ClothSpace> Inner)[] inner =
        [
            .. map.Patches.Where(p => patches.Contains(p.Id)).Select(p => (p.Id, PatchFinder.InteriorPoint(map, p))),
        ];
        return
        [
            .. blocks.Select(b =>
            {
                Box<ClothSpace> box = Box<ClothSpace>.Around(b.Corners);
                string[] inside =
                [
                    .. inner
                        .Where(p => box.Holds(p.Inner) && PatchFinder.IsInside(b.Corners, p.Inner))
                        .Select(p => p.Id),
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
