using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Memory;

/// <summary>
/// All lines of one design as a finger sees them: what kind each is, which way it bows, how far it runs straight on, and what
/// a turn from one into another is called.
/// </summary>
/// <remarks>
/// Turns are named against all lines of the design, stitched already or not, so that a line is called the same on every copy
/// of a part. A half-edge is 2 × line + 0 at its first end, + 1 at its second, and leaves that end.
/// </remarks>
internal sealed class CallLines
{
    // See TurnSize.
    private const double Degree = Math.PI / 180;
    private const double StraightBelow = 20 * Degree;
    private const double BearBelow = 65 * Degree;
    private const double TurnBelow = 115 * Degree;
    private const double SharpBelow = 175 * Degree;

    // As in StitchStep: a hand follows a bend of two degrees without placing the ruler anew (common practice, no source).
    private const double RunsOnWithin = 2 * Degree;

    // Two tangents this near are one; the flatter line then counts as the lesser turn.
    private const double SameAngle = 1e-7;

    private readonly Edge<ClothSpace>[] along;
    private readonly CallLine[] kind;
    private readonly Side?[] low;
    private readonly int[] nodeOf;
    private readonly int[][] around;
    private readonly Vector<ClothSpace>[] leaving;
    private readonly int[] chain;
    private readonly int[] placeOf;
    private readonly int[]?[] turns;

    /// <param name="nodes">Number of points.</param>
    /// <param name="lines">Ends, way, kind, and the low side of each along its way.</param>
    public CallLines(
        int nodes,
        IReadOnlyList<(int From, int To, Edge<ClothSpace> Path, CallLine Kind, Side? Low)> lines
    )
    {
        along = new Edge<ClothSpace>[2 * lines.Count];
        kind = [.. lines.Select(l => l.Kind)];
        low = [.. lines.Select(l => l.Low)];
        nodeOf = new int[along.Length];
        List<int>[] ends = [.. Enumerable.Range(0, nodes).Select(_ => new List<int>())];
        for (int e = 0; e < lines.Count; e++)
        {
            along[2 * e] = lines[e].Path;
            along[2 * e + 1] = lines[e].Path.Reversed;
            nodeOf[2 * e] = lines[e].From;
            nodeOf[2 * e + 1] = lines[e].To;
            ends[lines[e].From].Add(2 * e);
            ends[lines[e].To].Add(2 * e + 1);
        }

        around = [.. ends.Select(e => e.ToArray())];
        leaving = [.. along.Select(a => a.StartDirection)];
        chain = new int[along.Length];
        turns = new int[along.Length][];
        placeOf = new int[along.Length];
        foreach (int[] here in around)
        {
            for (int i = 0; i < here.Length; i++)
            {
                placeOf[here[i]] = i;
            }
        }
    }

    /// <summary>The lines of a planner's graph; line i is its line i.</summary>
    public static CallLines Of(StitchGraph graph) =>
        new(
            graph.Plane.Nodes.Count,
            [
                .. graph.Lines.Select(l =>
                    (
                        l.From,
                        l.To,
                        l.Path,
                        KindOf(l.Kind),
                        l.Seam is { } id && graph.Map.FindSeam(id) is { } seam ? seam.Ditch : null
                    )
                ),
            ]
        );

    /// <summary>Number of points.</summary>
    public int NodeCount => around.Length;

    /// <summary>Number of lines.</summary>
    public int LineCount => kind.Length;

    /// <summary>The half-edge's line, travelled away from its point.</summary>
    public Edge<ClothSpace> Along(int halfEdge) => along[halfEdge];

    /// <summary>The point that the half-edge leaves.</summary>
    public int NodeOf(int halfEdge) => nodeOf[halfEdge];

    /// <summary>The half-edges that leave a point.</summary>
    public IReadOnlyList<int> Around(int node) => around[node];

    /// <summary>What the line is.</summary>
    public CallLine KindOf(int halfEdge) => kind[halfEdge >> 1];

    /// <summary>To which side of travel it bows; null where straight.</summary>
    public Side? BowOf(int halfEdge) =>
        along[halfEdge].IsLine ? null
        : along[halfEdge].Bulge > 0 ? Side.Left
        : Side.Right;

    /// <summary>The low side as travelled away along the half-edge; null where unknown.</summary>
    public Side? LowOf(int halfEdge) => (halfEdge & 1) == 0 ? low[halfEdge >> 1] : low[halfEdge >> 1].Mirrored();

    /// <summary>How many pieces run straight on from a half-edge, itself among them; 1 for an arc.</summary>
    public int ChainOf(int halfEdge)
    {
        if (chain[halfEdge] > 0)
        {
            return chain[halfEdge];
        }

        int n = 1;
        int h = halfEdge;
        while (along[h].IsLine && n <= kind.Length)
        {
            int next = StraightOn(halfEdge, h);
            if (next < 0)
            {
                break;
            }

            h = next;
            n++;
        }

        return chain[halfEdge] = n;
    }

    /// <summary>True where one ruler serves both: the second runs straight on from the first, which began at another.</summary>
    public bool RunsOn(int begun, int before, int next) =>
        along[before].IsLine
        && along[next].IsLine
        && kind[before >> 1] == kind[next >> 1]
        && CallCode.SizeOf(TurnOf(before ^ 1, next)) == TurnSize.Straight
        && Math.Abs(along[before].EndDirection.AngleTo(leaving[next])) <= RunsOnWithin
        && Math.Abs((along[before].To - along[begun].From).AngleTo(leaving[next])) <= RunsOnWithin;

    /// <summary>The turn from the line that arrived (its half-edge at the point, looking back) into another, as a number.</summary>
    public int TurnOf(int arrived, int into)
    {
        int[] here = turns[arrived] ??= NewRow(around[nodeOf[arrived]].Length);
        int turn = here[placeOf[into]];
        return turn >= 0 ? turn : here[placeOf[into]] = NameTurn(-leaving[arrived], into);

        static int[] NewRow(int length)
        {
            int[] row = new int[length];
            Array.Fill(row, -1);
            return row;
        }
    }

    /// <summary>The turn from a way one faces into a line, as a number.</summary>
    public int TurnFrom(Vector<ClothSpace> heading, int into) => NameTurn(heading, into);

    /// <summary>How many lines of one kind and bow a turn's name fits, before one of them is picked.</summary>
    public int CountAlike(Vector<ClothSpace> heading, int into)
    {
        TurnSize size = SizeOf(Math.Abs(heading.AngleTo(leaving[into])));
        Side? side = CallCode.TurnOf(NameTurn(heading, into)).Side;
        return around[nodeOf[into]]
            .Count(h =>
                kind[h >> 1] == kind[into >> 1]
                && BowOf(h) == BowOf(into)
                && heading.AngleTo(leaving[h]) is var a
                && SizeOf(Math.Abs(a)) == size
                && (side is null || side == (a > 0 ? Side.Right : Side.Left))
            );
    }

    /// <summary>The way one travels on arriving along a half-edge's line (its half-edge at the point, looking back).</summary>
    public Vector<ClothSpace> HeadingOf(int arrived) => -leaving[arrived];

    /// <summary>The angle of a turn, radians, 0 to π, whichever side.</summary>
    public double AngleOf(int arrived, int into) => Math.Abs((-leaving[arrived]).AngleTo(leaving[into]));

    /// <summary>The signed angle of a turn, radians in (−π, π], positive to the right.</summary>
    public double SignedAngleOf(int arrived, int into) => (-leaving[arrived]).AngleTo(leaving[into]);

    /// <summary>What a kind of move runs along.</summary>
    public static CallLine KindOf(MoveKind kind) =>
        kind switch
        {
            MoveKind.Frame => CallLine.Outline,
            MoveKind.Arc => CallLine.Arc,
            MoveKind.Line => CallLine.Line,
            _ => CallLine.Seam,
        };

    /// <summary>The size of a turn of this many radians, 0 to π.</summary>
    public static TurnSize SizeOf(double angle) =>
        angle < StraightBelow ? TurnSize.Straight
        : angle < BearBelow ? TurnSize.Bear
        : angle < TurnBelow ? TurnSize.Turn
        : angle < SharpBelow ? TurnSize.Sharp
        : TurnSize.Back;

    private int StraightOn(int begun, int h)
    {
        int best = -1;
        double least = double.PositiveInfinity;
        foreach (int next in around[nodeOf[h ^ 1]])
        {
            double bend = Math.Abs(along[h].EndDirection.AngleTo(leaving[next]));
            if (next != (h ^ 1) && bend < least && RunsOn(begun, h, next))
            {
                (best, least) = (next, bend);
            }
        }

        return best;
    }

    private int NameTurn(Vector<ClothSpace> heading, int into)
    {
        double angle = heading.AngleTo(leaving[into]);
        TurnSize size = SizeOf(Math.Abs(angle));
        bool sided = size is TurnSize.Bear or TurnSize.Turn or TurnSize.Sharp;

        // Turns are counted from straight on outwards; at a turn back, from the way back outwards.
        double Off(double a) => size == TurnSize.Back ? Math.PI - Math.Abs(a) : Math.Abs(a);
        Side? SideOf(double a) =>
            !sided && Off(a) < SameAngle ? null
            : a > 0 ? Side.Right
            : Side.Left;
        Side? side = SideOf(angle);
        int pick = 0;
        bool several = false;
        foreach (int other in around[nodeOf[into]])
        {
            if (other == into || kind[other >> 1] != kind[into >> 1] || BowOf(other) != BowOf(into))
            {
                continue;
            }

            double a = heading.AngleTo(leaving[other]);
            if (SizeOf(Math.Abs(a)) != size)
            {
                continue;
            }

            several |= !sided;
            if (SideOf(a) != side)
            {
                continue;
            }

            double less = Off(a) - Off(angle);
            bool first =
                Math.Abs(less) > SameAngle ? less < 0
                : Math.Abs(along[other].Radius - along[into].Radius) > SameAngle
                    ? along[other].Radius > along[into].Radius
                : other < into;
            pick += first ? 1 : 0;
        }

        if (!sided && !several)
        {
            side = null;
        }

        return CallCode.OfTurn(size, side, pick);
    }
}
