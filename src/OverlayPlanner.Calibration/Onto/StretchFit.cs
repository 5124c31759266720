using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Two places that are one: where a point lay and where it lies, with the standard deviation of one axis of both together.</summary>
internal readonly record struct MarkPair<TTo, TFrom>(Point<TFrom> From, Point<TTo> To, double SigmaInches)
    where TTo : ISpace
    where TFrom : ISpace;

/// <summary>How freely cloth may have stretched between two photographs.</summary>
public enum StretchOrder
{
    /// <summary>Turn, shift and one scale.</summary>
    Similarity,

    /// <summary>Each way by its own share, and slanted.</summary>
    Even,

    /// <summary>The share changes evenly from place to place.</summary>
    Uneven,

    /// <summary>The share changes as a parabola does.</summary>
    Bowed,
}

/// <summary>
/// A smooth map of cloth to cloth: a similarity plus polynomial terms that are held small by what quilting does to cloth
/// (draw-up of a few percent that changes slowly), fitted by weighted least squares, with its covariance.
/// </summary>
/// <remarks>O(n p²) for n pairs and p ≤ 20 terms. Outside the fitted points the terms' priors keep it from running away.</remarks>
public sealed class StretchFit<TTo, TFrom> : IMap<TTo, TFrom>
    where TTo : ISpace
    where TFrom : ISpace
{
    private const int MostTerms = 20;

    // Standard deviations of the terms at half the cloth's extent: draw-up is 2 to 4 %, and differs by about as much.
    private const double EvenPrior = 0.03;
    private const double UnevenPrior = 0.015;
    private const double BowedPrior = 0.008;

    private readonly double centerX;
    private readonly double centerY;
    private readonly double extent;
    private readonly double[] terms;
    private readonly double[] covariance;

    private StretchFit(StretchOrder order, double x, double y, double extent, double[] terms, double[] covariance)
    {
        (centerX, centerY, this.extent) = (x, y, extent);
        (Order, this.terms, this.covariance) = (order, terms, covariance);
    }

    /// <summary>Which terms it has.</summary>
    public StretchOrder Order { get; }

    /// <summary>Scale of its similarity.</summary>
    public double Scale => Math.Sqrt(terms[2] * terms[2] + terms[3] * terms[3]);

    /// <summary>Turn of its similarity, radians, positive to the right as seen on the page.</summary>
    public double Turn => Math.Atan2(terms[3], terms[2]);

    internal static StretchFit<TTo, TFrom> Solve(
        IReadOnlyList<MarkPair<TTo, TFrom>> pairs,
        StretchOrder order,
        double lackInches = 0
    )
    {
        Box<TFrom> box = Box<TFrom>.Around(pairs.Select(p => p.From));
        (double cx, double cy) = (box.Center.X, box.Center.Y);
        double half = Math.Max(Math.Max(box.Width, box.Height) / 2, 1e-6);
        int n = TermsOf(order);
        double[] normal = new double[n * n];
        double[] right = new double[n];
        Span<double> gx = stackalloc double[MostTerms];
        Span<double> gy = stackalloc double[MostTerms];
        for (int i = 4; i < n; i++)
        {
            double prior =
                i < 6 ? EvenPrior
                : i < 12 ? UnevenPrior
                : BowedPrior;
            normal[i * n + i] = 1 / (prior * prior * half * half);
        }

        foreach (MarkPair<TTo, TFrom> pair in pairs)
        {
            Gradients((pair.From.X - cx) / half, (pair.From.Y - cy) / half, n, gx, gy);
            double weight = 1 / (pair.SigmaInches * pair.SigmaInches + lackInches * lackInches);
            for (int i = 0; i < n; i++)
            {
                right[i] += weight * (gx[i] * pair.To.X + gy[i] * pair.To.Y);
                for (int k = 0; k < n; k++)
                {
                    normal[i * n + k] += weight * (gx[i] * gx[k] + gy[i] * gy[k]);
                }
            }
        }

        double[] inverse =
            Matrices.Invert(normal, n) ?? throw new ArgumentException("All points are one.", nameof(pairs));
        double[] solved = new double[n];
        for (int i = 0; i < n; i++)
        {
            for (int k = 0; k < n; k++)
            {
                solved[i] += inverse[i * n + k] * right[k];
            }
        }

        // Kept dimensionless: the terms times half the extent are inches.
        for (int i = 2; i < n; i++)
        {
            solved[i] /= half;
        }

        return new(order, cx, cy, half, solved, inverse);
    }

    /// <inheritdoc/>
    public Point<TTo> Apply(Point<TFrom> point)
    {
        int n = terms.Length;
        Span<double> gx = stackalloc double[MostTerms];
        Span<double> gy = stackalloc double[MostTerms];
        Gradients((point.X - centerX) / extent, (point.Y - centerY) / extent, n, gx, gy);
        (double x, double y) = (terms[0], terms[1]);
        for (int i = 2; i < n; i++)
        {
            x += gx[i] * terms[i] * extent;
            y += gy[i] * terms[i] * extent;
        }

        return new(x, y);
    }

    /// <summary>Standard deviation of one axis that the pairs' errors leave in a place, inches of the destination.</summary>
    public double SigmaAt(Point<TFrom> point)
    {
        int n = terms.Length;
        Span<double> gx = stackalloc double[MostTerms];
        Span<double> gy = stackalloc double[MostTerms];
        Gradients((point.X - centerX) / extent, (point.Y - centerY) / extent, n, gx, gy);
        double sum = 0;
        for (int i = 0; i < n; i++)
        {
            for (int k = 0; k < n; k++)
            {
                sum += covariance[i * n + k] * (gx[i] * gx[k] + gy[i] * gy[k]);
            }
        }

        return Math.Sqrt(Math.Max(sum / 2, 0));
    }

    /// <summary>Derivative at a place, row by row (∂x'/∂x, ∂x'/∂y, ∂y'/∂x, ∂y'/∂y).</summary>
    public (double Xx, double Xy, double Yx, double Yy) DerivativeAt(Point<TFrom> point)
    {
        const double step = 1e-4;
        Vector<TTo> x = Apply(new(point.X + step, point.Y)) - Apply(new(point.X - step, point.Y));
        Vector<TTo> y = Apply(new(point.X, point.Y + step)) - Apply(new(point.X, point.Y - step));
        return (x.X / (2 * step), y.X / (2 * step), x.Y / (2 * step), y.Y / (2 * step));
    }

    internal static int TermsOf(StretchOrder order) =>
        order switch
        {
            StretchOrder.Similarity => 4,
            StretchOrder.Even => 6,
            StretchOrder.Uneven => 12,
            _ => MostTerms,
        };

    // What one unit of each term moves a place at (u, v) by.
    private static void Gradients(double u, double v, int n, Span<double> gx, Span<double> gy)
    {
        gx.Clear();
        gy.Clear();
        (gx[0], gy[1]) = (1, 1);
        (gx[2], gy[2], gx[3], gy[3]) = (u, v, -v, u);
        if (n >= 6)
        {
            (gx[4], gy[4], gx[5], gy[5]) = (u, -v, v, u);
        }

        if (n >= 12)
        {
            (gx[6], gx[7], gx[8]) = (u * u, u * v, v * v);
            (gy[9], gy[10], gy[11]) = (u * u, u * v, v * v);
        }

        if (n >= MostTerms)
        {
            (gx[12], gx[13], gx[14], gx[15]) = (u * u * u, u * u * v, u * v * v, v * v * v);
            (gy[16], gy[17], gy[18], gy[19]) = (u * u * u, u * u * v, u * v * v, v * v * v);
        }
    }
}
