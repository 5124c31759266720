namespace OverlayPlanner.Calibration;

/// <summary>How the linear system of a step is solved.</summary>
internal enum LinearMethod
{
    /// <summary>Cholesky on JᵀJ, eliminated groups first: fast, for many parameters.</summary>
    NormalEquations,

    /// <summary>Householder reflections on J: does not square the condition, for small, badly conditioned problems.</summary>
    Orthogonal,
}

/// <summary>Why the iteration ended.</summary>
internal enum SolveEnd
{
    /// <summary>Neither the cost nor the parameters change any more.</summary>
    Settled,

    /// <summary>No step helps, however short: the limit of the arithmetic, or a place without derivative.</summary>
    Stuck,

    /// <summary>The number of steps ran out.</summary>
    OutOfSteps,
}

/// <summary>Result of a solve.</summary>
/// <param name="Cost">Half the sum of the losses at the end.</param>
/// <param name="Steps">Accepted steps.</param>
/// <param name="End">Why it ended.</param>
internal readonly record struct SolveReport(double Cost, int Steps, SolveEnd End);

/// <summary>
/// Nonlinear least squares over groups of parameters: Levenberg–Marquardt (D. Marquardt, 1963) with Nielsen's damping rule
/// (H. B. Nielsen, 1999), reweighting for robust losses, and elimination of groups that only meet kept ones (the Schur
/// complement of B. Triggs et al., 2000, section 6).
/// </summary>
/// <remarks>
/// Cost is ½ Σ ρ(|r|²) over the blocks. A step is O(Σ (columns of a block)² + kept³ ÷ 6). Deterministic: blocks are summed in
/// the order in which they were added.
/// </remarks>
internal sealed class LeastSquaresProblem
{
    private const double MostDamping = 1e16;

    private readonly List<double[]> values = [];
    private readonly List<bool[]> held = [];
    private readonly List<bool> eliminated = [];
    private readonly List<ResidualBlock> blocks = [];

    /// <summary>How the steps are solved.</summary>
    public LinearMethod Method { get; init; }

    /// <summary>
    /// Damping of the first step, against the curvature. Small starts with long steps, for starts that are near; 1 and more for
    /// starts from which a long step would leave the valley.
    /// </summary>
    public double FirstDamping { get; init; } = 1e-4;

    /// <summary>The blocks, in the order in which they were added.</summary>
    public IReadOnlyList<ResidualBlock> Blocks => blocks;

    /// <summary>Adds a group of parameters with its starting values and returns its number.</summary>
    /// <param name="start">Starting values.</param>
    /// <param name="eliminate">
    /// Whether the group is taken out of the linear system first: for the many (points), never two of them in one block.
    /// </param>
    public int AddGroup(ReadOnlySpan<double> start, bool eliminate = false)
    {
        values.Add(start.ToArray());
        held.Add(new bool[start.Length]);
        eliminated.Add(eliminate);
        return values.Count - 1;
    }

    /// <summary>Current values of a group; may be written to.</summary>
    public double[] Values(int group) => values[group];

    /// <summary>Holds one parameter at its value, or lets it go.</summary>
    public void Hold(int group, int index, bool hold = true) => held[group][index] = hold;

    /// <summary>Whether a parameter is held.</summary>
    public bool IsHeld(int group, int index) => held[group][index];

    /// <summary>Adds residuals.</summary>
    public void Add(ResidualBlock block) => blocks.Add(block);

    /// <summary>Half the sum of the losses at the current values; infinite where the model has no value.</summary>
    public double Cost() => CostAt(values);

    /// <summary>The residuals of one block at the current values; NaN where the model has none.</summary>
    public double[] ResidualsOf(ResidualBlock block)
    {
        double[] r = new double[block.Count];
        if (!block.Evaluate(Gather(block, values), r, []))
        {
            Array.Fill(r, double.NaN);
        }

        return r;
    }

    /// <summary>Number of residuals that take part.</summary>
    public int CountResiduals() => blocks.Where(b => b.TakesPart).Sum(b => b.Count);

    /// <summary>Number of parameters that are not held.</summary>
    public int CountParameters() => held.Sum(h => h.Count(v => !v));

    /// <summary>Minimises the cost from the current values, and leaves the values there.</summary>
    public SolveReport Solve(int mostSteps = 200, double tolerance = 1e-13, CancellationToken ct = default)
    {
        double cost = Cost();
        double damping = FirstDamping;
        double growth = 2;
        int steps = 0;
        Layout layout = new(this);
        Normal normal = new(layout);
        for (int tries = 0; tries < 20 * mostSteps && steps < mostSteps; )
        {
            ct.ThrowIfCancellationRequested();
            Linearise(layout, normal);
            bool accepted = false;
            while (!accepted && tries++ < 20 * mostSteps)
            {
                ct.ThrowIfCancellationRequested();
                if (damping > MostDamping)
                {
                    return new(cost, steps, SolveEnd.Stuck);
                }

                if (normal.Step(damping, Method) is not var (change, predicted) || !double.IsFinite(predicted))
                {
                    damping *= growth;
                    growth *= 2;
                    continue;
                }

                double size = RelativeSize(layout, change);
                List<double[]> next = Moved(layout, change);
                double nextCost = CostAt(next);
                double gain = predicted > 0 ? (cost - nextCost) / predicted : -1;
                if (nextCost <= cost && (gain > 0 || nextCost < cost))
                {
                    accepted = true;
                    steps++;
                    for (int g = 0; g < values.Count; g++)
                    {
                        next[g].CopyTo(values[g], 0);
                    }

                    bool settled =
                        cost - nextCost <= tolerance * cost && predicted <= 10 * tolerance * cost || nextCost == 0;
                    cost = nextCost;
                    damping *= Math.Max(1.0 / 3, 1 - Math.Pow(2 * gain - 1, 3));
                    damping = Math.Max(damping, 1e-18);
                    growth = 2;
                    if (settled)
                    {
                        return new(cost, steps, SolveEnd.Settled);
                    }
                }
                else if (size < 1e-12 || predicted <= 1e-16 * cost)
                {
                    // Rounding alone decides between the two costs.
                    return new(cost, steps, SolveEnd.Settled);
                }
                else
                {
                    damping = Math.Max(damping, 1e-12) * growth;
                    growth *= 2;
                }
            }
        }

        return new(cost, steps, SolveEnd.OutOfSteps);
    }

    /// <summary>
    /// Covariance of the kept, free parameters, (JᵀJ)⁻¹ with the eliminated ones free too; null where they are not fixed by the
    /// residuals.
    /// </summary>
    /// <remarks>
    /// Residuals are in standard deviations, so no factor is applied; see <see cref="Inflation"/>. Robust blocks count with
    /// their weights.
    /// </remarks>
    public ParameterCovariance? Covariance()
    {
        Layout layout = new(this);
        Normal normal = new(layout);
        Linearise(layout, normal);
        return normal.Covariance(Method) is { } matrix ? new(layout.Places, matrix, layout.Kept) : null;
    }

    /// <summary>
    /// Variance factor: the weighted sum of squares over the degrees of freedom, Σ w r² ÷ (residuals − parameters).
    /// </summary>
    /// <returns>1 where there are no degrees of freedom.</returns>
    public double Inflation()
    {
        double sum = 0;
        double count = 0;
        foreach (ResidualBlock block in blocks.Where(b => b.TakesPart))
        {
            double s = ResidualsOf(block).Sum(r => r * r);
            double weight = block.LossOf(s).Weight;
            sum += weight * s;
            count += block.Count;
        }

        double freedom = count - CountParameters();
        return freedom > 0 ? sum / freedom : 1;
    }

    private double CostAt(List<double[]> at)
    {
        double cost = 0;
        Span<double> r = stackalloc double[32];
        foreach (ResidualBlock block in blocks)
        {
            if (!block.TakesPart)
            {
                continue;
            }

            Span<double> own = block.Count <= r.Length ? r[..block.Count] : new double[block.Count];
            if (!block.Evaluate(Gather(block, at), own, []))
            {
                return double.PositiveInfinity;
            }

            double s = 0;
            foreach (double v in own)
            {
                s += v * v;
            }

            cost += block.LossOf(s).Loss / 2;
        }

        return double.IsNaN(cost) ? double.PositiveInfinity : cost;
    }

    private static double[] Gather(ResidualBlock block, List<double[]> from)
    {
        int size = 0;
        foreach (int g in block.Groups)
        {
            size += from[g].Length;
        }

        double[] x = new double[size];
        int at = 0;
        foreach (int g in block.Groups)
        {
            from[g].CopyTo(x, at);
            at += from[g].Length;
        }

        return x;
    }

    private void Linearise(Layout layout, Normal normal)
    {
        normal.Clear();
        double[] r = [];
        double[] j = [];
        foreach (ResidualBlock block in blocks)
        {
            if (!block.TakesPart)
            {
                continue;
            }

            double[] x = Gather(block, values);
            if (r.Length != block.Count)
            {
                r = new double[block.Count];
            }

            if (j.Length != block.Count * x.Length)
            {
                j = new double[block.Count * x.Length];
            }

            Array.Clear(j);
            block.Evaluate(x, r, j);
            double s = 0;
            foreach (double v in r)
            {
                s += v * v;
            }

            double root = Math.Sqrt(block.LossOf(s).Weight);
            if (root != 1)
            {
                for (int i = 0; i < r.Length; i++)
                {
                    r[i] *= root;
                }

                for (int i = 0; i < j.Length; i++)
                {
                    j[i] *= root;
                }
            }

            normal.Add(block, r, j, x.Length, Method);
        }
    }

    private List<double[]> Moved(Layout layout, double[] change)
    {
        List<double[]> next = new(values.Count);
        for (int g = 0; g < values.Count; g++)
        {
            double[] v = (double[])values[g].Clone();
            for (int i = 0; i < v.Length; i++)
            {
                if (layout.Column[g][i] >= 0)
                {
                    v[i] += change[layout.Column[g][i]];
                }
            }

            next.Add(v);
        }

        return next;
    }

    // Largest change against the size of its own group.
    private double RelativeSize(Layout layout, double[] change)
    {
        double most = 0;
        for (int g = 0; g < values.Count; g++)
        {
            for (int i = 0; i < values[g].Length; i++)
            {
                if (layout.Column[g][i] >= 0)
                {
                    most = Math.Max(most, Math.Abs(change[layout.Column[g][i]]) / (Math.Abs(values[g][i]) + 1e-6));
                }
            }
        }

        return most;
    }

    /// <summary>Columns of the linear system: kept parameters first, then the eliminated groups.</summary>
    private sealed class Layout
    {
        public Layout(LeastSquaresProblem problem)
        {
            int groups = problem.values.Count;
            Column = new int[groups][];
            Eliminated = [.. problem.eliminated];
            foreach (bool pass in new[] { false, true })
            {
                for (int g = 0; g < groups; g++)
                {
                    if (Eliminated[g] != pass)
                    {
                        continue;
                    }

                    Column[g] = new int[problem.values[g].Length];
                    for (int i = 0; i < Column[g].Length; i++)
                    {
                        Column[g][i] = problem.held[g][i] ? -1 : Columns++;
                        if (Column[g][i] >= 0 && !pass)
                        {
                            Places[(g, i)] = Column[g][i];
                        }
                    }
                }

                if (!pass)
                {
                    Kept = Columns;
                }
            }
        }

        public int[][] Column { get; }
        public bool[] Eliminated { get; }
        public int Kept { get; }
        public int Columns { get; }
        public Dictionary<(int Group, int Index), int> Places { get; } = [];
    }

    /// <summary>JᵀJ and Jᵀr of the kept parameters, the eliminated groups' own blocks beside them; or the rows of J.</summary>
    private sealed class Normal(Layout layout)
    {
        private readonly double[] kept = new double[layout.Kept * layout.Kept];
        private readonly double[] gradient = new double[layout.Columns];
        private readonly Dictionary<int, Own> own = [];
        private readonly List<double[]> rows = [];
        private readonly List<double> right = [];

        public void Clear()
        {
            Array.Clear(kept);
            Array.Clear(gradient);
            rows.Clear();
            right.Clear();
            foreach (Own o in own.Values)
            {
                Array.Clear(o.Square);
                foreach (double[] mixed in o.Mixed.Values)
                {
                    Array.Clear(mixed);
                }
            }
        }

        public void Add(ResidualBlock block, double[] r, double[] j, int width, LinearMethod method)
        {
            Span<int> columns = width <= 128 ? stackalloc int[width] : new int[width];
            int at = 0;
            int eliminatedGroup = -1;
            int eliminatedAt = 0;
            foreach (int g in block.Groups)
            {
                if (layout.Eliminated[g])
                {
                    (eliminatedGroup, eliminatedAt) = (g, at);
                }

                layout.Column[g].CopyTo(columns[at..]);
                at += layout.Column[g].Length;
            }

            if (method == LinearMethod.Orthogonal)
            {
                for (int i = 0; i < r.Length; i++)
                {
                    double[] row = new double[layout.Columns];
                    for (int a = 0; a < width; a++)
                    {
                        if (columns[a] >= 0)
                        {
                            row[columns[a]] += j[i * width + a];
                        }
                    }

                    rows.Add(row);
                    right.Add(-r[i]);
                }
            }

            int n = layout.Kept;
            for (int i = 0; i < r.Length; i++)
            {
                ReadOnlySpan<double> row = j.AsSpan(i * width, width);
                for (int a = 0; a < width; a++)
                {
                    double ja = row[a];
                    int ca = columns[a];
                    if (ca < 0 || ja == 0)
                    {
                        continue;
                    }

                    gradient[ca] -= ja * r[i];
                    if (ca >= n)
                    {
                        continue;
                    }

                    for (int b = 0; b < width; b++)
                    {
                        int cb = columns[b];
                        if (cb >= 0 && cb <= ca)
                        {
                            kept[ca * n + cb] += ja * row[b];
                        }
                    }
                }
            }

            if (eliminatedGroup >= 0)
            {
                AddEliminated(block, eliminatedGroup, eliminatedAt, r.Length, j, width);
            }
        }

        private void AddEliminated(ResidualBlock block, int group, int at, int count, double[] j, int width)
        {
            int size = layout.Column[group].Length;
            if (!own.TryGetValue(group, out Own? o))
            {
                o = new(size);
                own[group] = o;
            }

            for (int i = 0; i < count; i++)
            {
                ReadOnlySpan<double> row = j.AsSpan(i * width, width);
                for (int a = 0; a < size; a++)
                {
                    for (int b = 0; b < size; b++)
                    {
                        o.Square[a * size + b] += row[at + a] * row[at + b];
                    }
                }
            }

            int from = 0;
            foreach (int g in block.Groups)
            {
                int length = layout.Column[g].Length;
                if (g != group)
                {
                    if (!o.Mixed.TryGetValue(g, out double[]? mixed))
                    {
                        mixed = new double[length * size];
                        o.Mixed[g] = mixed;
                    }

                    for (int i = 0; i < count; i++)
                    {
                        ReadOnlySpan<double> row = j.AsSpan(i * width, width);
                        for (int a = 0; a < length; a++)
                        {
                            for (int b = 0; b < size; b++)
                            {
                                mixed[a * size + b] += row[from + a] * row[at + b];
                            }
                        }
                    }
                }

                from += length;
            }
        }

        /// <summary>The step for this damping, and the fall of the cost that the linear model promises.</summary>
        public (double[] Change, double Predicted)? Step(double damping, LinearMethod method)
        {
            double[]? change = method == LinearMethod.Orthogonal ? StepByRows(damping) : StepByNormal(damping);
            if (change is null)
            {
                return null;
            }

            // ½ δᵀ (λ D δ + g), K. Madsen, H. B. Nielsen and O. Tingleff (2004), eq. 3.14, with D the diagonal of JᵀJ.
            double predicted = 0;
            for (int c = 0; c < change.Length; c++)
            {
                predicted += change[c] * (damping * Diagonal(c) * change[c] + gradient[c]) / 2;
            }

            return (change, predicted);
        }

        private double[]? diagonals;

        private double Diagonal(int column) => diagonals![column];

        private void FindDiagonals()
        {
            // The largest seen so far (J. Moré, 1978, 6): where a curvature dies away its parameter must not run off.
            double[] before = diagonals ?? new double[layout.Columns];
            diagonals = new double[layout.Columns];
            for (int c = 0; c < layout.Kept; c++)
            {
                diagonals[c] = kept[c * layout.Kept + c];
            }

            foreach ((int group, Own o) in own)
            {
                int size = layout.Column[group].Length;
                for (int a = 0; a < size; a++)
                {
                    if (layout.Column[group][a] >= 0)
                    {
                        diagonals[layout.Column[group][a]] = o.Square[a * size + a];
                    }
                }
            }

            for (int c = 0; c < diagonals.Length; c++)
            {
                diagonals[c] = Math.Max(Math.Max(diagonals[c], before[c]), 1e-30);
            }
        }

        private double[]? StepByRows(double damping)
        {
            FindDiagonals();
            int n = layout.Columns;
            double[] scale = [.. diagonals!.Select(Math.Sqrt)];
            List<double[]> all = [.. rows.Select(r => r.Select((v, c) => v / scale[c]).ToArray())];
            List<double> b = [.. right];
            for (int c = 0; c < n; c++)
            {
                double[] row = new double[n];
                row[c] = Math.Sqrt(damping);
                all.Add(row);
                b.Add(0);
            }

            double[][] a = [.. all];
            double[] q = [.. b];
            Matrices.Triangularise(a, q);
            double[] x = new double[n];
            for (int k = n - 1; k >= 0; k--)
            {
                double sum = q[k];
                for (int c = k + 1; c < n; c++)
                {
                    sum -= a[k][c] * x[c];
                }

                x[k] = sum / a[k][k];
            }

            return [.. x.Select((v, c) => v / scale[c])];
        }

        private double[]? StepByNormal(double damping)
        {
            FindDiagonals();
            if (Reduce(damping) is not var (s, b, factors))
            {
                return null;
            }

            int n = layout.Kept;

            // Scaled to a unit diagonal before factoring: parameters have units as far apart as pixels and radians.
            double[] scale = new double[n];
            for (int i = 0; i < n; i++)
            {
                if (!(s[i * n + i] > 0))
                {
                    return null;
                }

                scale[i] = 1 / Math.Sqrt(s[i * n + i]);
            }

            for (int i = 0; i < n; i++)
            {
                b[i] *= scale[i];
                for (int k = 0; k <= i; k++)
                {
                    s[i * n + k] *= scale[i] * scale[k];
                }
            }

            if (!Matrices.Factor(s, n))
            {
                return null;
            }

            Matrices.SolveFactored(s, n, b);
            double[] change = new double[layout.Columns];
            for (int i = 0; i < n; i++)
            {
                change[i] = b[i] * scale[i];
            }

            foreach ((int group, Own o) in own)
            {
                int size = layout.Column[group].Length;
                double[] own1 = new double[size];
                for (int a = 0; a < size; a++)
                {
                    own1[a] = gradient[layout.Column[group][a]];
                }

                foreach ((int g, double[] mixed) in o.Mixed)
                {
                    for (int a = 0; a < layout.Column[g].Length; a++)
                    {
                        int c = layout.Column[g][a];
                        for (int k = 0; c >= 0 && k < size; k++)
                        {
                            own1[k] -= mixed[a * size + k] * change[c];
                        }
                    }
                }

                Matrices.SolveFactored(factors[group], size, own1);
                for (int a = 0; a < size; a++)
                {
                    change[layout.Column[group][a]] = own1[a];
                }
            }

            return change;
        }

        /// <summary>The kept system with the eliminated groups taken out: S = U − W V⁻¹ Wᵀ, b = g − W V⁻¹ h.</summary>
        private (double[] S, double[] B, Dictionary<int, double[]> Factors)? Reduce(double damping)
        {
            int n = layout.Kept;
            double[] s = (double[])kept.Clone();
            double[] b = gradient[..n];
            for (int i = 0; i < n; i++)
            {
                s[i * n + i] += damping * diagonals![i];
            }

            Dictionary<int, double[]> factors = [];
            foreach ((int group, Own o) in own)
            {
                int size = layout.Column[group].Length;
                double[] v = (double[])o.Square.Clone();
                double[] h = new double[size];
                for (int a = 0; a < size; a++)
                {
                    v[a * size + a] += damping * diagonals![layout.Column[group][a]];
                    h[a] = gradient[layout.Column[group][a]];
                }

                if (!Matrices.Factor(v, size))
                {
                    return null;
                }

                factors[group] = v;
                Matrices.SolveFactored(v, size, h);
                List<(int[] Columns, double[] Mixed, double[] Solved)> sides = [];
                foreach ((int g, double[] mixed) in o.Mixed)
                {
                    double[] solved = (double[])mixed.Clone();
                    for (int a = 0; a < layout.Column[g].Length; a++)
                    {
                        Matrices.SolveFactored(v, size, solved.AsSpan(a * size, size));
                    }

                    sides.Add((layout.Column[g], mixed, solved));
                }

                foreach ((int[] columnsA, double[] mixedA, _) in sides)
                {
                    for (int a = 0; a < columnsA.Length; a++)
                    {
                        int ca = columnsA[a];
                        if (ca < 0)
                        {
                            continue;
                        }

                        for (int k = 0; k < size; k++)
                        {
                            b[ca] -= mixedA[a * size + k] * h[k];
                        }

                        foreach ((int[] columnsB, _, double[] solvedB) in sides)
                        {
                            for (int c = 0; c < columnsB.Length; c++)
                            {
                                int cb = columnsB[c];
                                if (cb < 0 || cb > ca)
                                {
                                    continue;
                                }

                                double sum = 0;
                                for (int k = 0; k < size; k++)
                                {
                                    sum += mixedA[a * size + k] * solvedB[c * size + k];
                                }

                                s[ca * n + cb] -= sum;
                            }
                        }
                    }
                }
            }

            return (s, b, factors);
        }

        public double[]? Covariance(LinearMethod method)
        {
            FindDiagonals();
            int n = layout.Kept;
            if (method == LinearMethod.Orthogonal)
            {
                return CovarianceByRows(n);
            }

            if (Reduce(0) is not var (s, _, _))
            {
                return null;
            }

            for (int i = 0; i < n; i++)
            {
                for (int k = 0; k < i; k++)
                {
                    s[k * n + i] = s[i * n + k];
                }
            }

            return Matrices.Invert(s, n);
        }

        private double[]? CovarianceByRows(int n)
        {
            double[] scale = [.. diagonals!.Select(Math.Sqrt)];
            double[][] a = [.. rows.Select(r => r.Select((v, c) => v / scale[c]).ToArray())];
            if (a.Length < n)
            {
                return null;
            }

            Matrices.Triangularise(a, new double[a.Length]);

            // (RᵀR)⁻¹ = R⁻¹ R⁻ᵀ.
            double[,] inverse = new double[n, n];
            for (int c = 0; c < n; c++)
            {
                for (int i = c; i >= 0; i--)
                {
                    double sum = i == c ? 1 : 0;
                    for (int k = i + 1; k <= c; k++)
                    {
                        sum -= a[i][k] * inverse[k, c];
                    }

                    if (a[i][i] == 0)
                    {
                        return null;
                    }

                    inverse[i, c] = sum / a[i][i];
                }
            }

            double[] covariance = new double[n * n];
            for (int i = 0; i < n; i++)
            {
                for (int k = 0; k < n; k++)
                {
                    double sum = 0;
                    for (int c = Math.Max(i, k); c < n; c++)
                    {
                        sum += inverse[i, c] * inverse[k, c];
                    }

                    covariance[i * n + k] = sum / (scale[i] * scale[k]);
                }
            }

            return covariance;
        }

        private sealed class Own(int size)
        {
            public double[] Square { get; } = new double[size * size];
            public Dictionary<int, double[]> Mixed { get; } = [];
        }
    }
}

/// <summary>Covariance of a solve's kept, free parameters; what is held has none.</summary>
internal sealed class ParameterCovariance(
    IReadOnlyDictionary<(int Group, int Index), int> places,
    double[] matrix,
    int size
)
{
    /// <summary>How many parameters.</summary>
    public int Size => size;

    /// <summary>Rows and columns, row by row, in the order of the groups.</summary>
    public IReadOnlyList<double> Matrix => matrix;

    /// <summary>Row of a parameter, or −1 where it is held.</summary>
    public int PlaceOf(int group, int index) => places.TryGetValue((group, index), out int place) ? place : -1;

    /// <summary>Covariance of two parameters; 0 where one is held.</summary>
    public double this[(int Group, int Index) a, (int Group, int Index) b] =>
        PlaceOf(a.Group, a.Index) is >= 0 and var i && PlaceOf(b.Group, b.Index) is >= 0 and var j
            ? matrix[i * size + j]
            : 0;

    /// <summary>Standard deviation of a parameter; 0 where it is held.</summary>
    public double SigmaOf(int group, int index) => Math.Sqrt(this[(group, index), (group, index)]);

    /// <summary>The same multiplied by a variance factor.</summary>
    public ParameterCovariance Times(double factor) => new(places, [.. matrix.Select(v => v * factor)], size);

    /// <summary>gᵀ C h for two gradients over the parameters.</summary>
    public double Between(ReadOnlySpan<double> g, ReadOnlySpan<double> h)
    {
        double sum = 0;
        for (int i = 0; i < size; i++)
        {
            if (g[i] == 0)
            {
                continue;
            }

            double row = 0;
            for (int j = 0; j < size; j++)
            {
                row += matrix[i * size + j] * h[j];
            }

            sum += g[i] * row;
        }

        return sum;
    }
}
