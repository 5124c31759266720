using System.Globalization;

namespace OverlayPlanner.Geometry;

/// <summary>A place in <typeparamref name="TSpace"/>, in that space's unit. Point + point has no meaning and no operator.</summary>
public readonly record struct Point<TSpace>(double X, double Y)
    where TSpace : ISpace
{
    /// <summary>The space's origin.</summary>
    public static Point<TSpace> Origin => default;

    /// <summary>True when both coordinates are finite numbers.</summary>
    public bool IsFinite => double.IsFinite(X) && double.IsFinite(Y);

    /// <summary>The way from <paramref name="b"/> to <paramref name="a"/>.</summary>
    public static Vector<TSpace> operator -(Point<TSpace> a, Point<TSpace> b) => new(a.X - b.X, a.Y - b.Y);

    /// <summary>The point moved by <paramref name="v"/>.</summary>
    public static Point<TSpace> operator +(Point<TSpace> a, Vector<TSpace> v) => new(a.X + v.X, a.Y + v.Y);

    /// <summary>The point moved back by <paramref name="v"/>.</summary>
    public static Point<TSpace> operator -(Point<TSpace> a, Vector<TSpace> v) => new(a.X - v.X, a.Y - v.Y);

    /// <summary>Straight distance to <paramref name="other"/>, in the space's unit.</summary>
    public double DistanceTo(Point<TSpace> other) => (other - this).Norm;

    /// <summary>The point at <paramref name="t"/> of the way to <paramref name="other"/>: 0 here, 1 there.</summary>
    public Point<TSpace> Toward(Point<TSpace> other, double t) => new(X + (other.X - X) * t, Y + (other.Y - Y) * t);

    /// <inheritdoc/>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"({X}, {Y})");
}
