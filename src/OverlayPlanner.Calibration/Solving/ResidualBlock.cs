namespace OverlayPlanner.Calibration;

/// <summary>How much a large residual may pull (P. Huber, 1964; the Lorentzian is named after A.-L. Cauchy).</summary>
internal enum RobustLoss
{
    /// <summary>The square.</summary>
    Square,

    /// <summary>The square up to the scale, the distance beyond it.</summary>
    Huber,

    /// <summary>A logarithm: far outliers pull ever less.</summary>
    Cauchy,
}

/// <summary>
/// A few residuals that depend on a few groups of parameters, each divided by its standard deviation, with their derivative.
/// </summary>
/// <param name="count">How many residuals.</param>
/// <param name="groups">Numbers of the parameter groups it depends on, each once.</param>
internal abstract class ResidualBlock(int count, params int[] groups)
{
    /// <summary>How many residuals.</summary>
    public int Count => count;

    /// <summary>The parameter groups, in the order in which their values are handed over.</summary>
    public int[] Groups => groups;

    /// <summary>Loss of the block's norm.</summary>
    public RobustLoss Loss { get; set; }

    /// <summary>The norm where the loss bends, in standard deviations.</summary>
    public double LossScale { get; set; } = 1;

    /// <summary>Whether the block takes part.</summary>
    public bool TakesPart { get; set; } = true;

    /// <summary>Computes the residuals and, where room is given, their derivative.</summary>
    /// <param name="x">Values of the groups, one after the other.</param>
    /// <param name="r">The residuals.</param>
    /// <param name="j">Derivative, a row a residual, a column a value; empty where it is not wanted. Zeroed beforehand.</param>
    /// <returns>False where the model has no value there (a point behind the camera).</returns>
    public abstract bool Evaluate(ReadOnlySpan<double> x, Span<double> r, Span<double> j);

    /// <summary>The loss ρ(s) of the squared norm s, and its slope: the weight in reweighted least squares.</summary>
    public (double Loss, double Weight) LossOf(double s)
    {
        double c = LossScale;
        return Loss switch
        {
            RobustLoss.Huber when s > c * c => (2 * c * Math.Sqrt(s) - c * c, c / Math.Sqrt(s)),
            RobustLoss.Cauchy => (c * c * Math.Log(1 + s / (c * c)), 1 / (1 + s / (c * c))),
            _ => (s, 1),
        };
    }
}

/// <summary>What is known of one group beforehand: values with independent standard deviations, or a square-root information.</summary>
internal sealed class PriorBlock : ResidualBlock
{
    private readonly double[] expected;
    private readonly double[] root;

    /// <summary>Independent standard deviations, infinite where nothing is known.</summary>
    public PriorBlock(int group, double[] expected, double[] sigmas)
        : base(expected.Length, group)
    {
        this.expected = expected;
        root = new double[expected.Length * expected.Length];
        for (int i = 0; i < expected.Length; i++)
        {
            root[i * expected.Length + i] = 1 / sigmas[i];
        }
    }

    private PriorBlock(double[] expected, double[] root, int group)
        : base(expected.Length, group)
    {
        this.expected = expected;
        this.root = root;
    }

    /// <summary>A covariance matrix, row by row; null where it is not positive definite.</summary>
    public static PriorBlock? FromCovariance(int group, double[] expected, double[] covariance)
    {
        int n = expected.Length;
        double[]? information = Matrices.Invert(covariance, n);
        if (information is null || !Matrices.Factor(information, n))
        {
            return null;
        }

        // Information = L Lᵀ, so the residual is Lᵀ (x − expected).
        double[] upper = new double[n * n];
        for (int i = 0; i < n; i++)
        {
            for (int j = i; j < n; j++)
            {
                upper[i * n + j] = information[j * n + i];
            }
        }

        return new(expected, upper, group);
    }

    /// <inheritdoc/>
    public override bool Evaluate(ReadOnlySpan<double> x, Span<double> r, Span<double> j)
    {
        int n = expected.Length;
        for (int i = 0; i < n; i++)
        {
            double sum = 0;
            for (int k = 0; k < n; k++)
            {
                sum += root[i * n + k] * (x[k] - expected[k]);
            }

            r[i] = sum;
        }

        if (!j.IsEmpty)
        {
            root.CopyTo(j);
        }

        return true;
    }
}
