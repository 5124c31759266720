using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>Blocks that one sheet serves: one of them is drawn, as it was measured.</summary>
/// <param name="Drawn">The block that is drawn: the one of median size among those of its kind.</param>
/// <param name="Fits">All blocks that its sheet fits, itself first.</param>
/// <param name="Part">What the candidate stitches in the drawn block.</param>
internal sealed record BlockKind(Block Drawn, IReadOnlyList<Block> Fits, RouteCandidate Part)
{
    /// <summary>A sheet fits a block where no line is farther off than this.</summary>
    public static readonly Length FitsWithin = Length.FromInches(1.0 / 16);

    /// <summary>The kinds among the blocks that the candidate stitches in; where no tolerance is given, each block by itself.</summary>
    /// <remarks>
    /// Kinds share their pattern, turn and mirror, and their stitching, laid middle on middle, agrees within the tolerance: ends
    /// and middle of each move against a move of the other, either way. What the median block's sheet does not fit is sorted
    /// again among itself. Quadratic in the moves of a block.
    /// </remarks>
    public static IReadOnlyList<BlockKind> Of(QuiltMap quilt, RouteCandidate candidate, Length? within)
    {
        List<(Block Block, RouteCandidate Part)> parts = [];
        foreach (string id in candidate.AllMoves.Select(m => m.Block).OfType<string>().Distinct(StringComparer.Ordinal))
        {
            if (quilt.FindBlock(id) is { } block)
            {
                parts.Add((block, PartOf(candidate, id)));
            }
        }

        if (within is not { } tolerance)
        {
            return [.. parts.Select(p => new BlockKind(p.Block, [p.Block], p.Part))];
        }

        List<BlockKind> kinds = [];
        foreach (var group in parts.GroupBy(p => (p.Block.Pattern, p.Block.Turn, p.Block.Mirror)))
        {
            List<(Block Block, RouteCandidate Part)> left = [.. group.OrderBy(p => SizeOf(p.Block))];
            while (left.Count > 0)
            {
                (Block drawn, RouteCandidate part) = left[left.Count / 2];
                (Block Block, RouteCandidate Part)[] fits =
                [
                    .. left.Where(p => p.Block == drawn || Agree(part, drawn, p.Part, p.Block, tolerance.Inches)),
                ];
                kinds.Add(new(drawn, [drawn, .. fits.Select(f => f.Block).Where(b => b != drawn)], part));
                left.RemoveAll(p => fits.Any(f => f.Block == p.Block));
            }
        }

        return kinds;
    }

    /// <summary>What the sheet is called: the drawn block, and what it fits.</summary>
    public string TitleIn(QuiltMap quilt)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        string name = RouteNames.BlockName(Drawn);
        return Fits.Count == 1
            ? quilt.Blocks.Count > 1 && name != $"Block {Drawn.Id}"
                ? $"{name}, {Drawn.Id}"
                : name
            : $"{name}: fits {string.Join(", ", Fits.Select(b => b.Id))}";
    }

    private static RouteCandidate PartOf(RouteCandidate candidate, string id)
    {
        List<Run> runs = [];
        foreach (Run run in candidate.Runs)
        {
            List<Move> moves = [];
            foreach (Move move in run.Moves)
            {
                if (move.Block == id)
                {
                    moves.Add(move);
                }
                else if (moves.Count > 0)
                {
                    runs.Add(new(moves));
                    moves = [];
                }
            }

            if (moves.Count > 0)
            {
                runs.Add(new(moves));
            }
        }

        return candidate with
        {
            Runs = runs,
        };
    }

    private static double SizeOf(Block block)
    {
        Box<ClothSpace> box = Box<ClothSpace>.Around(block.Corners);
        return box.Width + box.Height;
    }

    private static bool Agree(RouteCandidate a, Block blockA, RouteCandidate b, Block blockB, double tolerance)
    {
        Vector<ClothSpace> shift =
            Box<ClothSpace>.Around(blockB.Corners).Center - Box<ClothSpace>.Around(blockA.Corners).Center;

        // Stitching a line again does not change what is traced.
        Edge<ClothSpace>[] others = [.. b.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Path)];
        Edge<ClothSpace>[] own = [.. a.AllMoves.Where(m => m.Kind != MoveKind.Retrace).Select(m => m.Path)];
        return own.Length == others.Length && own.All(e => others.Any(o => Near(e, o) || Near(e, o.Reversed)));

        bool Near(Edge<ClothSpace> e, Edge<ClothSpace> o) =>
            (e.From + shift).DistanceTo(o.From) <= tolerance
            && (e.To + shift).DistanceTo(o.To) <= tolerance
            && (e.PointAt(0.5) + shift).DistanceTo(o.PointAt(0.5)) <= tolerance;
    }
}
