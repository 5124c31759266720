using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>A path laid on another block of the same kind.</summary>
/// <param name="Block">Id of that block.</param>
/// <param name="Path">The moves in order, inches on the cloth.</param>
public sealed record LaidPath(string Block, IReadOnlyList<Edge<ClothSpace>> Path);

/// <summary>A path drawn on one block, seen on every block of the same kind, turned and mirrored as they are sewn.</summary>
public static class SameKind
{
    // Points of two blocks are the same one up to a measured block's own errors; a draft's points lie farther apart, in sides.
    private const double Near = 0.05;

    /// <summary>Ids of the blocks of the same kind, the block itself first. A block of no known kind is like no other.</summary>
    public static IReadOnlyList<string> Of(QuiltMap map, Block block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        return
        [
            block.Id,
            .. map
                .Blocks.Where(b => b.Id != block.Id && b.Pattern is not null && b.Pattern == block.Pattern)
                .Select(b => b.Id),
        ];
    }

    /// <summary>The path of a board on every block of its kind whose points are where they should be.</summary>
    public static IReadOnlyList<LaidPath> Lay(QuiltMap map, DrawingBoard board)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(board);
        Block own = board.Block;
        List<LaidPath> laid = [new(own.Id, [.. board.Moves.Select(m => m.Path)])];
        Dictionary<string, Point<ClothSpace>> draft = board
            .Moves.SelectMany(m => new[] { m.From, m.To })
            .Distinct()
            .ToDictionary(id => id, id => BlockFrame.InDraft(own, map.JunctionOf(id).Place));
        foreach (string id in Of(map, own).Skip(1))
        {
            Block other = map.FindBlock(id)!;
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

            (Point<ClothSpace> Place, Point<ClothSpace> Draft)[] points =
            [
                .. lines.Map.Junctions.Select(j => (j.Place, BlockFrame.InDraft(other, j.Place))),
            ];
            Dictionary<string, Point<ClothSpace>> there = [];
            foreach ((string point, Point<ClothSpace> at) in draft)
            {
                (Point<ClothSpace> place, Point<ClothSpace> near) = points.MinBy(p => p.Draft.DistanceTo(at));
                if (near.DistanceTo(at) <= Near)
                {
                    there[point] = place;
                }
            }

            if (there.Count == draft.Count)
            {
                int hand = own.Mirror == other.Mirror ? 1 : -1;
                laid.Add(
                    new(
                        id,
                        [
                            .. board.Moves.Select(m => new Edge<ClothSpace>(
                                there[m.From],
                                there[m.To],
                                hand * m.Path.Bulge
                            )),
                        ]
                    )
                );
            }
        }

        return laid;
    }
}
