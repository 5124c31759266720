using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>A written route as lines and the order in which they are travelled.</summary>
internal static class FollowedRoute
{
    /// <summary>The route's lines, each once, and its runs as half-edges of them.</summary>
    public static (CallLines Lines, IReadOnlyList<int[]> Runs) Of(QuiltMap quilt, RouteCandidate candidate)
    {
        Dictionary<Point<ClothSpace>, int> nodes = [];
        Dictionary<(Point<ClothSpace>, Point<ClothSpace>, double), int> known = [];
        List<(int, int, Edge<ClothSpace>, CallLine, Side?)> lines = [];
        List<int[]> runs = [];
        foreach (Run run in candidate.Runs)
        {
            int[] travelled = new int[run.Moves.Count];
            for (int i = 0; i < travelled.Length; i++)
            {
                Move move = run.Moves[i];
                Edge<ClothSpace> p = move.Path;
                if (known.TryGetValue((p.From, p.To, p.Bulge), out int h))
                {
                    travelled[i] = h;
                    continue;
                }

                h = 2 * lines.Count;
                Seam? seam = move.Seam is null ? null : quilt.FindSeam(move.Seam);
                lines.Add((NodeAt(p.From), NodeAt(p.To), p, KindOf(move, seam), LowOf(quilt, seam, p)));
                known[(p.From, p.To, p.Bulge)] = h;
                known[(p.To, p.From, -p.Bulge)] = h + 1;
                travelled[i] = h;
            }

            runs.Add(travelled);
        }

        return (new(nodes.Count, lines), runs);

        int NodeAt(Point<ClothSpace> p)
        {
            if (!nodes.TryGetValue(p, out int v))
            {
                nodes[p] = v = nodes.Count;
            }

            return v;
        }
    }

    private static CallLine KindOf(Move move, Seam? seam) =>
        seam is { Role: SeamRole.Edge } ? CallLine.Outline
        : move.Seam is not null ? CallLine.Seam
        : move.Path.IsLine ? CallLine.Line
        : CallLine.Arc;

    private static Side? LowOf(QuiltMap quilt, Seam? seam, Edge<ClothSpace> path)
    {
        if (seam is not { Ditch: { } ditch })
        {
            return null;
        }

        // The nearer end, since a file's numbers may be rounded.
        bool along =
            quilt.JunctionOf(seam.From).Place.DistanceTo(path.From)
            <= quilt.JunctionOf(seam.To).Place.DistanceTo(path.From);
        return along ? ditch : ((Side?)ditch).Mirrored();
    }
}
