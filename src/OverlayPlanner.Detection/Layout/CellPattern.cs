using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>One of the eight ways in which a square lies: mirrored left to right or not, then turned clockwise.</summary>
/// <param name="Turn">Quarter turns clockwise, 0 to 3.</param>
/// <param name="Mirror">Mirrored left to right before the turn.</param>
internal readonly record struct Orientation(int Turn, bool Mirror)
{
    /// <summary>All eight, the plainest first.</summary>
    public static IReadOnlyList<Orientation> All { get; } =
    [.. new[] { false, true }.SelectMany(m => Enumerable.Range(0, 4).Select(t => new Orientation(t, m)))];

    /// <summary>Where a point of the unit square goes.</summary>
    public (double X, double Y) Apply((double X, double Y) p)
    {
        (double x, double y) = Mirror ? (1 - p.X, p.Y) : p;
        for (int i = 0; i < Turn; i++)
        {
            (x, y) = (1 - y, x);
        }

        return (x, y);
    }
}

/// <summary>The inner seams of a block as points a small step apart, in the unit square.</summary>
internal sealed class CellPattern
{
    private const double Step = 1.0 / 40;

    private readonly (double X, double Y)[] points;
    private Dictionary<(int, int), List<(double X, double Y)>>? grid;
    private double gridWithin;

    private CellPattern((double X, double Y)[] points) => this.points = points;

    /// <summary>Length of the inner seams in block sides.</summary>
    public double Length => points.Length * Step;

    /// <summary>The seams strictly inside a rectangle of the map.</summary>
    /// <param name="lines">Seams of the map, the outline's too.</param>
    /// <param name="box">The block.</param>
    /// <param name="slack">Seams within this many inches of a side belong to the side.</param>
    public static CellPattern Of(IReadOnlyList<Edge<ClothSpace>> lines, Box<ClothSpace> box, double slack)
    {
        List<(double, double)> found = [];
        double side = Math.Max(box.Width, box.Height);
        Box<ClothSpace> inner = box.Grown(-slack);
        foreach (Edge<ClothSpace> line in lines)
        {
            if (!line.Bounds().Meets(inner) || RunsAlongSide(line, box, slack))
            {
                continue;
            }

            int n = Math.Max(1, (int)Math.Round(line.Length / (side * Step)));
            for (int i = 0; i < n; i++)
            {
                Point<ClothSpace> p = line.PointAt((i + 0.5) / n);
                if (box.Holds(p))
                {
                    found.Add(((p.X - box.Left) / box.Width, (p.Y - box.Top) / box.Height));
                }
            }
        }

        return new([.. found]);
    }

    /// <summary>The inner seams of a draft.</summary>
    public static CellPattern Of(BlockDraft draft)
    {
        // A side between two patches stands in the draft twice, once each way.
        List<Edge<ClothSpace>> lines = [];
        HashSet<(double, double, double, double, double)> seen = [];
        for (int patch = 0; patch < draft.Patches.Count; patch++)
        {
            foreach (Edge<ClothSpace> side in draft.SidesOf(patch, new(0, 0), Geometry.Length.FromInches(1)))
            {
                bool forward = (side.From.X, side.From.Y).CompareTo((side.To.X, side.To.Y)) <= 0;
                Edge<ClothSpace> line = forward ? side : side.Reversed;
                if (
                    seen.Add(
                        (
                            Math.Round(line.From.X, 6),
                            Math.Round(line.From.Y, 6),
                            Math.Round(line.To.X, 6),
                            Math.Round(line.To.Y, 6),
                            Math.Round(line.Bulge, 6)
                        )
                    )
                )
                {
                    lines.Add(line);
                }
            }
        }

        return Of(lines, new(0, 0, 1, 1), 1e-6);
    }

    /// <summary>The pattern turned and mirrored.</summary>
    public CellPattern In(Orientation orientation) => new([.. points.Select(orientation.Apply)]);

    /// <summary>Agreement with another pattern, 0 to 1: harmonic mean of the parts of each that lie on the other.</summary>
    public double AgreementWith(CellPattern other, double within)
    {
        if (points.Length == 0 || other.points.Length == 0)
        {
            return points.Length == other.points.Length ? 1 : 0;
        }

        double a = PartOn(other, within);
        double b = other.PartOn(this, within);
        return a + b == 0 ? 0 : 2 * a * b / (a + b);
    }

    private static bool RunsAlongSide(Edge<ClothSpace> line, Box<ClothSpace> box, double slack) =>
        (Math.Abs(line.From.X - box.Left) <= slack && Math.Abs(line.To.X - box.Left) <= slack)
        || (Math.Abs(line.From.X - box.Right) <= slack && Math.Abs(line.To.X - box.Right) <= slack)
        || (Math.Abs(line.From.Y - box.Top) <= slack && Math.Abs(line.To.Y - box.Top) <= slack)
        || (Math.Abs(line.From.Y - box.Bottom) <= slack && Math.Abs(line.To.Y - box.Bottom) <= slack);

    private double PartOn(CellPattern other, double within)
    {
        Dictionary<(int, int), List<(double X, double Y)>> at = other.GridOf(within);
        int on = 0;
        foreach ((double x, double y) in points)
        {
            (int cx, int cy) = ((int)Math.Floor(x / within), (int)Math.Floor(y / within));
            bool near = false;
            for (int dx = -1; dx <= 1 && !near; dx++)
            {
                for (int dy = -1; dy <= 1 && !near; dy++)
                {
                    near =
                        at.TryGetValue((cx + dx, cy + dy), out List<(double X, double Y)>? there)
                        && there.Exists(p => (p.X - x) * (p.X - x) + (p.Y - y) * (p.Y - y) <= within * within);
                }
            }

            on += near ? 1 : 0;
        }

        return (double)on / points.Length;
    }

    // A grid whose cells are as wide as the tolerance: only the nine about a point can hold a neighbour. Kept, because one
    // pattern is held against many.
    private Dictionary<(int, int), List<(double X, double Y)>> GridOf(double within)
    {
        if (grid is not null && gridWithin == within)
        {
            return grid;
        }

        Dictionary<(int, int), List<(double X, double Y)>> at = [];
        foreach ((double X, double Y) p in points)
        {
            (int, int) cell = ((int)Math.Floor(p.X / within), (int)Math.Floor(p.Y / within));
            if (!at.TryGetValue(cell, out List<(double X, double Y)>? there))
            {
                at[cell] = there = [];
            }

            there.Add(p);
        }

        (grid, gridWithin) = (at, within);
        return at;
    }
}
