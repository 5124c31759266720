using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>A side of a patch: from corner to corner, points that others put along it included.</summary>
/// <param name="From">Index of the corner where it begins, clockwise.</param>
/// <param name="To">Index of the next corner.</param>
/// <param name="Edges">Its pieces, clockwise.</param>
internal sealed record PatchSide(int From, int To, IReadOnlyList<Edge<ClothSpace>> Edges)
{
    /// <summary>Ids of the seams that its pieces are.</summary>
    public IReadOnlyList<string> SeamIds { get; init; } = [];

    /// <summary>Straight distance from corner to corner, inches.</summary>
    public double Chord { get; } = Edges[0].From.DistanceTo(Edges[^1].To);

    /// <summary>How far the side bows into its patch from that chord, inches; negative where it bows out.</summary>
    public double RiseInside { get; } = Rise(Edges);

    private static double Rise(IReadOnlyList<Edge<ClothSpace>> edges)
    {
        if (edges.Count == 1)
        {
            // Clockwise the patch lies to the right.
            return -edges[0].Sagitta;
        }

        // A straight side that others meet wobbles by less than it takes to be called curved.
        if (edges.All(e => e.IsLine))
        {
            return 0;
        }

        Vector<ClothSpace> inward = -(edges[^1].To - edges[0].From).Unit.TurnedLeft;
        double most = 0;
        foreach (Edge<ClothSpace> e in edges)
        {
            for (int i = 0; i <= 8; i++)
            {
                double height = (e.PointAt(i / 8.0) - edges[0].From).Dot(inward);
                most = Math.Abs(height) > Math.Abs(most) ? height : most;
            }
        }

        return most;
    }
}

/// <summary>A patch as the hand sees it: corners where its boundary turns, and sides between them.</summary>
internal sealed class PatchShape
{
    // A measured seam wobbles by a few degrees where others meet it; piecing has no flatter corner than 22.5°.
    private const double TurnsFrom = 12 * Math.PI / 180;

    private readonly Edge<ClothSpace>[] ring;
    private readonly Edge<ClothSpace>[] obstacles;

    private PatchShape(
        Patch patch,
        Edge<ClothSpace>[] ring,
        Edge<ClothSpace>[] holes,
        IReadOnlyList<int> corners,
        IReadOnlyList<PatchSide> sides,
        IReadOnlyList<double> angles
    )
    {
        Patch = patch;
        this.ring = ring;
        HoleEdges = holes;
        obstacles = [.. ring, .. holes];
        Corners = corners;
        Sides = sides;
        Angles = angles;
    }

    public Patch Patch { get; }

    /// <summary>Junction indices of the corners, clockwise.</summary>
    public IReadOnlyList<int> Corners { get; }

    /// <summary>Side i runs from corner i to corner i + 1.</summary>
    public IReadOnlyList<PatchSide> Sides { get; }

    /// <summary>Inner angle at each corner, radians.</summary>
    public IReadOnlyList<double> Angles { get; }

    /// <summary>The boundaries of what lies inside it: appliqué, a set-in piece.</summary>
    public IReadOnlyList<Edge<ClothSpace>> HoleEdges { get; }

    /// <summary>Junction indices along its sides that are no corners of it.</summary>
    public IReadOnlyList<int> Between { get; private init; } = [];

    /// <summary>Junction index of the point at its centre, where one was asked for.</summary>
    public int? Center { get; private init; }

    /// <summary>The outer boundary, clockwise.</summary>
    public IReadOnlyList<Edge<ClothSpace>> Ring => ring;

    /// <summary>Reads the shape; null where the boundary has fewer than two corners.</summary>
    public static PatchShape? Of(
        QuiltMap map,
        Patch patch,
        IReadOnlyDictionary<string, int> junctionIndex,
        int? center = null
    )
    {
        Edge<ClothSpace>[] around = [.. PatchFinder.RingOf(map, patch.Seams)];
        int n = around.Length;
        int[] node = new int[n];
        for (int i = 0; i < n; i++)
        {
            Seam s = map.SeamOf(patch.Seams[i]);
            node[i] = junctionIndex[map.JunctionOf(s.From).Place == around[i].From ? s.From : s.To];
        }

        List<int> at = [];
        List<double> angles = [];
        for (int i = 0; i < n; i++)
        {
            double turn = around[(i + n - 1) % n].EndDirection.AngleTo(around[i].StartDirection);
            if (Math.Abs(turn) > TurnsFrom)
            {
                at.Add(i);

                // Clockwise the patch lies to the right; a right turn is positive.
                angles.Add(Math.PI - turn);
            }
        }

        if (at.Count < 2)
        {
            return null;
        }

        List<PatchSide> sides = [];
        for (int c = 0; c < at.Count; c++)
        {
            int first = at[c];
            int next = at[(c + 1) % at.Count];
            List<Edge<ClothSpace>> edges = [];
            List<string> seams = [];
            for (int i = first; i != next || edges.Count == 0; i = (i + 1) % n)
            {
                edges.Add(around[i]);
                seams.Add(patch.Seams[i]);
            }

            sides.Add(new(c, (c + 1) % at.Count, edges) { SeamIds = seams });
        }

        Edge<ClothSpace>[] holes = [.. patch.Holes.SelectMany(h => PatchFinder.RingOf(map, h))];
        return new(patch, around, holes, [.. at.Select(i => node[i])], sides, angles)
        {
            Center = center,
            Between = [.. Enumerable.Range(0, n).Where(i => !at.Contains(i)).Select(i => node[i])],
        };
    }

    /// <summary>How far the patch reaches straight inward from the middle of a side's chord, inches.</summary>
    public double RoomInside(PatchSide side)
    {
        Point<ClothSpace> a = side.Edges[0].From;
        Point<ClothSpace> b = side.Edges[^1].To;
        Point<ClothSpace> m = a.Toward(b, 0.5);

        // Clockwise the patch lies to the right.
        Vector<ClothSpace> inward = -(b - a).Unit.TurnedLeft;
        double room = double.PositiveInfinity;
        foreach (Edge<ClothSpace> e in obstacles)
        {
            IReadOnlyList<Point<ClothSpace>> line = e.IsLine ? [e.From, e.To] : e.Flatten(1e-2);
            for (int i = 1; i < line.Count; i++)
            {
                Vector<ClothSpace> d = line[i] - line[i - 1];
                double turn = inward.Cross(d);
                if (Math.Abs(turn) < 1e-9)
                {
                    continue;
                }

                double along = (line[i - 1] - m).Cross(d) / turn;
                double at = (line[i - 1] - m).Cross(inward) / turn;
                if (at is >= -1e-9 and <= 1 + 1e-9 && along > 0.01)
                {
                    room = Math.Min(room, along);
                }
            }
        }

        return room;
    }

    /// <summary>True where the point lies inside the outer boundary and outside every hole, arcs flattened to 0.001 in.</summary>
    public bool Holds(Point<ClothSpace> p)
    {
        bool inside = false;
        foreach (Edge<ClothSpace> e in obstacles)
        {
            IReadOnlyList<Point<ClothSpace>> line = e.IsLine ? [e.From, e.To] : e.Flatten(1e-3);
            for (int i = 1; i < line.Count; i++)
            {
                (Point<ClothSpace> a, Point<ClothSpace> b) = (line[i - 1], line[i]);
                if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
                {
                    inside = !inside;
                }
            }
        }

        return inside;
    }
}
