namespace OverlayPlanner.Calibration;

/// <summary>Small dense linear least squares.</summary>
internal static class LeastSquares
{
    // A column whose rest is this small against the matrix is no news: the system has no single solution.
    private const double Negligible = 1e-11;

    /// <summary>
    /// Minimises |A x − b| by Householder reflections (G. Golub, 1965). O(rows × columns²).
    /// </summary>
    /// <param name="rows">A, at least as many rows as columns. Not changed.</param>
    /// <param name="right">b. Not changed.</param>
    /// <returns>x, or null where A has not full rank.</returns>
    public static double[]? Solve(double[][] rows, double[] right)
    {
        int m = rows.Length;
        int n = rows[0].Length;
        if (m < n)
        {
            return null;
        }

        double[][] a = [.. rows.Select(r => (double[])r.Clone())];
        double[] b = (double[])right.Clone();
        double largest = a.Max(r => r.Max(Math.Abs));
        for (int k = 0; k < n; k++)
        {
            double norm = 0;
            for (int i = k; i < m; i++)
            {
                norm += a[i][k] * a[i][k];
            }

            norm = Math.Sqrt(norm);
            if (!(norm > Negligible * largest))
            {
                return null;
            }

            double alpha = a[k][k] > 0 ? -norm : norm;
            double[] v = new double[m];
            for (int i = k; i < m; i++)
            {
                v[i] = a[i][k];
            }

            v[k] -= alpha;
            double half = alpha * (alpha - a[k][k]); // v·v / 2
            for (int j = k; j < n; j++)
            {
                double dot = 0;
                for (int i = k; i < m; i++)
                {
                    dot += v[i] * a[i][j];
                }

                double f = dot / half;
                for (int i = k; i < m; i++)
                {
                    a[i][j] -= f * v[i];
                }
            }

            double dotB = 0;
            for (int i = k; i < m; i++)
            {
                dotB += v[i] * b[i];
            }

            for (int i = k; i < m; i++)
            {
                b[i] -= dotB / half * v[i];
            }
        }

        double[] x = new double[n];
        for (int k = n - 1; k >= 0; k--)
        {
            double sum = b[k];
            for (int j = k + 1; j < n; j++)
            {
                sum -= a[k][j] * x[j];
            }

            x[k] = sum / a[k][k];
        }

        return x;
    }
}
