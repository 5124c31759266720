using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing;

/// <summary>Plans routes over a quilt map.</summary>
public static class RoutePlanner
{
    /// <summary>
    /// Plans the choices that the wishes ask for, the recommended one first, each with its proof.
    /// </summary>
    /// <exception cref="InputException">The wishes or the map can't be planned on.</exception>
    /// <exception cref="OperationCanceledException">Cancellation was asked for.</exception>
    public static RoutePlan Plan(QuiltMap map, RouteWishes wishes, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(wishes);
        LineSelection selection = LineSelection.Choose(map, wishes.Block, wishes.Outline);
        StitchGraph graph = new(map, [.. selection.Inner, .. selection.Outline]);
        ThreadWishes threads = new(
            wishes.Thread,
            wishes.StartCostSeconds / wishes.InchCostSeconds,
            wishes.Through,
            wishes.Outline == OutlineChoice.Last
        );
        ThreadPlan plan = ThreadPlanner.Plan(graph, threads, new PointTaste(map), cancellation);
        RouteCandidate candidate = RouteWriter.Write(
            graph,
            plan.Trails,
            wishes.Thread,
            plan.IsLeastTime,
            Length.Zero,
            null,
            cancellation
        );
        return new(new Route(map, [candidate]), []);
    }
}
