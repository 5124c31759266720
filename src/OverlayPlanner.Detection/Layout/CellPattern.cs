using System.Numerics;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>The inner seams of a block as a picture of 64 × 64 marks in its own frame: what it is compared by.</summary>
internal sealed class CellPattern
{
    private const int Across = 64;
    private const double Step = 1.0 / (2 * Across);
    private const int MostReach = 5;
    private const double LeastOpen = 0.1; // a pattern closer than that hides what is compared with it

    private readonly ulong[] marks;
    private readonly ulong[]?[] grown = new ulong[MostReach + 1][];
    private readonly CellPattern?[] ways = new CellPattern?[8];

    private CellPattern(ulong[] marks, double length, int seams)
    {
        this.marks = marks;
        Length = length;
        Seams = seams;
        Count = marks.Sum(m => BitOperations.PopCount(m));
    }

    /// <summary>Length of the inner seams in block sides.</summary>
    public double Length { get; }

    /// <summary>How many seams lie inside, each piece from junction to junction counted.</summary>
    public int Seams { get; }

    /// <summary>How many marks are set.</summary>
    public int Count { get; }

    /// <summary>True where nothing but a scrap of a seam lies inside.</summary>
    public bool IsPlain => Length < 0.5;

    /// <summary>The seams strictly inside a block.</summary>
    /// <param name="lines">Seams of the map near the block, the outline's too.</param>
    /// <param name="frame">The block.</param>
    /// <param name="slack">Seams within this many inches of a side belong to the side.</param>
    public static CellPattern Of(IEnumerable<Edge<ClothSpace>> lines, CellFrame frame, double slack)
    {
        ulong[] drawn = new ulong[Across];
        double length = 0;
        int seams = 0;
        const double LeastPart = 0.3;
        double near = slack / frame.Side;
        foreach (Edge<ClothSpace> line in lines)
        {
            (double X, double Y) last = frame.ToUnit(line.From);
            (double X, double Y) end = frame.ToUnit(line.To);
            if (RunsAlongSide(last, end, line.IsLine, near))
            {
                continue;
            }

            double inside = 0;
            int bends = line.IsLine ? 1 : 12;
            for (int i = 1; i <= bends; i++)
            {
                (double X, double Y) next = i == bends ? end : frame.ToUnit(line.PointAt((double)i / bends));
                inside += Mark(drawn, last, next);
                last = next;
            }

            // What only pokes in from outside is no seam of the block.
            if (inside > Math.Min(near, LeastPart * line.Length / frame.Side))
            {
                length += inside;
                seams++;
            }
        }

        return new(drawn, length, seams);
    }

    /// <summary>The inner seams of a draft.</summary>
    public static CellPattern Of(BlockDraft draft)
    {
        // The drafted map has each seam once, where a long patch lies along several short ones too.
        QuiltMap map = BlockDrafting.Draft(draft, Geometry.Length.FromInches(1), 1, 1, Geometry.Length.Zero);
        return Of(map.Seams.Select(map.EdgeOf), new([new(0, 0), new(1, 0), new(1, 1), new(0, 1)]), 1e-6);
    }

    /// <summary>True where all seams run straight across the block, as in a grid of squares or strips.</summary>
    public bool IsPlainGrid
    {
        get
        {
            const int Most = (int)(0.75 * Across);
            ulong[] wide = Grown(1);
            ulong columns = 0;
            for (int x = 0; x < Across; x++)
            {
                int count = 0;
                for (int y = 0; y < Across; y++)
                {
                    count += (int)(wide[y] >> x & 1);
                }

                columns |= count >= Most ? 1UL << x : 0;
            }

            int strange = 0;
            for (int y = 0; y < Across; y++)
            {
                if (BitOperations.PopCount(wide[y]) < Most)
                {
                    strange += BitOperations.PopCount(marks[y] & ~columns);
                }
            }

            return strange <= 0.04 * Count;
        }
    }

    /// <summary>The pattern turned and mirrored.</summary>
    public CellPattern In(Orientation orientation)
    {
        int index = orientation.Turn + (orientation.Mirror ? 4 : 0);
        if (index == 0)
        {
            return this;
        }

        if (ways[index] is CellPattern known)
        {
            return known;
        }

        ulong[] turned = new ulong[Across];
        for (int y = 0; y < Across; y++)
        {
            for (int x = 0; x < Across; x++)
            {
                if ((marks[y] >> x & 1) != 0)
                {
                    (double X, double Y) p = orientation.Apply(((x + 0.5) / Across, (y + 0.5) / Across));
                    turned[(int)(p.Y * Across)] |= 1UL << (int)(p.X * Across);
                }
            }
        }

        return ways[index] = new(turned, Length, Seams);
    }

    /// <summary>Agreement with another pattern, 0 to 1: harmonic mean of the parts of each that lie on the other.</summary>
    /// <param name="other">The other.</param>
    /// <param name="within">How far apart seams may lie and still be one, in block sides; at most 5/64 counts.</param>
    public double AgreementWith(CellPattern other, double within)
    {
        if (Count == 0 || other.Count == 0)
        {
            return Count == other.Count ? 1 : 0;
        }

        double a = (double)(Count - Missing(other, within)) / Count;
        double b = (double)(other.Count - other.Missing(this, within)) / other.Count;
        return a + b == 0 ? 0 : 2 * a * b / (a + b);
    }

    /// <summary>
    /// Agreement above chance, 1 where the seams are the same and about 0 where they lie anyhow: as <see cref="AgreementWith"/>,
    /// each part taken beyond the part of the block that the other's seams cover (J. Cohen's kappa, 1960).
    /// </summary>
    /// <remarks>A close pattern has a seam near every place, so that any other would seem to lie on it.</remarks>
    public double LikenessTo(CellPattern other, double within)
    {
        if (Count == 0 || other.Count == 0)
        {
            return Count == other.Count ? 1 : 0;
        }

        double a = Beyond((double)(Count - Missing(other, within)) / Count, other.CoverOf(within));
        double b = Beyond((double)(other.Count - other.Missing(this, within)) / other.Count, CoverOf(within));
        return a <= 0 || b <= 0 ? 0 : 2 * a * b / (a + b);

        static double Beyond(double part, double chance) => (part - chance) / Math.Max(LeastOpen, 1 - chance);
    }

    /// <summary>
    /// What it takes to say this block where the other is known, in seams of the two patterns' mean length: its own seams that
    /// the other has not in full, those that it lacks for a third, since only their places in the other's list are to be said.
    /// What would lie on a close pattern by chance is added.
    /// </summary>
    public double DifferencesTo(CellPattern other, double within)
    {
        const double CostOfLacking = 0.35;
        double own = Math.Min(Count, Missing(other, within) / Math.Max(LeastOpen, 1 - other.CoverOf(within)));
        double lacking = Math.Min(other.Count, other.Missing(this, within) / Math.Max(LeastOpen, 1 - CoverOf(within)));
        return (own + CostOfLacking * lacking)
            / Math.Max(1, (double)(Count + other.Count) / Math.Max(1, Seams + other.Seams));
    }

    private double CoverOf(double within) =>
        Grown(ReachOf(within)).Sum(m => BitOperations.PopCount(m)) / (double)(Across * Across);

    private static int ReachOf(double within) => Math.Clamp((int)Math.Round(within * Across), 1, MostReach);

    /// <summary>How many of this pattern's marks lie on none of the other's.</summary>
    public int Missing(CellPattern other, double within)
    {
        ulong[] there = other.Grown(ReachOf(within));
        int missing = 0;
        for (int y = 0; y < Across; y++)
        {
            missing += BitOperations.PopCount(marks[y] & ~there[y]);
        }

        return missing;
    }

    private static bool RunsAlongSide((double X, double Y) a, (double X, double Y) b, bool straight, double near) =>
        straight
        && (
            (Math.Abs(a.X) <= near && Math.Abs(b.X) <= near)
            || (Math.Abs(a.X - 1) <= near && Math.Abs(b.X - 1) <= near)
            || (Math.Abs(a.Y) <= near && Math.Abs(b.Y) <= near)
            || (Math.Abs(a.Y - 1) <= near && Math.Abs(b.Y - 1) <= near)
        );

    // The length that lies inside, in block sides.
    private static double Mark(ulong[] marks, (double X, double Y) a, (double X, double Y) b)
    {
        double length = Math.Sqrt((b.X - a.X) * (b.X - a.X) + (b.Y - a.Y) * (b.Y - a.Y));
        int n = (int)Math.Ceiling(Math.Min(length, 20) / Step);
        int inside = 0;
        for (int i = 0; i < n; i++)
        {
            double t = (i + 0.5) / n;
            (int x, int y) = (
                (int)Math.Floor((a.X + (b.X - a.X) * t) * Across),
                (int)Math.Floor((a.Y + (b.Y - a.Y) * t) * Across)
            );
            if (x is >= 0 and < Across && y is >= 0 and < Across)
            {
                marks[y] |= 1UL << x;
                inside++;
            }
        }

        return n == 0 ? 0 : length * inside / n;
    }

    // Every mark widened to a square of 2 × reach + 1, cut at its corners where that is more than three.
    private ulong[] Grown(int reach)
    {
        if (grown[reach] is ulong[] known)
        {
            return known;
        }

        ulong[] wide = new ulong[Across];
        for (int dy = -reach; dy <= reach; dy++)
        {
            int half = (int)Math.Sqrt((reach + 0.5) * (reach + 0.5) - dy * dy);
            for (int y = Math.Max(0, -dy); y < Math.Min(Across, Across - dy); y++)
            {
                ulong row = marks[y];
                ulong spread = row;
                for (int dx = 1; dx <= half; dx++)
                {
                    spread |= row << dx | row >> dx;
                }

                wide[y + dy] |= spread;
            }
        }

        return grown[reach] = wide;
    }
}
