using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>A block's copy of a choice.</summary>
/// <param name="Block">Id of the block that it lies in.</param>
/// <param name="Path">SVG path data of its moves in order, cloth inches.</param>
/// <param name="IsOwn">True for the block that the choice was planned on.</param>
public sealed record CarriedChoice(string Block, string Path, bool IsOwn);

/// <summary>
/// A choice among the blocks that lie round its own on this very quilt: rings and paths that only show where blocks meet.
/// </summary>
/// <param name="Left">Cloth inches of the picture's left edge.</param>
/// <param name="Top">Cloth inches of its top edge.</param>
/// <param name="Width">Inches across.</param>
/// <param name="Height">Inches down.</param>
/// <param name="Seams">SVG path data of the seams, cloth inches.</param>
/// <param name="Copies">The choice in its own block first, then in each neighbour of the same kind.</param>
/// <param name="Neighbours">How many blocks lie round it, at most eight.</param>
public sealed record SettingPicture(
    double Left,
    double Top,
    double Width,
    double Height,
    string Seams,
    IReadOnlyList<CarriedChoice> Copies,
    int Neighbours
)
{
    // Between the next block, at most a sashing of three quarters of its side away, and the one after it, two sides away.
    private const double NextBlock = 1.75;
    private const double LikeSize = 0.1;

    // What a seam may lie off before it is another seam, where nothing better is known of it.
    private const double LeastOff = 0.125;

    /// <summary>Lays a choice of one block into the blocks round it.</summary>
    /// <returns>Null where the choice was planned on more than the one block, or the map has no such block.</returns>
    public static SettingPicture? Of(QuiltMap map, RouteCandidate choice, string? block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(choice);
        if (
            block is null
            || map.FindBlock(block) is not { } own
            || choice.AllMoves.Any(m => m.Block is { } b && b != block)
        )
        {
            return null;
        }

        IReadOnlyList<Block> round = Round(map, own);
        Point<ClothSpace>[] corners = [.. round.Append(own).SelectMany(b => b.Corners)];
        double margin = new BlockFrame(own).Side / 16;
        double left = corners.Min(c => c.X) - margin;
        double top = corners.Min(c => c.Y) - margin;
        double right = corners.Max(c => c.X) + margin;
        double bottom = corners.Max(c => c.Y) + margin;
        List<CarriedChoice> copies = [new(own.Id, SvgWay.Of(choice.AllMoves.Select(m => m.Path)), IsOwn: true)];
        foreach (Block other in round)
        {
            if (Carry(map, choice, own, other) is { } moves)
            {
                copies.Add(new(other.Id, SvgWay.Of(moves), IsOwn: false));
            }
        }

        return new(
            left,
            top,
            right - left,
            bottom - top,
            SvgWay.Of(
                map.Seams.Select(map.EdgeOf)
                    .Where(e =>
                        Math.Max(e.From.X, e.To.X) >= left
                        && Math.Min(e.From.X, e.To.X) <= right
                        && Math.Max(e.From.Y, e.To.Y) >= top
                        && Math.Min(e.From.Y, e.To.Y) <= bottom
                    )
            ),
            copies,
            round.Count
        );
    }

    /// <summary>The blocks that touch a block, or lie beyond one sashing, at most eight; nearest first.</summary>
    /// <remarks>Seen along the block's own sides, so that an on-point block has its neighbours along the diagonals.</remarks>
    public static IReadOnlyList<Block> Round(QuiltMap map, Block block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        Vector<ClothSpace> across = (block.Corners[1] - block.Corners[0]).Unit;
        Vector<ClothSpace> down = (block.Corners[3] - block.Corners[0]).Unit;
        double side = new BlockFrame(block).Side;
        Point<ClothSpace> middle = MiddleOf(block);
        return
        [
            .. map
                .Blocks.Where(b => b.Id != block.Id)
                .Select(b => (Block: b, Off: MiddleOf(b) - middle))
                .Where(b => Math.Max(Math.Abs(b.Off.Dot(across)), Math.Abs(b.Off.Dot(down))) <= NextBlock * side)
                .OrderBy(b => b.Off.Norm)
                .Take(8)
                .Select(b => b.Block),
        ];
    }

    /// <summary>A choice's moves laid from its own block into another, turned and mirrored as that one is sewn.</summary>
    /// <returns>Null where the other block is of another kind or size, or its seams lie elsewhere.</returns>
    public static IReadOnlyList<Edge<ClothSpace>>? Carry(QuiltMap map, RouteCandidate choice, Block own, Block other)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(choice);
        ArgumentNullException.ThrowIfNull(own);
        ArgumentNullException.ThrowIfNull(other);
        BlockFrame from = new(own);
        BlockFrame to = new(other);
        if (own.Pattern != other.Pattern || Math.Abs(to.Side - from.Side) > LikeSize * from.Side)
        {
            return null;
        }

        List<Edge<ClothSpace>> carried = [];
        foreach (Move move in choice.AllMoves)
        {
            (double x0, double y0) = from.ToDraft(move.Path.From);
            (double x1, double y1) = from.ToDraft(move.Path.To);
            Edge<ClothSpace> edge = to.ToCloth(x0, y0, x1, y1, own.Mirror ? -move.Path.Bulge : move.Path.Bulge);

            // What is said to be of the kind but is sewn otherwise would be shown a way across its patches.
            if (move.Seam is not null && !LiesOnSeam(map, edge))
            {
                return null;
            }

            carried.Add(edge);
        }

        return carried;
    }

    private static bool LiesOnSeam(QuiltMap map, Edge<ClothSpace> edge) =>
        new[] { 0.25, 0.5, 0.75 }.All(t =>
        {
            Point<ClothSpace> p = edge.PointAt(t);
            return map.Seams.Any(s => map.EdgeOf(s).Nearest(p).Distance <= OffOf(map, s));
        });

    // Three standard deviations of both places.
    private static double OffOf(QuiltMap map, Seam seam) =>
        Math.Max(
            LeastOff,
            3
                * Math.Sqrt(2)
                * Math.Max(map.JunctionOf(seam.From).At.Sigma.Inches, map.JunctionOf(seam.To).At.Sigma.Inches)
        );

    private static Point<ClothSpace> MiddleOf(Block block) =>
        new(block.Corners.Average(c => c.X), block.Corners.Average(c => c.Y));
}
