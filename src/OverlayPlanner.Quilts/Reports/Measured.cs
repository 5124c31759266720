using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>A number with its error.</summary>
/// <param name="Value">The best value, in the unit that the place where it stands says.</param>
/// <param name="Sigma">One standard deviation, the same unit; 0 where everything that it is made of is exact.</param>
public readonly record struct Measured(double Value, double Sigma)
{
    /// <summary>Standard deviations to either side that hold 95 % of a normal distribution.</summary>
    public const double SigmasOf95 = 1.959964;

    /// <summary>Half the width of the interval that holds the true value 95 times in 100.</summary>
    public double Within95 => SigmasOf95 * Sigma;

    /// <summary>A value that follows from points, its error carried over from theirs to first order.</summary>
    /// <param name="points">The points, inches.</param>
    /// <param name="sigmas">Standard deviation of each, one axis, inches; the points are taken as independent.</param>
    /// <param name="value">What follows from them; smooth within a few sigma.</param>
    /// <remarks>
    /// √(Σ (∂f/∂x)² σ²), derivatives by central differences (JCGM 100, "Guide to the expression of uncertainty in measurement",
    /// 2008, 5.1.2). Where all points share the error of a scale the true error of a short length is smaller than this.
    /// </remarks>
    public static Measured From(
        IReadOnlyList<Point<ClothSpace>> points,
        IReadOnlyList<double> sigmas,
        Func<IReadOnlyList<Point<ClothSpace>>, double> value
    )
    {
        ArgumentNullException.ThrowIfNull(points);
        ArgumentNullException.ThrowIfNull(sigmas);
        ArgumentNullException.ThrowIfNull(value);
        const double Step = 1e-4;
        double variance = 0;
        Point<ClothSpace>[] moved = [.. points];
        for (int i = 0; i < moved.Length; i++)
        {
            if (sigmas[i] <= 0)
            {
                continue;
            }

            Point<ClothSpace> at = points[i];
            foreach (Vector<ClothSpace> d in new Vector<ClothSpace>[] { new(Step, 0), new(0, Step) })
            {
                moved[i] = at + d;
                double more = value(moved);
                moved[i] = at - d;
                double slope = (more - value(moved)) / (2 * Step);
                variance += slope * slope * sigmas[i] * sigmas[i];
            }

            moved[i] = at;
        }

        return new(value(points), Math.Sqrt(variance));
    }
}
