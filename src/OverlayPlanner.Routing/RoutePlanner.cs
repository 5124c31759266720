using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Memory;
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
        wishes.Ease.Require();
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

        RawEdge.Require(w);
        OrderOptions.Require(w);
        if (!(w.FootOffset.Inches >= 0 && w.FootOffset.Inches <= 2))
        {
            throw new InputException(
                "The foot's offset must be from 0 to 2 in",
                "foot",
                "It is half the foot's diameter: 1/4 in."
            );
        }

        RequireLines(w);
    }

    private static void RequireLines(RouteWishes w)
    {
        if (!(w.Reach.Inches is > 0 and <= 100))
        {
            throw new InputException(
                "The hand's reach must be above 0 and at most 100 in",
                "--reach",
                "8 in is usual."
            );
        }

        if (w.Fill is { } fill && !(fill.Inches is >= 0.5 and <= 100))
        {
            throw new InputException(
                "The widest open circle must be from 1/2 to 100 in",
                "--fill",
                "Give what the batting's label allows, such as 4."
            );
        }

        RulerList.Require(w.Rulers, w.StraightRulers);
        (bool Clash, string One, string Other)[] pairs =
        [
            (w.Lines == LineChoice.Seams && w.Fill is not null, "--fill", "--lines seams, which adds nothing"),
            (w.Lines == LineChoice.Seams && w.Centers, "--centers", "--lines seams, which adds nothing"),
            (w.Lines == LineChoice.Curves && w.Centers, "--centers", "--lines curves, which has no straight lines"),
            (
                w.Lines == LineChoice.Curves && w.Rulers is { Count: 0 },
                "--rulers none",
                "--lines curves, which is all arcs"
            ),
            (w.Lines == LineChoice.Curves && w.Fill is not null, "--fill", "--lines curves, which is one design"),
        ];
        if (pairs.FirstOrDefault(p => p.Clash) is { Clash: true } clash)
        {
            throw new InputException(
                "Two wishes contradict each other",
                $"{clash.One} and {clash.Other}",
                $"Drop {clash.One}, or ask for --lines seams+arcs."
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
        private RawEdge edge;
        private ThreadWishes threads;
        private readonly List<Finding> findings = [];
        private readonly List<(StitchGraph Graph, ThreadPlan Plan)> written = [];
        private readonly IReadOnlyDictionary<string, string>? centers;

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
            bool curves = wishes.Lines == LineChoice.Curves;
            (map, string? start) = curves
                ? ResolveOnCurves(map, wishes.Start, "--start")
                : Resolve(map, wishes.Start, "--start");
            (map, string? end) = curves ? ResolveOnCurves(map, wishes.End, "--end") : Resolve(map, wishes.End, "--end");
            if (wishes.Centers)
            {
                (map, centers) = CenterPoints.Add(map, wishes.Block);
            }

            if (tail is { } t)
            {
                map = SeamSplitter.Split(
                    map,
                    new Dictionary<string, IReadOnlyCollection<double>> { [t.Seam] = [t.At] }
                );
            }

            selection = Select(map);
            edge = new(map, wishes);
            taste = new(map, wishes.BulkyFrom, edge);
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
                wishes.HopCostSeconds / wishes.InchCostSeconds,
                wishes.Ease
            )
            {
                InchesPerRawEnd = wishes.RawEndSeconds / wishes.InchCostSeconds,
            };
        }

        // The lines that the block, the outline, --skip and --only leave.
        private LineSelection Select(QuiltMap on)
        {
            LineSelection all = LineSelection.Choose(on, wishes.Block, wishes.Outline, wishes.PressedOpen, centers);
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
                new(map, [.. candidates.Select((c, i) => Told(c) with { Name = ((char)('A' + i)).ToString() })]),
                findings
            );
        }

        private RouteCandidate Told(RouteCandidate c) =>
            edge.Tell(
                map,
                c with
                {
                    Call = CallWriter.Write(map, c, cancellation),
                    Ease = EaseReader.Read(map, c, wishes.Ease),
                },
                wishes,
                cancellation
            );

        private List<RouteCandidate> PlanSeams(StitchGraph bare)
        {
            if (bare.Lines.Count == 0)
            {
                return [];
            }

            SayPieces(bare);
            ThreadPlan plan = PlanThreads(bare);
            written.Add((bare, plan));
            return CompareThrough([Write(bare, plan, DesignWords.SeamsAlone)], DesignWords.SeamsAlone);
        }

        private List<RouteCandidate> PlanCurves()
        {
            List<string> thin = [];
            List<StitchLine> arcs = ContinuousCurve.Lay(selection, wishes, ArcDepth.Common, thin);
            if (thin.Count > 0)
            {
                findings.Add(ContinuousCurve.TooThin(thin));
            }

            if (arcs.Count == 0)
            {
                throw new InputException(
                    "No patch takes an arc along each of its sides",
                    "--lines curves",
                    wishes.Rulers is null
                        ? "Ask for a smaller stand-off, or --lines seams."
                        : $"Ask for a smaller stand-off, or --lines seams. {RulerAdvice.Words(RulerAdvice.MostUseful(selection, wishes))}"
                );
            }

            StitchGraph graph = new(map, [.. arcs, .. selection.Outline]);
            SayPieces(graph);
            ThreadPlan turning = PlanThreads(graph);
            written.Add((graph, turning));
            List<RouteCandidate> found =
            [
                Write(
                    graph,
                    turning,
                    (s, i) => $"arcs on both sides of every seam, turning at the points; {DesignWords.Cost(s, i)}"
                ),
            ];
            List<StitchLine> stitched = [.. arcs];
            if (found.Count < wishes.Candidates)
            {
                found.Add(
                    Write(
                        graph,
                        PlanSmooth(graph),
                        (s, i) =>
                            $"the same arcs run smoothly on from patch to patch, crossing at points; {DesignWords.Cost(s, i)}"
                    )
                );
            }

            // As deep as two arcs can be that share a corner: on squares, the orange peel.
            List<string> thinDeep = [];
            List<StitchLine> deep =
                found.Count < wishes.Candidates ? ContinuousCurve.Lay(selection, wishes, ArcDepth.Peel, thinDeep) : [];
            bool isPeel = ContinuousCurve.IsPeel(deep);
            double Deepness(List<StitchLine> of) => of.Sum(l => Math.Abs(l.Path.Sagitta));
            if (deep.Count >= arcs.Count && (isPeel || Deepness(deep) > 1.25 * Deepness(arcs)))
            {
                StitchGraph deeper = new(map, [.. deep, .. selection.Outline]);
                StitchLine model = deep.MaxBy(l => l.Path.Chord)!;
                string name = isPeel ? "orange peel" : "deeper arcs on both sides of every seam";
                string size =
                    $"rise {Length.FromInches(Math.Abs(model.Path.Sagitta)).ToSixteenths()} in over {Length.FromInches(model.Path.Chord).ToSixteenths()} in";
                found.Add(
                    Write(
                        deeper,
                        PlanSmooth(deeper),
                        (s, i) => $"{name}, {size}, waving smoothly and crossing at points; {DesignWords.Cost(s, i)}"
                    )
                );
                if (found.Count < wishes.Candidates)
                {
                    found.Add(
                        Write(
                            deeper,
                            PlanThreads(deeper),
                            (s, i) => $"{name}, {size}, turning at the points; {DesignWords.Cost(s, i)}"
                        )
                    );
                }

                stitched.AddRange(deep);
            }

            SayRulers(stitched);
            if (found.Count < wishes.Candidates)
            {
                findings.Add(
                    new(
                        "fewer-choices",
                        "--lines curves",
                        "The continuous curve can turn at the points or run on smoothly, at the common depth or as deep as an orange peel where a ruler gives that."
                    )
                );
            }

            return found;
        }

        private ThreadPlan PlanSmooth(StitchGraph graph) =>
            ThreadPlanner.Plan(graph, threads with { Style = TrailStyle.Smooth }, taste, cancellation);

        // A curve runs from corner to corner of its patch, so a thread over curves starts and ends at such points alone.
        private (QuiltMap Map, string? Junction) ResolveOnCurves(QuiltMap on, Point<ClothSpace>? place, string option)
        {
            if (place is not { } p || !p.IsFinite)
            {
                return Resolve(on, place, option);
            }

            LineSelection lines = Select(on);
            List<StitchLine> arcs = ContinuousCurve.Lay(lines, wishes, ArcDepth.Common, []);
            Junction? near = arcs.Concat(lines.Outline)
                .SelectMany(a => new[] { a.From, a.To })
                .Distinct()
                .Order()
                .Select(v => on.Junctions[v])
                .MinBy(j => j.Place.DistanceTo(p));
            if (near is null || near.Place.DistanceTo(p) <= PointWish.Within)
            {
                return (on, near?.Id);
            }

            throw new InputException(
                "No curve passes through that place, or it lies part-way along one",
                option,
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"The nearest point where curves meet is {near.Id} at {near.Place.X:0.###},{near.Place.Y:0.###}, {near.Place.DistanceTo(p):0.##} in away."
                )
            );
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

        private void SayRulers(IReadOnlyList<StitchLine> arcs)
        {
            if (wishes.Rulers is null && arcs.Any(a => a.Ruler is not null))
            {
                findings.Add(
                    new(
                        "rulers-assumed",
                        "circles of 2 to 12 in by half inches and shallow arcs for chords of 4, 6, 8, 10 and 12 in, both edges",
                        "List your own rulers (--rulers FILE) to get arcs that they make."
                    )
                );
            }

            StitchLine? longest = arcs.Where(a => a.Ruler is { } r && r.UsableLength.Inches < a.Inches - 0.01)
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
                        "The route says where to stop with the needle down and move the ruler along."
                    )
                );
            }
        }

        // Rulers that make no arc here, or none at all: which one would.
        private void SayRulerAdvice(bool anyArc)
        {
            if (wishes.Rulers is not { } own || anyArc)
            {
                return;
            }

            string advice = RulerAdvice.Words(RulerAdvice.MostUseful(selection, wishes));
            findings.Add(
                own.Count == 0
                    ? new("no-curved-rulers", "straight lines only", advice)
                    : new(
                        "arcs-impossible",
                        $"your {(own.Count == 1 ? "curved ruler" : "curved rulers")}: {string.Join("; ", own.Take(6).Select(r => r.FullName))}{(own.Count > 6 ? "; …" : "")}",
                        advice
                    )
            );
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

        private ThreadPlan PlanThreads(StitchGraph graph, CallSearch search = CallSearch.Thorough) =>
            ThreadPlanner.Plan(graph, threads with { Search = search }, taste, cancellation);

        private RouteCandidate Write(StitchGraph graph, ThreadPlan plan, Func<int, double, string> design)
        {
            RouteCandidate c = RouteWriter.Write(
                graph,
                plan.Trails,
                wishes.Thread,
                plan.IsLeastTime,
                Length.Zero,
                null,
                cancellation,
                threads.InchesPerStart
            );
            c = RulerStops.Plan(map, c, wishes);
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

            DesignOffers weighed = new(offers, wishes, threads.InchesPerStart, selection.PressedOpen.Count > 0);
            IReadOnlyList<Offer> chosen = weighed.Choose();
            if (chosen.Count == 0)
            {
                return [];
            }

            SayPieces(chosen[0].Graph);
            StitchLine[] arcs = [.. chosen.SelectMany(o => o.Graph.Lines).Where(l => l.Kind == MoveKind.Arc)];
            SayRulers(arcs);
            SayRulerAdvice(offers.Any(o => o.Design.Lines.Any(l => l.Ruler is not null)));
            SayAboutDesigns(chosen[0], offers.FindAll(o => weighed.Overshoot(o) <= weighed.Overshoot(chosen[0])));

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

            List<RouteCandidate> found = [];
            if (wishes.Clear > Length.Zero)
            {
                foreach ((Offer o, StitchGraph graph) in chosen.Zip(Clear(chosen)))
                {
                    ThreadPlan plan = PlanThreads(graph);
                    found.Add(Named(o, Write(graph, plan, (_, _) => ""), NameAmong(o, chosen)));
                    written.Add((graph, plan));
                }
            }
            else
            {
                foreach (Offer o in chosen)
                {
                    ThreadPlan plan = PlanThreads(o.Graph, o == chosen[0] ? CallSearch.Thorough : CallSearch.Short);
                    found.Add(Named(o, Write(o.Graph, plan, (_, _) => ""), NameAmong(o, chosen)));
                    written.Add((o.Graph, plan));
                }
            }

            return CompareThrough(found, (s, i) => $"{NameAmong(chosen[0], chosen)}; {DesignWords.Cost(s, i)}");
        }

        // Straight through points is a wish with a price in crossings; the recommended lines crossing nothing stand beside it.
        private List<RouteCandidate> CompareThrough(List<RouteCandidate> found, Func<int, double, string> words)
        {
            if (!wishes.Through)
            {
                return found;
            }

            StitchGraph graph = written[0].Graph;
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
                written.Insert(1, (graph, plain));
            }

            return [.. found.Take(wishes.Candidates)];
        }

        /// <summary>Arcs' ends moved away from the points where lines pile up, if that is wished.</summary>
        private List<StitchGraph> Clear(IReadOnlyList<Offer> chosen)
        {
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
            edge = new(map, wishes);
            taste = new(map, wishes.BulkyFrom, edge);
            StitchLine[] now = [.. selection.Inner, .. selection.Outline];
            threads = ThreadsFor(asked);
            return [.. moved.Select(m => new StitchGraph(map, [.. now, .. m]))];
        }

        private static RouteCandidate Named(Offer o, RouteCandidate c, string words)
        {
            UnknownFields more = c
                .Unknown.With("likePatchesAlike", JsonSerializer.SerializeToElement(o.Design.IsAlike))
                .With("symmetryKept", o.Design.Kept)
                .With("symmetryOf", o.Design.Full);
            if (o.Gap is { } gap)
            {
                more = more.With("widestGapInches", gap.Diameter.Inches);
            }

            return c with
            {
                Design = $"{words}; {DesignWords.Cost(c.Measures.Starts, c.Measures.Doubled.Inches)}",
                Unknown = more,
            };
        }

        // Two designs of one description differ at least in their length.
        private static string NameAmong(Offer offer, IReadOnlyList<Offer> chosen) =>
            chosen.Count(o => o.Words == offer.Words) == 1
                ? offer.Words
                : $"{offer.Words}, {Length.FromInches(offer.Design.Inches).ToSixteenths()} in added";

        private void SayAboutDesigns(Offer best, IReadOnlyList<Offer> offers)
        {
            if (wishes.Fill is { } fill && best.Gap is { } gap && gap.Diameter.Inches > fill.Inches + 1.0 / 32)
            {
                findings.Add(
                    new(
                        "fill-not-reached",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"a circle {gap.Diameter.ToSixteenths()} in wide stays open at {gap.Center.X:0.#},{gap.Center.Y:0.#}, in patch {gap.Patch}"
                        ),
                        wishes.Centers
                            ? $"Lines from corner to corner can't fill it to {fill.ToSixteenths()} in; quilt it by hand or with a motif."
                            : $"Lines from corner to corner can't fill it to {fill.ToSixteenths()} in; --centers lets straight lines run into squares' centres."
                    )
                );
            }

            // What a little backtracking would buy, where the thread wish allows none.
            bool wanting = best.Starts > 1 || !best.Design.IsWhole;
            if (wishes.Thread == ThreadChoice.Free && wanting)
            {
                // On a whole quilt the recommended design speaks for all: pricing every one would take too long.
                const int MostLinesPriced = 600;
                (double doubled, Offer offer) = (best.Graph.Lines.Count > MostLinesPriced ? [best] : offers)
                    .Where(o => o.Design.IsWhole && o.Graph.Lines.Count > 0 && o.Graph.PieceCount == 1)
                    .Select(o => (Price(o.Graph, ThreadChoice.One).Doubled, o))
                    .OrderBy(o => o.Doubled)
                    .FirstOrDefault();
                if (offer is not null)
                {
                    findings.Add(
                        new(
                            best.Starts > 1 ? "more-than-one-start" : "like-patches-differ",
                            best.Starts > 1
                                ? string.Create(CultureInfo.InvariantCulture, $"{best.Starts} starts")
                                : "no design over these seams has like patches alike and one thread",
                            $"With --thread one, {Length.FromInches(doubled).ToSixteenths()} in of backtracking make it one thread with like patches alike."
                        )
                    );
                }
            }

            if (wishes.Match == PatternMatch.Colors && selection.Patches.All(p => p.Color is null))
            {
                findings.Add(
                    new("no-colors", "--match colors", "The map's patches have no colours; their seams alone decide.")
                );
            }

            Seam[] inner = [.. selection.Map.Seams.Where(s => s.Role != SeamRole.Edge)];
            int unknown = inner.Count(s => s.Ditch is null && !selection.PressedOpen.Contains(s.Id));
            if (unknown > 0 && unknown < inner.Length && wishes.PressedOpen.Count == 0)
            {
                findings.Add(
                    new(
                        "low-side-unknown",
                        string.Create(CultureInfo.InvariantCulture, $"{unknown} of {inner.Length} seams inside"),
                        "They are ditched all the same, since unknown need not mean pressed open. If they are, --open unknown leaves them and puts arcs along them."
                    )
                );
            }

            if (selection.PressedOpen.Count > 0)
            {
                findings.Add(
                    new(
                        "seams-left-open",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"{selection.PressedOpen.Count} {(selection.PressedOpen.Count == 1 ? "seam" : "seams")}"
                        ),
                        "Pressed open, they are not ditched, since the needle would land on the piecing thread; arcs run along them where they fit."
                    )
                );
            }
        }

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
                )
                {
                    Ruler = l.Ruler,
                }),
            ];
            StitchGraph graph = new(map, lines);
            (int starts, double doubled, double cost) = Price(graph, wishes.Thread);
            WidestGap? gap = wishes.Fill is null
                ? null
                : WidestGap.Find(
                    map,
                    selection.Patches,
                    lines.Select(l => l.Seam).OfType<string>().ToHashSet(),
                    [.. d.Lines.Select(l => l.Path)]
                );
            return new(d, graph, starts, doubled, cost, words.Describe(d), gap)
            {
                Weighing = () =>
                {
                    RouteCandidate c = Write(graph, PlanThreads(graph, CallSearch.None), (_, _) => "");
                    return wishes.Effort?.Invoke(map, c) ?? StitchStep.Of(map, c).Count;
                },
            };
        }

        // What an end off the top costs of a start.
        private double RawEndShare =>
            wishes.StartCostSeconds > 0 ? Math.Min(0.5, wishes.RawEndSeconds / wishes.StartCostSeconds) : 0;

        // What the thread wish pays for, to the thousandth: starts, backtracking, or both.
        private (int Starts, double Doubled, double Cost) Price(StitchGraph graph, ThreadChoice thread)
        {
            // Where an order is wished, what mends the parity of all lines together may not mend that of each stage.
            if (threads.StageOf is { } stageOf && thread == wishes.Thread && graph.Lines.Count > 0)
            {
                (int starts, double inches) = StagedThreads.Estimate(
                    graph,
                    [.. graph.Lines.Select(stageOf)],
                    threads,
                    taste,
                    cancellation
                );
                return (
                    starts,
                    inches,
                    thread == ThreadChoice.Free ? starts : Math.Round(starts * threads.InchesPerStart + inches, 3)
                );
            }

            if (thread == ThreadChoice.Free)
            {
                // Ends off the top are nearly free: two tails make one start.
                double ends = edge.IsEmpty
                    ? graph.LeastStarts
                    : edge.LeastTails(graph.Network) / 2.0 + graph.Odd.Count(edge.Frees) * RawEndShare;
                return (edge.IsEmpty ? graph.LeastStarts : (int)Math.Ceiling(ends), 0, Math.Round(ends, 6));
            }

            if (thread == ThreadChoice.Mixed && !edge.IsEmpty)
            {
                (Doubling least, double inches) = new LeastDoubling(
                    graph.Network,
                    taste.Of,
                    cancellation
                ).WithEndsOffTop(null, null, threads.InchesPerStart, threads.InchesPerRawEnd!.Value, edge.Frees);
                double starts = threads.InchesPerStart > 0 ? (inches - least.Inches) / threads.InchesPerStart : 0;
                return ((int)Math.Ceiling(starts), least.Inches, Math.Round(inches, 3));
            }

            Doubling d = new LeastDoubling(graph.Network, taste.Of, cancellation).For(
                thread,
                null,
                null,
                threads.InchesPerStart
            );
            int runs = graph.PieceCount;
            if (thread == ThreadChoice.Mixed)
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

            return (runs, d.Inches, Math.Round(runs * threads.InchesPerStart + d.Inches, 3));
        }
    }
}
