using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>
/// Moves all points together so that the seams between them lie on the middle of the evidence: one least-squares adjustment
/// over the whole top.
/// </summary>
/// <remarks>
/// The seam's place is measured across each edge at every pixel of its length, as the centroid of the probability profile
/// about its ridge; the residual is that distance, linear in the two ends (and in an arc's rise). Seams that run straight on
/// through a point are drawn to one line by a soft residual, since piecing sews them as one but cloth is not exact. Points on
/// the outline keep to it. Cauchy weights against prints; normal equations by edges, solved by conjugate gradients with a
/// block Jacobi preconditioner; measured again after each step.
/// </remarks>
internal static class GraphAdjuster
{
    // Neighbouring profiles see the same pixels: four of them are worth one.
    private const double SampleWeight = 0.25;
    private const double CauchyPixels = 0.8;
    private const double StraightOnSigmaPixels = 2.5;
    private const double HoldSigmaPixels = 12;
    private const double NearPoint = 5;
    private const double LeastPeak = 0.12;

    /// <summary>Adjusts in place, <paramref name="rounds"/> times, and leaves support, coverage and scatter in the edges.</summary>
    public static void Adjust(SeamGraph graph, EvidenceMap evidence, int rounds, double reachPixels)
    {
        for (int round = 0; round < rounds; round++)
        {
            double reach = Math.Max(3, reachPixels - round * 1.5);
            Solve(graph, evidence, reach);
        }

        foreach (GraphEdge e in graph.Edges)
        {
            Weigh(e, evidence);
        }
    }

    /// <summary>Support and coverage of an edge where it lies.</summary>
    public static void Weigh(GraphEdge e, EvidenceMap evidence)
    {
        (e.Support, e.Coverage) = SupportOf(e.Path, evidence);
    }

    /// <summary>Mean and likely share of the evidence along a path, its ends left out.</summary>
    public static (double Support, double Coverage) SupportOf(Edge<PictureSpace> path, EvidenceMap evidence)
    {
        double length = path.Length;
        double skip = Math.Min(NearPoint, length / 4);
        int n = Math.Max(3, (int)(length - 2 * skip));
        double sum = 0;
        int likely = 0;
        for (int i = 0; i < n; i++)
        {
            double t = (skip + (length - 2 * skip) * (i + 0.5) / n) / length;
            Point<PictureSpace> p = path.PointAt(t);
            Vector<PictureSpace> across = path.DirectionAt(t).TurnedLeft;
            double best = 0;
            for (int k = -2; k <= 2; k++)
            {
                Point<PictureSpace> q = p + across * (k * 0.75);
                best = Math.Max(best, evidence.SeamAt(q.X, q.Y));
            }

            sum += best;
            likely += best > 0.3 ? 1 : 0;
        }

        return (sum / n, (double)likely / n);
    }

    private static void Solve(SeamGraph graph, EvidenceMap evidence, double reach)
    {
        Dictionary<GraphPoint, int> index = new(
            graph.Points.Count,
            ReferenceEqualityComparer.Instance as IEqualityComparer<GraphPoint>
        );
        foreach (GraphPoint p in graph.Points)
        {
            index[p] = index.Count;
        }

        int arcs = graph.Edges.Count(e => e.Bulge != 0);
        NormalEquations equations = new(2 * index.Count + arcs);
        int arc = 2 * index.Count;
        double[] profile = new double[(int)Math.Ceiling(reach) * 4 + 1];
        foreach (GraphEdge e in graph.Edges)
        {
            int own = e.Bulge != 0 ? arc++ : -1;
            MeasureEdge(e, index[e.From], index[e.To], own, evidence, profile, equations);
        }

        foreach (GraphPoint p in graph.Points)
        {
            int i = index[p];
            double hold = 1 / (p.HoldPixels * p.HoldPixels);
            equations.Add([2 * i], [1], 0, hold);
            equations.Add([2 * i + 1], [1], 0, hold);
            AddStraightOn(p, index, equations);
        }

        for (int a = 2 * index.Count; a < equations.Count; a++)
        {
            equations.Add([a], [1], 0, 1 / (HoldSigmaPixels * HoldSigmaPixels));
        }

        foreach (GraphPoint p in graph.Points)
        {
            if (p.PinnedX)
            {
                equations.Fix(2 * index[p]);
            }

            if (p.PinnedY)
            {
                equations.Fix(2 * index[p] + 1);
            }
        }

        double[] move = equations.Solve();
        arc = 2 * index.Count;
        Dictionary<GraphEdge, double> rise = [];
        foreach (GraphEdge e in graph.Edges)
        {
            if (e.Bulge != 0)
            {
                rise[e] = e.Path.Sagitta + move[arc++];
            }
        }

        foreach (GraphPoint p in graph.Points)
        {
            int i = index[p];
            double dx = move[2 * i];
            double dy = move[2 * i + 1];

            // A step longer than the reach was not measured; it is taken in part.
            double length = Math.Sqrt(dx * dx + dy * dy);
            double part = length > 2 * reach ? 2 * reach / length : 1;
            p.X = Math.Clamp(p.X + dx * part, graph.Frame.Left, graph.Frame.Right);
            p.Y = Math.Clamp(p.Y + dy * part, graph.Frame.Top, graph.Frame.Bottom);
        }

        foreach ((GraphEdge e, double s) in rise)
        {
            e.Bulge = 2 * s / Math.Max(1, e.Path.Chord);
        }
    }

    private static void MeasureEdge(
        GraphEdge e,
        int from,
        int to,
        int arc,
        EvidenceMap evidence,
        double[] profile,
        NormalEquations equations
    )
    {
        Edge<PictureSpace> path = e.Path;
        double length = path.Length;
        double skip = Math.Min(NearPoint, length * 0.3);
        int n = (int)(length - 2 * skip);
        Vector<PictureSpace> chordNormal = (path.To - path.From).TurnedLeft.Unit;
        double squares = 0;
        double weights = 0;
        int measured = 0;
        for (int i = 0; i < n; i++)
        {
            double t = (skip + (length - 2 * skip) * (i + 0.5) / n) / length;
            Point<PictureSpace> p = path.PointAt(t);
            Vector<PictureSpace> across = path.DirectionAt(t).TurnedLeft;
            if (!TryMeasure(evidence, p, across, profile, out double offset, out double peak))
            {
                continue;
            }

            double cauchy = 1 / (1 + offset * offset / (CauchyPixels * CauchyPixels * 4));
            double weight = SampleWeight * peak * cauchy;
            squares += weight * offset * offset;
            weights += weight;
            measured++;
            if (arc < 0)
            {
                equations.Add(
                    [2 * from, 2 * from + 1, 2 * to, 2 * to + 1],
                    [(1 - t) * across.X, (1 - t) * across.Y, t * across.X, t * across.Y],
                    offset,
                    weight
                );
            }
            else
            {
                double u = (p - path.From).Dot(path.To - path.From) / (path.Chord * path.Chord);
                equations.Add(
                    [2 * from, 2 * from + 1, 2 * to, 2 * to + 1, arc],
                    [
                        (1 - u) * across.X,
                        (1 - u) * across.Y,
                        u * across.X,
                        u * across.Y,
                        4 * t * (1 - t) * across.Dot(chordNormal),
                    ],
                    offset,
                    weight
                );
            }
        }

        e.Measured = measured;
        e.Scatter = weights > 0 ? Math.Sqrt(squares / weights) : 2;
    }

    // The seam's offset along `across`, pixels: the ridge nearest to the middle, then the centroid about it.
    private static bool TryMeasure(
        EvidenceMap evidence,
        Point<PictureSpace> p,
        Vector<PictureSpace> across,
        double[] profile,
        out double offset,
        out double peak
    )
    {
        int half = profile.Length / 2;
        int best = -1;
        double strongest = 0;
        for (int k = 0; k < profile.Length; k++)
        {
            double d = (k - half) * 0.5;
            profile[k] = evidence.SeamAt(p.X + across.X * d, p.Y + across.Y * d);
            double near = profile[k] * (1 - 0.35 * Math.Abs(k - half) / half);
            if (near > strongest)
            {
                (strongest, best) = (near, k);
            }
        }

        offset = 0;
        peak = best < 0 ? 0 : profile[best];
        if (best < 0 || peak < LeastPeak)
        {
            return false;
        }

        // Climb to the ridge, then take the centroid of what stands above a quarter of it.
        while (best + 1 < profile.Length && profile[best + 1] > profile[best])
        {
            best++;
        }

        while (best > 0 && profile[best - 1] > profile[best])
        {
            best--;
        }

        peak = profile[best];
        double mass = 0;
        double moment = 0;
        for (int side = -1; side <= 1; side += 2)
        {
            for (int k = side < 0 ? best - 1 : best; k >= 0 && k < profile.Length && Math.Abs(k - best) <= 6; k += side)
            {
                double v = profile[k] - 0.25 * peak;
                if (v <= 0)
                {
                    break;
                }

                mass += v;
                moment += v * (k - half) * 0.5;
            }
        }

        offset = mass > 0 ? moment / mass : (best - half) * 0.5;
        return true;
    }

    private static void AddStraightOn(GraphPoint p, Dictionary<GraphPoint, int> index, NormalEquations equations)
    {
        for (int i = 0; i < p.Edges.Count; i++)
        {
            for (int k = i + 1; k < p.Edges.Count; k++)
            {
                (GraphEdge a, GraphEdge b) = (p.Edges[i], p.Edges[k]);
                if (a.Bulge != 0 || b.Bulge != 0 || a.DirectionFrom(p).Dot(b.DirectionFrom(p)) > -0.995)
                {
                    continue;
                }

                GraphPoint q = a.Other(p);
                GraphPoint r = b.Other(p);
                Vector<PictureSpace> d = r.Place - q.Place;
                Vector<PictureSpace> n = d.TurnedLeft.Unit;
                double t = (p.Place - q.Place).Dot(d) / d.Dot(d);
                double off = (q.Place.Toward(r.Place, t) - p.Place).Dot(n);
                equations.Add(
                    [2 * index[p], 2 * index[p] + 1, 2 * index[q], 2 * index[q] + 1, 2 * index[r], 2 * index[r] + 1],
                    [n.X, n.Y, -(1 - t) * n.X, -(1 - t) * n.Y, -t * n.X, -t * n.Y],
                    off,
                    1 / (StraightOnSigmaPixels * StraightOnSigmaPixels)
                );
            }
        }
    }
}
