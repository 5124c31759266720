using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Trails;

/// <summary>What lies between one run and the next.</summary>
internal static class Hops
{
    /// <summary>
    /// For each run, how far the thread is dragged to its start from the end of the run before; null where it is started anew:
    /// the first run, and those farther off than <paramref name="dragInches"/>.
    /// </summary>
    public static IReadOnlyList<double?> Between(StitchGraph graph, IReadOnlyList<Trail> trails, double dragInches) =>
        [
            .. Carries(graph, trails)
                .Select((d, i) => i > 0 && dragInches > 0 && d <= dragInches + 1e-9 ? d : (double?)null),
        ];

    /// <summary>For each run, the distance in inches from the end of the run before; 0 for the first.</summary>
    public static IReadOnlyList<double> Carries(StitchGraph graph, IReadOnlyList<Trail> trails) =>
        [
            .. trails.Select(
                (t, i) =>
                    i == 0
                        ? 0
                        : graph
                            .Plane.Nodes[RunOrder.LastOf(trails[i - 1], graph)]
                            .DistanceTo(graph.Plane.Nodes[RunOrder.FirstOf(t, graph)])
            ),
        ];
}
