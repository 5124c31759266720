using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Rows;

/// <summary>A block's square, pulled straight: places as fractions of its width and height.</summary>
internal sealed class BlockFrame
{
    private readonly Point<ClothSpace>[] corners;

    public BlockFrame(Block block) => corners = [.. block.Corners];

    /// <summary>
    /// Where a place lies between the corners: 0, 0 at the first, 1, 1 opposite; inverse of the bilinear map by Newton's
    /// method. Corners meet their fractions exactly.
    /// </summary>
    public (double U, double V) Of(Point<ClothSpace> p)
    {
        double u = 0.5;
        double v = 0.5;
        for (int i = 0; i < 20; i++)
        {
            Vector<ClothSpace> left = corners[3] - corners[0];
            Vector<ClothSpace> right = corners[2] - corners[1];
            Vector<ClothSpace> top = corners[1] - corners[0];
            Vector<ClothSpace> bottom = corners[2] - corners[3];
            Vector<ClothSpace> off = corners[0] + (top * u + left * v + (right - left) * (u * v)) - p;
            Vector<ClothSpace> du = top * (1 - v) + bottom * v;
            Vector<ClothSpace> dv = left * (1 - u) + right * u;
            double det = du.Cross(dv);
            if (Math.Abs(det) < 1e-12)
            {
                break;
            }

            double stepU = off.Cross(dv) / det;
            double stepV = du.Cross(off) / det;
            u -= stepU;
            v -= stepV;
            if (Math.Abs(stepU) + Math.Abs(stepV) < 1e-12)
            {
                break;
            }
        }

        return (u, v);
    }
}

/// <summary>A block of the quilt with what is stitched inside it and the sides round it.</summary>
internal sealed class RowBlock
{
    public RowBlock(QuiltMap map, Block block, LineChoice lines)
    {
        Block = block;
        Frame = new(block);
        Seam[] rings =
        [
            .. block
                .Patches.Select(map.PatchOf)
                .SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h)))
                .Distinct()
                .Select(map.SeamOf),
        ];
        Inner = [.. rings.Where(s => s.Role == SeamRole.Seam)];
        Stitched = lines == LineChoice.Curves ? [] : Inner;
        Sides = [.. rings.Where(s => s.Role != SeamRole.Seam)];
        Dictionary<string, (double, double)> at = [];
        foreach (string j in Inner.Concat(Sides).SelectMany(s => new[] { s.From, s.To }))
        {
            at[j] = Frame.Of(map.JunctionOf(j).Place);
        }

        At = at;
    }

    public Block Block { get; }

    public BlockFrame Frame { get; }

    /// <summary>Seams inside.</summary>
    public IReadOnlyList<Seam> Inner { get; }

    /// <summary>Those of them that are stitched: none where arcs run along them instead.</summary>
    public IReadOnlyList<Seam> Stitched { get; }

    /// <summary>Pieces of its sides.</summary>
    public IReadOnlyList<Seam> Sides { get; }

    /// <summary>Fractions of each of its junctions.</summary>
    public IReadOnlyDictionary<string, (double U, double V)> At { get; }
}

/// <summary>How a block repeats another one.</summary>
/// <param name="Block">The copy.</param>
/// <param name="IsMirrored">True where left and right are exchanged.</param>
/// <param name="JunctionOf">The copy's junction for each of the first one's inner junctions and corners.</param>
/// <param name="SeamOf">The copy's seam for each of the first one's inner seams.</param>
internal sealed record BlockCopy(
    RowBlock Block,
    bool IsMirrored,
    IReadOnlyDictionary<string, string> JunctionOf,
    IReadOnlyDictionary<string, string> SeamOf
);

/// <summary>Blocks that have the same seams inside, as they lie in the quilt or mirrored left to right.</summary>
/// <param name="First">The one that halves are planned on.</param>
/// <param name="Copies">All of them, the first included.</param>
internal sealed record BlockKind(RowBlock First, List<BlockCopy> Copies)
{
    // Sewn points lie within an eighth of an inch of the draft; a twelfth of that is lost in a 12 in block's fractions.
    private const double Within = 0.02;

    /// <summary>Sorts blocks into kinds; O(blocks × kinds × junctions²).</summary>
    public static IReadOnlyList<BlockKind> Sort(QuiltMap map, IEnumerable<RowBlock> blocks)
    {
        List<BlockKind> kinds = [];
        foreach (RowBlock b in blocks)
        {
            BlockCopy? copy = null;
            foreach (BlockKind kind in kinds)
            {
                // Where a block's seams lie alike both ways, its cloth says whether it is mirrored.
                Lay likely = b.Block.Mirror == kind.First.Block.Mirror ? Lay.AsItIs : Lay.Mirrored;
                copy =
                    Match(map, kind.First, b, likely)
                    ?? Match(map, kind.First, b, likely == Lay.AsItIs ? Lay.Mirrored : Lay.AsItIs);
                if (copy is not null)
                {
                    kind.Copies.Add(copy);
                    break;
                }
            }

            if (copy is null)
            {
                kinds.Add(new(b, [Match(map, b, b, Lay.AsItIs)!]));
            }
        }

        return kinds;
    }

    private enum Lay
    {
        AsItIs,
        Mirrored,
    }

    private static BlockCopy? Match(QuiltMap map, RowBlock a, RowBlock b, Lay lay)
    {
        if (a.Inner.Count != b.Inner.Count)
        {
            return null;
        }

        Dictionary<string, string> junctionOf = [];
        foreach (string j in Ends(a))
        {
            if (!Find(a.At[j], Ends(b), junctionOf, j))
            {
                return null;
            }
        }

        // The corners may be nobody's inner end.
        foreach ((double U, double V) corner in new[] { (0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0) })
        {
            if (NearestTo(corner, a.At, a.At.Keys) is { } from)
            {
                Find(a.At[from], b.At.Keys, junctionOf, from);
            }
        }

        Dictionary<(string, string, int), string> seams = [];
        foreach (Seam s in b.Inner)
        {
            seams[(s.From, s.To, Math.Sign(s.Bulge))] = s.Id;
            seams[(s.To, s.From, -Math.Sign(s.Bulge))] = s.Id;
        }

        Dictionary<string, string> seamOf = [];
        int way = lay == Lay.Mirrored ? -1 : 1;
        foreach (Seam s in a.Inner)
        {
            if (!seams.TryGetValue((junctionOf[s.From], junctionOf[s.To], way * Math.Sign(s.Bulge)), out string? found))
            {
                return null;
            }

            seamOf[s.Id] = found;
        }

        return seamOf.Values.Distinct().Count() == seamOf.Count
            ? new(b, lay == Lay.Mirrored, junctionOf, seamOf)
            : null;

        static HashSet<string> Ends(RowBlock x) => [.. x.Inner.SelectMany(s => new[] { s.From, s.To })];

        bool Find((double U, double V) at, IEnumerable<string> among, Dictionary<string, string> into, string key)
        {
            (double U, double V) wanted = lay == Lay.Mirrored ? (1 - at.U, at.V) : at;
            if (NearestTo(wanted, b.At, among) is not { } found)
            {
                return false;
            }

            into[key] = found;
            return true;
        }
    }

    private static string? NearestTo(
        (double U, double V) wanted,
        IReadOnlyDictionary<string, (double U, double V)> at,
        IEnumerable<string> among
    )
    {
        string? best = null;
        double least = Within;
        foreach (string j in among)
        {
            double d = Math.Max(Math.Abs(at[j].U - wanted.U), Math.Abs(at[j].V - wanted.V));
            if (d <= least)
            {
                (best, least) = (j, d);
            }
        }

        return best;
    }
}
