using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Finishing;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Rows;

/// <summary>One stretch of a half: along an inner seam, an added line, or a side stitched before.</summary>
/// <param name="Seam">Id of the inner seam, or null.</param>
/// <param name="Added">Index of the added line, or −1.</param>
/// <param name="From">Junction of the first block where it begins.</param>
/// <param name="To">Junction where it ends.</param>
internal sealed record HalfLeg(string? Seam, int Added, string From, string To)
{
    /// <summary>The same the other way.</summary>
    public HalfLeg Reversed => new(Seam, Added, To, From);
}

/// <summary>How every block of a kind is stitched in a row.</summary>
/// <param name="Out">From its left side to its right side, on the way out.</param>
/// <param name="Home">From its right side to its left side, on the way home.</param>
/// <param name="Others">What neither takes in, each with a thread of its own.</param>
/// <param name="Inches">Length stitched twice.</param>
/// <param name="Crossings">Crossings where two such blocks touch.</param>
/// <param name="IsLeast">True where no two halves between these ends do with less backtracking and as few threads.</param>
internal sealed record BlockHalves(
    IReadOnlyList<HalfLeg> Out,
    IReadOnlyList<HalfLeg> Home,
    IReadOnlyList<IReadOnlyList<HalfLeg>> Others,
    double Inches,
    int Crossings,
    bool IsLeast
);

/// <summary>An added line of a kind's design, between junctions of its first block.</summary>
internal sealed record KindLine(string From, string To, Edge<ClothSpace> Path, MoveKind Kind);

/// <summary>Where a thread enters and leaves every block of a row, as fractions of the block's height from its top.</summary>
/// <param name="Out">On the way out.</param>
/// <param name="Home">On the way home.</param>
internal readonly record struct RowHeights(double Out, double Home)
{
    /// <summary>As a block that is turned by half sees them: its way out is the first block's way home.</summary>
    public RowHeights TurnedByHalf() => new(1 - Home, 1 - Out);
}

/// <summary>Which sides of every block of a row are stitched before, so that a thread may travel along them.</summary>
internal readonly record struct RowSides(bool Top, bool Bottom)
{
    /// <summary>As a block that is turned by half sees them.</summary>
    public RowSides TurnedByHalf() => new(Bottom, Top);
}

/// <summary>
/// Parts a block's lines into a half for the way out and a half for the way home, the same in every block of its kind.
/// </summary>
/// <remarks>
/// The two halves are two trails between four given ends: what must be travelled twice for that is a T-join over the lines
/// and the stitched sides (see <see cref="LineTravel"/>), and a non-crossing pairing whose trails are exchanged until they
/// lead from left to right. What they cost is proven the least wherever lines and travel hang together.
/// </remarks>
internal sealed class HalvesPlanner
{
    // As close to a side as a sewn point lies to it.
    private const double OnSide = 0.02;

    private readonly QuiltMap map;
    private readonly RowBlock block;
    private readonly IReadOnlyList<KindLine> added;
    private readonly RouteWishes wishes;
    private readonly PointTaste taste;
    private readonly CancellationToken cancellation;
    private readonly Dictionary<string, int> index = [];
    private readonly string[] ends;
    private readonly Dictionary<string, (double U, double V)> at;

    public HalvesPlanner(
        QuiltMap map,
        RowBlock block,
        IReadOnlyList<KindLine> added,
        RouteWishes wishes,
        PointTaste taste,
        KindFrame frame,
        CancellationToken cancellation
    )
    {
        at = block.At.ToDictionary(x => x.Key, x => BlockKind.In(frame, x.Value));
        this.map = map;
        this.block = block;
        this.added = added;
        this.wishes = wishes;
        this.taste = taste;
        this.cancellation = cancellation;
        for (int v = 0; v < map.Junctions.Count; v++)
        {
            index[map.Junctions[v].Id] = v;
        }

        ends =
        [
            .. block
                .Stitched.SelectMany(s => new[] { s.From, s.To })
                .Concat(added.SelectMany(a => new[] { a.From, a.To }))
                .Distinct(),
        ];
    }

    /// <summary>Heights at which lines end on the left side and on the right side alike; the corners where lines end there.</summary>
    public IReadOnlyList<double> Heights()
    {
        double[] left = [.. ends.Where(j => at[j].U < OnSide).Select(j => at[j].V)];
        double[] right = [.. ends.Where(j => at[j].U > 1 - OnSide).Select(j => at[j].V)];
        return [.. left.Where(v => right.Any(w => Math.Abs(v - w) < OnSide)).Order()];
    }

    /// <summary>The block's threads where it is stitched by itself.</summary>
    public IReadOnlyList<IReadOnlyList<HalfLeg>> Whole()
    {
        List<(StitchLine Line, HalfLeg Leg)> lines = OwnLines();
        if (lines.Count == 0)
        {
            return [];
        }

        ThreadPlan plan = ThreadPlanner.Plan(
            new(map, [.. lines.Select(l => l.Line)]),
            new(wishes.Thread, wishes.StartCostSeconds / wishes.InchCostSeconds)
            {
                InchesPerRawEnd = wishes.RawEndSeconds / wishes.InchCostSeconds,
            },
            taste,
            cancellation
        );
        return
        [
            .. plan.Trails.Select(t =>
                t.Legs.Select(l => l.Forward ? lines[l.Line].Leg : lines[l.Line].Leg.Reversed).ToList()
            ),
        ];
    }

    // The block's seams, then its added lines; its sides are stitched apart.
    private List<(StitchLine Line, HalfLeg Leg)> OwnLines()
    {
        List<(StitchLine Line, HalfLeg Leg)> lines = [];
        foreach (Seam s in block.Stitched)
        {
            lines.Add(
                (
                    new(index[s.From], index[s.To], map.EdgeOf(s), MoveKind.Ditch, s.Id, null),
                    new(s.Id, -1, s.From, s.To)
                )
            );
        }

        for (int a = 0; a < added.Count; a++)
        {
            KindLine k = added[a];
            lines.Add((new(index[k.From], index[k.To], k.Path, k.Kind, null, null), new(null, a, k.From, k.To)));
        }

        return lines;
    }

    /// <summary>The halves between these heights, or null where no thread gets through.</summary>
    public BlockHalves? Find(RowHeights heights, RowSides sides)
    {
        List<(StitchLine Line, HalfLeg Leg)> lines = OwnLines();
        int required = lines.Count;
        if (sides.Top)
        {
            AddSide(lines, 0);
        }

        if (sides.Bottom)
        {
            AddSide(lines, 1);
        }

        if (
            EndAt(0, heights.Out, lines) is not { } leftOut
            || EndAt(1, heights.Out, lines) is not { } rightOut
            || EndAt(0, heights.Home, lines) is not { } leftHome
            || EndAt(1, heights.Home, lines) is not { } rightHome
        )
        {
            return null;
        }

        StitchGraph graph = new(map, [.. lines.Select(l => l.Line)]);
        bool[] wanted = [.. Enumerable.Range(0, lines.Count).Select(i => i < required)];
        int[] given = [leftOut, rightOut, rightHome, leftHome];
        TravelPlan travel = new LineTravel(graph, taste.Of, cancellation).Solve(
            wanted,
            given,
            0,
            wishes.Thread,
            wishes.StartCostSeconds / wishes.InchCostSeconds
        );
        int[] travelled = [.. Enumerable.Range(0, lines.Count).Where(e => travel.Copies[e] > 0)];
        if (
            travelled.Length == 0
            || travel.Copies.Any(c => c > 2)
            || given.GroupBy(v => v).Any(g => travel.Loose[g.Key] < g.Count())
        )
        {
            return null;
        }

        StitchGraph sub = new(map, [.. travelled.Select(e => lines[e].Line)]);
        IReadOnlyList<Trail> trails = TrailSystem.Trace(
            sub,
            [.. Enumerable.Range(0, travelled.Length).Where(k => travel.Copies[travelled[k]] == 2)],
            travel.Loose,
            new(TrailStyle.NoCrossing, [], null, null) { Links = [(leftOut, rightOut), (rightHome, leftHome)] },
            cancellation
        );
        List<List<HalfLeg>> ways = [.. trails.Select(t => t.Legs.Select(LegOf).ToList())];
        List<HalfLeg>? first = Take(ways, leftOut, rightOut);
        List<HalfLeg>? second = Take(ways, rightHome, leftHome);
        if (first is null || second is null)
        {
            return null;
        }

        double inches = travelled.Sum(e => (travel.Copies[e] - (wanted[e] ? 1 : 0)) * lines[e].Line.Inches);
        BlockHalves halves = new(first, second, ways, inches, 0, travel.IsLeast);
        return heights.Out == heights.Home ? halves with { Crossings = Crossings(halves, leftOut, rightOut) } : halves;

        HalfLeg LegOf(TrailLeg l)
        {
            HalfLeg leg = lines[travelled[l.Line]].Leg;
            return l.Forward ? leg : leg.Reversed;
        }
    }

    private static List<HalfLeg> Backwards(IReadOnlyList<HalfLeg> legs) => [.. legs.Reverse().Select(l => l.Reversed)];

    private List<HalfLeg>? Take(List<List<HalfLeg>> ways, int from, int to)
    {
        string a = map.Junctions[from].Id;
        string b = map.Junctions[to].Id;
        int i = ways.FindIndex(w => (w[0].From, w[^1].To) == (a, b) || (w[0].From, w[^1].To) == (b, a));
        if (i < 0)
        {
            return null;
        }

        List<HalfLeg> way =
            ways[i].Count > 0 && ways[i][0].From == a && ways[i][^1].To == b ? ways[i] : Backwards(ways[i]);
        ways.RemoveAt(i);
        return way;
    }

    // The right-hand block's lines laid beside the left-hand block's, both leaving the shared point.
    private int Crossings(BlockHalves h, int left, int right)
    {
        Vector<ClothSpace> over = map.Junctions[right].Place - map.Junctions[left].Place;
        Edge<ClothSpace> outArrives = PathOf(h.Out[^1]).Reversed;
        Edge<ClothSpace> outLeaves = Moved(PathOf(h.Out[0]));
        Edge<ClothSpace> homeLeaves = PathOf(h.Home[0]);
        Edge<ClothSpace> homeArrives = Moved(PathOf(h.Home[^1]).Reversed);
        return CrossingCounter.Alternate(outArrives, outLeaves, homeArrives, homeLeaves) ? 1 : 0;

        Edge<ClothSpace> Moved(Edge<ClothSpace> e) => new(e.From + over, e.To + over, e.Bulge);
    }

    private Edge<ClothSpace> PathOf(HalfLeg l)
    {
        if (l.Seam is { } id)
        {
            Edge<ClothSpace> e = map.EdgeOf(map.SeamOf(id));
            return map.SeamOf(id).From == l.From ? e : e.Reversed;
        }

        if (l.Added >= 0)
        {
            return added[l.Added].From == l.From ? added[l.Added].Path : added[l.Added].Path.Reversed;
        }

        return new(map.JunctionOf(l.From).Place, map.JunctionOf(l.To).Place);
    }

    // A side as travel: from corner to corner over the ends of lines on it.
    private void AddSide(List<(StitchLine Line, HalfLeg Leg)> lines, double v)
    {
        string[] on =
        [
            .. at.Where(x =>
                    Math.Abs(x.Value.V - v) < OnSide
                    && (x.Value.U < OnSide || x.Value.U > 1 - OnSide || ends.Contains(x.Key))
                )
                .OrderBy(x => x.Value.U)
                .Select(x => x.Key),
        ];
        for (int i = 1; i < on.Length; i++)
        {
            Edge<ClothSpace> path = new(map.JunctionOf(on[i - 1]).Place, map.JunctionOf(on[i]).Place);
            lines.Add(
                (new(index[on[i - 1]], index[on[i]], path, MoveKind.Ditch, null, null), new(null, -1, on[i - 1], on[i]))
            );
        }
    }

    private int? EndAt(double u, double v, List<(StitchLine Line, HalfLeg Leg)> lines)
    {
        foreach ((StitchLine line, HalfLeg leg) in lines)
        {
            foreach ((int node, string id) in new[] { (line.From, leg.From), (line.To, leg.To) })
            {
                if (Math.Abs(at[id].U - u) < OnSide && Math.Abs(at[id].V - v) < OnSide)
                {
                    return node;
                }
            }
        }

        return null;
    }
}
