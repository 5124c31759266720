using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>A path laid on a block.</summary>
/// <param name="Block">Id of that block.</param>
/// <param name="Moves">The moves in order, on that block's own points and seams.</param>
public sealed record LaidPath(string Block, IReadOnlyList<DrawnMove> Moves)
{
    /// <summary>The lines in order, inches on the cloth.</summary>
    public IReadOnlyList<Edge<ClothSpace>> Path => [.. Moves.Select(m => m.Path)];
}

/// <summary>
/// The blocks of one kind, on which a path that is drawn on one of them is laid, turned and mirrored as they are sewn. Which point of
/// one block is which of another is found once for all paths.
/// </summary>
public sealed class SameKind
{
    // Points of two blocks are the same one up to a measured block's own errors; a draft's points lie farther apart, in sides.
    private const double Near = 0.05;

    // Seams between the same points are the same one where they bow alike.
    private const double AlikeBulge = 0.15;

    private readonly Block own;
    private readonly IReadOnlyList<(BlockLines Lines, Dictionary<string, string> There)> others;

    /// <summary>Finds the blocks of a block's kind, and their points.</summary>
    /// <param name="map">The quilt's map.</param>
    /// <param name="block">The block that is drawn on.</param>
    public SameKind(QuiltMap map, Block block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        own = block;
        Blocks = Of(map, block);
        others = Blocks.Count == 1 ? [] : [.. Others(map, block)];
    }

    /// <summary>Ids of the blocks of the kind, the block itself first.</summary>
    public IReadOnlyList<string> Blocks { get; }

    /// <summary>Ids of the blocks of the same kind, the block itself first. A block of no known kind is like no other.</summary>
    public static IReadOnlyList<string> Of(QuiltMap map, Block block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        return
        [
            block.Id,
            .. map
                .Blocks.Where(b =>
                    b.Id != block.Id
                    && (b.Pattern ?? b.Called) is not null
                    && b.Pattern == block.Pattern
                    && b.Called == block.Called
                )
                .Select(b => b.Id),
        ];
    }

    /// <summary>The path of a board on every block of its kind whose points are where they should be.</summary>
    public static IReadOnlyList<LaidPath> Lay(QuiltMap map, DrawingBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        return new SameKind(map, board.Block).Lay(board.Moves);
    }

    /// <summary>A path on every block of the kind that has its points and its seams, the block drawn on first.</summary>
    /// <param name="moves">The path on the block itself.</param>
    public IReadOnlyList<LaidPath> Lay(IReadOnlyList<DrawnMove> moves)
    {
        ArgumentNullException.ThrowIfNull(moves);
        List<LaidPath> laid = [new(own.Id, moves)];
        foreach ((BlockLines lines, Dictionary<string, string> there) in others)
        {
            List<DrawnMove> on = [];
            foreach (DrawnMove m in moves)
            {
                if (MoveOn(lines, there, m, on) is not { } move)
                {
                    break;
                }

                on.Add(move);
            }

            if (on.Count == moves.Count)
            {
                laid.Add(new(lines.Block.Id, on));
            }
        }

        return laid;
    }

    private static IEnumerable<(BlockLines, Dictionary<string, string>)> Others(QuiltMap map, Block block)
    {
        (string Id, Point<ClothSpace> At)[] draft =
        [
            .. new BlockLines(map, block).Map.Junctions.Select(j => (j.Id, BlockFrame.InDraft(block, j.Place))),
        ];
        foreach (Block other in Of(map, block).Skip(1).Select(id => map.FindBlock(id)!))
        {
            BlockLines lines;
            try
            {
                lines = new(map, other);
            }
            catch (InputException)
            {
                // A block without seams can't take the path.
                continue;
            }

            (string Id, Point<ClothSpace> At)[] points =
            [
                .. lines.Map.Junctions.Select(j => (j.Id, BlockFrame.InDraft(other, j.Place))),
            ];
            Dictionary<string, string> there = new(StringComparer.Ordinal);
            foreach ((string id, Point<ClothSpace> at) in draft)
            {
                (string near, Point<ClothSpace> place) = points.MinBy(p => p.At.DistanceTo(at));
                if (place.DistanceTo(at) <= Near)
                {
                    there[id] = near;
                }
            }

            yield return (lines, there);
        }
    }

    private DrawnMove? MoveOn(
        BlockLines lines,
        Dictionary<string, string> there,
        DrawnMove m,
        IReadOnlyList<DrawnMove> before
    )
    {
        if (!there.TryGetValue(m.From, out string? from) || !there.TryGetValue(m.To, out string? to))
        {
            return null;
        }

        double bulge = own.Mirror == lines.Block.Mirror ? m.Path.Bulge : -m.Path.Bulge;
        if (m.Seam is not null)
        {
            return lines.Between(from, to, bulge) is { } along && Math.Abs(along.Path.Bulge - bulge) <= AlikeBulge
                ? along with
                {
                    Starts = m.Starts,
                }
                : null;
        }

        Edge<ClothSpace> path = new(lines.PlaceOf(from), lines.PlaceOf(to), bulge);
        return from != to && lines.MayBeAdded(path, before) ? new(from, to, null, path) { Starts = m.Starts } : null;
    }
}
