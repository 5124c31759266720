using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Which lines come before which, as a number for each line: the lower ones are stitched first.</summary>
internal sealed class StitchStages
{
    private const int AfterBlocks = 1_000_000;
    private const int LastSeams = 3_000_000;
    private const int LastOutline = 4_000_000;

    private readonly QuiltMap map;
    private readonly OrderWishes wishes;
    private readonly Dictionary<string, int> rankOfSeam = [];
    private readonly Dictionary<int, int> rankAtJunction = [];
    private readonly Dictionary<string, int> rankOfBlock = [];
    private HashSet<string>? inBlocks;

    /// <summary>Prepares the stages.</summary>
    /// <param name="map">The map that is planned on.</param>
    /// <param name="wishes">Which orders are wished for.</param>
    /// <param name="start">Junction where the thread starts, or null: blocks are taken from there.</param>
    /// <param name="end">Junction where it ends, or null: blocks are taken towards it.</param>
    public StitchStages(QuiltMap map, OrderWishes wishes, int? start = null, int? end = null)
    {
        this.map = map;
        this.wishes = wishes;
        if (wishes.FinishBlocks)
        {
            RankBlocks(start, end);
        }
    }

    /// <summary>True where some order is wished for.</summary>
    public bool IsWished => wishes != new OrderWishes();

    /// <summary>The stage of a line.</summary>
    public int Of(StitchLine line)
    {
        if (wishes.OutlineLast && line.Kind == MoveKind.Frame)
        {
            return LastOutline;
        }

        if (line.Seam is { } id && wishes.LastSeams?.Contains(id) == true)
        {
            return LastSeams;
        }

        bool anchors = IsAnchor(line);
        if (wishes.Anchors == AnchorOrder.First && anchors)
        {
            return 0;
        }

        int block = wishes.FinishBlocks ? RankOf(line) : 0;
        return 1 + 2 * block + (wishes.Anchors == AnchorOrder.Last && anchors ? 1 : 0);
    }

    /// <summary>True for a ditch round a block, along sashing or border: those seams that lie inside no block.</summary>
    public bool IsAnchor(StitchLine line)
    {
        if (line.Seam is not { } id)
        {
            return false;
        }

        if (map.SeamOf(id).Role != SeamRole.Seam)
        {
            return true;
        }

        inBlocks ??=
        [
            .. map
                .Blocks.SelectMany(b => b.Patches)
                .Select(map.PatchOf)
                .SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h))),
        ];
        return inBlocks.Count > 0
            && !inBlocks.Contains(id)
            && !map.Blocks.Any(b => PatchFinder.IsInside(b.Corners, line.Path.PointAt(0.5)));
    }

    // A seam between two blocks belongs to the earlier one; a line of no block to the first block that it touches.
    private int RankOf(StitchLine line)
    {
        int rank = AfterBlocks;
        if (line.Seam is { } s && rankOfSeam.TryGetValue(s, out int own))
        {
            return own;
        }

        if (line.Seam is null && line.Block is { } b)
        {
            return rankOfBlock.GetValueOrDefault(b, AfterBlocks);
        }

        rank = Math.Min(rank, rankAtJunction.GetValueOrDefault(line.From, AfterBlocks));
        return Math.Min(rank, rankAtJunction.GetValueOrDefault(line.To, AfterBlocks));
    }

    private void RankBlocks(int? start, int? end)
    {
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        int rank = 0;
        foreach (Block b in BestWay(start, end))
        {
            rankOfBlock[b.Id] = rank;
            foreach (Patch p in b.Patches.Select(map.PatchOf))
            {
                foreach (string s in p.Seams.Concat(p.Holes.SelectMany(h => h)))
                {
                    rankOfSeam.TryAdd(s, rank);
                    Seam seam = map.SeamOf(s);
                    rankAtJunction.TryAdd(index[seam.From], rank);
                    rankAtJunction.TryAdd(index[seam.To], rank);
                }
            }

            rank++;
        }
    }

    // Of the ways there and back the one whose first block has the start and whose last has the end, the start before the end.
    private IReadOnlyList<Block> BestWay(int? start, int? end)
    {
        string? from = start is { } s ? map.Junctions[s].Id : null;
        string? to = end is { } e ? map.Junctions[e].Id : null;
        return (from, to) is (null, null)
            ? ThereAndBack(map.Blocks, BlockWay.RowsFromTopLeft)
            : Enum.GetValues<BlockWay>()
                .Select(w => ThereAndBack(map.Blocks, w))
                .MinBy(b => (Touches(b[0], from) ? 0 : 2) + (Touches(b[^1], to) ? 0 : 1))!;
    }

    private bool Touches(Block b, string? junction) =>
        junction is null
        || b.Patches.SelectMany(p => map.PatchOf(p).Seams)
            .Select(map.SeamOf)
            .Any(s => s.From == junction || s.To == junction);

    /// <summary>Blocks row by row, every second row backwards, so that each next one lies beside the last.</summary>
    public static IReadOnlyList<Block> ThereAndBack(IReadOnlyList<Block> blocks, BlockWay way)
    {
        bool columns = way >= BlockWay.ColumnsFromTopLeft;
        int corner = (int)way % 4;
        List<Block> ordered = [];
        List<Block> row = [];
        double first = double.NegativeInfinity;
        bool back = false;
        foreach (Block b in blocks.OrderBy(Down).ThenBy(Along))
        {
            // A row's blocks lie level to within a quarter of a block.
            Box<ClothSpace> box = Box<ClothSpace>.Around(b.Corners);
            if (row.Count > 0 && Down(b) > first + (columns ? box.Width : box.Height) / 4)
            {
                Close();
            }

            first = row.Count == 0 ? Down(b) : first;
            row.Add(b);
        }

        Close();
        return ordered;

        // Mirrored where the way begins at the right, and at the bottom.
        double X(Block b) => MiddleOf(b).X * (corner % 2 == 1 ? -1 : 1);

        double Y(Block b) => MiddleOf(b).Y * (corner >= 2 ? -1 : 1);

        double Along(Block b) => columns ? Y(b) : X(b);

        double Down(Block b) => columns ? X(b) : Y(b);

        void Close()
        {
            IEnumerable<Block> along = row.OrderBy(Along);
            ordered.AddRange(back ? along.Reverse() : along);
            row.Clear();
            back = !back;
        }
    }

    private static Point<ClothSpace> MiddleOf(Block b) => new(b.Corners.Average(c => c.X), b.Corners.Average(c => c.Y));
}

/// <summary>The wishes that put some lines before others.</summary>
internal sealed record OrderWishes
{
    /// <summary>The outline comes after all else.</summary>
    public bool OutlineLast { get; init; }

    /// <summary>Ids of seams that come after all others, or null.</summary>
    public IReadOnlySet<string>? LastSeams { get; init; }

    /// <summary>When the anchoring ditches come.</summary>
    public AnchorOrder Anchors { get; init; }

    /// <summary>Each block is finished before the next.</summary>
    public bool FinishBlocks { get; init; }
}

/// <summary>When the anchoring ditches (round the blocks, along sashing and border) are stitched.</summary>
internal enum AnchorOrder
{
    /// <summary>In any order.</summary>
    Any,

    /// <summary>Before seams inside blocks and before added lines (handbook 2: anchor first).</summary>
    First,

    /// <summary>Round each block after its inside.</summary>
    Last,
}

/// <summary>Ways through the blocks of a quilt, there and back.</summary>
internal enum BlockWay
{
    /// <summary>Rows from the top, the first from the left.</summary>
    RowsFromTopLeft,

    /// <summary>Rows from the top, the first from the right.</summary>
    RowsFromTopRight,

    /// <summary>Rows from the bottom, the first from the left.</summary>
    RowsFromBottomLeft,

    /// <summary>Rows from the bottom, the first from the right.</summary>
    RowsFromBottomRight,

    /// <summary>Columns from the left, the first from the top.</summary>
    ColumnsFromTopLeft,

    /// <summary>Columns from the right, the first from the top.</summary>
    ColumnsFromTopRight,

    /// <summary>Columns from the left, the first from the bottom.</summary>
    ColumnsFromBottomLeft,

    /// <summary>Columns from the right, the first from the bottom.</summary>
    ColumnsFromBottomRight,
}
