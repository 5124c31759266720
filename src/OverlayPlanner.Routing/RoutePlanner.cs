using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Ordering;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing;

/// <summary>Plans routes over a quilt map.</summary>
public static class RoutePlanner
{
    private const int MostCandidates = 26;

    /// <summary>
    /// Plans the choices that the wishes ask for, the recommended one first, each with its proof.
    /// </summary>
    /// <remarks>
    /// Routes never cross themselves, unless <see cref="RouteWishes.Through"/> asks for it or the smooth curve is among the
    /// choices; those crossings are counted. Raw outline seams keep their seam's coordinates; their moves carry the field
    /// <c>inset</c> 0.25, the distance in inches by which the needle stays inside the binding line.
    /// </remarks>
    /// <exception cref="InputException">The wishes or the map can't be planned on.</exception>
    /// <exception cref="OperationCanceledException">Cancellation was asked for.</exception>
    public static RoutePlan Plan(QuiltMap map, RouteWishes wishes, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(wishes);
        Require(wishes);
        Contradictions.Require(map, wishes, w => Measure(map, w, cancellation));
        Planning first = new(map, wishes, cancellation);
        RoutePlan plan = first.Run();

        // The planned lines alone show whether every point of a closed thread is bulky; then it starts beside one.
        return first.FindTail() is { } tail ? new Planning(map, wishes, cancellation, tail).Run() : plan;
    }

    private static RouteMeasures? Measure(QuiltMap map, RouteWishes wishes, CancellationToken cancellation)
    {
        try
        {
            RouteWishes plain = wishes with { Lines = LineChoice.Seams, Candidates = 1 };
            return new Planning(map, plain, cancellation).Run().Route.Candidates[0].Measures;
        }
        catch (InputException)
        {
            return null;
        }
    }

    private static void Require(RouteWishes w)
    {
        if (w.Candidates is < 1 or > MostCandidates)
        {
            throw new InputException("The number of choices must be from 1 to 26", "--candidates", "Ask for three.");
        }

        if (!(w.StartCostSeconds >= 0 && w.StartCostSeconds <= 1e6))
        {
            throw new InputException(
                "A start must cost from 0 to 1,000,000 s",
                "--start-cost",
                "Give seconds; 40 is usual."
            );
        }

        if (!(w.InchCostSeconds > 0 && w.InchCostSeconds <= 1e6))
        {
            throw new InputException(
                "An inch of backtracking must cost more than 0 s",
                "--inch-cost",
                "Give seconds; 2 is usual."
            );
        }

        if (!(w.StandOff.Inches >= 0 && w.StandOff.Inches <= 12))
        {
            throw new InputException("The stand-off must be from 0 to 12 in", "stand-off", "1/4 in is usual.");
        }

        OrderOptions.Require(w);
        if (!(w.FootOffset.Inches >= 0 && w.FootOffset.Inches <= 2))
        {
            throw new InputException(
                "The foot's offset must be from 0 to 2 in",
                "foot",
                "It is half the foot's diameter: 1/4 in."
            );
        }
    }

    /// <summary>One call's work.</summary>
    private sealed class Planning
    {
        private readonly RouteWishes wishes;
        private readonly CancellationToken cancellation;
        private readonly QuiltMap original;
        private readonly AskedOrder asked;
        private QuiltMap map;
        private LineSelection selection;
        private PointTaste taste;
        private ThreadWishes threads;
        private readonly List<Finding> findings = [];
        private readonly List<(StitchGraph Graph, ThreadPlan Plan)> written = [];

        public Planning(
            QuiltMap given,
            RouteWishes wishes,
            CancellationToken cancellation,
            (string Seam, double At)? tail = null
        )
        {
            // Nothing is added where only some seams are asked for.
            this.wishes = wishes.Only.Count > 0 ? wishes with { Lines = LineChoice.Seams } : wishes;
            this.cancellation = cancellation;
            original = given;
            map = wishes.Midpoints ? SeamSplitter.SplitAtMidpoints(given) : given;
            (map, string? start) = Resolve(map, wishes.Start, "--start");
            (map, string? end) = Resolve(map, wishes.End, "--end");
            if (tail is { } t)
            {
                map = SeamSplitter.Split(
                    map,
                    new Dictionary<string, IReadOnlyCollection<double>> { [t.Seam] = [t.At] }
                );
            }

            selection = Select(map);
            taste = new(map, wishes.BulkyFrom);
            asked = new(
                new()
                {
                    OutlineLast = wishes.Outline == OutlineChoice.Last,
                    LastSeams = wishes.LastSeams.Count > 0 ? SeamNames.Pieces(original, map, wishes.LastSeams) : null,
                    Anchors =
                        wishes.AnchorFirst ? AnchorOrder.First
                        : wishes.RoundLast ? AnchorOrder.Last
                        : AnchorOrder.Any,
                    FinishBlocks = wishes.FinishBlocks,
                },
                start is null ? null : selection.JunctionIndex[start],
                end is null ? null : selection.JunctionIndex[end]
            );
            threads = ThreadsFor(asked);
        }

        private ThreadWishes ThreadsFor(AskedOrder order)
        {
            StitchStages stages = new(map, order.Order, order.Start, order.End);
            return new(
                wishes.Thread,
                wishes.StartCostSeconds / wishes.InchCostSeconds,
                wishes.Through ? TrailStyle.Through : TrailStyle.NoCrossing,
                order.Start,
                order.End,
                stages.IsWished ? stages.Of : null,
                wishes.Drag.Inches,
                wishes.HopCostSeconds / wishes.InchCostSeconds
            );
        }

        // The lines that the block, the outline, --skip and --only leave.
        private LineSelection Select(QuiltMap on)
        {
            LineSelection all = LineSelection.Choose(on, wishes.Block, wishes.Outline);
            if (wishes.Skip.Count > 0)
            {
                IReadOnlySet<string> skipped = SeamNames.Pieces(original, on, wishes.Skip);
                all = all.Keeping(l => !skipped.Contains(l.Seam!));
            }

            if (wishes.Only.Count == 0)
            {
                return all;
            }

            IReadOnlySet<string> only = SeamNames.Pieces(original, on, wishes.Only);
            if (wishes.Thread == ThreadChoice.Free)
            {
                return all.Keeping(l => only.Contains(l.Seam!));
            }

            StitchLine[] lines = [.. all.Inner, .. all.Outline];
            HashSet<int> required = [.. Enumerable.Range(0, lines.Length).Where(e => only.Contains(lines[e].Seam!))];
            IReadOnlyList<int> travelled = TravelledSeams.Find(
                on.Junctions.Count,
                [.. lines.Select(l => (l.From, l.To, l.Inches))],
                required,
                wishes.Thread,
                wishes.StartCostSeconds / wishes.InchCostSeconds,
                cancellation
            );
            HashSet<string> kept = [.. only, .. travelled.Select(e => lines[e].Seam!)];
            return all.Keeping(l => kept.Contains(l.Seam!));
        }

        private (QuiltMap Map, string? Junction) Resolve(QuiltMap on, Point<ClothSpace>? place, string option)
        {
            if (place is not { } p)
            {
                return (on, null);
            }

            LineSelection lines = Select(on);
            HashSet<string> stitched = [.. lines.Inner.Concat(lines.Outline).Select(l => l.Seam).OfType<string>()];
            return PointWish.Resolve(on, p, option, stitched);
        }

        public RoutePlan Run()
        {
            StitchGraph bare = new(map, [.. selection.Inner, .. selection.Outline]);
            List<RouteCandidate> candidates = wishes.Lines switch
            {
                LineChoice.Seams => PlanSeams(bare),
                LineChoice.Curves => PlanCurves(),
                _ => PlanDesigns(bare),
            };
            if (candidates.Count == 0)
            {
                throw new InputException(
                    "There is nothing to stitch",
                    wishes.Block is { } block ? $"block {block}" : "the map",
                    "It has no seams inside and no room for arcs; ask for the outline (--outline any)."
                );
            }

            OrderFindings.Add(findings, map, candidates[0], wishes, selection, asked.Order);
            double? price = wishes.Thread == ThreadChoice.Mixed ? threads.InchesPerStart : null;
            findings.AddRange(WishCosts.Find(written[0].Graph, asked, price, PlanWith));
            return new(
                new(map, [.. candidates.Select((c, i) => c with { Name = ((char)('A' + i)).ToString() })]),
                findings
            );
        }

        private List<RouteCandidate> PlanSeams(StitchGraph bare)
        {
            if (bare.Lines.Count == 0)
            {
                return [];
            }

            SayPieces(bare);
            return CompareThrough([(bare, DesignWords.SeamsAlone)]);
        }

        private List<RouteCandidate> PlanCurves()
        {
            List<StitchLine> arcs = ContinuousCurve.Lay(selection, wishes, findings);
            if (arcs.Count == 0)
            {
                throw new InputException(
                    "No patch takes an arc along each of its sides",
                    "--lines curves",
                    "Ask for a smaller stand-off, tighter rulers, or --lines seams."
                );
            }

            StitchGraph graph = new(map, [.. arcs, .. selection.Outline]);
            foreach ((int? wished, string option) in new[] { (threads.Start, "--start"), (threads.End, "--end") })
            {
                if (wished is { } v && graph.PieceOf(v) < 0)
                {
                    Junction near = map.Junctions[
                        Enumerable
                            .Range(0, map.Junctions.Count)
                            .Where(w => graph.PieceOf(w) >= 0)
                            .MinBy(w => map.Junctions[w].Place.DistanceTo(map.Junctions[v].Place))
                    ];
                    throw new InputException(
                        "No curve passes that place",
                        option,
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"The nearest point on one is {near.Id} at {near.Place.X:0.###},{near.Place.Y:0.###}."
                        )
                    );
                }
            }

            SayPieces(graph);
            SayRulers(arcs);
            List<RouteCandidate> found =
            [
                Write(
                    graph,
                    PlanThreads(graph),
                    (s, i) => $"arcs on both sides of every seam, turning at the points; {DesignWords.Cost(s, i)}"
                ),
            ];
            if (wishes.Candidates > 1)
            {
                ThreadPlan smooth = ThreadPlanner.Plan(
                    graph,
                    threads with
                    {
                        Style = TrailStyle.Smooth,
                    },
                    taste,
                    cancellation
                );
                found.Add(
                    Write(
                        graph,
                        smooth,
                        (s, i) =>
                            $"the same arcs run smoothly on from patch to patch, crossing at points; {DesignWords.Cost(s, i)}"
                    )
                );
            }

            if (found.Count < wishes.Candidates)
            {
                findings.Add(
                    new(
                        "fewer-choices",
                        "--lines curves",
                        "The continuous curve is one design; it can turn at the points or run on smoothly."
                    )
                );
            }

            return found;
        }

        private void SayPieces(StitchGraph graph)
        {
            if (graph.PieceCount > 1)
            {
                findings.Add(
                    new(
                        "lines-in-pieces",
                        string.Create(CultureInfo.InvariantCulture, $"{graph.PieceCount} pieces"),
                        "They touch nowhere, so each takes a start of its own. The outline or added arcs may join them."
                    )
                );
            }
        }

        private void SayRulers(IEnumerable<StitchLine> arcs)
        {
            if (wishes.Rulers is null)
            {
                findings.Add(
                    new(
                        "rulers-assumed",
                        "circles of 2 to 12 in by half inches and shallow arcs for chords of 4, 6, 8, 10 and 12 in, both edges",
                        "List your own rulers to get arcs that they make."
                    )
                );
            }

            IReadOnlyList<Ruler> rulers = wishes.Rulers ?? Ruler.GenericSet;
            StitchLine? longest = arcs.Where(a => !a.Path.IsLine)
                .Where(a =>
                    !rulers.Any(r =>
                        Math.Abs(r.StitchedRadius(wishes.FootOffset).Inches - a.Path.Radius) < 1e-6
                        && r.UsableLength.Inches >= a.Inches - 0.01
                    )
                )
                .MaxBy(a => a.Inches);
            if (longest is not null)
            {
                findings.Add(
                    new(
                        "ruler-shorter-than-line",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"arcs up to {Length.FromInches(longest.Inches).ToSixteenths()} in, near {longest.Path.PointAt(0.5).X:0.#},{longest.Path.PointAt(0.5).Y:0.#}"
                        ),
                        "Stop with the needle down on the way and move the ruler along."
                    )
                );
            }
        }

        private ThreadPlan PlanWith(AskedOrder order) =>
            order == asked
                ? written[0].Plan
                : ThreadPlanner.Plan(written[0].Graph, ThreadsFor(order), taste, cancellation);

        /// <summary>
        /// Where nothing says where to start, and the recommended choice is a closed thread that could start at bulky points
        /// only: a place 3/4 in along the ditch that it starts on.
        /// </summary>
        public (string Seam, double At)? FindTail() =>
            asked is { Start: null, End: null }
                ? OrderFindings.FindTail(map, written[0].Graph, written[0].Plan, taste)
                : null;

        private ThreadPlan PlanThreads(StitchGraph graph) => ThreadPlanner.Plan(graph, threads, taste, cancellation);

        private RouteCandidate Write(StitchGraph graph, ThreadPlan plan, Func<int, double, string> design)
        {
            RouteCandidate c = RouteWriter.Write(
                graph,
                plan.Trails,
                wishes.Thread,
                plan.IsLeastTime,
                Length.Zero,
                null,
                cancellation
            );
            written.Add((graph, plan));
            c = OrderFields.Add(c, map, graph, plan, wishes);
            return c with { Design = design(c.Measures.Starts, c.Measures.Doubled.Inches) };
        }

        private List<RouteCandidate> PlanDesigns(StitchGraph bare)
        {
            DesignSearch search = new(selection, wishes, bare, cancellation);
            DesignWords words = new(search, bare.Plane.Nodes);
            List<Offer> offers = [];
            foreach (Design d in search.Find())
            {
                cancellation.ThrowIfCancellationRequested();
                offers.Add(Weigh(d, search, words));
            }

            List<Offer> chosen = Choose(offers);
            if (chosen[0].Graph.Lines.Count == 0)
            {
                return [];
            }

            SayPieces(chosen[0].Graph);
            StitchLine[] arcs = [.. chosen.SelectMany(o => o.Graph.Lines).Where(l => l.Kind == MoveKind.Arc)];
            if (arcs.Length > 0)
            {
                SayRulers(arcs);
            }

            if (search.IsCutShort)
            {
                findings.Add(
                    new(
                        "search-cut-short",
                        wishes.Block ?? "the whole map",
                        "It is large for one design; a better one may exist. Mark its blocks, or plan one block at a time."
                    )
                );
            }

            if (chosen.Count < wishes.Candidates)
            {
                findings.Add(
                    search.IsEmpty
                        ? new(
                            "no-room-for-arcs",
                            "all patches",
                            "None takes a line with the stand-off and the rulers given, so the seams alone are the one design."
                        )
                        : new(
                            "fewer-choices",
                            string.Create(CultureInfo.InvariantCulture, $"{chosen.Count} of {wishes.Candidates}"),
                            "The patches take no more designs that differ."
                        )
                );
            }

            List<Offer> cleared = Clear(chosen, search);
            return CompareThrough([
                .. cleared.Select(
                    (o, k) =>
                        (
                            o.Graph,
                            (Func<int, double, string>)(
                                (s, i) => $"{NameAmong(chosen[k], chosen)}; {DesignWords.Cost(s, i)}"
                            )
                        )
                ),
            ]);
        }

        // Straight through points is a wish with a price in crossings; the recommended lines crossing nothing stand beside it.
        private List<RouteCandidate> CompareThrough(
            IReadOnlyList<(StitchGraph Graph, Func<int, double, string> Words)> designs
        )
        {
            List<RouteCandidate> found = [.. designs.Select(d => Write(d.Graph, PlanThreads(d.Graph), d.Words))];
            if (!wishes.Through)
            {
                return found;
            }

            (StitchGraph graph, Func<int, double, string> words) = designs[0];
            ThreadPlan plain = ThreadPlanner.Plan(
                graph,
                threads with
                {
                    Style = TrailStyle.NoCrossing,
                },
                taste,
                cancellation
            );
            RouteCandidate beside = Write(graph, plain, (s, i) => $"{words(s, i)}, crossing nothing");
            findings.Add(OrderFindings.CompareThrough(map, found[0], beside, wishes.Candidates));
            if (wishes.Candidates > 1)
            {
                found.Insert(1, beside);
            }

            return [.. found.Take(wishes.Candidates)];
        }

        /// <summary>Arcs' ends moved away from the points where lines pile up, if that is wished.</summary>
        private List<Offer> Clear(List<Offer> chosen, DesignSearch search)
        {
            if (wishes.Clear <= Length.Zero)
            {
                return chosen;
            }

            HashSet<int>[] crowded =
            [
                .. chosen.Select(o => OrderFindings.Crowded(map, o.Graph, wishes.BulkyFrom).ToHashSet()),
            ];
            int seams = selection.Inner.Count + selection.Outline.Count;
            (map, IReadOnlyList<IReadOnlyList<StitchLine>> moved) = ClearedArcs.Move(
                map,
                [
                    .. chosen.Select(o =>
                        (IReadOnlyList<ClearedArcs.Arc>)
                            [
                                .. o.Design.Lines.Zip(
                                    o.Graph.Lines.Skip(seams),
                                    (l, s) => new ClearedArcs.Arc(s, l.Style == AddedStyle.AlongSide)
                                ),
                            ]
                    ),
                ],
                (d, v) => crowded[d].Contains(v),
                wishes.Clear.Inches
            );
            selection = Select(map);
            taste = new(map, wishes.BulkyFrom);
            StitchLine[] now = [.. selection.Inner, .. selection.Outline];
            threads = ThreadsFor(asked);
            return [.. chosen.Select((o, d) => o with { Graph = new(map, [.. now, .. moved[d]]) })];
        }

        // Two designs of one description differ at least in their length.
        private static string NameAmong(Offer offer, List<Offer> chosen) =>
            chosen.Count(o => o.Words == offer.Words) == 1
                ? offer.Words
                : $"{offer.Words}, {Length.FromInches(offer.Design.Inches).ToSixteenths()} in added";

        private sealed record Offer(Design Design, StitchGraph Graph, double Cost, string Words);

        private Offer Weigh(Design d, DesignSearch search, DesignWords words)
        {
            StitchLine[] lines =
            [
                .. selection.Inner,
                .. selection.Outline,
                .. d.Lines.Select(l => new StitchLine(
                    l.From,
                    l.To,
                    l.Path,
                    l.Path.IsLine ? MoveKind.Line : MoveKind.Arc,
                    null,
                    selection.BlockOfPatch.GetValueOrDefault(search.Shapes[l.Shape].Patch.Id)
                )),
            ];
            StitchGraph graph = new(map, lines);
            double cost =
                threads.StageOf is { } stageOf ? PriceInOrder(graph, stageOf)
                : wishes.Thread == ThreadChoice.Free ? graph.LeastStarts
                : Price(graph);
            return new(d, graph, cost, words.Describe(d));
        }

        // The same where an order is wished: what mends the parity of all lines together may not mend that of each stage.
        private double PriceInOrder(StitchGraph graph, Func<StitchLine, int> stageOf)
        {
            int[] stages = [.. graph.Lines.Select(stageOf)];
            if (stages.Length == 0)
            {
                return 0;
            }

            (int starts, double inches) = StagedThreads.Estimate(graph, stages, threads, taste, cancellation);
            return wishes.Thread == ThreadChoice.Free
                ? starts
                : Math.Round(starts * threads.InchesPerStart + inches, 3);
        }

        // What the thread wish pays for, to the thousandth: starts, backtracking, or both.
        private double Price(StitchGraph graph)
        {
            Doubling d = new LeastDoubling(graph.Network, taste.Of, cancellation).For(
                wishes.Thread,
                null,
                null,
                threads.InchesPerStart
            );
            double runs = graph.PieceCount;
            if (wishes.Thread == ThreadChoice.Mixed)
            {
                int[] ends = new int[graph.PieceCount];
                for (int v = 0; v < d.Loose.Length; v++)
                {
                    if (d.Loose[v] > 0)
                    {
                        ends[graph.PieceOf(v)] += d.Loose[v];
                    }
                }

                runs = ends.Sum(e => Math.Max(1, e / 2));
            }

            return Math.Round(runs * threads.InchesPerStart + d.Inches, 3);
        }

        // Ten inches of new line are no price for an inch of backtracking saved; a start is worth what the user says, or 20 in.
        private bool IsWorthIt(Offer offer, Offer bare)
        {
            const double Rate = 0.1;
            double inches = wishes.Thread == ThreadChoice.Free ? Math.Max(threads.InchesPerStart, 20) : 1;
            return bare.Graph.Lines.Count == 0
                || (bare.Cost - offer.Cost) * inches >= Rate * offer.Design.Inches - 1e-9;
        }

        /// <summary>
        /// The recommended design: the cheapest for the thread among those that are whole patterns, the more symmetric, the
        /// shorter. Then others that a person would call different.
        /// </summary>
        private List<Offer> Choose(List<Offer> offers)
        {
            Offer bare = offers.First(o => o.Design.Lines.Count == 0);
            Offer[] ranked =
            [
                .. offers
                    .OrderBy(o => o.Design.IsHalfAPattern || !IsWorthIt(o, bare))
                    .ThenBy(o => o.Cost)
                    .ThenByDescending(o => o.Design.Kept)
                    .ThenBy(o => o.Design.Inches),
            ];
            ranked = [.. ranked.Where(o => o.Graph.Lines.Count > 0)];
            if (ranked.Length == 0)
            {
                return [offers[0]];
            }

            List<Offer> chosen = [ranked[0]];
            Offer? fill = ranked.FirstOrDefault(o => o.Design.Fills && o.Cost <= ranked[0].Cost);
            Offer[] wanted =
            [
                .. ranked.Where(o => o.Cost <= ranked[0].Cost && !o.Design.Fills).Skip(1).Take(1),
                .. bare.Graph.Lines.Count > 0 ? new[] { bare } : [],
                .. fill is null ? Array.Empty<Offer>() : [fill],
                .. offers.Where(o => o.Design.IsHalfAPattern).OrderBy(o => o.Cost).ThenBy(o => o.Design.Inches).Take(1),
                .. ranked,
            ];
            foreach (Offer o in wanted)
            {
                // Two designs of one description and length are each other's mirror images, or as good as that.
                bool known = chosen.Any(c => c.Words == o.Words && Math.Abs(c.Design.Inches - o.Design.Inches) < 0.01);
                if (chosen.Count < wishes.Candidates && !known)
                {
                    chosen.Add(o);
                }
            }

            // The recommended stays first; the rest by what they cost.
            return [chosen[0], .. chosen.Skip(1).OrderBy(o => o.Cost).ThenBy(o => o.Design.Inches)];
        }
    }
}
