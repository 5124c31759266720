namespace OverlayPlanner.Geometry;

/// <summary>
/// A map between two spaces, named destination-from-source: <c>clothFromPhoto</c> takes photo points to cloth points.
/// </summary>
public interface IMap<TTo, TFrom>
    where TTo : ISpace
    where TFrom : ISpace
{
    /// <summary>Takes a point of <typeparamref name="TFrom"/> to <typeparamref name="TTo"/>.</summary>
    Point<TTo> Apply(Point<TFrom> point);
}

/// <summary>
/// Uniform scale, turn, optional mirror, and shift: the maps that keep circular arcs circular. Used for page, plotter and
/// drafted blocks.
/// </summary>
/// <remarks>x' = A x − s B y + Tx, y' = B x + s A y + Ty, with s = −1 where mirrored, else 1.</remarks>
public sealed record Similarity<TTo, TFrom>(double A, double B, double Tx, double Ty, bool Mirrored = false)
    : IMap<TTo, TFrom>
    where TTo : ISpace
    where TFrom : ISpace
{
    /// <summary>Destination units for one source unit.</summary>
    public double Scale => Math.Sqrt(A * A + B * B);

    private double S => Mirrored ? -1 : 1;

    /// <summary>Scale, then shift.</summary>
    public static Similarity<TTo, TFrom> ScaleThenShift(double scale, double tx, double ty) => new(scale, 0, tx, ty);

    /// <inheritdoc/>
    public Point<TTo> Apply(Point<TFrom> point) =>
        new(A * point.X - S * B * point.Y + Tx, B * point.X + S * A * point.Y + Ty);

    /// <summary>Takes an edge along: an arc stays an arc, and its bulge changes sign where the map mirrors.</summary>
    public Edge<TTo> Apply(Edge<TFrom> edge) => new(Apply(edge.From), Apply(edge.To), S * edge.Bulge);

    /// <summary>This map after <paramref name="inner"/>: TTo from TFrom from TInner.</summary>
    public Similarity<TTo, TInner> After<TInner>(Similarity<TFrom, TInner> inner)
        where TInner : ISpace
    {
        ArgumentNullException.ThrowIfNull(inner);
        Point<TTo> shift = Apply(new Point<TFrom>(inner.Tx, inner.Ty));
        return new(
            A * inner.A - S * B * inner.B,
            B * inner.A + S * A * inner.B,
            shift.X,
            shift.Y,
            Mirrored != inner.Mirrored
        );
    }

    /// <summary>The map back.</summary>
    public Similarity<TFrom, TTo> Inverse()
    {
        double d = A * A + B * B;
        double a = A / d;
        double b = -S * B / d;
        Similarity<TFrom, TTo> turn = new(a, b, 0, 0, Mirrored);
        Point<TFrom> t = turn.Apply(new Point<TTo>(Tx, Ty));
        return new(a, b, -t.X, -t.Y, Mirrored);
    }

    /// <summary>The same map as a homography.</summary>
    public Homography<TTo, TFrom> ToHomography() => new([A, -S * B, Tx, B, S * A, Ty, 0, 0, 1]);
}

/// <summary>A plane projective map: nine numbers, row by row, up to scale (Hartley and Zisserman 2004, 2.3).</summary>
public sealed class Homography<TTo, TFrom> : IMap<TTo, TFrom>
    where TTo : ISpace
    where TFrom : ISpace
{
    private readonly double[] m;

    /// <summary>From nine numbers, row by row.</summary>
    /// <exception cref="ArgumentException">Not nine finite numbers.</exception>
    public Homography(IReadOnlyList<double> rowByRow)
    {
        ArgumentNullException.ThrowIfNull(rowByRow);
        if (rowByRow.Count != 9 || rowByRow.Any(v => !double.IsFinite(v)))
        {
            throw new ArgumentException("A homography is nine finite numbers.", nameof(rowByRow));
        }

        m = [.. rowByRow];
    }

    /// <summary>The nine numbers, row by row.</summary>
    public IReadOnlyList<double> RowByRow => m;

    /// <summary>Determinant of the 3 × 3 matrix.</summary>
    public double Determinant =>
        m[0] * (m[4] * m[8] - m[5] * m[7]) - m[1] * (m[3] * m[8] - m[5] * m[6]) + m[2] * (m[3] * m[7] - m[4] * m[6]);

    /// <inheritdoc/>
    /// <remarks>Infinite for a point on the vanishing line.</remarks>
    public Point<TTo> Apply(Point<TFrom> point)
    {
        double w = m[6] * point.X + m[7] * point.Y + m[8];
        return new((m[0] * point.X + m[1] * point.Y + m[2]) / w, (m[3] * point.X + m[4] * point.Y + m[5]) / w);
    }

    /// <summary>Derivative at a point, row by row (∂x'/∂x, ∂x'/∂y, ∂y'/∂x, ∂y'/∂y): destination units per source unit.</summary>
    public (double Xx, double Xy, double Yx, double Yy) DerivativeAt(Point<TFrom> point)
    {
        double w = m[6] * point.X + m[7] * point.Y + m[8];
        Point<TTo> p = Apply(point);
        return ((m[0] - p.X * m[6]) / w, (m[1] - p.X * m[7]) / w, (m[3] - p.Y * m[6]) / w, (m[4] - p.Y * m[7]) / w);
    }

    /// <summary>This map after <paramref name="inner"/>: TTo from TFrom from TInner.</summary>
    public Homography<TTo, TInner> After<TInner>(Homography<TFrom, TInner> inner)
        where TInner : ISpace
    {
        ArgumentNullException.ThrowIfNull(inner);
        double[] r = new double[9];
        for (int i = 0; i < 3; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                r[3 * i + j] = m[3 * i] * inner.m[j] + m[3 * i + 1] * inner.m[3 + j] + m[3 * i + 2] * inner.m[6 + j];
            }
        }

        return new(r);
    }

    /// <summary>The map back.</summary>
    /// <exception cref="InvalidOperationException">The matrix is singular.</exception>
    public Homography<TFrom, TTo> Inverse()
    {
        double d = Determinant;
        if (d == 0)
        {
            throw new InvalidOperationException("A singular homography has no inverse.");
        }

        return new([
            (m[4] * m[8] - m[5] * m[7]) / d,
            (m[2] * m[7] - m[1] * m[8]) / d,
            (m[1] * m[5] - m[2] * m[4]) / d,
            (m[5] * m[6] - m[3] * m[8]) / d,
            (m[0] * m[8] - m[2] * m[6]) / d,
            (m[2] * m[3] - m[0] * m[5]) / d,
            (m[3] * m[7] - m[4] * m[6]) / d,
            (m[1] * m[6] - m[0] * m[7]) / d,
            (m[0] * m[4] - m[1] * m[3]) / d,
        ]);
    }
}
