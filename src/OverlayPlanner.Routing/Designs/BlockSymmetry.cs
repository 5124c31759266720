using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>
/// One of the eight ways to lay a square on itself: 0–3 are quarter turns clockwise, 4–7 the same after a mirror left to right.
/// </summary>
internal static class SquareTurns
{
    public const int Count = 8;

    public static bool IsMirror(int element) => element >= 4;

    /// <summary>First <paramref name="b"/>, then <paramref name="a"/>.</summary>
    public static int Compose(int a, int b)
    {
        // Turning after a mirror is mirroring after the opposite turn.
        int turn = IsMirror(a) ? (a & 3) - (b & 3) : (a & 3) + (b & 3);
        return ((turn + 8) & 3) | (IsMirror(a) != IsMirror(b) ? 4 : 0);
    }

    public static int Inverse(int a) => IsMirror(a) ? a : (4 - a) & 3;

    /// <summary>The point taken along, about the centre (0, 0).</summary>
    public static (double X, double Y) Apply(int element, double x, double y)
    {
        if (IsMirror(element))
        {
            x = -x;
        }

        return (element & 3) switch
        {
            0 => (x, y),
            1 => (-y, x),
            2 => (-x, -y),
            _ => (y, -x),
        };
    }

    /// <summary>All subgroups of a group of such elements, the largest first; equal sizes: rotations before mirrors.</summary>
    public static IReadOnlyList<IReadOnlyList<int>> SubgroupsOf(IReadOnlyCollection<int> group)
    {
        int all = group.Aggregate(0, (m, g) => m | (1 << g));
        List<int> found = [];
        for (int mask = 1; mask < 256; mask += 2)
        {
            if ((mask & ~all) == 0 && IsClosed(mask))
            {
                found.Add(mask);
            }
        }

        return
        [
            .. found
                .OrderByDescending(m => int.PopCount(m))
                .ThenBy(m => int.PopCount(m >> 4))
                .ThenBy(m => m)
                .Select(m => (IReadOnlyList<int>)[.. Enumerable.Range(0, Count).Where(g => (m & (1 << g)) != 0)]),
        ];
    }

    private static bool IsClosed(int mask)
    {
        for (int a = 0; a < Count; a++)
        {
            for (int b = 0; b < Count; b++)
            {
                if ((mask & (1 << a)) != 0 && (mask & (1 << b)) != 0 && (mask & (1 << Compose(a, b))) == 0)
                {
                    return false;
                }
            }
        }

        return true;
    }
}

/// <summary>A part of the map that is designed as one: a block, or a lone patch of sashing or border.</summary>
/// <param name="Shapes">Indices of its patches' shapes.</param>
/// <param name="Center">Its middle, inches.</param>
/// <param name="Width">Its width, inches.</param>
/// <param name="Height">Its height, inches.</param>
/// <param name="Turned">How the block lies, by the map: one of the eight ways.</param>
internal sealed record DesignCell(
    IReadOnlyList<int> Shapes,
    Point<ClothSpace> Center,
    double Width,
    double Height,
    int Turned
);

/// <summary>Where a cell's points and patches go when it is laid on another cell, or on itself.</summary>
/// <param name="Element">Which way it is laid.</param>
/// <param name="JunctionOf">From junction to junction.</param>
/// <param name="ShapeOf">From shape to shape.</param>
internal sealed record CellMap(
    int Element,
    IReadOnlyDictionary<int, int> JunctionOf,
    IReadOnlyDictionary<int, int> ShapeOf
);

/// <summary>Finds how cells lie on one another, from their patches alone.</summary>
internal sealed class CellMatcher
{
    private readonly IReadOnlyList<PatchShape> shapes;
    private readonly IReadOnlyList<Point<ClothSpace>> places;
    private readonly double tolerance;
    private readonly PatchColor?[] colors;
    private readonly IReadOnlySet<string> pressedOpen;

    /// <param name="tolerance">Inches that a point may be off its image: nothing for drafts, 1/8 in for measured cloth.</param>
    /// <param name="match">Whether the patches' colours must agree too.</param>
    /// <param name="pressedOpen">Seams that are not ditched; they must lie on one another.</param>
    public CellMatcher(
        IReadOnlyList<PatchShape> shapes,
        IReadOnlyList<Point<ClothSpace>> places,
        double tolerance,
        PatternMatch match,
        IReadOnlySet<string> pressedOpen
    )
    {
        this.pressedOpen = pressedOpen;
        this.shapes = shapes;
        this.places = places;
        this.tolerance = tolerance;
        colors = [.. shapes.Select(s => match == PatternMatch.Colors ? PatchColor.Parse(s.Patch.Color) : null)];
    }

    /// <summary>Lays one cell on another; null where the seams do not agree.</summary>
    public CellMap? Lay(DesignCell from, DesignCell onto, int element)
    {
        bool turned = (element & 1) == 1;
        (double w, double h) = turned ? (from.Height, from.Width) : (from.Width, from.Height);
        if (
            from.Shapes.Count != onto.Shapes.Count
            || Math.Abs(w - onto.Width) > 2 * tolerance
            || Math.Abs(h - onto.Height) > 2 * tolerance
        )
        {
            return null;
        }

        int[] targets = [.. onto.Shapes.SelectMany(s => shapes[s].Corners).Distinct()];
        Dictionary<int, int> junctions = [];
        foreach (int v in from.Shapes.SelectMany(s => shapes[s].Corners).Distinct())
        {
            (double x, double y) = SquareTurns.Apply(element, places[v].X - from.Center.X, places[v].Y - from.Center.Y);
            Point<ClothSpace> image = new(onto.Center.X + x, onto.Center.Y + y);
            int best = -1;
            double least = tolerance;
            foreach (int t in targets)
            {
                double d = places[t].DistanceTo(image);
                if (d <= least)
                {
                    (best, least) = (t, d);
                }
            }

            if (best < 0)
            {
                return null;
            }

            junctions[v] = best;
        }

        LayPoints(from, onto, element, junctions);

        Dictionary<string, int> byCorners = [];
        foreach (int s in onto.Shapes)
        {
            byCorners[Key(shapes[s].Corners)] = s;
        }

        Dictionary<int, int> patches = [];
        foreach (int s in from.Shapes)
        {
            if (
                !byCorners.TryGetValue(Key(shapes[s].Corners.Select(v => junctions[v])), out int image)
                || shapes[s].Patch.Leave != shapes[image].Patch.Leave
                || (colors[s] is { } c && colors[image] is { } d && !c.IsLike(d))
                || !SidesAgree(shapes[s], shapes[image])
                || !OpenSidesAgree(shapes[s], shapes[image], junctions)
            )
            {
                return null;
            }

            patches[s] = image;
        }

        return new(element, junctions, patches);
    }

    // Centres, and points along sides that are no corners: a neighbour may have put one where the twin has none.
    private void LayPoints(DesignCell from, DesignCell onto, int element, Dictionary<int, int> junctions)
    {
        static IEnumerable<int> Points(PatchShape s) => s.Center is { } c ? s.Between.Append(c) : s.Between;
        int[] targets = [.. onto.Shapes.SelectMany(s => Points(shapes[s])).Distinct()];
        foreach (int v in from.Shapes.SelectMany(s => Points(shapes[s])).Distinct())
        {
            (double x, double y) = SquareTurns.Apply(element, places[v].X - from.Center.X, places[v].Y - from.Center.Y);
            Point<ClothSpace> image = new(onto.Center.X + x, onto.Center.Y + y);
            if (targets.Length > 0 && targets.MinBy(t => places[t].DistanceTo(image)) is var near)
            {
                if (places[near].DistanceTo(image) <= tolerance)
                {
                    junctions.TryAdd(v, near);
                }
            }
        }
    }

    private bool OpenSidesAgree(PatchShape a, PatchShape b, Dictionary<int, int> junctions)
    {
        if (pressedOpen.Count == 0)
        {
            return true;
        }

        HashSet<(int, int)> there = [.. Open(b).Select(s => Pair(b.Corners[s.From], b.Corners[s.To]))];
        return there.SetEquals(Open(a).Select(s => Pair(junctions[a.Corners[s.From]], junctions[a.Corners[s.To]])));

        IEnumerable<PatchSide> Open(PatchShape p) => p.Sides.Where(s => s.SeamIds.Any(pressedOpen.Contains));

        static (int, int) Pair(int v, int w) => v < w ? (v, w) : (w, v);
    }

    private static string Key(IEnumerable<int> corners) => string.Join(' ', corners.Order());

    // Straight sides agree where their corners do; curved ones must bow alike. Rings run clockwise, mirrored or not.
    private bool SidesAgree(PatchShape a, PatchShape b)
    {
        static double Bow(PatchShape s) => s.Sides.Sum(x => x.Edges.Sum(e => e.Sagitta));
        return Math.Abs(Bow(a) - Bow(b)) <= Math.Max(tolerance, 1e-6) * a.Sides.Count;
    }
}
