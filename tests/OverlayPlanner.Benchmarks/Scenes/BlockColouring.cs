using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>
/// Which patches of a block are cut alike: patches that one of the block's symmetries takes into each other, in so few cloths
/// that neighbours still differ.
/// </summary>
internal static class BlockColouring
{
    private static readonly (int A, int B, int C, int D)[] Symmetries =
    [
        (1, 0, 0, 1),
        (0, -1, 1, 0),
        (-1, 0, 0, -1),
        (0, 1, -1, 0),
        (-1, 0, 0, 1),
        (1, 0, 0, -1),
        (0, 1, 1, 0),
        (0, -1, -1, 0),
    ];

    // Subgroups of the square's symmetries, largest first, as indices above.
    private static readonly int[][] Groups =
    [
        [0, 1, 2, 3, 4, 5, 6, 7],
        [0, 1, 2, 3],
        [0, 2, 4, 5],
        [0, 2, 6, 7],
        [0, 2],
        [0, 4],
        [0, 5],
        [0, 6],
        [0, 7],
        [0],
    ];

    /// <summary>A class for each patch of the draft; class 0 is the ground, behind the figure.</summary>
    public static int[] ClassesOf(BlockDraft draft)
    {
        (double X, double Y)[] middles = [.. draft.Patches.Select(Middle)];
        bool[,] beside = Adjacency(draft);
        int n = middles.Length;
        foreach (int[] group in Groups)
        {
            int[]? orbit = OrbitsOf(group, middles, draft);
            if (orbit is null)
            {
                continue;
            }

            bool clash = false;
            for (int i = 0; i < n; i++)
            {
                for (int j = 0; j < n; j++)
                {
                    clash |= beside[i, j] && orbit[i] == orbit[j];
                }
            }

            if (!clash)
            {
                return Colour(orbit, beside, draft);
            }
        }

        return Colour([.. Enumerable.Range(0, n)], beside, draft);
    }

    /// <summary>True where the point of the unit square lies in the patch.</summary>
    public static bool Holds(IReadOnlyList<DraftCorner> ring, double x, double y)
    {
        const double Flat = 0.002;
        Point<ClothSpace>[] path =
        [
            .. ring.SelectMany(
                (c, i) =>
                {
                    DraftCorner to = ring[(i + 1) % ring.Count];
                    return new Edge<ClothSpace>(new(c.X, c.Y), new(to.X, to.Y), c.Bulge).Flatten(Flat).SkipLast(1);
                }
            ),
        ];
        bool inside = false;
        for (int i = 0, j = path.Length - 1; i < path.Length; j = i++)
        {
            (Point<ClothSpace> p, Point<ClothSpace> q) = (path[i], path[j]);
            if (p.Y > y != q.Y > y && x < (q.X - p.X) * (y - p.Y) / (q.Y - p.Y) + p.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }

    private static int[]? OrbitsOf(int[] group, (double X, double Y)[] middles, BlockDraft draft)
    {
        int n = middles.Length;
        int[] orbit = [.. Enumerable.Range(0, n)];
        double[] area = [.. draft.Patches.Select(Area)];
        foreach (int g in group)
        {
            (int a, int b, int c, int d) = Symmetries[g];
            for (int i = 0; i < n; i++)
            {
                double x = a * (middles[i].X - 0.5) + b * (middles[i].Y - 0.5) + 0.5;
                double y = c * (middles[i].X - 0.5) + d * (middles[i].Y - 0.5) + 0.5;
                int image = -1;
                for (int j = 0; j < n; j++)
                {
                    bool same =
                        Math.Abs(middles[j].X - x) + Math.Abs(middles[j].Y - y) < 1e-4
                        && Math.Abs(area[i] - area[j]) < 1e-4;
                    image = same ? j : image;
                }

                if (image < 0)
                {
                    return null;
                }

                int from = orbit[image];
                int to = orbit[i];
                for (int k = 0; k < n; k++)
                {
                    orbit[k] = orbit[k] == from ? to : orbit[k];
                }
            }
        }

        return orbit;
    }

    private static int[] Colour(int[] orbit, bool[,] beside, BlockDraft draft)
    {
        int n = orbit.Length;
        int[] ids = [.. orbit.Distinct()];

        // The ground first: the kind with the most length along the block's edge, for its area.
        double Weight(int id) =>
            Enumerable
                .Range(0, n)
                .Where(i => orbit[i] == id)
                .Sum(i => Area(draft.Patches[i]) + EdgeLength(draft.Patches[i]));
        int[] order = [.. ids.OrderByDescending(id => TouchesCorner(id)).ThenByDescending(Weight).ThenBy(id => id)];
        Dictionary<int, int> colour = [];
        foreach (int id in order)
        {
            HashSet<int> taken = [];
            for (int i = 0; i < n; i++)
            {
                for (int j = 0; j < n; j++)
                {
                    if (orbit[i] == id && beside[i, j] && colour.TryGetValue(orbit[j], out int c))
                    {
                        taken.Add(c);
                    }
                }
            }

            int free = 0;
            while (taken.Contains(free))
            {
                free++;
            }

            colour[id] = free;
        }

        // What the ground's colour fell on inside the figure is figure: the middle of a star is cut from cloth of its own.
        HashSet<int> inner = [];
        foreach (int id in ids.Where(id => colour[id] == 0))
        {
            if (Enumerable.Range(0, n).All(i => orbit[i] != id || EdgeLength(draft.Patches[i]) < 1e-6))
            {
                inner.Add(id);
            }
        }

        int spare = colour.Values.Max() + 1;
        return [.. orbit.Select(id => inner.Contains(id) ? spare : colour[id])];

        bool TouchesCorner(int id) =>
            Enumerable
                .Range(0, n)
                .Any(i =>
                    orbit[i] == id
                    && draft.Patches[i].Any(p => p.X is < 1e-6 or > 1 - 1e-6 && p.Y is < 1e-6 or > 1 - 1e-6)
                );
    }

    private static bool[,] Adjacency(BlockDraft draft)
    {
        int n = draft.Patches.Count;
        bool[,] beside = new bool[n, n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                beside[i, j] = i != j && SharedLength(draft.Patches[i], draft.Patches[j]) > 1e-3;
            }
        }

        return beside;
    }

    private static double SharedLength(IReadOnlyList<DraftCorner> p, IReadOnlyList<DraftCorner> q)
    {
        double shared = 0;
        for (int i = 0; i < p.Count; i++)
        {
            (double ax, double ay, _) = p[i];
            (double bx, double by, _) = p[(i + 1) % p.Count];
            double length = Math.Sqrt((bx - ax) * (bx - ax) + (by - ay) * (by - ay));
            (double ux, double uy) = ((bx - ax) / length, (by - ay) / length);
            for (int j = 0; j < q.Count; j++)
            {
                (double cx, double cy, _) = q[j];
                (double dx, double dy, _) = q[(j + 1) % q.Count];
                if (p[i].Bulge != 0 || q[j].Bulge != 0)
                {
                    // A curved side is shared whole, run the other way, or not at all.
                    bool same =
                        Math.Abs(p[i].Bulge + q[j].Bulge) < 1e-4
                        && Math.Abs(ax - dx) + Math.Abs(ay - dy) < 1e-4
                        && Math.Abs(bx - cx) + Math.Abs(by - cy) < 1e-4;
                    shared += same ? length : 0;
                    continue;
                }

                bool onLine =
                    Math.Abs((cx - ax) * uy - (cy - ay) * ux) < 1e-4
                    && Math.Abs((dx - ax) * uy - (dy - ay) * ux) < 1e-4;
                if (onLine)
                {
                    double s = (cx - ax) * ux + (cy - ay) * uy;
                    double t = (dx - ax) * ux + (dy - ay) * uy;
                    shared += Math.Max(0, Math.Min(length, Math.Max(s, t)) - Math.Max(0, Math.Min(s, t)));
                }
            }
        }

        return shared;
    }

    private static double EdgeLength(IReadOnlyList<DraftCorner> p) =>
        SharedLength(p, [new(0, 0), new(1, 0), new(1, 1), new(0, 1)]);

    private static (double X, double Y) Middle(IReadOnlyList<DraftCorner> p) =>
        (p.Average(c => c.X), p.Average(c => c.Y));

    private static double Area(IReadOnlyList<DraftCorner> p)
    {
        double twice = 0;
        for (int i = 0; i < p.Count; i++)
        {
            (double ax, double ay, _) = p[i];
            (double bx, double by, _) = p[(i + 1) % p.Count];
            twice += ax * by - bx * ay;
        }

        return Math.Abs(twice) / 2;
    }
}
