using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Takes out what lies on the cloth at its edge: a clamp, a finger, the end of a roller. Its shape hangs on one side of the
/// outline and no seam goes on from it, which piecing never leaves: the patch round it would have to be sewn into a notch.
/// </summary>
internal static class OutlineScraps
{
    private const double MostDeepInches = 4;
    private const double MostWideInches = 7;

    /// <returns>How many shapes went.</returns>
    public static int Remove(SeamGraph graph, double pixelsPerInch)
    {
        int gone = 0;
        foreach (List<GraphEdge> chain in ChainJoiner.ChainsOf(graph))
        {
            GraphPoint[] ends =
            [
                .. chain
                    .SelectMany(e => new[] { e.From, e.To })
                    .GroupBy(p => p)
                    .Where(g => g.Count() == 1)
                    .Select(g => g.Key),
            ];
            if (ends.Length != 2 || !OnOneSide(ends[0], ends[1]))
            {
                continue;
            }

            double deep = chain.SelectMany(e => new[] { e.From, e.To }).Max(p => graph.Frame.DepthOf(p.X, p.Y));
            double wide = ends[0].Place.DistanceTo(ends[1].Place);
            if (deep <= MostDeepInches * pixelsPerInch && wide <= MostWideInches * pixelsPerInch)
            {
                foreach (GraphEdge e in chain)
                {
                    graph.Remove(e);
                }

                gone++;
            }
        }

        graph.RemoveDangling();
        return gone;
    }

    private static bool OnOneSide(GraphPoint a, GraphPoint b) =>
        (a.PinnedX && b.PinnedX && a.X == b.X) || (a.PinnedY && b.PinnedY && a.Y == b.Y);
}
