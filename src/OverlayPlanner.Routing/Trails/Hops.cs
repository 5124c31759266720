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

    /// <summary>
    /// A length in inches that no order and no directions of these runs carry less than: the way to a run is no shorter than
    /// from the nearest end of any other to the nearer of its own, and one run, the first, is not come to. O(n²).
    /// </summary>
    public static double LeastCarry(StitchGraph graph, IReadOnlyList<Trail> trails)
    {
        Point<ClothSpace>[][] ends =
        [
            .. trails.Select(t =>
                t.IsClosed
                    ?
                    [
                        .. t
                            .Legs.Select(l => graph.Lines[l.Line].Path)
                            .SelectMany(p => new[] { p.From, p.To })
                            .Distinct(),
                    ]
                    : new[]
                    {
                        graph.Plane.Nodes[RunOrder.FirstOf(t, graph)],
                        graph.Plane.Nodes[RunOrder.LastOf(t, graph)],
                    }
            ),
        ];
        if (trails.Count < 2)
        {
            return 0;
        }

        double sum = 0;
        double most = 0;
        for (int i = 0; i < ends.Length; i++)
        {
            double nearest = double.PositiveInfinity;
            for (int k = 0; k < ends.Length; k++)
            {
                foreach (Point<ClothSpace> p in k == i ? [] : ends[k])
                {
                    foreach (Point<ClothSpace> q in ends[i])
                    {
                        nearest = Math.Min(nearest, p.DistanceTo(q));
                    }
                }
            }

            sum += nearest;
            most = Math.Max(most, nearest);
        }

        return sum - most;
    }
}
