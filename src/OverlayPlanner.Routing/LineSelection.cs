using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing;

/// <summary>Which of a map's seams are stitched, and which of them are the outline.</summary>
internal sealed class LineSelection
{
    private LineSelection(
        QuiltMap map,
        IReadOnlyList<StitchLine> inner,
        IReadOnlyList<StitchLine> outline,
        IReadOnlyList<Patch> patches,
        IReadOnlyDictionary<string, string> blockOfPatch
    )
    {
        Map = map;
        Inner = inner;
        Outline = outline;
        Patches = patches;
        BlockOfPatch = blockOfPatch;
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        JunctionIndex = index;
    }

    public QuiltMap Map { get; }

    /// <summary>Seams of the roles seam and block.</summary>
    public IReadOnlyList<StitchLine> Inner { get; }

    /// <summary>Seams of the role edge that the wish takes in.</summary>
    public IReadOnlyList<StitchLine> Outline { get; }

    /// <summary>Patches of the block asked for, or all.</summary>
    public IReadOnlyList<Patch> Patches { get; }

    /// <summary>Block id of each patch that lies in one.</summary>
    public IReadOnlyDictionary<string, string> BlockOfPatch { get; }

    /// <summary>Ids of inner seams that are left unditched because they are pressed open.</summary>
    public IReadOnlySet<string> PressedOpen { get; init; } = new HashSet<string>();

    /// <summary>By patch id, the junction that was put at its centre, where that was asked for.</summary>
    public IReadOnlyDictionary<string, string> CenterOf { get; init; } = new Dictionary<string, string>();

    /// <summary>Index of each junction id.</summary>
    public IReadOnlyDictionary<string, int> JunctionIndex { get; }

    /// <summary>Chooses the seams.</summary>
    /// <exception cref="InputException">No such block.</exception>
    public static LineSelection Choose(
        QuiltMap map,
        string? blockId,
        OutlineChoice outline,
        IReadOnlyCollection<string>? pressedOpen = null,
        IReadOnlyDictionary<string, string>? centers = null
    )
    {
        HashSet<string> open = [.. pressedOpen ?? []];
        Dictionary<string, string> blockOfPatch = [];
        foreach (Block b in map.Blocks)
        {
            foreach (string p in b.Patches)
            {
                blockOfPatch.TryAdd(p, b.Id);
            }
        }

        Block? block = null;
        if (blockId is not null)
        {
            block =
                map.FindBlock(blockId)
                ?? throw new InputException(
                    $"The map has no block \"{blockId}\"",
                    "--block",
                    map.Blocks.Count == 0
                        ? "It has no blocks; plan the whole map."
                        : $"It has: {string.Join(", ", map.Blocks.Take(12).Select(b => b.Id))}{(map.Blocks.Count > 12 ? ", …" : "")}."
                );
            foreach (string p in block.Patches)
            {
                blockOfPatch[p] = block.Id;
            }
        }

        HashSet<string>? only = block is null ? null : [.. block.Patches];
        Patch[] patches = [.. map.Patches.Where(p => only is null || only.Contains(p.Id))];
        Dictionary<string, string?> blockOfSeam = [];
        foreach (Patch p in patches)
        {
            foreach (string s in p.Seams.Concat(p.Holes.SelectMany(h => h)))
            {
                string? b = blockOfPatch.GetValueOrDefault(p.Id);
                if (!blockOfSeam.TryGetValue(s, out string? known) || known is null)
                {
                    blockOfSeam[s] = b;
                }
            }
        }

        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        List<StitchLine> inner = [];
        List<StitchLine> frame = [];
        HashSet<string> left = [];
        foreach (Seam s in map.Seams)
        {
            if (block is not null && !blockOfSeam.ContainsKey(s.Id) && !LiesIn(map, s, block))
            {
                continue;
            }

            string? home = block?.Id ?? blockOfSeam.GetValueOrDefault(s.Id);
            StitchLine line = new(index[s.From], index[s.To], map.EdgeOf(s), MoveKind.Ditch, s.Id, home);
            if (s.Role != SeamRole.Edge && open.Contains(s.Id))
            {
                left.Add(s.Id);
            }
            else if (s.Role != SeamRole.Edge)
            {
                inner.Add(line);
            }
            else if (outline != OutlineChoice.None && s.Edge != EdgeKind.Cut)
            {
                frame.Add(line with { Kind = MoveKind.Frame, IsRaw = s.Edge == EdgeKind.Raw });
            }
        }

        return new(map, inner, frame, patches, blockOfPatch)
        {
            PressedOpen = left,
            CenterOf = centers ?? new Dictionary<string, string>(),
        };
    }

    /// <summary>The same with only those lines that are to be kept.</summary>
    public LineSelection Keeping(Func<StitchLine, bool> isKept) =>
        new(Map, [.. Inner.Where(isKept)], [.. Outline.Where(isKept)], Patches, BlockOfPatch);

    // A seam that dangles inside a block borders no patch ring of its own twice over; its middle decides.
    private static bool LiesIn(QuiltMap map, Seam s, Block block) =>
        s.Role == SeamRole.Seam && PatchFinder.IsInside(block.Corners, map.EdgeOf(s).PointAt(0.5));
}
