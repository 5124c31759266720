using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Trails;

/// <summary>A place where two stitched lines cross.</summary>
/// <param name="At">Inches.</param>
/// <param name="AtPoint">True where it is a junction, false inside a patch.</param>
public readonly record struct Crossing(Point<ClothSpace> At, bool AtPoint);

/// <summary>
/// Counts crossings of a finished route from its moves alone, without the planner's own books.
/// </summary>
/// <remarks>
/// Two passes through one point cross where their ends alternate around it; equal tangents are ordered by curvature. A run's
/// start and end are no pass. A move that retraces is drawn beside the first line, so neither it nor a pass that it belongs to
/// counts. Away from points two lines cross where they properly intersect, decided exactly. Time: O(n log n) for the search,
/// O(p²) for p passes at one point.
/// </remarks>
public static class CrossingCounter
{
    /// <summary>All crossings of the runs.</summary>
    public static IReadOnlyList<Crossing> Find(IReadOnlyList<Run> runs)
    {
        ArgumentNullException.ThrowIfNull(runs);
        List<Crossing> found = [];
        Dictionary<Point<ClothSpace>, List<(Edge<ClothSpace> In, Edge<ClothSpace> Out)>> passes = [];
        List<Edge<ClothSpace>> lines = [];
        foreach (Run run in runs)
        {
            for (int i = 0; i < run.Moves.Count; i++)
            {
                Move move = run.Moves[i];
                if (move.Kind != MoveKind.Retrace)
                {
                    lines.Add(move.Path);
                }

                if (i == 0 || move.Kind == MoveKind.Retrace || run.Moves[i - 1].Kind == MoveKind.Retrace)
                {
                    continue;
                }

                if (!passes.TryGetValue(move.Path.From, out List<(Edge<ClothSpace>, Edge<ClothSpace>)>? here))
                {
                    passes[move.Path.From] = here = [];
                }

                here.Add((run.Moves[i - 1].Path.Reversed, move.Path));
            }
        }

        foreach ((Point<ClothSpace> at, List<(Edge<ClothSpace> In, Edge<ClothSpace> Out)> here) in passes)
        {
            for (int i = 0; i < here.Count; i++)
            {
                for (int j = i + 1; j < here.Count; j++)
                {
                    if (Alternate(here[i].In, here[i].Out, here[j].In, here[j].Out))
                    {
                        found.Add(new(at, true));
                    }
                }
            }
        }

        FindInside(lines, found);
        return found;
    }

    /// <summary>
    /// True where going round the common start meets an end of one pass, of the other, of the one, of the other. Ends that
    /// leave alike do not alternate.
    /// </summary>
    internal static bool Alternate(Edge<ClothSpace> a, Edge<ClothSpace> b, Edge<ClothSpace> c, Edge<ClothSpace> d)
    {
        (Edge<ClothSpace> low, Edge<ClothSpace> high) = Exact.CompareDepartures(a, b) <= 0 ? (a, b) : (b, a);
        int cIn = Within(c);
        int dIn = Within(d);
        return cIn * dIn < 0;

        // 1 strictly between, −1 strictly outside, 0 along one of the two.
        int Within(Edge<ClothSpace> e)
        {
            int fromLow = Exact.CompareDepartures(e, low);
            int fromHigh = Exact.CompareDepartures(e, high);
            return fromLow == 0 || fromHigh == 0 ? 0
                : fromLow > 0 && fromHigh < 0 ? 1
                : -1;
        }
    }

    private static void FindInside(List<Edge<ClothSpace>> lines, List<Crossing> found)
    {
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int i = 0; i < lines.Count; i++)
        {
            tree.Insert(Envelope(lines[i]), i);
        }

        for (int i = 0; i < lines.Count; i++)
        {
            foreach (int j in tree.Query(Envelope(lines[i])))
            {
                if (j > i && Exact.Relate(lines[i], lines[j]) == EdgeRelation.Cross)
                {
                    found.Add(new(Nearby(lines[i], lines[j]), false));
                }
            }
        }

        static NetTopologySuite.Geometries.Envelope Envelope(Edge<ClothSpace> e)
        {
            Box<ClothSpace> b = e.Bounds().Grown(e.IsLine ? 0 : 1e-9 * (1 + e.Chord));
            return new(b.Left, b.Right, b.Top, b.Bottom);
        }
    }

    private static Point<ClothSpace> Nearby(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        // The place is for people: the point of a that is nearest to b, away from shared ends.
        Point<ClothSpace> best = a.PointAt(0.5);
        double least = double.PositiveInfinity;
        for (int i = 1; i < 64; i++)
        {
            Point<ClothSpace> p = a.PointAt(i / 64.0);
            double d = b.Nearest(p).Distance;
            if (d < least && p.DistanceTo(b.From) > 0.05 && p.DistanceTo(b.To) > 0.05)
            {
                (best, least) = (p, d);
            }
        }

        return best;
    }
}
