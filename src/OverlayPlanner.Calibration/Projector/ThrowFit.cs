using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A mark whose projector pixel is known and whose place on the cloth was measured.</summary>
/// <param name="Cloth">Where its light falls.</param>
/// <param name="Projector">Its pixel.</param>
/// <param name="SigmaPixels">Standard deviation of the measurement against that of the others, projector px, one axis.</param>
internal readonly record struct ThrownMark(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector, double SigmaPixels);

/// <summary>What may be added to the homography, from nothing to all terms of low order.</summary>
internal enum BendOrder
{
    /// <summary>The homography alone.</summary>
    None,

    /// <summary>One radial term about the picture's middle.</summary>
    Radial,

    /// <summary>
    /// All second and third order terms but two, which a change of the homography makes as well to first order.
    /// </summary>
    Cubic,
}

/// <summary>
/// A homography, and terms of low order over it, fitted to marks by weighted least squares on the distance in the projector's
/// picture: linear start in Hartley's frames, then Levenberg–Marquardt (D. Marquardt, 1963); marks that disagree are left out.
/// </summary>
internal sealed class ThrowFit
{
    // Marks further off than this many standard deviations lie over a seam's edge or a fold.
    private const double FarOff = 3.5;
    private const double LeastFarOff = 0.15;
    private const int MostSteps = 40;
    private const int MostRounds = 8;

    private readonly double[] parameters;
    private readonly double[]? covariance;
    private readonly Frame frame;
    private readonly BendOrder order;

    private ThrowFit(double[] parameters, double[]? covariance, Frame frame, BendOrder order, bool[] kept, double rms)
    {
        this.parameters = parameters;
        this.covariance = covariance;
        this.frame = frame;
        this.order = order;
        Kept = kept;
        RootMeanSquarePixels = rms;
        Map = frame.MapOf(parameters);
        Bend = order == BendOrder.None ? null : frame.BendOf(parameters, order);
    }

    /// <summary>Cloth inches to projector pixels, without the bend.</summary>
    public Homography<ProjectorSpace, ClothSpace> Map { get; }

    /// <summary>What is added, or null.</summary>
    public ProjectorBend? Bend { get; }

    /// <summary>Which marks entered, in their order.</summary>
    public IReadOnlyList<bool> Kept { get; }

    /// <summary>Root mean square distance of the marks that entered, projector px.</summary>
    public double RootMeanSquarePixels { get; }

    /// <summary>Parameters that were solved.</summary>
    public int Size => parameters.Length;

    /// <summary>Where a cloth point is thrown from.</summary>
    public Point<ProjectorSpace> Apply(Point<ClothSpace> cloth)
    {
        Point<ProjectorSpace> p = Map.Apply(cloth);
        return Bend?.Apply(p) ?? p;
    }

    /// <summary>
    /// Covariance of <see cref="Apply"/>, px²: xx, xy, yy; from JᵀWJ, times what the residuals say of the weights. Infinite
    /// where there are no more marks than parameters.
    /// </summary>
    public (double Xx, double Xy, double Yy) CovarianceAt(Point<ClothSpace> cloth)
    {
        if (covariance is null)
        {
            return (double.PositiveInfinity, 0, double.PositiveInfinity);
        }

        int n = parameters.Length;
        double[] gx = new double[n];
        double[] gy = new double[n];
        frame.Project(parameters, order, cloth, gx, gy);
        double unit = frame.PixelScale * frame.PixelScale;
        return (unit * Between(gx, gx), unit * Between(gx, gy), unit * Between(gy, gy));

        double Between(double[] a, double[] b)
        {
            double sum = 0;
            for (int i = 0; i < n; i++)
            {
                for (int k = 0; k < n; k++)
                {
                    sum += a[i] * covariance[i * n + k] * b[k];
                }
            }

            return sum;
        }
    }

    /// <summary>Fits; null where the marks do not fix the map.</summary>
    /// <param name="marks">All marks.</param>
    /// <param name="width">Projector pixels across.</param>
    /// <param name="height">Projector pixels down.</param>
    /// <param name="order">What is added to the homography.</param>
    /// <param name="allowed">Marks that may enter; all where null.</param>
    public static ThrowFit? Solve(
        IReadOnlyList<ThrownMark> marks,
        int width,
        int height,
        BendOrder order,
        IReadOnlyList<bool>? allowed = null
    )
    {
        bool[] kept = allowed is null ? [.. Enumerable.Repeat(true, marks.Count)] : [.. allowed];
        double[]? parameters = null;
        Frame frame = Frame.Over(marks, width, height);
        for (int round = 0; round < MostRounds; round++)
        {
            ThrownMark[] used = [.. marks.Where((_, i) => kept[i])];
            parameters = Adjust(used, frame, order, parameters);
            if (parameters is null)
            {
                return null;
            }

            double[] off = [.. marks.Select(m => frame.Off(parameters, order, m))];
            double median = used.Select(m => frame.Off(parameters, order, m)).Order().ElementAt(used.Length / 2);

            // Median of a Rayleigh distance: 1.177 σ of one axis.
            double most = Math.Max(FarOff * median / 1.177, LeastFarOff);
            bool[] next = [.. marks.Select((_, i) => (allowed?[i] ?? true) && off[i] <= most)];
            if (next.Count(k => k) < Math.Max(8, Frame.SizeOf(order)) || next.SequenceEqual(kept))
            {
                break;
            }

            kept = next;
        }

        ThrownMark[] entered = [.. marks.Where((_, i) => kept[i])];
        double squares = entered.Sum(m => Square(frame.Off(parameters!, order, m)));
        double rms = Math.Sqrt(squares / entered.Length);
        return new(parameters!, CovarianceOf(entered, frame, order, parameters!), frame, order, kept, rms);
    }

    /// <summary>
    /// Root mean square distance of marks that the fit has not seen, projector px: every fifth patch of the picture is left out
    /// in turn, whole patches, so that what pulls neighbouring marks alike does not flatter.
    /// </summary>
    public static double HeldOut(
        IReadOnlyList<ThrownMark> marks,
        IReadOnlyList<bool> kept,
        int width,
        int height,
        BendOrder order
    )
    {
        const int Folds = 5;
        const int Patches = 10;
        double squares = 0;
        int count = 0;
        for (int fold = 0; fold < Folds; fold++)
        {
            bool[] rest = [.. marks.Select((m, i) => kept[i] && FoldOf(m) != fold)];
            if (Solve(marks, width, height, order, rest) is not { } fit)
            {
                return double.PositiveInfinity;
            }

            for (int i = 0; i < marks.Count; i++)
            {
                if (kept[i] && FoldOf(marks[i]) == fold)
                {
                    squares += Square(fit.Apply(marks[i].Cloth).DistanceTo(marks[i].Projector));
                    count++;
                }
            }
        }

        return Math.Sqrt(squares / Math.Max(1, count));

        int FoldOf(ThrownMark m)
        {
            int i = (int)Math.Floor(Patches * m.Projector.X / width);
            int j = (int)Math.Floor(Patches * m.Projector.Y / height);
            return ((i + 2 * j) % Folds + Folds) % Folds;
        }
    }

    private static double[]? Adjust(ThrownMark[] marks, Frame frame, BendOrder order, double[]? near)
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
        Frame frame,
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
            double w = 1 / marks[i].SigmaPixels;
            residuals[2 * i] = w * (u - tu);
            residuals[2 * i + 1] = w * (v - tv);
            for (int k = 0; k < x.Length; k++)
            {
                gx[k] *= w;
                gy[k] *= w;
            }

            jacobian[2 * i] = gx;
            jacobian[2 * i + 1] = gy;
        }

        return (jacobian, residuals);
    }

    private static double[]? CovarianceOf(ThrownMark[] marks, Frame frame, BendOrder order, double[] x)
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

    /// <summary>
    /// Frames in which the numbers are near one: cloth about the marks' middle with a mean distance of √2 (R. Hartley, 1997),
    /// projector pixels about the picture's middle in half widths, where the bend is also written.
    /// </summary>
    private sealed record Frame(double ClothX, double ClothY, double ClothScale, double CenterX, double CenterY, double PixelScale)
    {
        public static Frame Over(IReadOnlyList<ThrownMark> marks, int width, int height)
        {
            double cx = marks.Average(m => m.Cloth.X);
            double cy = marks.Average(m => m.Cloth.Y);
            double mean = marks.Average(m => m.Cloth.DistanceTo(new(cx, cy)));
            return new(cx, cy, Math.Sqrt(2) / mean, (width - 1) / 2.0, (height - 1) / 2.0, Math.Max(width, height) / 2.0);
        }

        public static int SizeOf(BendOrder order) =>
            8
            + order switch
            {
                BendOrder.None => 0,
                BendOrder.Radial => 1,
                _ => 2 * ProjectorBend.Terms - 2,
            };

        public (double U, double V) Normal(Point<ProjectorSpace> p) =>
            ((p.X - CenterX) / PixelScale, (p.Y - CenterY) / PixelScale);

        public double Off(double[] x, BendOrder order, ThrownMark mark)
        {
            (double u, double v) = Project(x, order, mark.Cloth, [], []);
            (double tu, double tv) = Normal(mark.Projector);
            return PixelScale * Math.Sqrt(Square(u - tu) + Square(v - tv));
        }

        public double[]? Start(ThrownMark[] marks, BendOrder order)
        {
            if (
                HomographyFit.Fit<ProjectorSpace, ClothSpace>([.. marks.Select(m => (m.Cloth, m.Projector))])
                is not { } map
            )
            {
                return null;
            }

            Homography<ClothSpace, ClothSpace> fromFrame = new([1 / ClothScale, 0, ClothX, 0, 1 / ClothScale, ClothY, 0, 0, 1]);
            Homography<ProjectorSpace, ProjectorSpace> toFrame = new([
                1 / PixelScale,
                0,
                -CenterX / PixelScale,
                0,
                1 / PixelScale,
                -CenterY / PixelScale,
                0,
                0,
                1,
            ]);
            IReadOnlyList<double> m = toFrame.After(map.After(fromFrame)).RowByRow;
            double[] x = new double[SizeOf(order)];
            for (int k = 0; k < 8; k++)
            {
                x[k] = m[k] / m[8];
            }

            return x;
        }

        public Homography<ProjectorSpace, ClothSpace> MapOf(double[] x)
        {
            Homography<ClothSpace, ClothSpace> toFrame = new([
                ClothScale,
                0,
                -ClothScale * ClothX,
                0,
                ClothScale,
                -ClothScale * ClothY,
                0,
                0,
                1,
            ]);
            Homography<ProjectorSpace, ProjectorSpace> fromFrame = new([
                PixelScale,
                0,
                CenterX,
                0,
                PixelScale,
                CenterY,
                0,
                0,
                1,
            ]);
            Homography<ProjectorSpace, ClothSpace> framed = new([.. x.Take(8), 1]);
            IReadOnlyList<double> m = fromFrame.After(framed.After(toFrame)).RowByRow;
            double scale = m[8] != 0 ? m[8] : 1;
            return new([.. m.Select(v => v / scale)]);
        }

        public ProjectorBend BendOf(double[] x, BendOrder order)
        {
            double[] a = new double[ProjectorBend.Terms];
            double[] b = new double[ProjectorBend.Terms];
            Coefficients(x, order, a, b);
            return new(new(CenterX, CenterY), PixelScale, a, b);
        }

        /// <summary>A cloth point in the picture's frame, and its derivatives by all parameters where room is given for them.</summary>
        public (double U, double V) Project(
            double[] x,
            BendOrder order,
            Point<ClothSpace> cloth,
            Span<double> gx,
            Span<double> gy
        )
        {
            double s = (cloth.X - ClothX) * ClothScale;
            double t = (cloth.Y - ClothY) * ClothScale;
            double w = 1 / (x[6] * s + x[7] * t + 1);
            double u = (x[0] * s + x[1] * t + x[2]) * w;
            double v = (x[3] * s + x[4] * t + x[5]) * w;
            if (order == BendOrder.None)
            {
                ByMap(1, 0, 0, 1, gx, gy);
                return (u, v);
            }

            Span<double> a = stackalloc double[ProjectorBend.Terms];
            Span<double> b = stackalloc double[ProjectorBend.Terms];
            Span<double> phi = stackalloc double[ProjectorBend.Terms];
            Span<double> byU = stackalloc double[ProjectorBend.Terms];
            Span<double> byV = stackalloc double[ProjectorBend.Terms];
            Coefficients(x, order, a, b);
            ProjectorBend.Basis(u, v, phi);
            ProjectorBend.BasisBy(u, v, byU, byV);
            double du = Dot(a, phi);
            double dv = Dot(b, phi);
            ByMap(1 + Dot(a, byU), Dot(a, byV), Dot(b, byU), 1 + Dot(b, byV), gx, gy);
            if (!gx.IsEmpty && order == BendOrder.Radial)
            {
                gx[8] = phi[3] + phi[5];
                gy[8] = phi[4] + phi[6];
            }
            else if (!gx.IsEmpty)
            {
                for (int k = 1; k < ProjectorBend.Terms; k++)
                {
                    gx[7 + k] = phi[k];
                }

                int place = 7 + ProjectorBend.Terms;
                for (int k = 0; k < ProjectorBend.Terms; k++)
                {
                    if (k != 2)
                    {
                        gy[place++] = phi[k];
                    }
                }
            }

            return (u + du, v + dv);

            void ByMap(double xx, double xy, double yx, double yy, Span<double> ofU, Span<double> ofV)
            {
                if (ofU.IsEmpty)
                {
                    return;
                }

                ofU.Clear();
                ofV.Clear();
                ReadOnlySpan<double> hu = [s * w, t * w, w, 0, 0, 0, -u * s * w, -u * t * w];
                ReadOnlySpan<double> hv = [0, 0, 0, s * w, t * w, w, -v * s * w, -v * t * w];
                for (int k = 0; k < 8; k++)
                {
                    ofU[k] = xx * hu[k] + xy * hv[k];
                    ofV[k] = yx * hu[k] + yy * hv[k];
                }
            }
        }

        private static void Coefficients(double[] x, BendOrder order, Span<double> a, Span<double> b)
        {
            a.Clear();
            b.Clear();
            if (order == BendOrder.Radial)
            {
                a[3] = a[5] = b[4] = b[6] = x[8];
                return;
            }

            // x² in x and y² in y are left to the homography's last row.
            for (int k = 1; k < ProjectorBend.Terms; k++)
            {
                a[k] = x[7 + k];
            }

            int place = 7 + ProjectorBend.Terms;
            for (int k = 0; k < ProjectorBend.Terms; k++)
            {
                if (k != 2)
                {
                    b[k] = x[place++];
                }
            }
        }

        private static double Dot(ReadOnlySpan<double> a, ReadOnlySpan<double> b)
        {
            double sum = 0;
            for (int k = 0; k < a.Length; k++)
            {
                sum += a[k] * b[k];
            }

            return sum;
        }
    }
}
