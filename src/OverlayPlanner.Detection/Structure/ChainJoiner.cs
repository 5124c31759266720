using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Joins what was found in pieces between two points where seams meet: a curved seam is one arc, since it is cut with one
/// sweep and sewn with one seam.
/// </summary>
internal static class ChainJoiner
{
    private const double WithinPixels = 3;
    private const double WithinShare = 0.012; // of the chord; cut curves are not quite circles

    // A piece was called straight where it bows by less than about this: the side of a polygon bows more.
    private const double StraightWithinPixels = 3.2;
    private const double LeastRisePixels = 3;

    // A short piece of a large circle rises less; a straight seam found in pieces does not bend so much.
    private const double LeastShortRisePixels = 2;
    private const double LeastShortBulge = 0.05;
    private const double SamplePixels = 4;
    private const double LeastChordPixels = 24;
    private const double SameBulge = 0.08;

    /// <summary>Replaces every chain of pieces that one arc fits; straight chains are left to the pruner.</summary>
    /// <returns>How many points went.</returns>
    public static int JoinArcs(SeamGraph graph)
    {
        int joined = 0;
        foreach (List<GraphEdge> chain in ChainsOf(graph))
        {
            joined += Join(graph, chain);
        }

        return joined;
    }

    /// <summary>Chains of two or more edges through points where nothing else meets, each from end to end.</summary>
    public static IReadOnlyList<List<GraphEdge>> ChainsOf(SeamGraph graph)
    {
        List<List<GraphEdge>> chains = [];
        HashSet<GraphEdge> seen = [];
        foreach (GraphPoint end in graph.Points.Where(p => !Passes(p)))
        {
            foreach (GraphEdge first in end.Edges)
            {
                if (!seen.Add(first))
                {
                    continue;
                }

                List<GraphEdge> chain = [first];
                GraphPoint at = first.Other(end);
                while (Passes(at))
                {
                    GraphEdge next = ReferenceEquals(at.Edges[0], chain[^1]) ? at.Edges[1] : at.Edges[0];
                    if (!seen.Add(next))
                    {
                        break;
                    }

                    chain.Add(next);
                    at = next.Other(at);
                }

                if (chain.Count > 1)
                {
                    chains.Add(chain);
                }
            }
        }

        return chains;
    }

    private static bool Passes(GraphPoint p) => !p.OnOutline && p.Edges.Count == 2;

    // The longest run of the chain that one arc fits, then what is left on both sides of it.
    private static int Join(SeamGraph graph, List<GraphEdge> chain)
    {
        if (chain.Count < 2)
        {
            return 0;
        }

        for (int length = chain.Count; length >= 2; length--)
        {
            for (int start = 0; start + length <= chain.Count; start++)
            {
                List<GraphEdge> run = chain.GetRange(start, length);
                if (ArcOf(run) is not (GraphPoint from, GraphPoint to, double bulge))
                {
                    continue;
                }

                int left = Join(graph, chain.GetRange(0, start));
                int right = Join(graph, chain.GetRange(start + length, chain.Count - start - length));
                Replace(graph, run, from, to, bulge);
                return left + right + length - 1;
            }
        }

        return 0;
    }

    private static (GraphPoint From, GraphPoint To, double Bulge)? ArcOf(List<GraphEdge> run)
    {
        GraphPoint from = Common(run[0], run[1]) is { } second ? run[0].Other(second) : run[0].From;
        List<Point<PictureSpace>> line = [];
        GraphPoint at = from;
        foreach (GraphEdge e in run)
        {
            Edge<PictureSpace> path = ReferenceEquals(e.From, at) ? e.Path : e.Path.Reversed;
            int n = Math.Max(2, (int)(path.Length / SamplePixels));
            for (int i = 0; i < n; i++)
            {
                line.Add(path.PointAt((i + 0.5) / n));
            }

            at = e.Other(at);
        }

        double chord = from.Place.DistanceTo(at.Place);
        if (
            ReferenceEquals(from, at)
            || chord < LeastChordPixels
            || GraphSketcher.FitArc(from.Place, at.Place, [.. line]) is not double bulge
            || from.Edges.Exists(e => ReferenceEquals(e.Other(from), at) && !run.Contains(e) && IsAlike(e, from, bulge))
        )
        {
            return null;
        }

        Edge<PictureSpace> arc = new(from.Place, at.Place, bulge);
        double allowed = WithinPixels + WithinShare * chord;
        double rise = Math.Abs(arc.Sagitta);
        bool bows = rise >= LeastRisePixels || (rise >= LeastShortRisePixels && Math.Abs(bulge) >= LeastShortBulge);
        return
            bows
            && run.TrueForAll(e => e.Bulge != 0 || arc.Nearest(e.Path.PointAt(0.5)).Distance <= StraightWithinPixels)
            && line.TrueForAll(p => arc.Nearest(p).Distance <= allowed)
            ? (from, at, bulge)
            : null;
    }

    // Two lines between the same two points must enclose a patch.
    private static bool IsAlike(GraphEdge e, GraphPoint from, double bulge) =>
        Math.Abs((ReferenceEquals(e.From, from) ? e.Bulge : -e.Bulge) - bulge) < SameBulge;

    private static GraphPoint? Common(GraphEdge a, GraphEdge b) =>
        ReferenceEquals(a.From, b.From) || ReferenceEquals(a.From, b.To) ? a.From
        : ReferenceEquals(a.To, b.From) || ReferenceEquals(a.To, b.To) ? a.To
        : null;

    private static void Replace(SeamGraph graph, List<GraphEdge> run, GraphPoint from, GraphPoint to, double bulge)
    {
        double length = run.Sum(e => e.Path.Length);
        GraphEdge arc = graph.AddEdge(from, to, bulge);
        arc.Support = run.Sum(e => e.Support * e.Path.Length) / length;
        arc.Coverage = run.Sum(e => e.Coverage * e.Path.Length) / length;
        arc.PriorLogOdds = run.Sum(e => e.PriorLogOdds * e.Path.Length) / length;
        arc.Measured = run.Sum(e => e.Measured);
        arc.Scatter = run.Max(e => e.Scatter);
        foreach (GraphEdge e in run)
        {
            graph.Remove(e);
        }

        graph.Points.RemoveAll(p => p.Edges.Count == 0);
    }
}
