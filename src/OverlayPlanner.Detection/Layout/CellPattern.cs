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

    /// <summary>The way in which a thing lies that lies so in what lies <paramref name="first"/>: first that, then this.</summary>
    public Orientation After(Orientation first)
    {
        // A turn before a mirror is the opposite turn after it.
        int turn = Mirror ? Turn - first.Turn : Turn + first.Turn;
        return new(((turn % 4) + 4) % 4, Mirror ^ first.Mirror);
    }

    /// <summary>Where a point came from: the inverse of <see cref="Apply"/>.</summary>
    public (double X, double Y) Undo((double X, double Y) p)
    {
        (double x, double y) = p;
        for (int i = 0; i < Turn; i++)
        {
            (x, y) = (y, 1 - x);
        }

        return Mirror ? (1 - x, y) : (x, y);
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
        // The drafted map has each seam once, where a long patch lies along several short ones too.
        QuiltMap map = BlockDrafting.Draft(draft, Geometry.Length.FromInches(1), 1, 1, Geometry.Length.Zero);
        return Of([.. map.Seams.Select(map.EdgeOf)], new(0, 0, 1, 1), 1e-6);
    }

    /// <summary>True where all seams run straight across the block, as in a grid of squares or strips.</summary>
    public bool IsPlainGrid
    {
        get
        {
            const double SameLine = 0.03;
            const double Across = 0.8 / Step;
            return Array.TrueForAll(
                points,
                p =>
                    points.Count(q => Math.Abs(q.X - p.X) <= SameLine) >= Across
                    || points.Count(q => Math.Abs(q.Y - p.Y) <= SameLine) >= Across
            );
        }
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
