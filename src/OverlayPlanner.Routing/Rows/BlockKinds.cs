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
/// <param name="IsMirrored">True where left and right are exchanged, before any turn.</param>
/// <param name="Turn">Quarter turns clockwise.</param>
/// <param name="JunctionOf">The copy's junction for each of the first one's inner junctions and corners.</param>
/// <param name="SeamOf">The copy's seam for each of the first one's inner seams.</param>
internal sealed record BlockCopy(
    RowBlock Block,
    bool IsMirrored,
    int Turn,
    IReadOnlyDictionary<string, string> JunctionOf,
    IReadOnlyDictionary<string, string> SeamOf
)
{
    /// <summary>Which way through the first block the rows lead this copy's threads.</summary>
    public KindFrame Frame =>
        Turn % 2 == 0 ? KindFrame.Across
        : IsMirrored ? KindFrame.TurnedMirrored
        : KindFrame.Turned;

    /// <summary>True where its way out is the way home of the first block, turned by half.</summary>
    public bool IsHalfTurned => Turn >= 2;

    /// <summary>True where its halves are the first block's, mirrored and travelled the other way.</summary>
    public bool IsReversed => IsMirrored && Frame == KindFrame.Across;
}

/// <summary>How a row leads through a kind's first block: a copy turned by a quarter has its sides where tops are.</summary>
internal enum KindFrame
{
    /// <summary>From its left side to its right side.</summary>
    Across,

    /// <summary>As through a copy that is turned a quarter clockwise.</summary>
    Turned,

    /// <summary>As through a copy that is mirrored and then turned a quarter clockwise.</summary>
    TurnedMirrored,
}

/// <summary>Blocks that have the same seams inside, as they lie in the quilt, mirrored left to right, or turned.</summary>
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
                copy = Lays(kind.First.Block, b.Block)
                    .Select(l => Match(map, kind.First, b, l))
                    .FirstOrDefault(c => c is not null);
                if (copy is not null)
                {
                    kind.Copies.Add(copy);
                    break;
                }
            }

            if (copy is null)
            {
                kinds.Add(new(b, [Match(map, b, b, new(false, 0))!]));
            }
        }

        return kinds;
    }

    /// <summary>How a copy lies: mirrored left to right, then turned clockwise by quarters.</summary>
    private readonly record struct Lay(bool IsMirrored, int Turn)
    {
        public (double U, double V) Of((double U, double V) at)
        {
            (double u, double v) = IsMirrored ? (1 - at.U, at.V) : at;
            return Turn switch
            {
                1 => (1 - v, u),
                2 => (1 - u, 1 - v),
                3 => (v, 1 - u),
                _ => (u, v),
            };
        }
    }

    // Where a block's seams lie alike in several ways, its cloth says which is meant; unturned lays come first, then by half.
    private static IEnumerable<Lay> Lays(Block first, Block copy)
    {
        bool mirrored = first.Mirror != copy.Mirror;
        bool quarters = IsAsWideAsHigh(first) && IsAsWideAsHigh(copy);
        return from turn in quarters ? new[] { 0, 2, 1, 3 } : [0, 2]
            from mirror in new[] { mirrored, !mirrored }
            select new Lay(mirror, turn);
    }

    // A quarter turn lays only a square on a square.
    private static bool IsAsWideAsHigh(Block b)
    {
        double wide = b.Corners[0].DistanceTo(b.Corners[1]);
        return Math.Abs(wide - b.Corners[1].DistanceTo(b.Corners[2])) <= Within * 2 * wide;
    }

    /// <summary>Where a place of the first block lies when a row leads through it as <paramref name="frame"/> says.</summary>
    public static (double U, double V) In(KindFrame frame, (double U, double V) at) =>
        new Lay(frame == KindFrame.TurnedMirrored, frame == KindFrame.Across ? 0 : 1).Of(at);

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
        int way = lay.IsMirrored ? -1 : 1;
        foreach (Seam s in a.Inner)
        {
            if (!seams.TryGetValue((junctionOf[s.From], junctionOf[s.To], way * Math.Sign(s.Bulge)), out string? found))
            {
                return null;
            }

            seamOf[s.Id] = found;
        }

        return seamOf.Values.Distinct().Count() == seamOf.Count
            ? new(b, lay.IsMirrored, lay.Turn, junctionOf, seamOf)
            : null;

        static HashSet<string> Ends(RowBlock x) => [.. x.Inner.SelectMany(s => new[] { s.From, s.To })];

        bool Find((double U, double V) at, IEnumerable<string> among, Dictionary<string, string> into, string key)
        {
            if (NearestTo(lay.Of(at), b.At, among) is not { } found)
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
