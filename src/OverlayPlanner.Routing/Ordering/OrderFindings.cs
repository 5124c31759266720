using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>What the quilter should know about order, starts, ends and thick points.</summary>
internal static class OrderFindings
{
    private const int Named = 4;

    // Handbook 3.5: a tail is secured in about a quarter of an inch; between 1/2 and 1 in from the point it lies beside the bulk.
    private const double TailInches = 0.75;

    /// <summary>Adds what the recommended choice calls for.</summary>
    public static void Add(
        List<Finding> findings,
        QuiltMap map,
        RouteCandidate best,
        RouteWishes wishes,
        LineSelection selection,
        OrderWishes order
    )
    {
        AddBulky(findings, map, best, wishes.BulkyFrom);
        IReadOnlyList<PileUp> piles = PileUps.Of(map, best, wishes.BulkyFrom);
        if (piles.Count > 0)
        {
            findings.Add(
                new(
                    "lines-pile-up",
                    Listed(piles, p => Text($"{Place(map, p.Junction)} ({p.Lines} lines)")),
                    wishes.Lines == LineChoice.Curves ? "The curve runs through its points; slow down there."
                        : best.Measures.Added == Length.Zero
                            ? "Fine thread lies flatter; with --thread free nothing is stitched twice."
                        : wishes.Clear > Length.Zero
                            ? "Arcs that follow a straight seam end before it already; the rest are seams or backtracking."
                        : "Arcs can meet the ditch before the point: --clear 0.5."
                )
            );
        }

        AddIdle(findings, map, selection, order);
        if (best.Runs.Count > 1 && wishes.Drag > Length.Zero)
        {
            UnknownFields measures = best.Unknown.In("measures");
            double hops = measures.Values["hops"].GetDouble();
            findings.Add(
                new(
                    "hops",
                    Text($"{hops} of {best.Runs.Count - 1} ways from one thread's end to the next start"),
                    hops > 0
                        ? Text(
                            $"The thread is dragged there, {Length.FromInches(measures.Values["dragInches"].GetDouble()).ToSixteenths()} in in all; clip it afterwards.{(hops < best.Runs.Count - 1 ? " The others are new starts." : "")}"
                        )
                        : "No start lies within that distance of an end; each is a new start."
                )
            );
        }
    }

    private static void AddBulky(List<Finding> findings, QuiltMap map, RouteCandidate best, int from)
    {
        int[] seams = PileUps.SeamsAt(map);
        HashSet<Point<ClothSpace>> touched = [.. best.AllMoves.SelectMany(m => new[] { m.Path.From, m.Path.To })];
        int[] bulky =
        [
            .. Enumerable
                .Range(0, seams.Length)
                .Where(v => seams[v] >= from && touched.Contains(map.Junctions[v].Place)),
        ];
        if (bulky.Length == 0)
        {
            return;
        }

        HashSet<Point<ClothSpace>> places = [.. bulky.Select(v => map.Junctions[v].Place)];
        int ends = best.Runs.Sum(r =>
            (places.Contains(r.Moves[0].Path.From) ? 1 : 0) + (places.Contains(r.Moves[^1].Path.To) ? 1 : 0)
        );
        findings.Add(
            new(
                "bulky-points",
                Listed(bulky, v => Text($"{Place(map, v)} ({seams[v]} seams)")),
                ends == 0
                    ? "Slow down or turn by hand there; no thread starts or ends on one."
                    : Text(
                        $"Slow down or turn by hand there; {ends} thread {(ends == 1 ? "end lies" : "ends lie")} on one, since the lines leave no other place. With --thread one or a --start 3/4 in along the ditch it may lie beside it."
                    )
            )
        );
    }

    // A wish that no line answers to.
    private static void AddIdle(List<Finding> findings, QuiltMap map, LineSelection selection, OrderWishes order)
    {
        StitchLine[] seams = [.. selection.Inner, .. selection.Outline];
        if (order.Anchors != AnchorOrder.Any && !seams.Any(new StitchStages(map, order).IsAnchor))
        {
            findings.Add(
                new(
                    "wish-has-no-lines",
                    order.Anchors == AnchorOrder.First ? "--anchor-first" : "--round-last",
                    "No block, sashing or border ditch is stitched; a single block's is its outline: --outline any."
                )
            );
        }

        if (order.OutlineLast && selection.Outline.Count == 0)
        {
            findings.Add(
                new(
                    "wish-has-no-lines",
                    "--outline last",
                    "None of the outline is stitched: it is only where the map ends, or not in this block."
                )
            );
        }
    }

    /// <summary>How straight through compares with the route that crosses nothing.</summary>
    public static Finding CompareThrough(QuiltMap map, RouteCandidate through, RouteCandidate plain, int choices)
    {
        int placements = StitchStep.Of(map, through).Count;
        int without = StitchStep.Of(map, plain).Count;
        return new(
            "through-compared",
            Text($"{through.Measures.Crossings} crossings, all at points"),
            Text(
                $"Straight through takes {placements} ruler placements, crossing nothing {without}; starts {through.Measures.Starts} and {plain.Measures.Starts}. {(choices > 1 ? "Both are among the choices." : "Ask for two choices to get both.")}"
            )
        );
    }

    /// <summary>Junctions where so many of a design's lines end, added ones among them.</summary>
    public static IEnumerable<int> Crowded(QuiltMap map, StitchGraph graph, int from)
    {
        int[] all = new int[map.Junctions.Count];
        int[] added = new int[map.Junctions.Count];
        foreach (StitchLine l in graph.Lines)
        {
            foreach (int v in new[] { l.From, l.To })
            {
                all[v]++;
                added[v] += l.IsAdded ? 1 : 0;
            }
        }

        return Enumerable.Range(0, all.Length).Where(v => all[v] >= from && added[v] > 0);
    }

    /// <summary>
    /// The seam and the fraction of it, 3/4 in from the point, for the start of a closed single thread that has bulky points
    /// only; null where it has others.
    /// </summary>
    public static (string Seam, double At)? FindTail(QuiltMap map, StitchGraph graph, ThreadPlan plan, PointTaste taste)
    {
        Trail first = plan.Trails[0];
        int start = RunOrder.FirstOf(first, graph);
        if (start != RunOrder.LastOf(first, graph) || !taste.IsBulky(start))
        {
            return null;
        }

        foreach ((TrailLeg leg, bool atEnd) in new[] { (first.Legs[0], false), (first.Legs[^1], true) })
        {
            StitchLine line = graph.Lines[leg.Line];
            if (line.Seam is { } seam && line.Inches >= 2 * TailInches)
            {
                // The point lies at the seam's first end where the thread leaves along it, or comes back against it.
                bool fromFirst = leg.Forward != atEnd;
                double t = TailInches / line.Inches;
                return (seam, fromFirst ? t : 1 - t);
            }
        }

        return null;
    }

    private static string Listed<T>(IReadOnlyList<T> items, Func<T, string> text) =>
        string.Join(", ", items.Take(Named).Select(text))
        + (items.Count > Named ? Text($" and {items.Count - Named} more") : "");

    private static string Place(QuiltMap map, int v) =>
        Text($"{map.Junctions[v].Id} at {map.Junctions[v].Place.X:0.##},{map.Junctions[v].Place.Y:0.##}");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
