using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Finishing;

/// <summary>Whether the thread still runs through the needle.</summary>
public enum NeedleThread
{
    /// <summary>It does; stitching goes on from the needle.</summary>
    Whole,

    /// <summary>It broke or ran out; the next thread starts anew and covers a little of the old stitches.</summary>
    Broken,
}

/// <summary>What the quilter asks of the rest of a route that she began.</summary>
/// <param name="Route">The wishes for the route; a wished start is not looked at, since it has been made.</param>
public sealed record FinishWishes(RouteWishes Route)
{
    /// <summary>Whether the thread still runs through the needle.</summary>
    public NeedleThread Needle { get; init; } = NeedleThread.Whole;

    /// <summary>How far a new thread covers the old stitches where it ties in; 1/4 in (common practice, no source).</summary>
    public Length Overlap { get; init; } = Length.FromInches(0.25);

    /// <summary>Seconds to unpick an inch; ten stitches, cut and drawn out one by one (common practice, no source).</summary>
    public double UnpickSecondsPerInch { get; init; } = 12;

    /// <summary>Seconds to stitch an inch: 600 stitches a minute, 10 to the inch (handbook 3.2).</summary>
    public double StitchSecondsPerInch { get; init; } = 1;
}

/// <summary>Where a begun route lost the best that was possible.</summary>
/// <param name="Move">Index of the first move after which the best could no longer be reached.</param>
/// <param name="Point">Id of the point where that move began: the nearest mend is to unpick to there.</param>
/// <param name="At">Its place, inches.</param>
/// <param name="MoreStarts">Starts that it costs.</param>
/// <param name="MoreBacktracking">Length of backtracking that it costs.</param>
/// <param name="MoreCrossings">Crossings at points that can no longer be avoided.</param>
public sealed record BestLost(
    int Move,
    string Point,
    Point<ClothSpace> At,
    int MoreStarts,
    Length MoreBacktracking,
    int MoreCrossings
)
{
    /// <summary>What it costs, in words.</summary>
    public string Words
    {
        get
        {
            List<string> parts = [];
            if (MoreStarts > 0)
            {
                parts.Add(Counted(MoreStarts, "more start", "more starts"));
            }

            if (MoreBacktracking.Inches > 1e-6)
            {
                parts.Add($"{MoreBacktracking.ToSixteenths()} in more of backtracking");
            }

            if (MoreCrossings > 0)
            {
                parts.Add(Counted(MoreCrossings, "crossing", "crossings"));
            }

            return string.Join(" and ", parts);

            static string Counted(int n, string one, string many) =>
                string.Create(CultureInfo.InvariantCulture, $"{n} {(n == 1 ? one : many)}");
        }
    }
}

/// <summary>Ways to finish, the best first, and where the best was lost.</summary>
/// <param name="Route">Whole routes, what is stitched first; each candidate's <see cref="RouteCandidate.Finish"/> says how.</param>
/// <param name="Lost">Where what is stitched made the best impossible, or null where it did not.</param>
/// <param name="Findings">What was left out, assumed or noticed.</param>
public sealed record FinishPlan(Route Route, BestLost? Lost, IReadOnlyList<Finding> Findings);

/// <summary>Finishes a route that the quilter began: from a drawn path, a broken thread, a wrong turn.</summary>
public static class RouteFinisher
{
    /// <summary>
    /// Completes what is stitched, over the seams alone and over each design that agrees with the lines added by hand, and
    /// weighs going on against unpicking where a wrong turn was taken.
    /// </summary>
    /// <param name="map">The map stitched on.</param>
    /// <param name="drawn">What is stitched so far, as <see cref="DrawnRoute.Follow"/> gives it; nothing yet is no error.</param>
    /// <param name="wishes">What is asked.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    /// <exception cref="InputException">The wishes or the map can't be planned on, or nothing drawn lies on it.</exception>
    public static FinishPlan Finish(
        QuiltMap map,
        DrawnPath drawn,
        FinishWishes wishes,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(drawn);
        ArgumentNullException.ThrowIfNull(wishes);
        return new Finishing(map, drawn, wishes, cancellation).Run();
    }

    /// <summary>One call's work.</summary>
    private sealed class Finishing
    {
        private readonly FinishWishes wishes;
        private readonly CancellationToken cancellation;
        private readonly List<Finding> findings = [];
        private readonly BegunRoute begun;

        public Finishing(QuiltMap map, DrawnPath drawn, FinishWishes wishes, CancellationToken cancellation)
        {
            this.wishes = wishes;
            this.cancellation = cancellation;
            begun =
                drawn.Threads.Any(t => t.Count > 0)
                && BegunRoute.On(map, drawn, wishes.Needle) is var on
                && (on.Threads.Count > 0 || on.Unpicked.Inches > 0)
                    ? on
                    : throw new InputException(
                        "Nothing that is drawn lies on a line of this map",
                        "the drawing",
                        "Draw in inches on this map, along its seams, or take the map that belongs to the drawing."
                    );
        }

        public FinishPlan Run()
        {
            SayWhatWasLeftOut();
            List<Finished> offers = [];
            foreach ((IReadOnlyList<StitchLine> design, string words) in Designs())
            {
                cancellation.ThrowIfCancellationRequested();
                offers.Add(new(design, words, begun, wishes, cancellation));
            }

            Finished best = offers.OrderBy(o => o.GoOn.Cost).ThenBy(o => o.AddedInches).First();
            BestLost? lost = best.FindLoss();
            List<RouteCandidate> found = [best.GoOn.Write()];
            if (lost is not null)
            {
                found.Add(best.Unpick(lost).Write());
                findings.Add(
                    new(
                        "best-lost",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"{lost.Point} at {lost.At.X:0.##},{lost.At.Y:0.##}"
                        ),
                        $"From there on the best is out of reach: {lost.Words}. Go on, or unpick to that point."
                    )
                );
            }

            found.AddRange(
                offers
                    .Where(o => o != best)
                    .OrderBy(o => o.GoOn.Cost)
                    .ThenBy(o => o.AddedInches)
                    .Select(o => o.GoOn.Write())
            );
            return new(
                new(
                    begun.Map,
                    [
                        .. found
                            .Take(Math.Max(wishes.Route.Candidates, lost is null ? 1 : 2))
                            .Select((c, i) => c with { Name = ((char)('A' + i)).ToString() }),
                    ]
                ),
                lost,
                findings
            );
        }

        private void SayWhatWasLeftOut()
        {
            if (begun.Stray.Inches > 0.05)
            {
                findings.Add(
                    new(
                        "stray-lines",
                        $"{begun.Stray.ToSixteenths()} in of the drawing",
                        "They follow no line and lead from no point to another; they are not counted as stitched."
                    )
                );
            }

            if (begun.Unpicked.Inches > 0)
            {
                findings.Add(
                    new(
                        "thread-end-inside-a-seam",
                        string.Create(CultureInfo.InvariantCulture, $"{begun.NeedleAt.X:0.##},{begun.NeedleAt.Y:0.##}"),
                        $"Unpick {begun.Unpicked.ToSixteenths()} in back to the point there, so that the new thread ties in where seams meet."
                    )
                );
            }

            if (begun.Doubled.Inches > 1e-6)
            {
                findings.Add(
                    new(
                        "stitched-twice",
                        $"{begun.Doubled.ToSixteenths()} in of what is stitched",
                        "It stays; the rest goes over nothing that it need not."
                    )
                );
            }
        }

        // The seams alone with what was added by hand; then each design of the planner's that agrees with that.
        private List<(IReadOnlyList<StitchLine> Lines, string Words)> Designs()
        {
            LineSelection selection = LineSelection.Choose(begun.Map, wishes.Route.Block, wishes.Route.Outline);
            HashSet<string> seen = [];
            List<(IReadOnlyList<StitchLine>, string)> designs = [];
            if (wishes.Route.Lines != LineChoice.Curves)
            {
                Offer(
                    [.. selection.Inner, .. selection.Outline],
                    begun.AddsLines ? "the seams and your own lines" : "the seams alone"
                );
            }

            if (wishes.Route.Lines != LineChoice.Seams)
            {
                RoutePlan plan = RoutePlanner.Plan(begun.Map, wishes.Route with { Start = null }, cancellation);
                findings.AddRange(plan.Findings.Where(f => f.What is not "wish-costs" and not "fewer-choices"));
                foreach (RouteCandidate c in plan.Route.Candidates)
                {
                    Offer(StitchLine.Of(begun.Map, c), (c.Design ?? "").Split(';')[0]);
                }
            }

            return designs;

            void Offer(List<StitchLine> lines, string words)
            {
                if (begun.With(lines) is { } whole && seen.Add(Key(whole)))
                {
                    designs.Add((whole, words));
                }
            }

            static string Key(IReadOnlyList<StitchLine> lines) =>
                string.Join(
                    ' ',
                    lines
                        .Select(l =>
                            l.Seam
                            ?? FormattableString.Invariant(
                                $"{Math.Min(l.From, l.To)}-{Math.Max(l.From, l.To)}/{Math.Sign(l.From < l.To ? l.Path.Bulge : -l.Path.Bulge)}"
                            )
                        )
                        .Order(StringComparer.Ordinal)
                );
        }
    }
}
