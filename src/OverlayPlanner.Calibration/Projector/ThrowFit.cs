using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// A homography, and terms of low order over it, fitted to marks: each weighs by its own covariance, those that disagree are
/// left out.
/// </summary>
internal sealed class ThrowFit
{
    // Marks further off than this many standard deviations lie over a seam's edge or a fold; px below which none does.
    private const double FarOff = 3.5;
    private const double LeastFarOff = 0.15;
    private const int MostRounds = 8;

    private readonly double[] parameters;
    private readonly double[]? covariance;
    private readonly ThrowFrame frame;
    private readonly BendOrder order;

    private ThrowFit(
        double[] parameters,
        double[]? covariance,
        ThrowFrame frame,
        BendOrder order,
        bool[] kept,
        double rms
    )
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

    /// <summary>
    /// How likely the marks' covariances make what the fit leaves, a common scale apart: −n log s² − ½ Σ log det, larger is
    /// likelier.
    /// </summary>
    public double LogLikelihood(IReadOnlyList<ThrownMark> marks, IReadOnlyList<bool> entering)
    {
        ThrownMark[] used = [.. marks.Where((_, i) => entering[i])];
        double variance = used.Average(m => Square(frame.SigmasOff(parameters, order, m))) / 2;
        return -used.Length * Math.Log(variance) - used.Sum(m => m.Spread.LogDeterminant) / 2;
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
        double[]? x = null;
        ThrowFrame scaled = ThrowFrame.Over(marks, width, height);
        for (int round = 0; round < MostRounds; round++)
        {
            ThrownMark[] used = [.. marks.Where((_, i) => kept[i])];
            x = ThrowAdjustment.Adjust(used, scaled, order, x);
            if (x is null)
            {
                return null;
            }

            // Median of a Rayleigh distance: 1.177 σ of one axis.
            double median = used.Select(m => scaled.SigmasOff(x, order, m)).Order().ElementAt(used.Length / 2);
            double most = FarOff * median / 1.177;
            bool[] next =
            [
                .. marks.Select(
                    (m, i) =>
                        (allowed?[i] ?? true)
                        && (scaled.SigmasOff(x, order, m) <= most || scaled.Off(x, order, m) <= LeastFarOff)
                ),
            ];
            if (next.Count(k => k) < Math.Max(8, ThrowFrame.SizeOf(order)) || next.SequenceEqual(kept))
            {
                break;
            }

            kept = next;
        }

        ThrownMark[] entered = [.. marks.Where((_, i) => kept[i])];
        double squares = entered.Sum(m => Square(scaled.Off(x!, order, m)));
        double[]? spread = ThrowAdjustment.CovarianceOf(entered, scaled, order, x!);
        return new(x!, spread, scaled, order, kept, Math.Sqrt(squares / entered.Length));
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

    private static double Square(double v) => v * v;
}
