using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Lays one block's inner seams into the others of its pattern, by their corners alone.</summary>
internal static class BlockCopies
{
    private const double LikeSize = 0.1;

    /// <summary>The other blocks of its kind and size.</summary>
    public static IReadOnlyList<Block> Of(QuiltMap map, Block block)
    {
        BlockFrame own = new(block);
        return [.. map.Blocks.Where(b => b != block && IsLike(block, own, b))];
    }

    public static MendedMap Copy(QuiltMap map, CopyBlock edit)
    {
        Block block = Spots.Block(map, edit.Block);
        BlockFrame own = new(block);
        IReadOnlyList<Block> others = Of(map, block);
        if (others.Count == 0)
        {
            throw PlaneGuard.Refuse(
                $"No other block is of the kind of {block.Id}",
                Spots.MiddleOf(block),
                "Name the blocks that are alike first."
            );
        }

        LooseMap loose = new(map);
        (double X0, double Y0, double X1, double Y1, double Bulge)[] lines =
        [
            .. BlockMending
                .InnerSeams(loose, block)
                .OrderByDescending(s => s.Path.Length)
                .Select(s =>
                {
                    (double x0, double y0) = own.ToDraft(s.From.Place);
                    (double x1, double y1) = own.ToDraft(s.To.Place);
                    return (x0, y0, x1, y1, block.Mirror ? -s.Bulge : s.Bulge);
                }),
        ];
        foreach (Block other in others)
        {
            BlockFrame frame = new(other);
            SeamRemoval.Remove(loose, BlockMending.InnerSeams(loose, other));
            BlockMending.Lay(loose, frame, lines.Select(l => frame.ToCloth(l.X0, l.Y0, l.X1, l.Y1, l.Bulge)));
        }

        PlaneGuard.Require(loose);
        return new(
            LooseMapAssembly.Assemble(loose, map.Blocks),
            edit with
            {
                Block = BlockMending.SpotOf(block, edit.Block),
            },
            []
        );
    }

    private static bool IsLike(Block block, BlockFrame own, Block other) =>
        other.Pattern == block.Pattern
        && other.Called == block.Called
        && Math.Abs(new BlockFrame(other).Side - own.Side) <= LikeSize * own.Side;
}
