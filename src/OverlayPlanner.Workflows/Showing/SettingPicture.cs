using System.Globalization;
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
/// <param name="Edge">SVG path data of the top's own edge as far as it lies in the picture; empty in the middle of a quilt.</param>
/// <param name="Own">SVG path data of the outline of the block that the choice was planned on.</param>
/// <param name="Copies">The choice in its own block first, then in each neighbour of the same kind.</param>
/// <param name="Neighbours">How many blocks lie round it, at most eight.</param>
public sealed record SettingPicture(
    double Left,
    double Top,
    double Width,
    double Height,
    string Seams,
    string Edge,
    string Own,
    IReadOnlyList<CarriedChoice> Copies,
    int Neighbours
)
{
    // Between the next block, at most a sashing of three quarters of its side away, and the one after it, two sides away.
    private const double NextBlock = 1.75;
    private const double LikeSize = 0.1;

    // A border or a side triangle that is no deeper than this, in sides, is shown to the top's edge.
    private const double ToTheEdge = 0.75;

    // What a seam may lie off before it is another seam, where nothing better is known of it.
    private const double LeastOff = 0.125;

    // Where a line is compared with another.
    private static readonly double[] Between = [0.25, 0.5, 0.75];

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
        Box<ClothSpace> box = BoxOf(map, own, round);
        List<CarriedChoice> copies = [new(own.Id, SvgWay.Of(choice.AllMoves.Select(m => m.Path)), IsOwn: true)];
        Edge<ClothSpace>[] sides = SidesOf(map, own);
        bool goesRound = choice.AllMoves.Any(m => LiesOn(sides, m.Path));
        bool leavesEdge = choice.AllMoves.All(m => m.Kind != MoveKind.Frame);
        Edge<ClothSpace>[] edges = [.. map.Seams.Where(s => s.Role == SeamRole.Edge).Select(map.EdgeOf)];
        foreach (Block other in round)
        {
            if (Carry(map, choice, own, other) is { } moves)
            {
                // A side that lies along the next block here can lie along the top's edge there, which is stitched by wish alone; and one
                // that lies along the edge here is stitched there as all the others are.
                IEnumerable<Edge<ClothSpace>> shown = leavesEdge
                    ? [.. moves.Where(m => !LiesOn(edges, m)), .. goesRound ? SidesOf(map, other) : []]
                    : moves;
                copies.Add(new(other.Id, SvgWay.Of(shown), IsOwn: false));
            }
        }

        return new(
            box.Left,
            box.Top,
            box.Right - box.Left,
            box.Bottom - box.Top,
            SvgWay.Of(map.Seams.Where(s => s.Role != SeamRole.Edge).Select(map.EdgeOf).Where(e => Meets(box, e))),
            SvgWay.Of(edges.Where(e => Meets(box, e))),
            SvgWay.Of(OutlineOf(own)),
            copies,
            round.Count
        );
    }

    /// <summary>What is seen on it, in a few sentences.</summary>
    public string Say()
    {
        string alike =
            Copies.Count == 1
                ? "No neighbour is of the same kind; the tinted block is this one."
                : string.Create(
                    CultureInfo.InvariantCulture,
                    $"Stitched alike in {Copies.Count} blocks, each as it is sewn; the tinted one is this block."
                );
        int unlike = Neighbours + 1 - Copies.Count;
        string others =
            unlike == 0 || Copies.Count == 1 ? ""
            : unlike == 1 ? " One neighbour is of another kind: only its seams are drawn."
            : string.Create(
                CultureInfo.InvariantCulture,
                $" {unlike} neighbours are of another kind: only their seams are drawn."
            );
        return alike + others + (Edge.Length > 0 ? " The dark line is the quilt's edge." : "");
    }

    // The blocks, and what lies between them and the top's edge where that is near.
    private static Box<ClothSpace> BoxOf(QuiltMap map, Block own, IReadOnlyList<Block> round)
    {
        Point<ClothSpace>[] corners = [.. round.Append(own).SelectMany(b => b.Corners)];
        double side = new BlockFrame(own).Side;
        double margin = side / 16;
        Point<ClothSpace>[] all = [.. map.Junctions.Select(j => j.Place)];
        return new(
            Reach(corners.Min(c => c.X), all.Min(p => p.X)) - margin,
            Reach(corners.Min(c => c.Y), all.Min(p => p.Y)) - margin,
            Reach(corners.Max(c => c.X), all.Max(p => p.X)) + margin,
            Reach(corners.Max(c => c.Y), all.Max(p => p.Y)) + margin
        );

        double Reach(double blocks, double top) => Math.Abs(top - blocks) <= ToTheEdge * side ? top : blocks;
    }

    private static Edge<ClothSpace>[] OutlineOf(Block block) =>
        [.. Enumerable.Range(0, 4).Select(i => new Edge<ClothSpace>(block.Corners[i], block.Corners[(i + 1) % 4]))];

    // The seams round a block as far as they are no edge of the top.
    private static Edge<ClothSpace>[] SidesOf(QuiltMap map, Block block)
    {
        Edge<ClothSpace>[] outline = OutlineOf(block);
        return [.. map.Seams.Where(s => s.Role != SeamRole.Edge).Select(map.EdgeOf).Where(e => LiesOn(outline, e))];
    }

    private static bool Meets(Box<ClothSpace> box, Edge<ClothSpace> e) =>
        Math.Max(e.From.X, e.To.X) >= box.Left
        && Math.Min(e.From.X, e.To.X) <= box.Right
        && Math.Max(e.From.Y, e.To.Y) >= box.Top
        && Math.Min(e.From.Y, e.To.Y) <= box.Bottom;

    private static bool LiesOn(IReadOnlyList<Edge<ClothSpace>> lines, Edge<ClothSpace> move) =>
        Between.All(t => lines.Any(l => l.Nearest(move.PointAt(t)).Distance <= LeastOff));

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
        if (own.Pattern != other.Pattern || Math.Abs(new BlockFrame(other).Side - from.Side) > LikeSize * from.Side)
        {
            return null;
        }

        // How a block of no known pattern is turned nobody has said: its seams do.
        return own.Pattern is not null ? CarryAs(map, choice, own, other)
            : own.Patches.Count != other.Patches.Count ? null
            : AllWays(other).Select(way => CarryAs(map, choice, own, way)).FirstOrDefault(moves => moves is not null);
    }

    private static IEnumerable<Block> AllWays(Block block) =>
        Enumerable.Range(0, 8).Select(i => block with { Turn = i % 4, Mirror = i >= 4 });

    private static List<Edge<ClothSpace>>? CarryAs(QuiltMap map, RouteCandidate choice, Block own, Block other)
    {
        BlockFrame from = new(own);
        BlockFrame to = new(other);
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
        Between.All(t =>
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
