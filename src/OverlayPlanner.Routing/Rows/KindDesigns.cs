using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Rows;

/// <summary>One design of a kind of block, and its halves between any heights.</summary>
internal sealed class KindDesign
{
    private readonly Dictionary<KindFrame, HalvesPlanner> planners = [];
    private readonly Dictionary<(KindFrame, long, long, RowSides), BlockHalves?> known = [];
    private readonly Func<KindFrame, HalvesPlanner> plannerOf;
    private IReadOnlyList<IReadOnlyList<HalfLeg>>? whole;

    public KindDesign(IReadOnlyList<KindLine> added, string words, Func<KindFrame, HalvesPlanner> plannerOf)
    {
        Added = added;
        Words = words;
        this.plannerOf = plannerOf;
    }

    /// <summary>The added lines.</summary>
    public IReadOnlyList<KindLine> Added { get; }

    /// <summary>What it adds.</summary>
    public string Words { get; }

    /// <summary>Where a thread may enter and leave a copy, as fractions of its height from its top.</summary>
    public IReadOnlyList<double> HeightsOf(BlockCopy copy)
    {
        IReadOnlyList<double> heights = PlannerOf(copy.Frame).Heights();
        return copy.IsHalfTurned ? [.. heights.Select(v => 1 - v).Order()] : heights;
    }

    /// <summary>The first block's halves for a copy, planned once.</summary>
    public BlockHalves? HalvesFor(BlockCopy copy, RowHeights heights, RowSides sides)
    {
        (heights, sides) = copy.IsHalfTurned ? (heights.TurnedByHalf(), sides.TurnedByHalf()) : (heights, sides);

        // Heights of sewn points differ by less than what tells two points apart.
        const double Steps = 1e6;
        (KindFrame, long, long, RowSides) key = (
            copy.Frame,
            (long)Math.Round(heights.Out * Steps),
            (long)Math.Round(heights.Home * Steps),
            sides
        );
        if (!known.TryGetValue(key, out BlockHalves? halves))
        {
            known[key] = halves = PlannerOf(copy.Frame).Find(heights, sides);
        }

        return halves;
    }

    /// <summary>The first block's threads where each block is stitched by itself, planned once.</summary>
    public IReadOnlyList<IReadOnlyList<HalfLeg>> WholeFor(BlockCopy copy) => whole ??= PlannerOf(copy.Frame).Whole();

    private HalvesPlanner PlannerOf(KindFrame frame)
    {
        if (!planners.TryGetValue(frame, out HalvesPlanner? planner))
        {
            planners[frame] = planner = plannerOf(frame);
        }

        return planner;
    }
}

/// <summary>The designs that are worth trying on a kind of block; its sides are stitched apart, so they count as outline.</summary>
internal sealed class KindDesigns
{
    private readonly List<KindDesign> designs = [];

    public KindDesigns(
        QuiltMap map,
        BlockKind kind,
        RouteWishes wishes,
        PointTaste taste,
        CancellationToken cancellation
    )
    {
        Kind = kind;
        if (wishes.Lines != LineChoice.Seams)
        {
            QuiltMap alone = Alone(map, kind.First);
            RoutePlan plan = RoutePlanner.Plan(
                alone,
                wishes with
                {
                    Block = null,
                    Start = null,
                    End = null,
                    Outline = OutlineChoice.None,
                    Through = false,
                },
                cancellation
            );

            // The curve's arcs are one design, however a thread runs through them.
            foreach (
                RouteCandidate c in plan.Route.Candidates.Take(wishes.Lines == LineChoice.Curves ? 1 : int.MaxValue)
            )
            {
                KindLine[] added =
                [
                    .. c
                        .AllMoves.Where(m => m.Kind is MoveKind.Arc or MoveKind.Line)
                        .Select(m => new KindLine(IdAt(alone, m.Path.From), IdAt(alone, m.Path.To), m.Path, m.Kind)),
                ];
                designs.Add(
                    new(
                        added,
                        (c.Design ?? "").Split(';')[0],
                        f => new(map, kind.First, added, wishes, taste, f, cancellation)
                    )
                );
            }
        }

        if (wishes.Lines != LineChoice.Curves && designs.All(d => d.Added.Count > 0))
        {
            designs.Add(new([], "the seams alone", f => new(map, kind.First, [], wishes, taste, f, cancellation)));
        }
    }

    public BlockKind Kind { get; }

    public int Count => designs.Count;

    public KindDesign At(int i) => designs[i];

    private static string IdAt(QuiltMap map, Point<ClothSpace> p) => map.Junctions.First(j => j.Place == p).Id;

    // The block by itself, its sides as outline.
    private static QuiltMap Alone(QuiltMap map, RowBlock block)
    {
        HashSet<string> seams = [.. block.Inner.Concat(block.Sides).Select(s => s.Id)];
        HashSet<string> sides = [.. block.Sides.Select(s => s.Id)];
        HashSet<string> junctions = [.. block.At.Keys];
        HashSet<string> patches = [.. block.Block.Patches];
        return map.With(
            junctions: [.. map.Junctions.Where(j => junctions.Contains(j.Id))],
            seams:
            [
                .. map
                    .Seams.Where(s => seams.Contains(s.Id))
                    .Select(s => sides.Contains(s.Id) ? s with { Role = SeamRole.Edge, Edge = EdgeKind.Seam } : s),
            ],
            patches: [.. map.Patches.Where(p => patches.Contains(p.Id))],
            blocks: [block.Block]
        );
    }
}
