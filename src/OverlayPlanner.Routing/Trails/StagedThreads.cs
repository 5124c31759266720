using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing.Trails;

/// <summary>Least cost of any route that keeps an order of stages, as far as it is proven.</summary>
/// <param name="Starts">No route over these lines in this order has fewer.</param>
/// <param name="DoubledInches">With as many starts as the bound, none has less backtracking; 0 where that is not bounded.</param>
/// <param name="Time">For a mixed thread: no route takes less, in doubled inches; else 0.</param>
internal sealed record StageBound(int Starts, double DoubledInches, double Time);

/// <summary>Runs that stitch the lines stage by stage.</summary>
/// <param name="Trails">The runs in order.</param>
/// <param name="Bound">What is proven about the order.</param>
internal sealed record StagedRuns(List<Trail> Trails, StageBound Bound);

/// <summary>
/// Threads over lines that are stitched in stages, each after all of the one before; where two stages meet one thread leads
/// over.
/// </summary>
/// <remarks>
/// <para>
/// Since the whole route is one sequence, at most one run spans two neighbouring stages, so k stages have the sum of their
/// runs less at most k − 1. Which junctions lead over is found by dynamic programming over the stages: a run that begins or
/// ends at a junction turns that junction's parity in its stage and nothing else (T-joins, Edmonds and Johnson 1973).
/// </para>
/// <para>
/// Nothing crosses: at a junction the passes of earlier stages cut the ends of later lines into sectors, and a later pass
/// stays in one sector. So a stage is planned on the plane graph in which every junction stands once for each of its sectors,
/// and a non-crossing trail there crosses nothing anywhere. Lines of earlier stages may be travelled again along either side.
/// A pairing that would leave an odd number of later ends in a sector is dear, since it costs a later start.
/// </para>
/// <para>
/// The bound counts, stage by stage, least starts as if no pass were in another's way; and, at each junction, the fewest ends
/// that stay loose in any pairing that crosses nothing and pairs only lines of one stage, two fewer for each place that leads
/// over. A result that meets it is the least; one that does not may be the least all the same.
/// </para>
/// </remarks>
internal sealed class StagedThreads
{
    private const int None = -1;

    // Splitting a later stage's ends unevenly costs half a start; above any turn, far below a pinned end.
    private const int OddSector = 20_000;

    // Places tried for each pair of neighbouring stages, and whole plans tried where a few stages leave room for it.
    private const int MostPlaces = 24;
    private const int MostPlacesOfMany = 12;
    private const int MostPlacesOfLarge = 2;
    private const int FewStages = 3;
    private const int MostTurns = 3;
    private const int MostPlannedLines = 6_000;
    private const int MostTries = 3;

    // Lines of a stage whose matching takes a tenth of a second or more.
    private const int LargeStage = 1000;
    private const double PerRun = 1e6;

    private readonly StitchGraph graph;
    private readonly int[] stage;
    private readonly ThreadWishes wishes;
    private readonly PointTaste taste;
    private readonly CancellationToken cancellation;
    private readonly int count;
    private readonly int[][] lines;
    private readonly StageCost[] costs;
    private readonly int[][] places;
    private double[][] toGo = [];

    // Of the plan being made: the other end of the first-time pass that each half-edge belongs to, and the sectors.
    private readonly int[] chord;
    private readonly int[] before;
    private readonly int[] after;
    private bool[] stitched = [];
    private bool lastWasAgain;

    private StagedThreads(
        StitchGraph graph,
        int[] stage,
        ThreadWishes wishes,
        PointTaste taste,
        CancellationToken cancellation
    )
    {
        this.graph = graph;
        this.wishes = wishes;
        this.taste = taste;
        this.cancellation = cancellation;
        int[] used = [.. stage.Distinct().Order()];
        this.stage = [.. stage.Select(s => Array.BinarySearch(used, s))];
        count = used.Length;
        lines = new int[count][];
        ILookup<int, int> byStage = Enumerable.Range(0, stage.Length).ToLookup(e => this.stage[e]);
        for (int i = 0; i < count; i++)
        {
            lines[i] = [.. byStage[i]];
        }

        chord = new int[2 * stage.Length];
        before = new int[2 * stage.Length];
        after = new int[2 * stage.Length];
        costs = [.. Enumerable.Range(0, count).Select(i => new StageCost(this, i))];
        places = FindPlaces();
    }

    /// <summary>Plans the runs.</summary>
    /// <param name="graph">All lines.</param>
    /// <param name="stage">The stage of each line: lower ones first; numbers may be missing.</param>
    /// <param name="wishes">The thread, the style, a start and an end.</param>
    /// <param name="taste">Where tails hide.</param>
    /// <param name="cancellation">Looked at for each stage.</param>
    public static StagedRuns Plan(
        StitchGraph graph,
        int[] stage,
        ThreadWishes wishes,
        PointTaste taste,
        CancellationToken cancellation
    ) => new StagedThreads(graph, stage, wishes, taste, cancellation).Run();

    /// <summary>
    /// About how many starts, and how much backtracking, such lines take: by the books, as if no pass were in another's way, and
    /// with backtracking as if threads could lead over anywhere. For comparing designs; O(lines) for each stage, and a matching
    /// where lines are stitched twice.
    /// </summary>
    public static (int Starts, double Inches) Estimate(
        StitchGraph graph,
        int[] stage,
        ThreadWishes wishes,
        PointTaste taste,
        CancellationToken cancellation
    )
    {
        StagedThreads books = new(graph, stage, wishes, taste, cancellation);
        if (books.IsFree)
        {
            books.toGo = books.FindToGo();
            int? start = wishes.Start is { } s && books.costs[0].Touches(s) ? s : null;
            return ((int)Math.Round(books.BestFrom(0, start) / PerRun), 0);
        }

        (int runs, double inches) = (0, 0);
        foreach (StageCost c in books.costs)
        {
            (int r, double i) = c.Apart();
            (runs, inches) = (runs + r, inches + i);
        }

        return (Math.Max(1, runs - books.places.Count(p => p.Length > 0)), inches);
    }

    private bool IsFree => wishes.Thread == ThreadChoice.Free;

    private double Priced(int runs, double inches) =>
        runs * (wishes.Thread == ThreadChoice.Mixed ? wishes.InchesPerStart : PerRun) + inches;

    private StagedRuns Run()
    {
        toGo = FindToGo();
        int? start = wishes.Start is { } s && costs[0].Touches(s) ? s : null;
        double bound = BestFrom(0, start);
        StageBound proven = BoundOf(bound);
        double enough = IsFree ? Priced(proven.Starts, 0) : bound;

        List<Trail>? best = null;
        double least = double.PositiveInfinity;
        foreach ((int? first, int skip) in FirstPlaces(start))
        {
            cancellation.ThrowIfCancellationRequested();
            List<Trail> trails = Make(start, first, skip);
            double cost = Priced(trails.Count, DoubledInches(trails));
            if (cost < least - 1e-9)
            {
                (best, least) = (trails, cost);
            }

            if (least <= enough + 1e-6)
            {
                break;
            }
        }

        return new(best!, proven);
    }

    // With few stages every promising first place is tried, by several ways of turning there; with many, the best by the
    // books, mended on the way.
    private List<(int? Place, int Skip)> FirstPlaces(int? start)
    {
        List<int?> ranked = Ranked(0, start);
        if (count > FewStages)
        {
            return [(ranked[0], 0)];
        }

        return
        [
            .. ranked
                .Take(MostPlaces)
                .SelectMany((p, rank) => Enumerable.Range(0, p is null ? 1 : MostTurns).Select(skip => (p, rank, skip)))
                .OrderBy(c => c.skip + c.rank)
                .ThenBy(c => c.skip)
                .Take(Math.Max(1, MostPlannedLines / graph.Lines.Count))
                .Select(c => (c.p, c.skip)),
        ];
    }

    private double DoubledInches(List<Trail> trails)
    {
        HashSet<int> seen = [];
        return trails.SelectMany(t => t.Legs).Where(l => !seen.Add(l.Line)).Sum(l => graph.Lines[l.Line].Inches);
    }

    /// <summary>Junctions where two neighbouring stages meet, the promising ones first.</summary>
    private int[][] FindPlaces()
    {
        int[][] found = new int[Math.Max(0, count - 1)][];
        for (int b = 0; b < found.Length; b++)
        {
            // Of junctions that mend or turn the parity alike on both sides one is as good as another, but for the passes.
            found[b] =
            [
                .. costs[b]
                    .Junctions.Where(costs[b + 1].Touches)
                    .OrderBy(v => v == wishes.End && b + 2 == count ? 0 : 1)
                    .ThenBy(v => costs[b].Welcomes(v) ? 0 : 1)
                    .ThenBy(v => costs[b + 1].Welcomes(v) ? 0 : 1)
                    .ThenBy(v => taste.Of(v))
                    .ThenBy(v => v)
                    .Take(
                        IsFree ? 4 * MostPlaces
                        : Math.Max(lines[b].Length, lines[b + 1].Length) > LargeStage ? MostPlacesOfLarge
                        : count <= FewStages ? MostPlaces
                        : MostPlacesOfMany
                    ),
            ];
        }

        return found;
    }

    // toGo[b][x]: least cost of stages b + 1 … where stage b + 1 is entered at place x of boundary b; the last entry is for none.
    private double[][] FindToGo()
    {
        double[][] found = new double[Math.Max(0, count - 1)][];
        for (int b = found.Length - 1; b >= 0; b--)
        {
            cancellation.ThrowIfCancellationRequested();
            found[b] = new double[places[b].Length + 1];
            for (int x = 0; x <= places[b].Length; x++)
            {
                found[b][x] = Least(b + 1, x < places[b].Length ? places[b][x] : null, found);
            }
        }

        return found;
    }

    private double BestFrom(int i, int? from) => Least(i, from, toGo);

    private double Least(int i, int? from, double[][] rest)
    {
        if (i == count - 1)
        {
            return costs[i].Of(from, EndIn(i));
        }

        double least = costs[i].Of(from, null) + rest[i][^1];
        for (int x = 0; x < places[i].Length; x++)
        {
            // A thread that leads over is one start less.
            least = Math.Min(least, costs[i].Of(from, places[i][x]) + rest[i][x] - Priced(1, 0));
        }

        return least;
    }

    private int? EndIn(int i) => i == count - 1 && wishes.End is { } e && costs[i].Touches(e) ? e : null;

    // Where to leave stage i, entered at a place, by what it costs to the end; null is to lead over nowhere.
    private List<int?> Ranked(int i, int? from)
    {
        if (i == count - 1)
        {
            return [null];
        }

        List<(double Cost, int Order, int? Place)> ranked = [(CostThrough(i, from, null), int.MaxValue, null)];
        for (int x = 0; x < places[i].Length; x++)
        {
            ranked.Add((CostThrough(i, from, places[i][x]), x, places[i][x]));
        }

        return [.. ranked.Order().Select(r => r.Place)];
    }

    /// <summary>One whole plan, stage after stage, leaving the first one at a given place if that can be.</summary>
    private List<Trail> Make(int? start, int? first, int skip)
    {
        Array.Fill(chord, None);
        stitched = new bool[stage.Length];
        lastWasAgain = false;
        List<Trail> made = [];
        Bridge? into = null;
        for (int i = 0; i < count; i++)
        {
            cancellation.ThrowIfCancellationRequested();
            int? from = into?.Junction ?? (i == 0 ? start : null);
            List<int?> ranked = Ranked(i, from);
            List<int?> outs = i == 0 ? [first, .. ranked.Where(p => p != first)] : ranked;
            double expected = CostThrough(i, from, ranked[0]);
            (StagePlan Plan, double Cost)? best = null;
            int tries = 0;
            foreach ((int? place, Bridge? bridge) in Ways(outs, i, into, i == 0 ? skip : 0))
            {
                StagePlan plan = PlanStage(i, i == 0 ? start : null, into, bridge, made);
                double cost = Priced(plan.Trails.Count, plan.Inches) + RestAfter(i, plan.Out is null ? null : place);
                if (best is null || cost < best.Value.Cost - 1e-9)
                {
                    best = (plan, cost);
                }

                if (best.Value.Cost <= expected + 1e-6 || ++tries >= MostTries)
                {
                    break;
                }
            }

            Append(made, best!.Value.Plan, into);
            into = best.Value.Plan.Out;
        }

        return made;
    }

    private IEnumerable<(int? Place, Bridge? Bridge)> Ways(List<int?> outs, int i, Bridge? into, int skip)
    {
        foreach (int? place in outs)
        {
            if (place is not { } v)
            {
                yield return (null, null);
                continue;
            }

            foreach (Bridge bridge in BridgesAt(v, i, into).Skip(skip).Take(2))
            {
                yield return (place, bridge);
            }
        }
    }

    private double CostThrough(int i, int? from, int? to) =>
        costs[i].Of(from, i == count - 1 ? EndIn(i) : to) + RestAfter(i, to);

    // What comes after stage i is left at a place; a thread that leads over is one start less.
    private double RestAfter(int i, int? place) =>
        i == count - 1 ? 0
        : place is { } v ? toGo[i][Array.IndexOf(places[i], v)] - Priced(1, 0)
        : toGo[i][^1];

    private void Append(List<Trail> made, StagePlan plan, Bridge? into)
    {
        for (int r = 0; r < plan.Trails.Count; r++)
        {
            Trail t = plan.Trails[r];
            bool leads = r == 0 && into is not null && plan.LeadsIn;
            TrailLeg? last = leads ? made[^1].Legs[^1] : null;
            foreach (TrailLeg leg in t.Legs)
            {
                bool again = stitched[leg.Line];
                stitched[leg.Line] = true;
                if (last is { } l && !again && !lastWasAgain)
                {
                    KeepPass(Arrival(l), Departure(leg));
                }

                last = leg;
                lastWasAgain = again;
            }

            if (leads)
            {
                made[^1] = new([.. made[^1].Legs, .. t.Legs], false);
            }
            else
            {
                made.Add(t);
            }
        }
    }

    // Passes that the style lets others cross hold nobody off.
    private void KeepPass(int a, int b)
    {
        int v = graph.Plane.NodeOf(a);
        if (
            wishes.Style == TrailStyle.Smooth
            || (wishes.Style == TrailStyle.Through && graph.Plane.DegreeOf(v) == 4 && IsStraight(a, b))
        )
        {
            return;
        }

        chord[a] = b;
        chord[b] = a;
    }

    private bool IsStraight(int a, int b) => PassCost.IsStraight(graph.Plane.Along(a), graph.Plane.Along(b));

    private static int Arrival(TrailLeg leg) => 2 * leg.Line + (leg.Forward ? 1 : 0);

    private static int Departure(TrailLeg leg) => 2 * leg.Line + (leg.Forward ? 0 : 1);

    /// <summary>Numbers the sectors between the passes at a junction.</summary>
    private void FindSectors(int v)
    {
        Stack<int> outer = new();
        int now = 0;
        int next = 1;
        foreach (int h in graph.Plane.Around(v))
        {
            before[h] = now;
            if (chord[h] != None)
            {
                if (graph.Plane.PlaceOf(chord[h]) > graph.Plane.PlaceOf(h))
                {
                    outer.Push(now);
                    now = next++;
                }
                else
                {
                    now = outer.Pop();
                }
            }

            after[h] = now;
        }
    }

    /// <summary>A pass from the last line of one stage to the first of the next.</summary>
    /// <param name="Junction">Where.</param>
    /// <param name="Leaves">Half-edge by which the earlier stage arrives.</param>
    /// <param name="LeavesLater">Of a doubled line's strands the anticlockwise later one.</param>
    /// <param name="Enters">Half-edge by which the later stage departs.</param>
    private sealed record Bridge(int Junction, int Leaves, bool LeavesLater, int Enters);

    // Neighbours among the ends of both stages with no pass of an earlier stage between them, those that turn the least first.
    private List<Bridge> BridgesAt(int v, int i, Bridge? into)
    {
        // The pass by which this stage is entered stands in the way too, though it is not made yet.
        bool isPass = into is not null && chord[into.Leaves] == None && chord[into.Enters] == None;
        if (isPass)
        {
            (chord[into!.Leaves], chord[into.Enters]) = (into.Enters, into.Leaves);
        }

        FindSectors(v);
        if (isPass)
        {
            (chord[into!.Leaves], chord[into.Enters]) = (None, None);
        }

        int[] around = [.. graph.Plane.Around(v)];
        int n = around.Length;
        List<(int Cost, Bridge Bridge)> found = [];
        for (int k = 0; k < n; k++)
        {
            int a = around[k];
            for (int step = 1; IsOfEither(a) && step < n; step++)
            {
                int b = around[(k + step) % n];
                if (!IsOfEither(b))
                {
                    continue;
                }

                bool aLeaves = stage[a >> 1] == i;
                (int leaves, int enters) = aLeaves ? (a, b) : (b, a);
                if (
                    stage[b >> 1] != stage[a >> 1]
                    && before[a] == before[b]
                    && (into is null || leaves != into.Enters || lines[i].Length == 1)
                )
                {
                    int turn = PassCost.Of(graph.Plane.Along(leaves), graph.Plane.Along(enters));
                    int stuck = (costs[i].CutsOff(leaves) ? 1 : 0) + (costs[i + 1].CutsOff(enters) ? 1 : 0);
                    found.Add((turn + OddSector * stuck, new(v, leaves, aLeaves, enters)));
                }

                break;
            }
        }

        return [.. found.OrderBy(f => f.Cost).Select(f => f.Bridge)];

        bool IsOfEither(int h) => stage[h >> 1] == i || stage[h >> 1] == i + 1;
    }

    /// <summary>What one stage stitches.</summary>
    /// <param name="Trails">Its runs in order, over the whole graph's lines.</param>
    /// <param name="Inches">Its backtracking.</param>
    /// <param name="LeadsIn">True where its first run takes up the thread of the stage before.</param>
    /// <param name="Out">Where its last run hands the thread on, or null.</param>
    private sealed record StagePlan(List<Trail> Trails, double Inches, bool LeadsIn, Bridge? Out);

    private StagePlan PlanStage(int i, int? start, Bridge? into, Bridge? outOf, List<Trail> made)
    {
        StageLines own = new(this, i);
        int? nodeIn =
            into is not null ? own.NodeOf(into.Enters)
            : start is { } s ? own.NodeAt(s)
            : null;
        int? nodeOut =
            outOf is not null ? own.NodeOf(outOf.Leaves)
            : EndIn(i) is { } e ? own.NodeAt(e)
            : null;
        (List<int> kept, List<int> doubled, int[] loose) = own.Double(nodeIn, nodeOut);
        Dictionary<int, int> localOf = [];
        for (int k = 0; k < kept.Count; k++)
        {
            localOf.TryAdd(own.HalfOf(kept[k]) >> 1, k);
        }

        List<LooseEnd> pins = [];
        if (into is not null)
        {
            // Beside the line that the thread comes from: the other side of what that one says.
            pins.Add(new(2 * localOf[into.Enters >> 1] + (into.Enters & 1), !into.LeavesLater));
        }

        if (outOf is not null)
        {
            pins.Add(new(2 * localOf[outOf.Leaves >> 1] + (outOf.Leaves & 1), outOf.LeavesLater));
        }

        StitchGraph here = new(graph.Map, own.Places, [.. kept.Select(own.LineOf)]);
        IReadOnlyList<Trail> local = TrailSystem.Trace(
            here,
            doubled,
            loose,
            new(wishes.Style, pins, nodeIn, nodeOut, i < count - 1 ? PriceOfPass(own, kept) : null),
            cancellation
        );
        List<Trail> trails =
        [
            .. local.Select(t => new Trail(
                [.. t.Legs.Select(l => new TrailLeg(own.HalfOf(kept[l.Line]) >> 1, l.Forward))],
                t.IsClosed
            )),
        ];
        return InOrder(trails, start, into, outOf, i, made, doubled.Sum(k => here.Lines[k].Inches) + own.Again(kept));
    }

    private StagePlan InOrder(
        List<Trail> trails,
        int? start,
        Bridge? into,
        Bridge? outOf,
        int i,
        List<Trail> made,
        double inches
    )
    {
        Trail? first = into is null ? null : TakeBeginning(trails, LegFrom(into.Enters));
        Trail? last = null;
        if (outOf is not null)
        {
            TrailLeg leaving = LegFrom(outOf.Leaves).Reversed;
            if (trails.Count == 0 && first is not null && first.Legs[^1] == leaving)
            {
                return new([first], inches, true, outOf);
            }

            last = TakeEnding(trails, leaving);
        }

        RunOrder order = new(graph, taste, wishes.DragInches, cancellation);
        Point<ClothSpace>? at =
            first is not null ? graph.Plane.Nodes[RunOrder.LastOf(first, graph)]
            : made.Count > 0 ? graph.Plane.Nodes[RunOrder.LastOf(made[^1], graph)]
            : null;
        Point<ClothSpace>? to = last is null ? null : graph.Plane.Nodes[RunOrder.FirstOf(last, graph)];
        List<Trail> between =
        [
            .. order.Put(trails, first is null ? start : null, last is null ? EndIn(i) : null, at, to).Trails,
        ];

        // A start that only the run which leads on could make stays wished for: then nothing leads on.
        if (
            last is not null
            && start is { } s
            && between.Count > 0
            && RunOrder.FirstOf(between[0], graph) != s
            && RunOrder.FirstOf(last, graph) == s
        )
        {
            between.Insert(0, last);
            last = null;
        }

        List<Trail> all =
        [
            .. first is null ? Array.Empty<Trail>() : [first],
            .. between,
            .. last is null ? Array.Empty<Trail>() : [last],
        ];
        return new(all, inches, first is not null, last is null ? null : outOf);
    }

    private static TrailLeg LegFrom(int halfEdge) => new(halfEdge >> 1, (halfEdge & 1) == 0);

    private static Trail? TakeEnding(List<Trail> trails, TrailLeg last)
    {
        int i = trails.FindIndex(t => !t.IsClosed && t.Legs[^1] == last);
        bool turned = i < 0;
        i = turned ? trails.FindIndex(t => !t.IsClosed && t.Legs[0].Reversed == last) : i;
        if (i < 0)
        {
            return null;
        }

        Trail t = turned ? RunOrder.Reversed(trails[i]) : trails[i];
        trails.RemoveAt(i);
        return t;
    }

    private static Trail? TakeBeginning(List<Trail> trails, TrailLeg first) =>
        TakeEnding(trails, first.Reversed) is { } t ? RunOrder.Reversed(t) : null;

    // Odd numbers of a later stage's ends on one side of a pass, in its sector, cost that stage a start's half each.
    private Func<int, int, int>? PriceOfPass(StageLines own, List<int> kept)
    {
        if (wishes.Style == TrailStyle.Smooth)
        {
            return null;
        }

        return (x, y) =>
        {
            if (own.IsAgain(kept[x >> 1]) || own.IsAgain(kept[y >> 1]))
            {
                return 0;
            }

            int a = 2 * (own.HalfOf(kept[x >> 1]) >> 1) + (x & 1);
            int b = 2 * (own.HalfOf(kept[y >> 1]) >> 1) + (y & 1);
            int v = graph.Plane.NodeOf(a);
            if (wishes.Style == TrailStyle.Through && graph.Plane.DegreeOf(v) == 4 && IsStraight(a, b))
            {
                return 0;
            }

            int low = Math.Min(graph.Plane.PlaceOf(a), graph.Plane.PlaceOf(b));
            int high = Math.Max(graph.Plane.PlaceOf(a), graph.Plane.PlaceOf(b));
            IReadOnlyList<int> around = graph.Plane.Around(v);
            int now = stage[a >> 1];
            FindSectors(v);
            HashSet<int> odd = [];
            for (int p = low + 1; p < high; p++)
            {
                int s = stage[around[p] >> 1];
                if (s > now && before[around[p]] == before[a] && !odd.Remove(s))
                {
                    odd.Add(s);
                }
            }

            return OddSector * odd.Count;
        };
    }

    private StageBound BoundOf(double dp)
    {
        int leads = places.Count(p => p.Length > 0);
        if (IsFree)
        {
            int starts = IsComplete()
                ? (int)Math.Round(dp / PerRun)
                : (int)Math.Round(costs.Sum(c => c.Of(null, null)) / PerRun) - leads;
            if (wishes.Style == TrailStyle.NoCrossing)
            {
                // A stage's closed piece whose points are loose by parity alone has no part in those ends, and is a run more.
                int[] loose = [.. Enumerable.Range(0, graph.Plane.Nodes.Count).Select(FewestLoose)];
                bool[] plain = [.. loose.Select((n, v) => n == OddStagesAt(v))];
                int closed = costs.Sum(c => c.ClosedPieces(v => plain[v]));
                starts = Math.Max(starts, (loose.Sum() + 1) / 2 + closed - leads);
            }

            return new(Math.Max(1, starts), 0, 0);
        }

        // With backtracking the books are exact for two stages, each in one piece: a thread that leads over along lines of the
        // first comes to a point of both. Beyond that nothing is claimed but the trivial.
        bool whole = count == 2 && costs.All(c => c.Pieces == 1) && graph.Lines.Count <= StageLines.AllBelow;
        if (!whole || places[0].Length == 0 || !IsComplete())
        {
            return new(1, 0, 0);
        }

        int runs = (int)Math.Floor(dp / PerRun + 1e-9);
        return wishes.Thread == ThreadChoice.Mixed ? new(1, 0, dp) : new(runs, dp - runs * PerRun, 0);
    }

    private bool IsComplete()
    {
        for (int b = 0; b < places.Length; b++)
        {
            if (places[b].Length < costs[b].Junctions.Count(costs[b + 1].Touches))
            {
                return false;
            }
        }

        return true;
    }

    private int OddStagesAt(int v) => graph.Plane.Around(v).CountBy(h => stage[h >> 1]).Count(s => s.Value % 2 == 1);

    /// <summary>Fewest ends that stay loose at a junction where only lines of one stage are paired and nothing crosses.</summary>
    private int FewestLoose(int v)
    {
        int[] s = [.. graph.Plane.Around(v).Select(h => stage[h >> 1])];
        int d = s.Length;
        int[,] least = new int[d + 1, d + 1];
        for (int i = d - 1; i >= 0; i--)
        {
            for (int j = i + 1; j <= d; j++)
            {
                int best = 1 + least[i + 1, j];
                for (int m = i + 1; m < j; m++)
                {
                    best = s[m] == s[i] ? Math.Min(best, least[i + 1, m] + least[m + 1, j]) : best;
                }

                least[i, j] = best;
            }
        }

        return d == 0 ? 0 : least[0, d];
    }

    /// <summary>What a stage costs by the books, entered and left at given junctions, as if no pass were in the way.</summary>
    private sealed class StageCost
    {
        private readonly StagedThreads owner;
        private readonly Dictionary<int, int> nodeOf = [];
        private readonly bool[] odd;
        private readonly int[] pieceOf;
        private readonly int[] oddIn;
        private readonly Dictionary<(int, int), double> known = [];
        private readonly int index;
        private StageLines? flat;
        private HashSet<int>? links;

        public StageCost(StagedThreads owner, int index)
        {
            this.owner = owner;
            this.index = index;
            List<(int, int, double)> list = [];
            foreach (int e in owner.lines[index])
            {
                StitchLine line = owner.graph.Lines[e];
                list.Add((Node(line.From), Node(line.To), line.Inches));
            }

            LineNetwork network = new(nodeOf.Count, list);
            Pieces = network.PieceCount;
            odd = new bool[nodeOf.Count];
            oddIn = new int[Pieces];
            pieceOf = [.. Enumerable.Range(0, nodeOf.Count).Select(network.PieceOf)];
            foreach (int v in network.Odd)
            {
                odd[v] = true;
                oddIn[pieceOf[v]]++;
            }

            int Node(int v)
            {
                if (!nodeOf.TryGetValue(v, out int n))
                {
                    nodeOf[v] = n = nodeOf.Count;
                }

                return n;
            }
        }

        public int Pieces { get; }

        public IEnumerable<int> Junctions => nodeOf.Keys;

        public bool Touches(int junction) => nodeOf.ContainsKey(junction);

        /// <summary>Pieces without odd junctions, all of whose junctions are plain.</summary>
        public int ClosedPieces(Func<int, bool> isPlain)
        {
            bool[] closed = [.. oddIn.Select(o => o == 0)];
            foreach ((int junction, int n) in nodeOf)
            {
                closed[pieceOf[n]] &= isPlain(junction);
            }

            return closed.Count(c => c);
        }

        /// <summary>True where a run may begin or end without a further start.</summary>
        public bool Welcomes(int junction) =>
            nodeOf.TryGetValue(junction, out int n) && (odd[n] || oddIn[pieceOf[n]] == 0);

        /// <summary>
        /// True where a thread that leaves by this half-edge never comes back to other lines of the stage at its junction: the
        /// line is the only link to what lies beyond (bridges by depth-first search, Tarjan 1974).
        /// </summary>
        public bool CutsOff(int halfEdge) =>
            (links ??= FindLinks()).Contains(halfEdge >> 1)
            && owner.graph.Plane.Around(owner.graph.Plane.NodeOf(halfEdge)).Count(h => owner.stage[h >> 1] == index)
                > 1;

        private HashSet<int> FindLinks()
        {
            HashSet<int> found = [];
            Dictionary<int, int> low = [];
            Dictionary<int, int> depth = [];
            foreach (int root in nodeOf.Keys)
            {
                if (depth.ContainsKey(root))
                {
                    continue;
                }

                Stack<(int Junction, int By, int Next)> path = new();
                path.Push((root, None, 0));
                depth[root] = low[root] = 0;
                while (path.TryPop(out (int Junction, int By, int Next) at))
                {
                    int[] around = [.. owner.graph.Plane.Around(at.Junction).Where(h => owner.stage[h >> 1] == index)];
                    if (at.Next < around.Length)
                    {
                        path.Push(at with { Next = at.Next + 1 });
                        int h = around[at.Next];
                        int w = owner.graph.Plane.NodeOf(h ^ 1);
                        if (h >> 1 == at.By)
                        {
                            continue;
                        }

                        if (depth.TryGetValue(w, out int known))
                        {
                            low[at.Junction] = Math.Min(low[at.Junction], known);
                        }
                        else
                        {
                            depth[w] = low[w] = path.Count;
                            path.Push((w, h >> 1, 0));
                        }
                    }
                    else if (path.TryPeek(out (int Junction, int By, int Next) above))
                    {
                        low[above.Junction] = Math.Min(low[above.Junction], low[at.Junction]);
                        if (low[at.Junction] > depth[above.Junction])
                        {
                            found.Add(at.By);
                        }
                    }
                }
            }

            return found;
        }

        public double Of(int? from, int? to)
        {
            (int, int) key = (from ?? None, to ?? None);
            if (!known.TryGetValue(key, out double cost))
            {
                known[key] = cost = owner.IsFree ? Free(from, to) : Priced(Doubled(from, to));
            }

            return cost;
        }

        private double Priced((int Runs, double Inches) cost) => owner.Priced(cost.Runs, cost.Inches);

        private double Free(int? from, int? to)
        {
            int runs = 0;
            bool parted = true;
            for (int p = 0; p < Pieces; p++)
            {
                int loose = oddIn[p];
                bool fromHere = from is { } a && pieceOf[nodeOf[a]] == p;
                bool toHere = to is { } b && pieceOf[nodeOf[b]] == p;

                // An end at an odd junction takes up its loose end; at an even one, or both at one, it brings another with it.
                bool same = fromHere && toHere && from == to;
                loose += fromHere && (same || !odd[nodeOf[from!.Value]]) ? 2 : 0;
                loose += toHere && !same && !odd[nodeOf[to!.Value]] ? 2 : 0;

                runs += Math.Max(1, loose / 2);
                parted &= !(fromHere && toHere && loose == 2);
            }

            // A run that is first and last at once is the only one; with others one thread cannot lead over.
            return owner.Priced(runs + (!parted && runs > 1 ? 1 : 0), 0);
        }

        /// <summary>Runs and backtracking of the stage alone, its ends left open.</summary>
        public (int Runs, double Inches) Apart() => Doubled(null, null);

        private (int Runs, double Inches) Doubled(int? from, int? to)
        {
            flat ??= new(owner, index, true);
            (List<int> kept, List<int> doubled, int[] loose) = flat.Double(
                from is { } a ? flat.NodeAt(a) : null,
                to is { } b ? flat.NodeAt(b) : null
            );
            double inches = doubled.Sum(k => flat.LineOf(kept[k]).Inches) + flat.Again(kept);
            return (flat.RunsOf(kept, loose), inches);
        }
    }

    /// <summary>A stage's own lines over sectors, and the earlier lines that it may travel again, along either side.</summary>
    private sealed class StageLines
    {
        /// <summary>Maps of up to so many lines offer all earlier ones to travel on.</summary>
        public const int AllBelow = 400;

        private readonly StagedThreads owner;
        private readonly List<Point<ClothSpace>> places = [];
        private readonly List<int> junctions = [];
        private readonly Dictionary<(int Junction, int Sector), int> nodes = [];
        private readonly List<(int Line, int From, int To)> all = [];
        private readonly List<bool> changes = [];
        private readonly int own;
        private HashSet<int>? joined;
        private readonly bool isFlat;

        public StageLines(StagedThreads owner, int index, bool isFlat = false)
        {
            this.owner = owner;
            this.isFlat = isFlat;
            HashSet<int> ready = [];
            foreach (int e in owner.lines[index])
            {
                Ready(e);
                all.Add((e, Node(2 * e, false), Node(2 * e + 1, false)));
                changes.Add(false);
            }

            own = all.Count;
            if (owner.IsFree || index == 0)
            {
                return;
            }

            foreach (int e in Earlier(index))
            {
                Ready(e);

                // Beside it on the left, on the right, or changing sides on the way: in the ditch nobody sees that.
                HashSet<(int, int)> seen = [];
                foreach ((bool left, bool ends) in new[] { (true, true), (false, false), (true, false), (false, true) })
                {
                    int from = Node(2 * e, left);
                    int to = Node(2 * e + 1, !ends);
                    if (seen.Add((from, to)))
                    {
                        all.Add((e, from, to));
                        changes.Add(left != ends);
                    }
                }
            }

            void Ready(int e)
            {
                foreach (int v in new[] { owner.graph.Lines[e].From, owner.graph.Lines[e].To })
                {
                    if (!isFlat && ready.Add(v))
                    {
                        owner.FindSectors(v);
                    }
                }
            }
        }

        public IReadOnlyList<Point<ClothSpace>> Places => places;

        /// <summary>First half-edge, in the whole graph, of one of the lines.</summary>
        public int HalfOf(int line) => 2 * all[line].Line;

        /// <summary>True for a line of an earlier stage.</summary>
        public bool IsAgain(int line) => line >= own;

        public StitchLine LineOf(int line)
        {
            (int e, int from, int to) = all[line];
            return owner.graph.Lines[e] with { From = from, To = to };
        }

        /// <summary>Length of those of the lines that an earlier stage has stitched.</summary>
        public double Again(List<int> kept) => kept.Where(IsAgain).Sum(k => owner.graph.Lines[all[k].Line].Inches);

        /// <summary>The node at the end of a line of this stage.</summary>
        public int NodeOf(int halfEdge)
        {
            for (int k = 0; k < own; k++)
            {
                if (all[k].Line == halfEdge >> 1)
                {
                    return (halfEdge & 1) == 0 ? all[k].From : all[k].To;
                }
            }

            throw new ArgumentOutOfRangeException(nameof(halfEdge));
        }

        /// <summary>The first sector at a junction with a line of this stage, or null.</summary>
        public int? NodeAt(int junction)
        {
            for (int k = 0; k < own; k++)
            {
                if (junctions[all[k].From] == junction)
                {
                    return all[k].From;
                }

                if (junctions[all[k].To] == junction)
                {
                    return all[k].To;
                }
            }

            return null;
        }

        /// <summary>
        /// The lines that are stitched once at least, indices among them of those stitched again within this stage, and the
        /// thread ends at each node.
        /// </summary>
        public (List<int> Kept, List<int> Doubled, int[] Loose) Double(int? from, int? to)
        {
            HashSet<int> optional = joined ??= Join();
            Doubling d = new LeastDoubling(
                NetworkOf(optional),
                n => owner.taste.Of(junctions[n]),
                owner.cancellation
            ).For(owner.wishes.Thread, from, to, owner.wishes.InchesPerStart);
            List<int> kept = [.. Enumerable.Range(0, all.Count).Where(k => !optional.Contains(k))];
            kept.AddRange(d.Doubled.Where(optional.Contains));
            HashSet<int> twice = [.. d.Doubled.Where(k => !optional.Contains(k))];
            return (kept, [.. Enumerable.Range(0, kept.Count).Where(k => twice.Contains(kept[k]))], d.Loose);
        }

        /// <summary>Number of runs of lines with so many loose ends.</summary>
        public int RunsOf(List<int> kept, int[] loose)
        {
            LineNetwork network = new(places.Count, [.. kept.Select(k => (all[k].From, all[k].To, 0.0))]);
            int[] ends = new int[network.PieceCount];
            for (int n = 0; n < loose.Length; n++)
            {
                if (loose[n] > 0)
                {
                    ends[network.PieceOf(n)] += loose[n];
                }
            }

            return ends.Sum(e => Math.Max(1, e / 2));
        }

        // Changing sides is the same length, and only taken where it helps.
        private double InchesOf(int k) => owner.graph.Lines[all[k].Line].Inches + (changes[k] ? 1e-6 : 0);

        private LineNetwork NetworkOf(IReadOnlySet<int> optional) =>
            new(places.Count, [.. all.Select((l, k) => (l.From, l.To, InchesOf(k)))], optional);

        /// <summary>
        /// The earlier lines that need not be travelled, once the stage's pieces are joined by a shortest tree of ways over the
        /// others (Frederickson, "Approximation algorithms for some postman problems", 1979; the tree as Mehlhorn 1988): with
        /// one thread wherever there is a way, with a mixed one where the way is shorter than a start is worth. Not proven
        /// the least where pieces are joined.
        /// </summary>
        private HashSet<int> Join()
        {
            HashSet<int> optional = [.. Enumerable.Range(own, all.Count - own)];
            LineNetwork network = NetworkOf(optional);
            if (optional.Count == 0 || network.PieceCount < 2)
            {
                return optional;
            }

            // From every piece at once: who is nearest to each node, and how far.
            int n = network.JunctionCount;
            double[] distance = [.. Enumerable.Repeat(double.PositiveInfinity, n)];
            int[] by = [.. Enumerable.Repeat(None, n)];
            int[] home = [.. Enumerable.Range(0, n).Select(network.PieceOf)];
            PriorityQueue<int, (double, int)> open = new();
            for (int v = 0; v < n; v++)
            {
                if (home[v] >= 0)
                {
                    distance[v] = 0;
                    open.Enqueue(v, (0, v));
                }
            }

            while (open.TryDequeue(out int v, out (double D, int) at))
            {
                if (at.D > distance[v])
                {
                    continue;
                }

                foreach (int h in network.Around(v))
                {
                    int w = network.NodeOf(h ^ 1);
                    double d = at.D + network.InchesOf(h >> 1);
                    if (d < distance[w] - 1e-12)
                    {
                        (distance[w], by[w], home[w]) = (d, h, home[v]);
                        open.Enqueue(w, (d, w));
                    }
                }
            }

            double limit =
                owner.wishes.Thread == ThreadChoice.Mixed ? owner.wishes.InchesPerStart : double.PositiveInfinity;
            int[] above = [.. Enumerable.Range(0, network.PieceCount)];
            foreach (
                (double d, int k) in optional
                    .Select(k => (distance[all[k].From] + InchesOf(k) + distance[all[k].To], k))
                    .Order()
            )
            {
                (int a, int b) = (all[k].From, all[k].To);
                if (d >= limit || home[a] < 0 || home[b] < 0 || Root(home[a]) == Root(home[b]))
                {
                    continue;
                }

                above[Root(home[a])] = Root(home[b]);
                optional.Remove(k);
                foreach (int end in new[] { a, b })
                {
                    for (int v = end; by[v] != None; v = network.NodeOf(by[v]))
                    {
                        optional.Remove(by[v] >> 1);
                    }
                }
            }

            return optional;

            int Root(int p)
            {
                while (above[p] != p)
                {
                    p = above[p] = above[above[p]];
                }

                return p;
            }
        }

        // All of them on a small map; on a large one those near the stage's own lines, since a way that leads farther off
        // would hardly be the shorter.
        private IEnumerable<int> Earlier(int index)
        {
            const double Near = 6;
            IEnumerable<int> earlier = Enumerable
                .Range(0, owner.stage.Length)
                .Where(e => owner.stage[e] < index && (isFlat || owner.stitched[e]));
            if (owner.stage.Length <= AllBelow)
            {
                return earlier;
            }

            Box<ClothSpace> box = Box<ClothSpace>.Around(places).Grown(Near);
            return earlier.Where(e =>
                box.Holds(owner.graph.Lines[e].Path.From) && box.Holds(owner.graph.Lines[e].Path.To)
            );
        }

        private int Node(int halfEdge, bool later)
        {
            int v = owner.graph.Plane.NodeOf(halfEdge);
            int sector =
                isFlat ? 0
                : later ? owner.after[halfEdge]
                : owner.before[halfEdge];
            if (!nodes.TryGetValue((v, sector), out int n))
            {
                nodes[(v, sector)] = n = places.Count;
                places.Add(owner.graph.Plane.Nodes[v]);
                junctions.Add(v);
            }

            return n;
        }
    }
}
