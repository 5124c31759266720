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
        LeastDoubling parity = new(graph, null, cancellation);
        Doubling doubling = wishes.Thread switch
        {
            ThreadChoice.Free => parity.Nothing(),
            ThreadChoice.One => parity.WithRuns([.. Enumerable.Repeat(1, graph.PieceCount)]),
            _ => parity.Cheapest(wishes.StartCostSeconds, wishes.InchCostSeconds),
        };
        IReadOnlyList<Trail> trails = TrailSystem.Trace(
            graph,
            doubling.Doubled,
            doubling.Loose,
            wishes.Through,
            null,
            cancellation
        );
        RouteCandidate candidate = RouteWriter.Write(
            graph,
            trails,
            wishes.Thread,
            true,
            Length.Zero,
            null,
            cancellation
        );
        return new(new Route(map, [candidate]), []);
    }
}
