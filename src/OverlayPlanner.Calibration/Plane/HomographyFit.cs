using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Homographies from matched points: exact for four, least squares on the distance in the destination for more.
/// </summary>
/// <remarks>
/// Both sets are first shifted to their centroid and scaled to a mean distance of √2 (R. Hartley, 1997), which keeps the linear
/// system's condition near 10² where raw 12-megapixel coordinates give 10⁸. In these coordinates the source centroid is never on
/// the vanishing line when all points lie in front of it, so the last number may be fixed at 1.
/// </remarks>
public static class HomographyFit
{
    private const int MostSteps = 30;

    /// <summary>
    /// The homography that takes each source point to its destination: exactly for four pairs, else with the least sum of
    /// squared distances in the destination (direct linear solution, then Gauss–Newton).
    /// </summary>
    /// <param name="pairs">At least four; no three of the first four on a line, the whole set spread over an area.</param>
    /// <returns>The map, or null where the points do not fix one (too few, coincident, on a line).</returns>
    public static Homography<TTo, TFrom>? Fit<TTo, TFrom>(IReadOnlyList<(Point<TFrom> From, Point<TTo> To)> pairs)
        where TTo : ISpace
        where TFrom : ISpace
    {
        ArgumentNullException.ThrowIfNull(pairs);
        int n = pairs.Count;
        if (n < 4)
        {
            return null;
        }

        (double fx, double fy, double fs) = Frame(pairs.Select(p => (p.From.X, p.From.Y)));
        (double tx, double ty, double ts) = Frame(pairs.Select(p => (p.To.X, p.To.Y)));
        if (!double.IsFinite(fs) || !double.IsFinite(ts))
        {
            return null;
        }

        double[][] points =
        [
            .. pairs.Select(p =>
                new[] { (p.From.X - fx) * fs, (p.From.Y - fy) * fs, (p.To.X - tx) * ts, (p.To.Y - ty) * ts }
            ),
        ];
        double[]? h = SolveLinear(points);
        if (h is null)
        {
            return null;
        }

        if (n > 4)
        {
            h = Refine(points, h);
        }

        // Undo the frames: T⁻¹ H S.
        Homography<TTo, TFrom> framed = new([.. h, 1]);
        Homography<TFrom, TFrom> s = new([fs, 0, -fs * fx, 0, fs, -fs * fy, 0, 0, 1]);
        Homography<TTo, TTo> back = new([1 / ts, 0, tx, 0, 1 / ts, ty, 0, 0, 1]);
        double[] m = [.. back.After(framed.After(s)).RowByRow];
        double scale = m[8] != 0 ? m[8] : 1;
        Homography<TTo, TFrom> fitted = new([.. m.Select(v => v / scale)]);
        return fitted.Determinant != 0 ? fitted : null;
    }

    /// <summary>Root mean square of the distances in the destination, in its unit.</summary>
    public static double RootMeanSquare<TTo, TFrom>(
        IMap<TTo, TFrom> map,
        IReadOnlyList<(Point<TFrom> From, Point<TTo> To)> pairs
    )
        where TTo : ISpace
        where TFrom : ISpace
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(pairs);
        return Math.Sqrt(pairs.Average(p => Math.Pow(map.Apply(p.From).DistanceTo(p.To), 2)));
    }

    private static (double X, double Y, double Scale) Frame(IEnumerable<(double X, double Y)> points)
    {
        List<(double X, double Y)> list = [.. points];
        double cx = list.Average(p => p.X);
        double cy = list.Average(p => p.Y);
        double mean = list.Average(p => Math.Sqrt((p.X - cx) * (p.X - cx) + (p.Y - cy) * (p.Y - cy)));
        return (cx, cy, Math.Sqrt(2) / mean);
    }

    // Two equations a pair in the first eight numbers, the ninth being 1; least squares by Householder, which does not square
    // the condition as normal equations would.
    private static double[]? SolveLinear(double[][] points)
    {
        double[][] rows = new double[2 * points.Length][];
        double[] right = new double[2 * points.Length];
        for (int i = 0; i < points.Length; i++)
        {
            double x = points[i][0];
            double y = points[i][1];
            double u = points[i][2];
            double v = points[i][3];
            rows[2 * i] = [x, y, 1, 0, 0, 0, -u * x, -u * y];
            rows[2 * i + 1] = [0, 0, 0, x, y, 1, -v * x, -v * y];
            right[2 * i] = u;
            right[2 * i + 1] = v;
        }

        return LeastSquares.Solve(rows, right);
    }

    private static double[] Refine(double[][] points, double[] start)
    {
        double[] h = start;
        double cost = Residuals(points, h, null).Sum(r => r * r);
        for (int step = 0; step < MostSteps; step++)
        {
            double[][] jacobian = new double[2 * points.Length][];
            double[] residuals = Residuals(points, h, jacobian);
            double[]? change = LeastSquares.Solve(jacobian, residuals);
            if (change is null)
            {
                break;
            }

            // Halve the step until it helps: the start may be far off where points are wrong.
            bool better = false;
            for (double t = 1; t > 1e-4 && !better; t /= 2)
            {
                double[] next = [.. h.Select((v, k) => v - t * change[k])];
                double nextCost = Residuals(points, next, null).Sum(r => r * r);
                if (nextCost < cost)
                {
                    better = cost - nextCost > 1e-14 * cost;
                    (h, cost) = (next, nextCost);
                    if (!better)
                    {
                        return h;
                    }
                }
            }

            if (!better)
            {
                break;
            }
        }

        return h;
    }

    private static double[] Residuals(double[][] points, double[] h, double[][]? jacobian)
    {
        double[] r = new double[2 * points.Length];
        for (int i = 0; i < points.Length; i++)
        {
            double x = points[i][0];
            double y = points[i][1];
            double w = 1 / (h[6] * x + h[7] * y + 1);
            double u = (h[0] * x + h[1] * y + h[2]) * w;
            double v = (h[3] * x + h[4] * y + h[5]) * w;
            r[2 * i] = u - points[i][2];
            r[2 * i + 1] = v - points[i][3];
            if (jacobian is not null)
            {
                jacobian[2 * i] = [x * w, y * w, w, 0, 0, 0, -u * x * w, -u * y * w];
                jacobian[2 * i + 1] = [0, 0, 0, x * w, y * w, w, -v * x * w, -v * y * w];
            }
        }

        return r;
    }
}
