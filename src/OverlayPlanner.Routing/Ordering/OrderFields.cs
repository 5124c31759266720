using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>What a route file says of order beyond the format's own fields.</summary>
internal static class OrderFields
{
    /// <summary>
    /// On a run <c>hop</c>, the inches that the thread is dragged to its start; in the measures <c>hops</c>,
    /// <c>restarts</c> (starts that are no hop), <c>dragInches</c>, <c>carryInches</c> (with the needle up and the thread cut)
    /// and <c>crossingsAtPoints</c>; in the proof of several runs <c>carryIsLeast</c> (no order of them has fewer restarts, or
    /// as few and less way between them) and <c>leastCarryInches</c> (no order has less way); where an order is wished,
    /// <c>inOrder</c> with the least that any route in that order needs; on the candidate <c>pileUps</c>.
    /// </summary>
    public static RouteCandidate Add(
        RouteCandidate c,
        QuiltMap map,
        StitchGraph graph,
        ThreadPlan plan,
        RouteWishes wishes
    )
    {
        IReadOnlyList<double?> hops = Hops.Between(graph, plan.Trails, wishes.Drag.Inches);
        IReadOnlyList<double> carries = Hops.Carries(graph, plan.Trails);
        int dragged = hops.Count(h => h is not null);
        UnknownFields measures = c.Unknown.In("measures");
        if (wishes.Drag > Length.Zero)
        {
            measures = measures
                .With("hops", dragged)
                .With("restarts", c.Runs.Count - dragged)
                .With("dragInches", hops.Sum(h => h ?? 0));
        }

        // The whole count is known; only where there are crossings is it worth asking where.
        int atPoints = c.Measures.Crossings == 0 ? 0 : CrossingCounter.Find(c.Runs).Count(x => x.AtPoint);
        measures = measures
            .With("carryInches", carries.Where((_, i) => hops[i] is null).Sum())
            .With("crossingsAtPoints", atPoints);
        UnknownFields fields = c.Unknown.With("measures", measures);
        if (plan.Trails.Count > 1)
        {
            fields = fields.With(
                "proof",
                fields
                    .In("proof")
                    .With("leastCarryInches", Hops.LeastCarry(graph, plan.Trails))
                    .With("carryIsLeast", JsonSerializer.SerializeToElement(plan.IsLeastCarry))
            );
        }

        if (plan.Bound is { } bound)
        {
            fields = fields.With("proof", fields.In("proof").With("inOrder", InOrder(c, bound, wishes)));
        }

        IReadOnlyList<PileUp> piles = PileUps.Of(map, c, wishes.BulkyFrom);
        if (piles.Count > 0)
        {
            fields = fields.With("pileUps", PileUps.ToJson(map, piles));
        }

        return c with
        {
            Unknown = fields,
            Runs =
            [
                .. c.Runs.Select((r, i) => hops[i] is { } hop ? r with { Unknown = r.Unknown.With("hop", hop) } : r),
            ],
        };
    }

    private static JsonElement InOrder(RouteCandidate c, StageBound bound, RouteWishes wishes)
    {
        double price = wishes.StartCostSeconds / wishes.InchCostSeconds;
        bool optimal = wishes.Thread switch
        {
            ThreadChoice.Free => c.Measures.Starts == bound.Starts,
            ThreadChoice.One => c.Measures.Starts == bound.Starts
                && c.Measures.Doubled.Inches <= bound.DoubledInches + 1e-6,
            _ => bound.Time > 0 && c.Measures.Starts * price + c.Measures.Doubled.Inches <= bound.Time + 1e-6,
        };
        JsonObject said = new() { ["optimal"] = optimal };
        if (wishes.Thread == ThreadChoice.Mixed)
        {
            said["leastSeconds"] = bound.Time * wishes.InchCostSeconds;
        }
        else
        {
            said["leastStarts"] = bound.Starts;
            said["leastDoubledInches"] = bound.DoubledInches;
        }

        return JsonSerializer.SerializeToElement(said);
    }
}
