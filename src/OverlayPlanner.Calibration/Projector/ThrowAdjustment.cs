namespace OverlayPlanner.Calibration;

/// <summary>
/// The adjustment behind <see cref="ThrowFit"/>: weighted least squares on the distance in the projector's picture, each mark
/// by its own covariance (D. Marquardt, 1963).
/// </summary>
internal static class ThrowAdjustment
{
    private const int MostSteps = 40;

    /// <summary>Levenberg–Marquardt from near parameters or from the linear start; null where the marks do not fix them.</summary>
    public static double[]? Adjust(ThrownMark[] marks, ThrowFrame frame, BendOrder order, double[]? near)
    {
        double[]? x = near ?? frame.Start(marks, order);
        if (x is null || 2 * marks.Length < x.Length)
        {
            return null;
        }

        int n = x.Length;
        double damping = 1e-4;
        (double[][] jacobian, double[] residuals) = Linearise(marks, frame, order, x);
        double cost = residuals.Sum(Square);
        for (int step = 0; step < MostSteps; step++)
        {
            double[] weight =
            [
                .. Enumerable.Range(0, n).Select(k => Math.Sqrt(damping * jacobian.Sum(row => row[k] * row[k]))),
            ];
            double[][] rows =
            [
                .. jacobian,
                .. weight.Select(
                    (w, k) =>
                    {
                        double[] row = new double[n];
                        row[k] = w;
                        return row;
                    }
                ),
            ];
            double[]? change = LeastSquares.Solve(rows, [.. residuals, .. new double[n]]);
            if (change is null)
            {
                return null;
            }

            double[] next = [.. x.Zip(change, (a, b) => a - b)];
            (double[][] nextJacobian, double[] nextResiduals) = Linearise(marks, frame, order, next);
            double nextCost = nextResiduals.Sum(Square);
            if (!(nextCost < cost))
            {
                damping *= 10;
                if (damping > 1e6)
                {
                    break;
                }

                continue;
            }

            bool done = cost - nextCost < 1e-12 * cost;
            (x, jacobian, residuals, cost) = (next, nextJacobian, nextResiduals, nextCost);
            damping = Math.Max(damping / 10, 1e-12);
            if (done)
            {
                break;
            }
        }

        return x;
    }

    private static (double[][] Jacobian, double[] Residuals) Linearise(
        ThrownMark[] marks,
        ThrowFrame frame,
        BendOrder order,
        double[] x
    )
    {
        double[][] jacobian = new double[2 * marks.Length][];
        double[] residuals = new double[2 * marks.Length];
        for (int i = 0; i < marks.Length; i++)
        {
            double[] gx = new double[x.Length];
            double[] gy = new double[x.Length];
            (double u, double v) = frame.Project(x, order, marks[i].Cloth, gx, gy);
            (double tu, double tv) = frame.Normal(marks[i].Projector);
            double scale = frame.PixelScale;
            PixelSpread spread = marks[i].Spread;
            (residuals[2 * i], residuals[2 * i + 1]) = spread.Whiten(scale * (u - tu), scale * (v - tv));
            for (int k = 0; k < x.Length; k++)
            {
                (gx[k], gy[k]) = spread.Whiten(scale * gx[k], scale * gy[k]);
            }

            jacobian[2 * i] = gx;
            jacobian[2 * i + 1] = gy;
        }

        return (jacobian, residuals);
    }

    /// <summary>
    /// Covariance of the parameters, row by row: the inverse of JᵀWJ, times what the residuals say of the weights; null where no
    /// measurement is spare.
    /// </summary>
    public static double[]? CovarianceOf(ThrownMark[] marks, ThrowFrame frame, BendOrder order, double[] x)
    {
        int n = x.Length;
        int spare = 2 * marks.Length - n;
        if (spare <= 0)
        {
            return null;
        }

        (double[][] jacobian, double[] residuals) = Linearise(marks, frame, order, x);
        double[] normal = new double[n * n];
        foreach (double[] row in jacobian)
        {
            for (int i = 0; i < n; i++)
            {
                for (int k = 0; k < n; k++)
                {
                    normal[i * n + k] += row[i] * row[k];
                }
            }
        }

        double variance = residuals.Sum(Square) / spare;
        return Matrices.Invert(normal, n) is { } inverse ? [.. inverse.Select(v => v * variance)] : null;
    }

    private static double Square(double v) => v * v;
}
