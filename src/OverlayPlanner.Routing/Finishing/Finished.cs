using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Finishing;

/// <summary>One design finished from what is stitched, and the figures to weigh it by.</summary>
internal sealed class Finished
{
    private readonly StitchGraph graph;
    private readonly string words;
    private readonly BegunRoute begun;
    private readonly FinishWishes wishes;
    private readonly RawEdge edge;
    private readonly PointTaste taste;
    private readonly CancellationToken cancellation;
    private readonly List<List<TrailLeg>> threads = [];
    private readonly int? end;
    private readonly Outcome clean;

    public Finished(
        IReadOnlyList<StitchLine> design,
        string words,
        BegunRoute begun,
        FinishWishes wishes,
        CancellationToken cancellation
    )
    {
        this.words = words;
        this.begun = begun;
        this.wishes = wishes;
        this.cancellation = cancellation;
        graph = new(begun.Map, design);
        edge = new(begun.Map, wishes.Route);
        taste = new(begun.Map, raw: edge);
        foreach (IReadOnlyList<BegunMove> thread in begun.Threads)
        {
            List<TrailLeg> legs = [];
            foreach (BegunMove m in thread)
            {
                (int line, bool forward) =
                    BegunRoute.Find(design, m) ?? throw new InvalidOperationException("A stitched line is no line.");
                legs.Add(new(line, forward));
            }

            threads.Add(legs);
        }

        end = wishes.Route.End is { } p ? NearestTo(p) : null;
        AddedInches = design.Where(l => l.IsAdded).Sum(l => l.Inches);
        clean = After(0, FinishWay.Unpick, Length.Zero);
        GoOn = After(MoveCount, FinishWay.GoOn, begun.Unpicked);
    }

    /// <summary>Length of added lines in the design.</summary>
    public double AddedInches { get; }

    /// <summary>All that is stitched is kept.</summary>
    public Outcome GoOn { get; }

    private int MoveCount => threads.Sum(t => t.Count);

    private double InchesPerStart => wishes.Route.StartCostSeconds / wishes.Route.InchCostSeconds;

    /// <summary>
    /// Where the best was lost: the first move after which the whole costs more than from a clean start. What is stitched
    /// only narrows what can follow, so the cost never falls along the moves and a bisection finds the place.
    /// </summary>
    /// <remarks>A thread that broke takes one start more whatever was stitched; that alone is no loss.</remarks>
    public BestLost? FindLoss()
    {
        int spare = begun.Needle == NeedleThread.Broken && MoveCount > 0 ? 1 : 0;
        (double, double, int) best = clean.CostWith(spare);
        if (GoOn.Cost.CompareTo(best) <= 0)
        {
            return null;
        }

        int good = 0;
        int bad = MoveCount;
        while (bad - good > 1)
        {
            cancellation.ThrowIfCancellationRequested();
            int middle = (good + bad) / 2;
            if (After(middle, FinishWay.Unpick, Length.Zero).Cost.CompareTo(best) > 0)
            {
                bad = middle;
            }
            else
            {
                good = middle;
            }
        }

        int v = NodeBefore(threads.SelectMany(t => t).ElementAt(good));
        return new(
            good,
            graph.Map.Junctions[v].Id,
            graph.Plane.Nodes[v],
            GoOn.Starts - clean.Starts - spare,
            Length.FromInches(Math.Max(0, GoOn.DoubledInches - clean.DoubledInches)),
            GoOn.Crossings - clean.Crossings
        );
    }

    /// <summary>Unpicks to where the best was lost and goes on from there.</summary>
    public Outcome Unpick(BestLost lost) =>
        After(
            lost.Move,
            FinishWay.Unpick,
            begun.Unpicked
                + Length.FromInches(threads.SelectMany(t => t).Skip(lost.Move).Sum(l => graph.Lines[l.Line].Inches))
        );

    private Outcome After(int moves, FinishWay way, Length unpicked)
    {
        List<IReadOnlyList<TrailLeg>> kept = [];
        int left = moves;
        foreach (List<TrailLeg> t in threads)
        {
            if (left <= 0)
            {
                break;
            }

            kept.Add([.. t.Take(left)]);
            left -= t.Count;
        }

        // Unpicked back to a point, the thread's tail is long enough to go on only where it was whole.
        bool whole = begun.Needle == NeedleThread.Whole && kept.Count > 0;
        int? needle = whole ? NodeAfter(kept[^1][^1]) : null;
        Continuation c = new ContinuationPlanner(graph, kept, taste, cancellation).Plan(
            needle,
            end,
            wishes.Route.Thread,
            InchesPerStart
        );
        return new(this, kept, c, way, unpicked, moves);
    }

    private int NodeBefore(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].From : graph.Lines[leg.Line].To;

    private int NodeAfter(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].To : graph.Lines[leg.Line].From;

    private int? NearestTo(Point<ClothSpace> p)
    {
        int v = Enumerable
            .Range(0, graph.Plane.Nodes.Count)
            .Where(v => graph.PieceOf(v) >= 0)
            .MinBy(v => graph.Plane.Nodes[v].DistanceTo(p));
        double off = graph.Plane.Nodes[v].DistanceTo(p);
        return off <= 0.5
            ? v
            : throw new InputException(
                "The thread can't end there",
                "--end",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"The nearest point is {graph.Map.Junctions[v].Id} at {graph.Plane.Nodes[v].X:0.###},{graph.Plane.Nodes[v].Y:0.###}, {off:0.##} in away."
                )
            );
    }

    /// <summary>A whole route: what is kept, then the rest.</summary>
    internal sealed class Outcome
    {
        private readonly Finished of;
        private readonly IReadOnlyList<IReadOnlyList<TrailLeg>> kept;
        private readonly Continuation rest;
        private readonly FinishWay way;
        private readonly Length unpicked;
        private readonly int moves;
        private RouteCandidate? whole;

        public Outcome(
            Finished of,
            IReadOnlyList<IReadOnlyList<TrailLeg>> kept,
            Continuation rest,
            FinishWay way,
            Length unpicked,
            int moves
        )
        {
            this.of = of;
            this.kept = kept;
            this.rest = rest;
            this.way = way;
            this.unpicked = unpicked;
            this.moves = moves;
            HashSet<int> seen = [];
            double before = kept.SelectMany(t => t)
                .Where(l => !seen.Add(l.Line))
                .Sum(l => of.graph.Lines[l.Line].Inches);
            DoubledInches = before + rest.DoubledInches;
            Starts = kept.Count + rest.NewThreads.Count;
        }

        /// <summary>Starts in all.</summary>
        public int Starts { get; }

        /// <summary>Length stitched twice in all.</summary>
        public double DoubledInches { get; }

        /// <summary>Crossings in all.</summary>
        public int Crossings => Whole.Measures.Crossings;

        /// <summary>By the thread wish: starts, then backtracking; or their price; crossings between equals.</summary>
        public (double, double, int) Cost => CostWith(0);

        /// <summary>The same with some starts more.</summary>
        public (double, double, int) CostWith(int moreStarts)
        {
            double inches = Math.Round(DoubledInches, 6);
            int starts = Starts + moreStarts;
            return of.wishes.Route.Thread == ThreadChoice.Mixed
                ? (Math.Round(starts * of.InchesPerStart + inches, 6), 0, Crossings)
                : (starts, inches, Crossings);
        }

        private RouteCandidate Whole => whole ??= WriteWhole();

        /// <summary>The whole route as a candidate.</summary>
        public RouteCandidate Write()
        {
            int at =
                kept.Count > 0 ? of.NodeAfter(kept[^1][^1])
                : rest.NewThreads.Count > 0 ? of.NodeBefore(rest.NewThreads[0].Legs[0])
                : 0;
            int next = rest.NewThreads.Count;
            double seconds =
                unpicked.Inches * of.wishes.UnpickSecondsPerInch
                + next * of.wishes.Route.StartCostSeconds
                + rest.DoubledInches * of.wishes.Route.InchCostSeconds
                + (Whole.Measures.Stitched.Inches - StitchedInches - rest.DoubledInches)
                    * of.wishes.StitchSecondsPerInch;
            foreach (Trail t in rest.NewThreads)
            {
                // An end off the top takes its own price instead of half a start.
                int off =
                    (of.edge.Frees(of.NodeBefore(t.Legs[0])) ? 1 : 0)
                    + (of.edge.Frees(of.NodeAfter(t.Legs[^1])) ? 1 : 0);
                seconds -= off * Math.Max(0, of.wishes.Route.StartCostSeconds / 2 - of.wishes.Route.RawEndSeconds);
            }

            bool tiesIn = kept.Count > 0 && rest.OnThread.Count == 0 && next > 0;
            string how =
                way == FinishWay.Unpick
                    ? $"unpicked to {of.graph.Map.Junctions[at].Id}, then on"
                    : "on from what is stitched";
            RouteCandidate written = Whole with
            {
                Design = $"{how}, {of.words}; {DesignWords.Cost(Whole.Measures.Starts, Whole.Measures.Doubled.Inches)}",
                Finish = new(
                    way,
                    moves,
                    of.graph.Map.Junctions[at].Id,
                    of.graph.Plane.Nodes[at],
                    next,
                    Length.FromInches(rest.DoubledInches),
                    unpicked,
                    tiesIn ? of.wishes.Overlap : Length.Zero,
                    seconds,
                    // Nothing stitched makes the whole cost less than from a clean start.
                    rest.IsLeast || (of.clean.rest.IsLeast && Cost.CompareTo(of.clean.Cost) <= 0)
                ),
            };
            return of.edge.Tell(of.graph.Map, written, of.wishes.Route, of.cancellation);
        }

        private RouteCandidate WriteWhole()
        {
            List<Trail> trails = [.. kept.Select(t => new Trail(t, false))];
            if (rest.OnThread.Count > 0)
            {
                trails[^1] = new([.. trails[^1].Legs, .. rest.OnThread], false);
            }

            trails.AddRange(rest.NewThreads);
            return RouteWriter.Write(
                of.graph,
                trails,
                of.wishes.Route.Thread,
                of.wishes.Route.Thread == ThreadChoice.Mixed
                    && ThreadPlanner.IsLeastTime(of.graph, trails, of.InchesPerStart, of.taste, of.cancellation),
                Length.Zero,
                null,
                of.cancellation,
                of.InchesPerStart
            );
        }

        private double StitchedInches => kept.SelectMany(t => t).Sum(l => of.graph.Lines[l.Line].Inches);
    }
}
