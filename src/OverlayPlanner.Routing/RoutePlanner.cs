using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
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
        return new Planning(map, wishes, cancellation).Run();
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
        private readonly QuiltMap map;
        private readonly LineSelection selection;
        private readonly PointTaste taste;
        private readonly ThreadWishes threads;
        private readonly List<Finding> findings = [];
        private readonly IReadOnlyDictionary<string, string>? centers;

        public Planning(QuiltMap given, RouteWishes wishes, CancellationToken cancellation)
        {
            this.wishes = wishes;
            this.cancellation = cancellation;
            bool curves = wishes.Lines == LineChoice.Curves;
            (map, string? start) = curves
                ? ResolveOnCurves(given, wishes.Start, "--start")
                : Resolve(given, wishes.Start, "--start");
            (map, string? end) = curves ? ResolveOnCurves(map, wishes.End, "--end") : Resolve(map, wishes.End, "--end");
            if (wishes.Centers)
            {
                (map, centers) = CenterPoints.Add(map, wishes.Block);
            }

            selection = LineSelection.Choose(map, wishes.Block, wishes.Outline, wishes.PressedOpen, centers);
            taste = new(map);
            threads = new(
                wishes.Thread,
                wishes.StartCostSeconds / wishes.InchCostSeconds,
                wishes.Through ? TrailStyle.Through : TrailStyle.NoCrossing,
                wishes.Outline == OutlineChoice.Last,
                start is null ? null : selection.JunctionIndex[start],
                end is null ? null : selection.JunctionIndex[end]
            );
        }

        private (QuiltMap Map, string? Junction) Resolve(QuiltMap on, Point<ClothSpace>? place, string option)
        {
            if (place is not { } p)
            {
                return (on, null);
            }

            LineSelection lines = LineSelection.Choose(on, wishes.Block, wishes.Outline, wishes.PressedOpen);
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

            SayWhatWishesCost(candidates[0]);
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
            return [Write(bare, PlanThreads(bare), DesignWords.SeamsAlone)];
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
            List<RouteCandidate> found =
            [
                Write(
                    graph,
                    PlanThreads(graph),
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

            LineSelection lines = LineSelection.Choose(on, wishes.Block, wishes.Outline, wishes.PressedOpen);
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

        // By the recommended choice: what a wished start, end or order adds to the proven least.
        private void SayWhatWishesCost(RouteCandidate c)
        {
            List<string> wished = [];
            if (threads.Start is not null)
            {
                wished.Add("the start");
            }

            if (threads.End is not null)
            {
                wished.Add("the end");
            }

            if (threads.OutlineLast)
            {
                wished.Add("round the block last");
            }

            int least = wishes.Thread == ThreadChoice.Free ? c.Proof.LeastStarts : 1;
            int starts = wishes.Thread == ThreadChoice.Free ? c.Measures.Starts - least : 0;
            double inches = c.Measures.Doubled.Inches - c.Proof.LeastDoubled.Inches;
            if (wished.Count == 0 || (starts <= 0 && inches <= 1e-6))
            {
                return;
            }

            string cost =
                starts > 0
                    ? string.Create(CultureInfo.InvariantCulture, $"{starts} more {(starts == 1 ? "start" : "starts")}")
                    : $"{Length.FromInches(inches).ToSixteenths()} in more backtracking";
            findings.Add(
                new(
                    "wish-costs",
                    string.Join(" and ", wished),
                    $"It costs {cost} than the least; leave it open to save that."
                )
            );
        }

        private ThreadPlan PlanThreads(StitchGraph graph)
        {
            ThreadPlan plan = ThreadPlanner.Plan(graph, threads, taste, cancellation);
            if (!plan.EndKept && !findings.Any(f => f.What == "end-not-last"))
            {
                findings.Add(
                    new(
                        "end-not-last",
                        "--end",
                        "The last thread can't end there with the other wishes; leave the start free, or the outline in any order."
                    )
                );
            }

            return plan;
        }

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
            return RulerStops.Plan(
                map,
                c with
                {
                    Design = design(c.Measures.Starts, c.Measures.Doubled.Inches),
                },
                wishes
            );
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

            return [.. chosen.Select(o => Named(o, NameAmong(o, chosen)))];
        }

        private static RouteCandidate Named(Offer o, string words)
        {
            RouteCandidate c = o.Route;
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
                Planning = () =>
                {
                    RouteCandidate c = Write(graph, PlanThreads(graph), (_, _) => "");
                    return (c, wishes.Effort?.Invoke(map, c) ?? StitchStep.Of(map, c).Count);
                },
            };
        }

        // What the thread wish pays for, to the thousandth: starts, backtracking, or both.
        private (int Starts, double Doubled, double Cost) Price(StitchGraph graph, ThreadChoice thread)
        {
            if (thread == ThreadChoice.Free)
            {
                return (graph.LeastStarts, 0, graph.LeastStarts);
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
