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
    // Directions closer than this are one, radians.
    private const double Tangent = 1e-7;

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
        if (AreNearlyTangent(a, b, c, d))
        {
            return AlternateByAngle(a, b, c, d);
        }

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

    // Arcs drafted tangent to one another differ in the last digit of their bulge; taken exactly they would change sides.
    private static bool AreNearlyTangent(params ReadOnlySpan<Edge<ClothSpace>> ways)
    {
        for (int i = 0; i < ways.Length; i++)
        {
            for (int k = i + 1; k < ways.Length; k++)
            {
                if (
                    (!ways[i].IsLine || !ways[k].IsLine)
                    && Math.Abs(ways[i].StartDirection.AngleTo(ways[k].StartDirection)) < Tangent
                )
                {
                    return true;
                }
            }
        }

        return false;
    }

    // By angle from the middle of the widest gap between the four; equal ones by curvature, the more to the left the greater.
    private static bool AlternateByAngle(Edge<ClothSpace> a, Edge<ClothSpace> b, Edge<ClothSpace> c, Edge<ClothSpace> d)
    {
        Edge<ClothSpace>[] ways = [a, b, c, d];
        Vector<ClothSpace> first = a.StartDirection;
        double[] turn = [.. ways.Select(w => Positive(-first.AngleTo(w.StartDirection)))];
        double[] sorted = [.. turn.Order()];
        int gap = Enumerable.Range(0, 4).MaxBy(i => Positive(sorted[(i + 1) % 4] - sorted[i]));
        double zero = sorted[gap] + Positive(sorted[(gap + 1) % 4] - sorted[gap]) / 2;
        int[] rank = new int[4];
        int place = 0;
        int[] order = [.. Enumerable.Range(0, 4).OrderBy(i => i, Comparer<int>.Create(Compare))];
        for (int i = 0; i < 4; i++)
        {
            place += i > 0 && Compare(order[i - 1], order[i]) != 0 ? 1 : 0;
            rank[order[i]] = place;
        }

        (int low, int high) = (Math.Min(rank[0], rank[1]), Math.Max(rank[0], rank[1]));
        return Within(rank[2]) * Within(rank[3]) < 0;

        int Within(int r) =>
            r == low || r == high ? 0
            : r > low && r < high ? 1
            : -1;

        int Compare(int i, int k)
        {
            double difference = Positive(turn[i] - zero) - Positive(turn[k] - zero);
            double bend = Bend(ways[i]) - Bend(ways[k]);
            return Math.Abs(difference) >= Tangent ? Math.Sign(difference)
                : Math.Abs(bend) >= Tangent ? Math.Sign(bend)
                : 0;
        }

        static double Bend(Edge<ClothSpace> w) => w.IsLine ? 0 : -Math.Sign(w.Bulge) / w.Radius;

        static double Positive(double angle) => (angle % Math.Tau + Math.Tau) % Math.Tau;
    }

    // Two that share an end and leave it alike to the last digit meet there, not inside.
    private static bool MeetAtTheirEndAlone(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        if (a.IsLine && b.IsLine)
        {
            return false;
        }

        foreach (Edge<ClothSpace> x in new[] { a, a.Reversed })
        {
            foreach (Edge<ClothSpace> y in new[] { b, b.Reversed })
            {
                if (x.From == y.From && Math.Abs(x.StartDirection.AngleTo(y.StartDirection)) < Tangent)
                {
                    return a.FindMeetings(b, 1e-9).All(p => p.DistanceTo(x.From) < 1e-3 || p.DistanceTo(x.To) < 1e-9);
                }
            }
        }

        return false;
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
                if (
                    j > i
                    && Exact.Relate(lines[i], lines[j]) == EdgeRelation.Cross
                    && !MeetAtTheirEndAlone(lines[i], lines[j])
                )
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
