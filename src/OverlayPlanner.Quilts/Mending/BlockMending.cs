using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Edits of whole blocks.</summary>
internal static class BlockMending
{
    private const double SnapInches = 0.125;

    // In a small block an eighth of an inch is a patch.
    private const double SnapOfSide = 0.02;

    public static MendedMap Name(QuiltMap map, NameBlock edit)
    {
        Block block = Spots.Block(map, edit.Block);
        string? pattern = edit.Pattern is { } name ? BlockLibrary.Find(name).Id : null;
        bool other = pattern != block.Pattern;
        string? called = pattern is null ? edit.Called : null;
        Block named = block with
        {
            Pattern = pattern,
            Called = called,
            Turn = edit.Turn ?? (other ? 0 : block.Turn),
            Mirror = edit.Mirror ?? (!other && block.Mirror),
        };
        return new(
            map.With(blocks: [.. map.Blocks.Select(b => b == block ? named : b)]),
            edit with
            {
                Block = SpotOf(block, edit.Block),
                Pattern = pattern,
                Called = called,
                Turn = named.Turn,
                Mirror = named.Mirror,
            },
            []
        );
    }

    public static MendedMap SetCorners(QuiltMap map, SetCorners edit)
    {
        Block block = Spots.Block(map, edit.Block);
        Block set = block with { Corners = [.. edit.Corners], Patches = [] };
        Block[] blocks = [.. map.Blocks.Select(b => b == block ? set : b)];
        QuiltMap roled = map.With(seams: Roled(map, blocks, [block, set]), blocks: blocks);
        return new(
            roled.With(blocks: BlockPatches.Enter(roled, blocks, set.Id)),
            edit with
            {
                Block = SpotOf(block, edit.Block),
            },
            []
        );
    }

    public static MendedMap Add(QuiltMap map, AddBlock edit)
    {
        FreshIds ids = new(map);
        string id = edit.Block is { } wished && !ids.IsTaken(wished) ? ids.Take(wished) : ids.Next("b");
        Block block = new(id, [.. edit.Corners])
        {
            Pattern = edit.Pattern is { } name ? BlockLibrary.Find(name).Id : null,
            Turn = edit.Turn,
            Mirror = edit.Mirror,
        };
        QuiltMap drawn = map;
        if (edit.Seams == BlockSeams.Draw)
        {
            LooseMap loose = new(map);
            Draw(loose, block);
            PlaneGuard.Require(loose);
            drawn = LooseMapAssembly.Assemble(loose, map.Blocks);
        }

        Block[] blocks = [.. drawn.Blocks, block];
        QuiltMap roled = new(
            drawn.Width,
            drawn.Height,
            drawn.Junctions,
            Roled(drawn, blocks, [block]),
            drawn.Patches,
            blocks,
            ids.Remember(drawn.Unknown, drawn)
        );
        return new(
            roled.With(blocks: BlockPatches.Enter(roled, blocks, id)),
            edit with
            {
                Block = id,
                Pattern = block.Pattern,
            },
            []
        );
    }

    public static MendedMap Remove(QuiltMap map, RemoveBlock edit)
    {
        Block block = Spots.Block(map, edit.Block);
        Block[] blocks = [.. map.Blocks.Where(b => b != block)];
        QuiltMap left = map;
        if (edit.Seams == BlockSeams.Draw)
        {
            LooseMap loose = new(map);
            SeamRemoval.Remove(loose, InnerSeams(loose, block));
            PlaneGuard.Require(loose);
            left = LooseMapAssembly.Assemble(loose, map.Blocks);
            blocks = [.. left.Blocks.Where(b => b.Id != block.Id)];
        }

        UnknownFields remembered = new FreshIds(left).Remember(left.Unknown);
        return new(
            new(
                left.Width,
                left.Height,
                left.Junctions,
                Roled(left, blocks, [block]),
                left.Patches,
                blocks,
                remembered
            ),
            edit with
            {
                Block = SpotOf(block, edit.Block),
            },
            []
        );
    }

    /// <summary>The seams with the block's patches on both sides.</summary>
    public static IReadOnlyCollection<LooseSeam> InnerSeams(LooseMap loose, Block block)
    {
        HashSet<string> own = [.. block.Patches];
        HashSet<int> patches = [.. loose.Map.Patches.Index().Where(p => own.Contains(p.Item.Id)).Select(p => p.Index)];
        return
        [
            .. loose.LiveSeams.Where(s =>
                patches.Contains(s.Left) && patches.Contains(s.Right) && s.Template.Role != SeamRole.Edge
            ),
        ];
    }

    /// <summary>Lays seams into a block, the longest first; what lies there already stays.</summary>
    public static void Lay(LooseMap loose, BlockFrame frame, IEnumerable<Edge<ClothSpace>> lines)
    {
        double snap = Math.Min(SnapInches, SnapOfSide * frame.Side);
        foreach (Edge<ClothSpace> line in lines)
        {
            Edge<ClothSpace> inside = new(Inside(loose, line.From), Inside(loose, line.To), line.Bulge);
            SeamInsertion.Lay(loose, new(null, loose.NextRank()), inside, snap);
        }
    }

    public static Spot SpotOf(Block block, Spot given) => new(block.Id, given.At ?? Spots.MiddleOf(block));

    private static void Draw(LooseMap loose, Block block)
    {
        BlockFrame frame = new(block);
        List<Edge<ClothSpace>> lines = [];
        for (int i = 0; i < 4; i++)
        {
            lines.Add(new(block.Corners[i], block.Corners[(i + 1) % 4]));
        }

        if (block.Pattern is { } pattern)
        {
            foreach (IReadOnlyList<DraftCorner> ring in BlockLibrary.Find(pattern).Patches)
            {
                for (int i = 0; i < ring.Count; i++)
                {
                    DraftCorner a = ring[i];
                    DraftCorner b = ring[(i + 1) % ring.Count];
                    lines.Add(frame.ToCloth(a.X, a.Y, b.X, b.Y, a.Bulge));
                }
            }
        }

        Lay(loose, frame, lines);
    }

    private static Point<ClothSpace> Inside(LooseMap loose, Point<ClothSpace> p) =>
        new(Math.Clamp(p.X, loose.Area.Left, loose.Area.Right), Math.Clamp(p.Y, loose.Area.Top, loose.Area.Bottom));

    // Seams along the sides of blocks that came, went or moved get the role that is right now.
    private static Seam[] Roled(QuiltMap map, IReadOnlyList<Block> blocks, IReadOnlyList<Block> changed) =>
        [
            .. map.Seams.Select(s =>
            {
                if (s.Role == SeamRole.Edge || BlockSides.RoleOf(changed, map.EdgeOf(s)) != SeamRole.Block)
                {
                    return s;
                }

                SeamRole role = BlockSides.RoleOf(blocks, map.EdgeOf(s));
                return role == s.Role ? s : s with { Role = role };
            }),
        ];
}
