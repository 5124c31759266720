using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Memory;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Rows;

/// <summary>What holds the layers when a row is stitched half by half.</summary>
public enum RowAnchor
{
    /// <summary>The blocks' sides are stitched first, in each pass, and may then be travelled along.</summary>
    SidesFirst,

    /// <summary>They are stitched already; they are not planned, and may be travelled along.</summary>
    SidesStitched,

    /// <summary>The quilt is basted: the blocks come first in each pass, their sides after them.</summary>
    Basted,
}

/// <summary>What the quilter asks of a quilt that is stitched row by row.</summary>
/// <param name="Route">The wishes for lines and thread; a block, a start and an end are not looked at.</param>
public sealed record RowWishes(RouteWishes Route)
{
    /// <summary>What holds the layers.</summary>
    public RowAnchor Anchor { get; init; } = RowAnchor.SidesFirst;

    /// <summary>Depth that the machine stitches before the quilt is advanced, above 0; null where it reaches all.</summary>
    public Length? Reach { get; init; }

    /// <summary>Line that one bobbin gives, above 0, of which 85 in 100 are planned; null for no limit.</summary>
    public Length? LinePerBobbin { get; init; }
}

/// <summary>One row as planned.</summary>
/// <param name="Row">Its number in the map.</param>
/// <param name="Pass">Number of the pass, from 1.</param>
/// <param name="Blocks">How many blocks.</param>
/// <param name="Starts">Threads that it takes.</param>
/// <param name="LeastStarts">Fewest threads that its lines take with nothing stitched twice, in any order.</param>
/// <param name="Alike">How far blocks of a kind are stitched alike.</param>
public sealed record PlannedRow(int Row, int Pass, int Blocks, int Starts, int LeastStarts, BlocksAlike Alike)
{
    /// <summary>True where every block is stitched half on the way out and half on the way home.</summary>
    public bool InHalves => Alike == BlocksAlike.InHalves;
}

/// <summary>How far the blocks of a kind in a row are stitched alike.</summary>
public enum BlocksAlike
{
    /// <summary>Not: the row's lines are stitched together with the fewest starts.</summary>
    No,

    /// <summary>By the same threads in every block of a kind, which may go on into the next block.</summary>
    Whole,

    /// <summary>Half on the way out and half on the way home, the same halves in every block of a kind.</summary>
    InHalves,
}

/// <summary>A quilt planned row by row.</summary>
/// <param name="Route">The route; each run carries its <c>pass</c>, and <c>row</c> where it belongs to one.</param>
/// <param name="Rows">The rows in the order stitched.</param>
/// <param name="Calls">For the recommended choice, one call for each kind of block that is stitched in halves.</param>
/// <param name="Findings">What was assumed, what could not be done.</param>
public sealed record RowPlan(
    Route Route,
    IReadOnlyList<PlannedRow> Rows,
    IReadOnlyList<KindCall> Calls,
    IReadOnlyList<Finding> Findings
);

/// <summary>How every block of a kind is stitched, said once.</summary>
/// <param name="Block">Id of the block that the call is said on; its copies go alike, mirrored where they are.</param>
/// <param name="Blocks">How many blocks of the kind there are.</param>
/// <param name="Call">Two threads: the way out from the left side, and the way home from the right side.</param>
public sealed record KindCall(string Block, int Blocks, RouteCall Call);

/// <summary>Plans a whole quilt in passes, row by row: half of each block on the way out, half on the way home.</summary>
public static partial class RowPlanner
{
    /// <summary>Plans the quilt.</summary>
    /// <remarks>
    /// In each pass the sides of blocks, sashing and borders come first. Then one thread goes through each row and back:
    /// the same half of every block of a kind on the way out, the other on the way home, mirrored where a block is, hopping
    /// where blocks touch or along stitched sides. Every block of a kind gets the same added lines. Time grows with the
    /// number of seams; a kind's halves are planned once.
    /// </remarks>
    /// <exception cref="InputException">The map has no rows, or the wishes can't be met.</exception>
    /// <exception cref="OperationCanceledException">Cancellation was asked for.</exception>
    public static RowPlan Plan(QuiltMap map, RowWishes wishes, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(wishes);
        if (wishes.Reach is { } reach && !(reach.Inches > 0))
        {
            throw new InputException(
                "The reach must be above 0 in",
                "--reach",
                "It is about the throat less 4 to 6 in."
            );
        }

        if (wishes.LinePerBobbin is { } line && !(line.Inches >= 10))
        {
            throw new InputException(
                "A bobbin must give at least 10 in of line",
                "--bobbin",
                "Yards on the bobbin × 36 ÷ inches of bobbin thread to the inch of line (about 1.25 to 1.5)."
            );
        }

        if (!map.Blocks.Any(b => b.Row is not null))
        {
            throw new InputException(
                map.Blocks.Count == 0 ? "The map has no blocks" : "The map's blocks lie in no rows",
                "--rows",
                "Plan the whole map at once, or map the quilt with its blocks."
            );
        }

        return new Planning(map, wishes, cancellation).Run();
    }

    /// <summary>One call's work.</summary>
    private sealed partial class Planning
    {
        private readonly QuiltMap map;
        private readonly RowWishes wishes;
        private readonly CancellationToken cancellation;
        private readonly PointTaste taste;
        private readonly RawEdge edge;
        private readonly Dictionary<string, int> junction = [];
        private readonly List<Finding> findings = [];
        private readonly List<(int Row, List<RowBlock> Blocks)> rows;
        private readonly IReadOnlyList<BlockKind> kinds;
        private readonly Dictionary<Block, (BlockKind Kind, BlockCopy Copy)> kindOf = [];
        private readonly List<StitchLine> anchors = [];
        private readonly Dictionary<string, int> anchorOf = [];

        public Planning(QuiltMap map, RowWishes wishes, CancellationToken cancellation)
        {
            this.map = map;
            this.wishes = wishes;
            this.cancellation = cancellation;
            RawEdge.Require(wishes.Route);
            edge = new(map, wishes.Route);
            taste = new(map, raw: edge);
            for (int v = 0; v < map.Junctions.Count; v++)
            {
                junction[map.Junctions[v].Id] = v;
            }

            rows =
            [
                .. map
                    .Blocks.Where(b => b.Row is not null)
                    .GroupBy(b => b.Row!.Value)
                    .Select(g =>
                        (
                            g.Key,
                            g.OrderBy(b => b.Corners.Min(c => c.X))
                                .Select(b => new RowBlock(map, b, wishes.Route.Lines))
                                .ToList()
                        )
                    )
                    .OrderBy(r => r.Item2.Min(b => b.Block.Corners.Min(c => c.Y))),
            ];
            kinds = BlockKind.Sort(map, rows.SelectMany(r => r.Blocks));
            foreach (BlockKind kind in kinds)
            {
                foreach (BlockCopy copy in kind.Copies)
                {
                    kindOf[copy.Block.Block] = (kind, copy);
                }
            }

            HashSet<string> inner = [.. rows.SelectMany(r => r.Blocks).SelectMany(b => b.Inner).Select(s => s.Id)];
            foreach (Seam s in map.Seams.Where(s => !inner.Contains(s.Id)))
            {
                bool outline = s.Role == SeamRole.Edge;
                // The curve's arcs run along the seams, sides too; none of them is stitched.
                if (!outline && wishes.Route.Lines == LineChoice.Curves)
                {
                    continue;
                }

                if (outline && (wishes.Route.Outline == OutlineChoice.None || s.Edge == EdgeKind.Cut))
                {
                    continue;
                }

                anchorOf[s.Id] = anchors.Count;
                anchors.Add(
                    new(
                        junction[s.From],
                        junction[s.To],
                        map.EdgeOf(s),
                        outline ? MoveKind.Frame : MoveKind.Ditch,
                        s.Id,
                        null
                    )
                    {
                        IsRaw = outline && s.Edge == EdgeKind.Raw,
                    }
                );
            }
        }

        private ThreadWishes ThreadWishes =>
            new(wishes.Route.Thread, wishes.Route.StartCostSeconds / wishes.Route.InchCostSeconds)
            {
                InchesPerRawEnd = wishes.Route.RawEndSeconds / wishes.Route.InchCostSeconds,
            };

        public RowPlan Run()
        {
            List<KindDesigns> designs =
            [
                .. kinds.Select(k => new KindDesigns(map, k, wishes.Route, taste, cancellation)),
            ];
            int most = Math.Min(wishes.Route.Candidates, designs.Max(d => d.Count));
            List<(QuiltRoute Route, RouteCandidate Candidate)> found = [];
            for (int i = 0; i < most; i++)
            {
                cancellation.ThrowIfCancellationRequested();
                Dictionary<BlockKind, KindDesign> of = [];
                foreach (KindDesigns d in designs)
                {
                    of[d.Kind] = d.At(Math.Min(i, d.Count - 1));
                }

                QuiltRoute route = new(this, of);
                found.Add((route, route.Write()));
            }

            // Fewest starts, or the least backtracking or time, then the least added.
            (QuiltRoute Route, RouteCandidate Candidate)[] ranked =
            [
                .. found.OrderBy(f => CostOf(f.Candidate)).ThenBy(f => f.Candidate.Measures.Added),
            ];
            findings.AddRange(ranked[0].Route.Findings);
            if (ranked[0].Candidate.Measures.Crossings is var n and > 0)
            {
                findings.Add(
                    new(
                        "rows-cross-sides",
                        string.Create(CultureInfo.InvariantCulture, $"{n} crossings, all at points"),
                        "Where a row's thread hops from block to block it crosses the side between them, in the ditch; no row does without."
                    )
                );
            }

            return new(
                new(
                    map,
                    [
                        .. ranked.Select(
                            (f, i) =>
                                edge.Tell(map, f.Candidate, wishes.Route, cancellation) with
                                {
                                    Name = ((char)('A' + i)).ToString(),
                                }
                        ),
                    ]
                ),
                ranked[0].Route.Rows,
                ranked[0].Route.Calls(),
                findings
            );
        }

        private (double, double) CostOf(RouteCandidate c)
        {
            double starts = c.Measures.Starts;
            double inches = Math.Round(c.Measures.Doubled.Inches, 3);
            double price = wishes.Route.StartCostSeconds / wishes.Route.InchCostSeconds;
            return wishes.Route.Thread == ThreadChoice.Mixed ? (starts * price + inches, 0) : (starts, inches);
        }

        /// <summary>One whole route, with one design for each kind.</summary>
        private sealed partial class QuiltRoute
        {
            private readonly Planning of;
            private readonly Dictionary<BlockKind, KindDesign> designs;
            private readonly List<StitchLine> lines = [];
            private readonly Dictionary<string, int> lineOf = [];
            private readonly Dictionary<(Block, int), int> addedLineOf = [];
            private readonly List<(List<TrailLeg> Legs, int Pass, int? Row)> runs = [];
            private readonly bool[] sideStitched;
            private readonly HashSet<int> untouched = [];
            private readonly List<Finding> findings = [];
            private readonly List<(RowBlock Block, RowHeights Heights, RowSides Sides)> halved = [];
            private readonly Dictionary<int, RowChoice> chosen = [];
            private List<TrailLeg> thread = [];
            private int pass;
            private int? row;

            public QuiltRoute(Planning of, Dictionary<BlockKind, KindDesign> designs)
            {
                this.of = of;
                this.designs = designs;
                lines.AddRange(of.anchors);
                foreach ((string id, int i) in of.anchorOf)
                {
                    lineOf[id] = i;
                }

                foreach (RowBlock b in of.rows.SelectMany(r => r.Blocks))
                {
                    AddLinesOf(b);
                }

                sideStitched = new bool[of.anchors.Count];
                if (of.wishes.Anchor == RowAnchor.SidesStitched)
                {
                    Array.Fill(sideStitched, true);
                }

                Stitch();
            }

            public List<PlannedRow> Rows { get; } = [];

            public IReadOnlyList<Finding> Findings => findings;

            private void AddLinesOf(RowBlock b)
            {
                foreach (Seam s in b.Stitched.Where(s => !lineOf.ContainsKey(s.Id)))
                {
                    lineOf[s.Id] = lines.Count;
                    lines.Add(
                        new(of.junction[s.From], of.junction[s.To], of.map.EdgeOf(s), MoveKind.Ditch, s.Id, b.Block.Id)
                    );
                }

                (BlockKind kind, BlockCopy copy) = of.kindOf[b.Block];
                IReadOnlyList<KindLine> added = designs[kind].Added;
                for (int i = 0; i < added.Count; i++)
                {
                    KindLine k = added[i];
                    (string from, string to) = (copy.JunctionOf[k.From], copy.JunctionOf[k.To]);
                    Point<ClothSpace> a = of.map.JunctionOf(from).Place;
                    Point<ClothSpace> z = of.map.JunctionOf(to).Place;

                    // One ruler for like patches: the radius stays, the rise follows the measured chord.
                    double bulge = k.Path.IsLine
                        ? 0
                        : (copy.IsMirrored ? -1 : 1)
                            * Math.Sign(k.Path.Bulge)
                            * 2
                            * ArcShape
                                .RiseOf(
                                    Length.FromInches(a.DistanceTo(z)),
                                    Length.FromInches(Math.Max(k.Path.Radius, a.DistanceTo(z) / 2))
                                )
                                .Inches
                            / a.DistanceTo(z);
                    addedLineOf[(b.Block, i)] = lines.Count;
                    lines.Add(new(of.junction[from], of.junction[to], new(a, z, bulge), k.Kind, null, b.Block.Id));
                }
            }

            private void Stitch()
            {
                foreach (List<(int Row, List<RowBlock> Blocks)> band in Bands())
                {
                    of.cancellation.ThrowIfCancellationRequested();
                    pass++;
                    if (of.wishes.Anchor == RowAnchor.SidesFirst)
                    {
                        StitchAnchors(band);
                    }

                    ChooseHeights(band);
                    int? at = null;
                    foreach ((int number, List<RowBlock> blocks) in band)
                    {
                        row = number;
                        at = StitchRow(number, blocks, at);
                    }

                    CutThread();
                    row = null;
                    if (of.wishes.Anchor == RowAnchor.Basted)
                    {
                        StitchAnchors(band);
                    }
                }

                StitchLeftAnchors();
            }

            /// <summary>Rows that the machine reaches together.</summary>
            private List<List<(int Row, List<RowBlock> Blocks)>> Bands()
            {
                List<List<(int, List<RowBlock>)>> bands = [];
                double top = double.NaN;
                foreach ((int number, List<RowBlock> blocks) in of.rows)
                {
                    double low = blocks.Min(b => b.Block.Corners.Min(c => c.Y));
                    double high = blocks.Max(b => b.Block.Corners.Max(c => c.Y));
                    if (bands.Count == 0 || (of.wishes.Reach is { } reach && high - top > reach.Inches + 1e-6))
                    {
                        bands.Add([]);
                        top = low;
                    }

                    bands[^1].Add((number, blocks));
                }

                return bands;
            }

            // Sides of this pass that are not stitched yet, in one go before the blocks.
            private void StitchAnchors(List<(int Row, List<RowBlock> Blocks)> band)
            {
                double low = band.Min(r => r.Blocks.Min(b => b.Block.Corners.Min(c => c.Y)));
                double high = band.Max(r => r.Blocks.Max(b => b.Block.Corners.Max(c => c.Y)));
                StitchTogether([
                    .. Enumerable
                        .Range(0, of.anchors.Count)
                        .Where(e =>
                        {
                            Box<ClothSpace> box = of.anchors[e].Path.Bounds();
                            return !sideStitched[e] && box.Top >= low - 0.5 && box.Bottom <= high + 0.5;
                        }),
                ]);
            }

            private void StitchLeftAnchors() =>
                StitchTogether([.. Enumerable.Range(0, of.anchors.Count).Where(e => !sideStitched[e])]);

            private void StitchTogether(List<int> some)
            {
                if (some.Count == 0)
                {
                    return;
                }

                StitchGraph graph = new(of.map, [.. some.Select(e => of.anchors[e])]);
                ThreadPlan plan = ThreadPlanner.Plan(graph, of.ThreadWishes, of.taste, of.cancellation);
                foreach (Trail t in plan.Trails)
                {
                    CutThread();
                    thread.AddRange(t.Legs.Select(l => l with { Line = some[l.Line] }));
                }

                CutThread();
                foreach (int e in some)
                {
                    sideStitched[e] = true;
                }
            }

            private void CutThread()
            {
                if (thread.Count > 0)
                {
                    runs.Add((thread, pass, row));
                    thread = [];
                }
            }

            private int NodeAfter(TrailLeg l) => l.Forward ? lines[l.Line].To : lines[l.Line].From;

            /// <summary>Stitches a row; returns where its thread ends, while it is on the needle.</summary>
            private int? StitchRow(int number, List<RowBlock> blocks, int? needle)
            {
                int startsBefore = runs.Count + (thread.Count > 0 ? 1 : 0);
                if (of.wishes.Reach is { } reach && IsDeep(blocks))
                {
                    CutThread();
                    StitchInDepths(number, blocks, reach);
                    Say(number, blocks, startsBefore, BlocksAlike.No);
                    return null;
                }

                (RowHeights? best, RowSides sides) = chosen[number];

                // Nothing twice and the fewest starts were asked: halves that take more are no bargain.
                if (
                    best is { } wished
                    && of.wishes.Route.Thread == ThreadChoice.Free
                    && CostOf(blocks, wished, sides, needle).Price > LeastStartsOf(blocks)
                )
                {
                    best = null;
                }

                if (best is not { } heights)
                {
                    CutThread();
                    bool alike = StitchBlockByBlock(blocks);
                    if (!alike)
                    {
                        StitchLines([.. blocks.SelectMany(LinesOf)]);
                    }

                    findings.Add(
                        new(
                            "row-not-in-halves",
                            string.Create(CultureInfo.InvariantCulture, $"row {number}"),
                            $"Half of each block out and half home would stitch something twice or take more starts; {(alike ? "block after block, all of a kind alike" : "its lines are stitched together with the fewest")}. Allow backtracking (--thread one or mixed), or added lines."
                        )
                    );
                    Say(number, blocks, startsBefore, alike ? BlocksAlike.Whole : BlocksAlike.No);
                    return null;
                }

                List<List<TrailLeg>> others = [];
                int apart = 0;
                halved.AddRange(blocks.Select(b => (b, heights, sides)));
                foreach (RowBlock b in blocks)
                {
                    (IReadOnlyList<TrailLeg> @out, _, List<List<TrailLeg>> more) = LegsOf(b, heights, sides);
                    bool follows = thread.Count > 0 && b != blocks[0];
                    GoTo(NodeBefore(@out[0]));
                    apart += follows && thread.Count == 0 ? 1 : 0;
                    thread.AddRange(@out);
                    others.AddRange(more);
                }

                foreach (RowBlock b in Enumerable.Reverse(blocks))
                {
                    (_, IReadOnlyList<TrailLeg> home, _) = LegsOf(b, heights, sides);
                    GoTo(NodeBefore(home[0]));
                    thread.AddRange(home);
                }

                if (apart > 0)
                {
                    findings.Add(
                        new(
                            "blocks-apart",
                            string.Create(CultureInfo.InvariantCulture, $"row {number}, {apart} places"),
                            "Its blocks do not touch there and no stitched side leads from one to the next, so the thread is cut. The outline (--outline any) may join them."
                        )
                    );
                }

                if (others.Count > 0)
                {
                    CutThread();
                    foreach (List<TrailLeg> legs in others)
                    {
                        thread.AddRange(legs);
                        CutThread();
                    }
                }

                Say(number, blocks, startsBefore, BlocksAlike.InHalves);
                return thread.Count > 0 ? NodeAfter(thread[^1]) : null;
            }

            // Every block by the same threads in all of its kind, one going on where the next block's begins at the same point;
            // where that takes no more starts than all lines of the row together.
            private bool StitchBlockByBlock(List<RowBlock> blocks)
            {
                if (of.wishes.Route.Thread != ThreadChoice.Free)
                {
                    return false;
                }

                List<List<TrailLeg>> joined = Joined([
                    .. blocks.Select(b =>
                        WholeOf(b)
                            .Select(t => Rightward(b, [.. t.SelectMany(l => On(of.kindOf[b.Block].Copy, l))]))
                            .ToList()
                    ),
                ]);
                if (joined.Count > LeastStartsOf(blocks))
                {
                    return false;
                }

                foreach (List<TrailLeg> legs in joined)
                {
                    thread.AddRange(legs);
                    CutThread();
                }

                return true;
            }

            // From its left side, or to its right side, as it would come from one neighbour and go on into the other.
            private List<TrailLeg> Rightward(RowBlock b, List<TrailLeg> legs)
            {
                double first = UOf(NodeBefore(legs[0]));
                double last = UOf(NodeAfter(legs[^1]));
                return last < first ? Backwards(legs) : legs;

                double UOf(int node) => b.At[of.map.Junctions[node].Id].U;
            }

            // Threads of blocks from left to right: each goes on into the first of the next block that has an end where it ends.
            private List<List<TrailLeg>> Joined(List<List<List<TrailLeg>>> blocks)
            {
                List<List<TrailLeg>> done = [];
                List<List<TrailLeg>> open = [];
                foreach (List<List<TrailLeg>> block in blocks)
                {
                    List<List<TrailLeg>> here = [.. block];
                    List<List<TrailLeg>> next = [];
                    foreach (List<TrailLeg> before in open)
                    {
                        int end = NodeAfter(before[^1]);
                        int start = NodeBefore(before[0]);
                        if (here.Find(t => Ends(t, end)) is { } on)
                        {
                            here.Remove(on);
                            next.Add([.. before, .. NodeBefore(on[0]) == end ? on : Backwards(on)]);
                        }
                        else if (here.Find(t => Ends(t, start)) is { } back)
                        {
                            here.Remove(back);
                            next.Add([.. Backwards(before), .. NodeBefore(back[0]) == start ? back : Backwards(back)]);
                        }
                        else
                        {
                            done.Add(before);
                        }
                    }

                    open = [.. next, .. here];
                }

                return [.. done, .. open];

                bool Ends(List<TrailLeg> t, int node) => NodeBefore(t[0]) == node || NodeAfter(t[^1]) == node;
            }

            private IReadOnlyList<IReadOnlyList<HalfLeg>> WholeOf(RowBlock b)
            {
                (BlockKind kind, BlockCopy copy) = of.kindOf[b.Block];
                return designs[kind].WholeFor(copy);
            }

            private void Say(int number, List<RowBlock> blocks, int startsBefore, BlocksAlike alike)
            {
                int starts = runs.Count + (thread.Count > 0 ? 1 : 0) - startsBefore;
                Rows.Add(new(number, pass, blocks.Count, starts, LeastStartsOf(blocks), alike));
            }

            private int LeastStartsOf(List<RowBlock> blocks) =>
                new LineNetwork(
                    of.map.Junctions.Count,
                    [.. blocks.SelectMany(LinesOf).Select(e => (lines[e].From, lines[e].To, lines[e].Inches))]
                ).LeastStarts;

            private int NodeBefore(TrailLeg l) => l.Forward ? lines[l.Line].From : lines[l.Line].To;

            // A mirrored copy uses the same halves, mirrored and travelled the other way; one turned by half goes out as the
            // others go home; one turned by a quarter has halves of its own, the same in all that lie so.
            private BlockHalves? HalvesOf(RowBlock b, RowHeights heights, RowSides sides) =>
                designs[of.kindOf[b.Block].Kind].HalvesFor(of.kindOf[b.Block].Copy, heights, sides);

            // Goes on with the thread where it is, travels along stitched sides, or cuts it and starts anew.
            private void GoTo(int node)
            {
                int? at = thread.Count > 0 ? NodeAfter(thread[^1]) : null;
                if (at is not { } from || from == node)
                {
                    return;
                }

                if (WayAlongSides(from, node) is { } way)
                {
                    thread.AddRange(way);
                }
                else
                {
                    CutThread();
                }
            }

            /// <summary>
            /// The shortest way along stitched sides; null where there is none, where nothing may be stitched twice, or where
            /// a start is cheaper.
            /// </summary>
            private List<TrailLeg>? WayAlongSides(int from, int to)
            {
                if (of.wishes.Route.Thread == ThreadChoice.Free)
                {
                    return null;
                }

                double limit =
                    of.wishes.Route.Thread == ThreadChoice.Mixed
                        ? of.wishes.Route.StartCostSeconds / of.wishes.Route.InchCostSeconds
                        : double.PositiveInfinity;
                Dictionary<int, (double Distance, TrailLeg? By)> reached = new() { [from] = (0, null) };
                PriorityQueue<int, double> open = new();
                open.Enqueue(from, 0);
                while (open.TryDequeue(out int v, out double d))
                {
                    if (v == to)
                    {
                        break;
                    }

                    if (d > reached[v].Distance)
                    {
                        continue;
                    }

                    foreach (TrailLeg l in of.SidesAt(v).Where(l => sideStitched[l.Line]))
                    {
                        int w = NodeAfter(l);
                        double dw = d + lines[l.Line].Inches;
                        if (
                            dw < limit
                            && (!reached.TryGetValue(w, out (double Distance, TrailLeg? By) k) || dw < k.Distance)
                        )
                        {
                            reached[w] = (dw, l);
                            open.Enqueue(w, dw);
                        }
                    }
                }

                if (!reached.ContainsKey(to))
                {
                    return null;
                }

                List<TrailLeg> way = [];
                for (int v = to; reached[v].By is { } by; v = NodeBefore(by))
                {
                    way.Add(by);
                }

                way.Reverse();
                return way;
            }

            private (IReadOnlyList<TrailLeg> Out, IReadOnlyList<TrailLeg> Home, List<List<TrailLeg>> Others) LegsOf(
                RowBlock b,
                RowHeights heights,
                RowSides sides
            )
            {
                BlockHalves halves = HalvesOf(b, heights, sides)!;
                BlockCopy copy = of.kindOf[b.Block].Copy;
                List<TrailLeg> @out = [.. halves.Out.SelectMany(l => On(copy, l))];
                List<TrailLeg> home = [.. halves.Home.SelectMany(l => On(copy, l))];
                if (copy.IsReversed)
                {
                    @out = Backwards(@out);
                    home = Backwards(home);
                }

                if (copy.IsHalfTurned)
                {
                    (@out, home) = (home, @out);
                }

                return (@out, home, [.. halves.Others.Select(o => o.SelectMany(l => On(copy, l)).ToList())]);
            }

            private static List<TrailLeg> Backwards(List<TrailLeg> legs) =>
                [.. Enumerable.Reverse(legs).Select(l => l.Reversed)];

            private List<TrailLeg> On(BlockCopy copy, HalfLeg leg)
            {
                (string from, string to) = (copy.JunctionOf[leg.From], copy.JunctionOf[leg.To]);
                if (leg.Seam is { } id)
                {
                    int line = lineOf[copy.SeamOf[id]];
                    return [new(line, lines[line].From == of.junction[from])];
                }

                if (leg.Added >= 0)
                {
                    int line = addedLineOf[(copy.Block.Block, leg.Added)];
                    return [new(line, lines[line].From == of.junction[from])];
                }

                return AlongSide(copy.Block, from, to);
            }

            // The pieces of a block's side between two of its points: neighbours may have put further points on it.
            private List<TrailLeg> AlongSide(RowBlock b, string from, string to)
            {
                double v = b.At[from].V < 0.5 ? 0 : 1;
                bool right = b.At[to].U > b.At[from].U;
                (double low, double high) = right ? (b.At[from].U, b.At[to].U) : (b.At[to].U, b.At[from].U);
                List<Seam> pieces =
                [
                    .. b
                        .Sides.Where(s =>
                            Math.Abs(b.At[s.From].V - v) < 0.02
                            && Math.Abs(b.At[s.To].V - v) < 0.02
                            && Middle(s) > low
                            && Middle(s) < high
                        )
                        .OrderBy(Middle),
                ];
                if (!right)
                {
                    pieces.Reverse();
                }

                List<TrailLeg> legs = [];
                int at = of.junction[from];
                foreach (Seam s in pieces)
                {
                    int line = lineOf[s.Id];
                    bool forward = lines[line].From == at;
                    legs.Add(new(line, forward));
                    at = forward ? lines[line].To : lines[line].From;
                }

                return legs;

                double Middle(Seam s) => (b.At[s.From].U + b.At[s.To].U) / 2;
            }

            private IEnumerable<int> LinesOf(RowBlock b)
            {
                foreach (Seam s in b.Stitched)
                {
                    yield return lineOf[s.Id];
                }

                for (int i = 0; i < designs[of.kindOf[b.Block].Kind].Added.Count; i++)
                {
                    yield return addedLineOf[(b.Block, i)];
                }
            }

            /// <summary>One call for each kind of block that a row takes in halves, said on the first such block.</summary>
            public List<KindCall> Calls()
            {
                List<KindCall> calls = [];
                Dictionary<Pattern, int> copies = halved
                    .GroupBy(h => PatternOf(h.Block, h.Heights, h.Sides))
                    .ToDictionary(g => g.Key, g => g.Count());
                HashSet<Pattern> said = [];

                // Said on a block that lies as the first one does, where there is one.
                foreach (
                    (RowBlock b, RowHeights heights, RowSides sides) in halved.OrderBy(h =>
                        of.kindOf[h.Block.Block].Copy is { IsReversed: false, IsHalfTurned: false } ? 0 : 1
                    )
                )
                {
                    Pattern pattern = PatternOf(b, heights, sides);
                    if (!said.Add(pattern))
                    {
                        continue;
                    }

                    (IReadOnlyList<TrailLeg> @out, IReadOnlyList<TrailLeg> home, _) = LegsOf(b, heights, sides);
                    int[] used = [.. @out.Concat(home).Select(l => l.Line).Distinct()];
                    StitchGraph graph = new(of.map, [.. used.Select(e => lines[e])]);
                    RouteCandidate both = RouteWriter.Write(
                        graph,
                        [Own(@out), Own(home)],
                        ThreadChoice.One,
                        false,
                        Length.Zero,
                        null,
                        of.cancellation
                    );
                    calls.Add(new(b.Block.Id, copies[pattern], CallWriter.Write(of.map, both, of.cancellation)));

                    Trail Own(IReadOnlyList<TrailLeg> legs) =>
                        new([.. legs.Select(l => l with { Line = Array.IndexOf(used, l.Line) })], false);
                }

                return calls;
            }

            private void StitchLines(List<int> some)
            {
                if (some.Count == 0)
                {
                    return;
                }

                StitchGraph graph = new(of.map, [.. some.Select(e => lines[e])]);
                ThreadPlan plan = ThreadPlanner.Plan(graph, of.ThreadWishes, of.taste, of.cancellation);
                foreach (Trail t in plan.Trails)
                {
                    thread.AddRange(t.Legs.Select(l => l with { Line = some[l.Line] }));
                    CutThread();
                }
            }

            // Blocks deeper than the reach: bands of lines that lie wholly within it, cut at points, each with starts of its own.
            private void StitchInDepths(int number, List<RowBlock> blocks, Length reach)
            {
                List<int> left = [.. blocks.SelectMany(LinesOf)];
                int deeper = 0;
                while (left.Count > 0)
                {
                    double top = left.Min(e => lines[e].Path.Bounds().Top);
                    List<int> now = [.. left.Where(e => lines[e].Path.Bounds().Bottom <= top + reach.Inches + 1e-6)];
                    if (now.Count == 0)
                    {
                        // A line longer than the reach is stitched as far as it goes, and on after the advance.
                        now = [.. left.Where(e => lines[e].Path.Bounds().Top <= top + 1e-6)];
                        deeper += now.Count;
                    }

                    StitchLines(now);
                    HashSet<int> stitched = [.. now];
                    left.RemoveAll(stitched.Contains);
                    if (left.Count > 0)
                    {
                        pass++;
                    }
                }

                findings.Add(
                    new(
                        "block-deeper-than-reach",
                        string.Create(CultureInfo.InvariantCulture, $"row {number}"),
                        "Its blocks are cut at points between two advances, each part with starts and stops of its own."
                            + (
                                deeper > 0
                                    ? string.Create(
                                        CultureInfo.InvariantCulture,
                                        $" {deeper} lines are longer than the reach: stop with the needle down, advance, go on."
                                    )
                                    : ""
                            )
                    )
                );
            }

            public RouteCandidate Write()
            {
                bool[] used = new bool[lines.Count];
                List<(List<TrailLeg> Legs, int Pass, int? Row)> cut = CutForBobbins();
                foreach (TrailLeg l in cut.SelectMany(r => r.Legs))
                {
                    used[l.Line] = true;
                }

                int[] number = new int[lines.Count];
                List<StitchLine> kept = [];
                for (int e = 0; e < lines.Count; e++)
                {
                    number[e] = kept.Count;
                    if (used[e])
                    {
                        kept.Add(lines[e]);
                    }
                }

                HashSet<int> before =
                    of.wishes.Anchor == RowAnchor.SidesStitched
                        ? [.. Enumerable.Range(0, of.anchors.Count).Where(e => used[e]).Select(e => number[e])]
                        : [];
                double along = cut.SelectMany(r => r.Legs)
                    .Where(l => before.Count > 0 && l.Line < of.anchors.Count)
                    .Sum(l => lines[l.Line].Inches);
                if (along > 0)
                {
                    findings.Add(
                        new(
                            "along-stitched-sides",
                            $"{Length.FromInches(along).ToSixteenths()} in of sides stitched before",
                            "The thread travels along them; it is counted as backtracking, the first time too."
                        )
                    );
                }

                StitchGraph graph = new(of.map, kept);
                double price = of.wishes.Route.StartCostSeconds / of.wishes.Route.InchCostSeconds;
                Trail[] trails =
                [
                    .. cut.Select(r => new Trail([.. r.Legs.Select(l => l with { Line = number[l.Line] })], false)),
                ];
                RouteCandidate c = RouteWriter.Write(
                    graph,
                    trails,
                    of.wishes.Route.Thread,
                    of.wishes.Route.Thread == ThreadChoice.Mixed
                        && ThreadPlanner.IsLeastTime(graph, trails, price, of.taste, of.cancellation),
                    Length.Zero,
                    null,
                    of.cancellation,
                    price,
                    before
                );
                return c with
                {
                    Runs =
                    [
                        .. c.Runs.Select(
                            (r, i) =>
                            {
                                UnknownFields fields = r.Unknown.With("pass", cut[i].Pass);
                                return r with { Unknown = cut[i].Row is { } n ? fields.With("row", n) : fields };
                            }
                        ),
                    ],
                    Design = $"{Words()}; {DesignWords.Cost(c.Measures.Starts, c.Measures.Doubled.Inches)}",
                };
            }

            private string Words()
            {
                string[] added = [.. designs.Values.Select(d => d.Words).Distinct()];
                string rows = Rows.All(r => r.InHalves)
                    ? "row by row, half of each block out and half home"
                    : "row by row";
                return added is ["the seams alone"]
                    ? rows
                    : $"{rows}, {string.Join("; ", added).Replace("; ", " or ", StringComparison.Ordinal)}";
            }

            /// <summary>Stops each thread before its bobbin is empty, at the point of the last stretch where it hides best.</summary>
            private List<(List<TrailLeg> Legs, int Pass, int? Row)> CutForBobbins()
            {
                if (of.wishes.LinePerBobbin is not { } bobbin)
                {
                    return runs;
                }

                // 15 in 100 are left on it (a thread that runs out mid-seam costs more than a bobbin's rest; handbook 6.1's waste).
                double most = 0.85 * bobbin.Inches;
                List<(List<TrailLeg> Legs, int Pass, int? Row)> cut = [];
                double on = 0;
                foreach ((List<TrailLeg> legs, int p, int? r) in runs)
                {
                    List<TrailLeg> now = [];
                    foreach (TrailLeg leg in legs)
                    {
                        double inches = lines[leg.Line].Inches;
                        if (on + inches > most && (now.Count > 0 || on > 0))
                        {
                            int keep = BestStop(now);
                            if (keep > 0)
                            {
                                cut.Add(([.. now.Take(keep)], p, r));
                            }

                            now = [.. now.Skip(keep)];
                            on = now.Sum(l => lines[l.Line].Inches);
                        }

                        now.Add(leg);
                        on += inches;
                    }

                    cut.Add((now, p, r));
                }

                return cut;

                int BestStop(List<TrailLeg> now)
                {
                    int best = now.Count;
                    (int, double) least = (int.MaxValue, 0);
                    double back = 0;
                    for (int k = now.Count; k > 0 && back <= 0.15 * most; k--)
                    {
                        (int, double) key = (of.taste.Of(NodeAfter(now[k - 1])), back);
                        if (key.CompareTo(least) < 0)
                        {
                            (best, least) = (k, key);
                        }

                        back += lines[now[k - 1].Line].Inches;
                    }

                    return best;
                }
            }
        }

        private Dictionary<int, List<TrailLeg>>? sidesAt;

        private List<TrailLeg> SidesAt(int node)
        {
            if (sidesAt is null)
            {
                sidesAt = [];
                for (int e = 0; e < anchors.Count; e++)
                {
                    Add(anchors[e].From, new(e, true));
                    Add(anchors[e].To, new(e, false));
                }
            }

            return sidesAt.TryGetValue(node, out List<TrailLeg>? here) ? here : [];

            void Add(int v, TrailLeg l)
            {
                if (!sidesAt!.TryGetValue(v, out List<TrailLeg>? here))
                {
                    sidesAt[v] = here = [];
                }

                here.Add(l);
            }
        }
    }
}
