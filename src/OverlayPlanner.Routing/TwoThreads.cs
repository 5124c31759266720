using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Finishing;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing;

/// <summary>Where the design thread may go over a line again.</summary>
public enum DesignTravel
{
    /// <summary>On its own lines alone: it would show anywhere else.</summary>
    OwnLines,

    /// <summary>In a stitched ditch too.</summary>
    Ditch,
}

/// <summary>Plans a route for two threads: all seams first in a fine one, then the added lines in one that is seen.</summary>
public static class TwoThreads
{
    // Designs for one thread mend the seams' odd points; for two, those that close on themselves are the ones wanted.
    private const int DesignsLookedAt = 10;

    /// <summary>
    /// Plans designs, then the seams and the added lines of each for themselves, with starts and a proof of their own.
    /// Designs with added lines come first, by what their two threads cost; the seams alone take the one thread.
    /// </summary>
    /// <remarks>
    /// The two layers are separate problems, each solved as a route of one thread is; passes of the seams are crossed at points
    /// only where that can't be helped. A wished start is the first thread's, a wished end the last one's.
    /// </remarks>
    /// <param name="map">The map.</param>
    /// <param name="wishes">As for one thread.</param>
    /// <param name="travel">Where the design thread may go again.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    /// <exception cref="InputException">As <see cref="RoutePlanner.Plan"/>.</exception>
    public static RoutePlan Plan(
        QuiltMap map,
        RouteWishes wishes,
        DesignTravel travel = DesignTravel.OwnLines,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        RoutePlan plan = RoutePlanner.Plan(
            map,
            wishes with
            {
                Candidates = Math.Max(DesignsLookedAt, wishes.Candidates),
            },
            cancellation
        );
        double price = wishes.StartCostSeconds / wishes.InchCostSeconds;
        RouteCandidate[] ranked =
        [
            .. plan
                .Route.Candidates.Select(c => new Parting(plan.Route.Quilt, c, wishes, travel, cancellation).Write())
                .OrderBy(c => c.Measures.Added.Inches <= 0)
                .ThenBy(c =>
                    wishes.Thread == ThreadChoice.Mixed
                        ? Math.Round(c.Measures.Starts * price + c.Measures.Doubled.Inches, 3)
                        : c.Measures.Starts
                )
                .ThenBy(c => Math.Round(c.Measures.Doubled.Inches, 3))
                .ThenBy(c => c.Measures.Added.Inches),
        ];
        return new(
            plan.Route with
            {
                Candidates =
                [
                    .. ranked
                        .Take(wishes.Candidates)
                        .Select(
                            (c, i) =>
                                Tell(plan.Route.Quilt, c, wishes, cancellation) with
                                {
                                    Name = ((char)('A' + i)).ToString(),
                                }
                        ),
                ],
            },
            [
                .. plan.Findings.Where(f => f.What != "fewer-choices" || ranked.Length < wishes.Candidates),
                .. ranked[0] is { Threads.Count: > 0, Measures.Crossings: var n and > 0 }
                    ? new[]
                    {
                        new Finding(
                            "threads-meet",
                            string.Create(CultureInfo.InvariantCulture, $"{n} crossings, all at points"),
                            "The second thread crosses the way of the first there, in the ditch where it hides; neither crosses itself."
                        ),
                    }
                    : [],
            ]
        );
    }

    // Where nothing is parted, the planner has told it already.
    private static RouteCandidate Tell(
        QuiltMap map,
        RouteCandidate c,
        RouteWishes wishes,
        CancellationToken cancellation
    ) => c.Threads.Count == 0 ? c : new RawEdge(map, wishes).Tell(map, c, wishes, cancellation);

    private sealed class Parting
    {
        private readonly QuiltMap map;
        private readonly RouteCandidate candidate;
        private readonly RouteWishes wishes;
        private readonly DesignTravel travel;
        private readonly CancellationToken cancellation;
        private readonly PointTaste taste;
        private readonly List<StitchLine> lines;
        private readonly double price;

        public Parting(
            QuiltMap map,
            RouteCandidate candidate,
            RouteWishes wishes,
            DesignTravel travel,
            CancellationToken cancellation
        )
        {
            this.map = map;
            this.candidate = candidate;
            this.wishes = wishes;
            this.travel = travel;
            this.cancellation = cancellation;
            taste = new(map);
            price = wishes.StartCostSeconds / wishes.InchCostSeconds;
            lines = StitchLine.Of(map, candidate);
        }

        public RouteCandidate Write()
        {
            int[] ditch = [.. Enumerable.Range(0, lines.Count).Where(e => !lines[e].IsAdded)];
            int[] design = [.. Enumerable.Range(0, lines.Count).Where(e => lines[e].IsAdded)];
            if (ditch.Length == 0 || design.Length == 0)
            {
                return candidate;
            }

            StitchGraph seams = new(map, [.. ditch.Select(e => lines[e])]);
            ThreadPlan first = ThreadPlanner.Plan(
                seams,
                new(
                    wishes.Thread,
                    price,
                    wishes.Through ? TrailStyle.Through : TrailStyle.NoCrossing,
                    wishes.Start is { } s ? Nearest(seams, s) : null,
                    StageOf: wishes.Outline == OutlineChoice.Last ? l => l.Kind == MoveKind.Frame ? 1 : 0 : null
                ),
                taste,
                cancellation
            );
            List<Trail> trails = [.. first.Trails.Select(t => Own(t, ditch))];
            int threads = trails.Count;
            (List<Trail> seen, bool proven) = StitchDesign(design, trails);
            trails.AddRange(seen);
            StitchGraph all = new(map, lines);
            RouteCandidate c = RouteWriter.Write(
                all,
                trails,
                wishes.Thread,
                ThreadPlanner.IsLeastTime(all, trails, price, taste, cancellation),
                Length.Zero,
                null,
                cancellation,
                price
            );
            StitchGraph added = new(map, [.. design.Select(e => lines[e])]);
            return c with
            {
                Runs =
                [
                    .. c.Runs.Select(
                        (r, i) =>
                            r with
                            {
                                Moves =
                                [
                                    .. r.Moves.Select(m =>
                                        m with
                                        {
                                            Thread = i < threads ? StitchThread.Ditch : StitchThread.Design,
                                        }
                                    ),
                                ],
                            }
                    ),
                ],
                Design =
                    $"{(candidate.Design ?? "").Split(';')[0]}, in two threads; {DesignWords.Cost(c.Measures.Starts, c.Measures.Doubled.Inches)}",
                Threads =
                [
                    Share(StitchThread.Ditch, seams, trails.Take(threads), first.IsLeastTime),
                    Share(StitchThread.Design, added, seen, proven),
                ],
            };
        }

        private (List<Trail> Trails, bool Proven) StitchDesign(int[] design, List<Trail> before)
        {
            int[] own = travel == DesignTravel.OwnLines ? design : [.. Enumerable.Range(0, lines.Count)];
            StitchGraph graph = new(map, [.. own.Select(e => lines[e])]);
            IReadOnlyList<IReadOnlyList<TrailLeg>> stitched =
                travel == DesignTravel.OwnLines ? [] : [.. before.Select(t => t.Legs)];
            ContinuationPlanner planner = new(graph, stitched, taste, cancellation);
            if (travel == DesignTravel.OwnLines)
            {
                foreach (Trail t in before)
                {
                    for (int i = 1; i < t.Legs.Count; i++)
                    {
                        planner.MindPass(NodeBefore(t.Legs[i]), PathOf(t.Legs[i - 1]).Reversed, PathOf(t.Legs[i]));
                    }
                }
            }

            Continuation rest = planner.Plan(
                null,
                wishes.End is { } e ? Nearest(graph, e) : null,
                wishes.Thread,
                price
            );
            return ([.. rest.NewThreads.Select(t => Own(t, own))], rest.IsLeast);
        }

        private ThreadShare Share(StitchThread thread, StitchGraph own, IEnumerable<Trail> trails, bool leastTime)
        {
            List<Trail> mine = [.. trails];
            HashSet<int> seen = [];
            double doubled = 0;
            foreach (TrailLeg l in mine.SelectMany(t => t.Legs))
            {
                bool travels = lines[l.Line].IsAdded != (thread == StitchThread.Design);
                doubled += travels || !seen.Add(l.Line) ? lines[l.Line].Inches : 0;
            }

            double least =
                thread == StitchThread.Design && travel == DesignTravel.Ditch
                    ? (leastTime ? doubled : 0)
                    : new LeastDoubling(own.Network, null, cancellation).LeastInches(mine.Count);
            bool shortest = doubled <= least + 1e-6;
            bool optimal = wishes.Thread switch
            {
                ThreadChoice.Free => shortest && mine.Count == own.LeastStarts,
                ThreadChoice.One => shortest && mine.Count <= own.PieceCount,
                _ => shortest && leastTime,
            };
            return new(
                thread,
                mine.Count,
                Length.FromInches(doubled),
                own.LeastStarts,
                Length.FromInches(least),
                optimal
            );
        }

        private static Trail Own(Trail t, int[] own) =>
            t with
            {
                Legs = [.. t.Legs.Select(l => l with { Line = own[l.Line] })],
            };

        private static int? Nearest(StitchGraph graph, Point<ClothSpace> p)
        {
            int v = Enumerable
                .Range(0, graph.Plane.Nodes.Count)
                .Where(v => graph.PieceOf(v) >= 0)
                .MinBy(v => graph.Plane.Nodes[v].DistanceTo(p));
            return graph.Plane.Nodes[v].DistanceTo(p) <= 0.5 ? v : null;
        }

        private int NodeBefore(TrailLeg l) => l.Forward ? lines[l.Line].From : lines[l.Line].To;

        private Edge<ClothSpace> PathOf(TrailLeg l) => l.Forward ? lines[l.Line].Path : lines[l.Line].Path.Reversed;
    }
}
