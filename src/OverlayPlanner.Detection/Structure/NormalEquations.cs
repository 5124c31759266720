namespace OverlayPlanner.Detection.Structure;

/// <summary>Weighted linear least squares, sparse: Σ w (a·x − b)² → min by conjugate gradients.</summary>
/// <remarks>
/// M. Hestenes and E. Stiefel, "Methods of conjugate gradients for solving linear systems" (1952), with the diagonal as
/// preconditioner. Unknowns must each stand in some equation.
/// </remarks>
internal sealed class NormalEquations(int count)
{
    private readonly Dictionary<int, double>[] rows = CreateRows(count);
    private readonly double[] right = new double[count];
    private readonly bool[] isFixed = new bool[count];

    public int Count => right.Length;

    /// <summary>Adds the equation Σ coefficients · x[indices] = value with a weight (1 / σ²).</summary>
    public void Add(ReadOnlySpan<int> indices, ReadOnlySpan<double> coefficients, double value, double weight)
    {
        for (int i = 0; i < indices.Length; i++)
        {
            right[indices[i]] += weight * coefficients[i] * value;
            Dictionary<int, double> row = rows[indices[i]];
            for (int k = 0; k < indices.Length; k++)
            {
                row[indices[k]] = row.GetValueOrDefault(indices[k]) + weight * coefficients[i] * coefficients[k];
            }
        }
    }

    /// <summary>Keeps an unknown at zero.</summary>
    public void Fix(int index) => isFixed[index] = true;

    /// <summary>The solution, to a relative residual of 1e-8 or 400 steps.</summary>
    public double[] Solve()
    {
        int n = right.Length;
        (int[] Columns, double[] Values)[] packed = new (int[], double[])[n];
        double[] x = new double[n];
        double[] r = new double[n];
        double[] inverse = new double[n];
        for (int i = 0; i < n; i++)
        {
            int[] columns = [.. rows[i].Keys.Where(k => !isFixed[k]).Order()];
            packed[i] = (columns, [.. columns.Select(k => rows[i][k])]);
            inverse[i] = isFixed[i] ? 0 : 1 / Math.Max(1e-12, rows[i].GetValueOrDefault(i));
            r[i] = isFixed[i] ? 0 : right[i];
        }

        double[] z = new double[n];
        double[] p = new double[n];
        double[] ap = new double[n];
        double rz = 0;
        for (int i = 0; i < n; i++)
        {
            p[i] = z[i] = r[i] * inverse[i];
            rz += r[i] * z[i];
        }

        double enough = rz * 1e-16;
        for (int step = 0; step < 400 && rz > enough && rz > 0; step++)
        {
            double pap = 0;
            for (int i = 0; i < n; i++)
            {
                double sum = 0;
                if (!isFixed[i])
                {
                    (int[] columns, double[] values) = packed[i];
                    for (int k = 0; k < columns.Length; k++)
                    {
                        sum += values[k] * p[columns[k]];
                    }
                }

                ap[i] = sum;
                pap += p[i] * sum;
            }

            if (pap <= 0)
            {
                break;
            }

            double alpha = rz / pap;
            double next = 0;
            for (int i = 0; i < n; i++)
            {
                x[i] += alpha * p[i];
                r[i] -= alpha * ap[i];
                z[i] = r[i] * inverse[i];
                next += r[i] * z[i];
            }

            double beta = next / rz;
            rz = next;
            for (int i = 0; i < n; i++)
            {
                p[i] = z[i] + beta * p[i];
            }
        }

        return x;
    }

    private static Dictionary<int, double>[] CreateRows(int count)
    {
        Dictionary<int, double>[] made = new Dictionary<int, double>[count];
        for (int i = 0; i < count; i++)
        {
            made[i] = [];
        }

        return made;
    }
}
