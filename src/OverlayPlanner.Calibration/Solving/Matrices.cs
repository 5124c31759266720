namespace OverlayPlanner.Calibration;

/// <summary>Dense linear algebra of the solver; square matrices are row by row in one array.</summary>
internal static class Matrices
{
    // A pivot this small against the diagonal it came from holds nothing but rounding.
    private const double Negligible = 1e-15;

    /// <summary>
    /// Cholesky's factor: replaces the lower triangle of the symmetric <paramref name="a"/> by L with A = L Lᵀ. O(n³ ÷ 6).
    /// </summary>
    /// <returns>False where A is not positive definite; <paramref name="a"/> is then spoilt.</returns>
    public static bool Factor(Span<double> a, int n)
    {
        for (int j = 0; j < n; j++)
        {
            Span<double> rowJ = a.Slice(j * n, j + 1);
            double diagonal = rowJ[j];
            double pivot = diagonal;
            for (int k = 0; k < j; k++)
            {
                pivot -= rowJ[k] * rowJ[k];
            }

            if (!(pivot > Negligible * Math.Abs(diagonal)))
            {
                return false;
            }

            double root = Math.Sqrt(pivot);
            rowJ[j] = root;
            for (int i = j + 1; i < n; i++)
            {
                Span<double> rowI = a.Slice(i * n, j + 1);
                double sum = rowI[j];
                for (int k = 0; k < j; k++)
                {
                    sum -= rowI[k] * rowJ[k];
                }

                rowI[j] = sum / root;
            }
        }

        return true;
    }

    /// <summary>Solves L Lᵀ x = b in place, L from <see cref="Factor"/>.</summary>
    public static void SolveFactored(ReadOnlySpan<double> l, int n, Span<double> b)
    {
        for (int i = 0; i < n; i++)
        {
            double sum = b[i];
            for (int k = 0; k < i; k++)
            {
                sum -= l[i * n + k] * b[k];
            }

            b[i] = sum / l[i * n + i];
        }

        for (int i = n - 1; i >= 0; i--)
        {
            double sum = b[i];
            for (int k = i + 1; k < n; k++)
            {
                sum -= l[k * n + i] * b[k];
            }

            b[i] = sum / l[i * n + i];
        }
    }

    /// <summary>Inverse of a symmetric positive definite matrix, scaled to a unit diagonal first; null where it is not.</summary>
    public static double[]? Invert(ReadOnlySpan<double> a, int n)
    {
        double[] scale = new double[n];
        for (int i = 0; i < n; i++)
        {
            if (!(a[i * n + i] > 0))
            {
                return null;
            }

            scale[i] = 1 / Math.Sqrt(a[i * n + i]);
        }

        double[] l = new double[n * n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                l[i * n + j] = a[i * n + j] * scale[i] * scale[j];
            }
        }

        if (!Factor(l, n))
        {
            return null;
        }

        double[] inverse = new double[n * n];
        double[] column = new double[n];
        for (int j = 0; j < n; j++)
        {
            Array.Clear(column);
            column[j] = 1;
            SolveFactored(l, n, column);
            for (int i = 0; i < n; i++)
            {
                inverse[i * n + j] = column[i] * scale[i] * scale[j];
            }
        }

        return inverse;
    }

    /// <summary>
    /// Upper triangle R of A = Q R by Householder reflections (G. Golub, 1965), and Qᵀ b, both in place. O(m n²).
    /// </summary>
    public static void Triangularise(double[][] a, double[] b)
    {
        int m = a.Length;
        int n = a[0].Length;
        double[] v = new double[m];
        for (int k = 0; k < Math.Min(n, m - 1); k++)
        {
            double norm = 0;
            for (int i = k; i < m; i++)
            {
                norm += a[i][k] * a[i][k];
            }

            norm = Math.Sqrt(norm);
            if (norm == 0)
            {
                continue;
            }

            double alpha = a[k][k] > 0 ? -norm : norm;
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
    }

    /// <summary>
    /// Eigenvector of the smallest eigenvalue of a symmetric matrix, by Jacobi rotations (G. Golub and C. Van Loan, 2013, 8.5).
    /// O(n³) a sweep; for n up to 9 or so.
    /// </summary>
    /// <returns>The unit vector, its eigenvalue and the next larger one.</returns>
    public static (double[] Vector, double Least, double Next) LeastEigenvector(double[,] symmetric)
    {
        const int MostSweeps = 60;
        int n = symmetric.GetLength(0);
        double[,] a = (double[,])symmetric.Clone();
        double[,] v = new double[n, n];
        for (int i = 0; i < n; i++)
        {
            v[i, i] = 1;
        }

        for (int sweep = 0; sweep < MostSweeps; sweep++)
        {
            double off = 0;
            double all = 0;
            for (int i = 0; i < n; i++)
            {
                for (int j = 0; j < n; j++)
                {
                    all += a[i, j] * a[i, j];
                    off += i == j ? 0 : a[i, j] * a[i, j];
                }
            }

            if (off <= 1e-30 * all)
            {
                break;
            }

            for (int p = 0; p < n; p++)
            {
                for (int q = p + 1; q < n; q++)
                {
                    if (a[p, q] == 0)
                    {
                        continue;
                    }

                    double theta = (a[q, q] - a[p, p]) / (2 * a[p, q]);
                    double t = Math.CopySign(1, theta) / (Math.Abs(theta) + Math.Sqrt(theta * theta + 1));
                    double c = 1 / Math.Sqrt(t * t + 1);
                    double s = t * c;
                    for (int k = 0; k < n; k++)
                    {
                        (a[k, p], a[k, q]) = (c * a[k, p] - s * a[k, q], s * a[k, p] + c * a[k, q]);
                    }

                    for (int k = 0; k < n; k++)
                    {
                        (a[p, k], a[q, k]) = (c * a[p, k] - s * a[q, k], s * a[p, k] + c * a[q, k]);
                        (v[k, p], v[k, q]) = (c * v[k, p] - s * v[k, q], s * v[k, p] + c * v[k, q]);
                    }
                }
            }
        }

        int least = 0;
        for (int i = 1; i < n; i++)
        {
            least = a[i, i] < a[least, least] ? i : least;
        }

        double next = double.PositiveInfinity;
        for (int i = 0; i < n; i++)
        {
            next = i == least ? next : Math.Min(next, a[i, i]);
        }

        double[] vector = new double[n];
        for (int i = 0; i < n; i++)
        {
            vector[i] = v[i, least];
        }

        return (vector, a[least, least], next);
    }
}
