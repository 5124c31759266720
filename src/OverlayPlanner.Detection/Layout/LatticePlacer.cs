using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Finds which places of a lattice hold whole blocks, and each block's own corners.</summary>
internal static class LatticePlacer
{
    // A block needs this part of its outline; a strip as wide as a block has half of it.
    private const double LeastSupport = 0.68;
    private const double Outside = -20;

    /// <summary>
    /// The rows and columns whose cells have the most outline: straight, a rectangle of the lattice; on point, a rectangle of
    /// the page. Null where fewer than two cells stand there.
    /// </summary>
    /// <remarks>J. Bentley's greatest sum (1984), over all pairs of rows: O(rows² × columns).</remarks>
    public static LatticePlacing? Place(LatticeView view, SeamComb u, SeamComb v, int fewest = 2)
    {
        bool diagonal = view.IsOnPoint;
        int nu = u.Sections.Count;
        int nv = v.Sections.Count;
        int rows = diagonal ? nu + nv - 1 : nv;
        int columns = diagonal ? nu + nv - 1 : nu;
        double[,] worth = new double[rows, columns];
        double[,] support = new double[nu, nv];
        Box<ClothSpace> map = new(0, 0, view.Map.Width.Inches, view.Map.Height.Inches);
        Box<ClothSpace> room = map.Grown(Math.Max(0.3, 0.04 * u.Side));
        for (int i = 0; i < nu; i++)
        {
            for (int k = 0; k < nv; k++)
            {
                (int row, int column) = diagonal ? (i + k, i - k + nv - 1) : (k, i);
                (double u0, double u1) = u.Sections[i];
                (double v0, double v1) = v.Sections[k];
                bool whole =
                    room.Holds(view.ToCloth(u0, v0))
                    && room.Holds(view.ToCloth(u1, v0))
                    && room.Holds(view.ToCloth(u1, v1))
                    && room.Holds(view.ToCloth(u0, v1));
                support[i, k] = whole
                    ? (
                        view.CoverAlongU(v0, u0, u1)
                        + view.CoverAlongU(v1, u0, u1)
                        + view.CoverAlongV(u0, v0, v1)
                        + view.CoverAlongV(u1, v0, v1)
                    ) / 4
                    : 0;
                worth[row, column] = whole ? support[i, k] - LeastSupport : Outside;
            }
        }

        (int top, int bottom, int left, int right) = GreatestSum(worth);
        List<LatticeCell> cells = [];
        for (int row = top; row <= bottom; row++)
        {
            for (int column = left; column <= right; column++)
            {
                (int i, int k) = diagonal ? ((row + column - nv + 1) / 2, (row - column + nv - 1) / 2) : (column, row);
                if (
                    diagonal
                    && (((row + column - nv + 1) & 1) != 0 || i < 0 || i >= nu || k < 0 || k >= nv || support[i, k] == 0)
                )
                {
                    continue;
                }

                cells.Add(
                    new(row - top, column - left, CornersOf(view, u.Sections[i], v.Sections[k]), support[i, k])
                );
            }
        }

        return cells.Count < fewest ? null : new(view, u, v, bottom - top + 1, right - left + 1, cells);
    }

    /// <summary>Each block's own corners: the points of the map that stand nearest to where the lattice has them.</summary>
    public static IReadOnlyList<Point<ClothSpace>> Measured(
        LatticeView view,
        PointGrid points,
        IReadOnlyList<Point<ClothSpace>> drafted,
        double side
    )
    {
        // A point where the block's own sides meet is a corner; one where a seam crosses by chance must lie much nearer.
        const double WorthOfSide = 0.12;
        double reach = Math.Max(0.45, 0.035 * side);
        Point<ClothSpace>[] found = new Point<ClothSpace>[drafted.Count];
        for (int c = 0; c < found.Length; c++)
        {
            int best = -1;
            double least = double.PositiveInfinity;
            foreach (int j in points.Near(drafted[c], reach))
            {
                double far =
                    view.Map.Junctions[j].Place.DistanceTo(drafted[c]) - WorthOfSide * Math.Min(4, view.AlignedAt(j));
                if (far < least)
                {
                    (best, least) = (j, far);
                }
            }

            found[c] = best < 0 ? drafted[c] : view.Map.Junctions[best].Place;
        }

        return found;
    }

    private static IReadOnlyList<Point<ClothSpace>> CornersOf(
        LatticeView view,
        (double From, double To) u,
        (double From, double To) v
    ) =>
        [
            view.ToCloth(u.From, v.From),
            view.ToCloth(u.To, v.From),
            view.ToCloth(u.To, v.To),
            view.ToCloth(u.From, v.To),
        ];

    private static (int Top, int Bottom, int Left, int Right) GreatestSum(double[,] worth)
    {
        int rows = worth.GetLength(0);
        int columns = worth.GetLength(1);
        (int Top, int Bottom, int Left, int Right) best = (0, -1, 0, -1);
        double most = 0;
        double[] sums = new double[columns];
        for (int top = 0; top < rows; top++)
        {
            Array.Clear(sums);
            for (int bottom = top; bottom < rows; bottom++)
            {
                double run = 0;
                int start = 0;
                for (int c = 0; c < columns; c++)
                {
                    sums[c] += worth[bottom, c];
                    if (run <= 0)
                    {
                        (run, start) = (0, c);
                    }

                    run += sums[c];
                    if (run > most + 1e-9)
                    {
                        (most, best) = (run, (top, bottom, start, c));
                    }
                }
            }
        }

        return best;
    }
}
