using System.Globalization;

namespace OverlayPlanner.Geometry;

/// <summary>A difference of two points of <typeparamref name="TSpace"/>, in that space's unit.</summary>
public readonly record struct Vector<TSpace>(double X, double Y)
    where TSpace : ISpace
{
    /// <summary>Euclidean length, in the space's unit.</summary>
    public double Norm => Math.Sqrt(X * X + Y * Y);

    /// <summary>The vector turned a quarter to the left as seen on the page (y down): right becomes up.</summary>
    public Vector<TSpace> TurnedLeft => new(Y, -X);

    /// <summary>The vector of length 1 in the same direction.</summary>
    /// <remarks>NaN for the zero vector.</remarks>
    public Vector<TSpace> Unit => this * (1 / Norm);

    /// <summary>Sum.</summary>
    public static Vector<TSpace> operator +(Vector<TSpace> a, Vector<TSpace> b) => new(a.X + b.X, a.Y + b.Y);

    /// <summary>Difference.</summary>
    public static Vector<TSpace> operator -(Vector<TSpace> a, Vector<TSpace> b) => new(a.X - b.X, a.Y - b.Y);

    /// <summary>The opposite vector.</summary>
    public static Vector<TSpace> operator -(Vector<TSpace> a) => new(-a.X, -a.Y);

    /// <summary>Scaled by <paramref name="s"/>.</summary>
    public static Vector<TSpace> operator *(Vector<TSpace> a, double s) => new(a.X * s, a.Y * s);

    /// <summary>Scaled by <paramref name="s"/>.</summary>
    public static Vector<TSpace> operator *(double s, Vector<TSpace> a) => a * s;

    /// <summary>Inner product, unit squared.</summary>
    public double Dot(Vector<TSpace> other) => X * other.X + Y * other.Y;

    /// <summary>Outer product, unit squared: positive where <paramref name="other"/> lies to the right as seen on the page.</summary>
    public double Cross(Vector<TSpace> other) => X * other.Y - Y * other.X;

    /// <summary>
    /// The angle to turn from this to <paramref name="other"/>, radians in (−π, π]; positive is a right turn as seen on
    /// the page (y down).
    /// </summary>
    public double AngleTo(Vector<TSpace> other) => Math.Atan2(Cross(other), Dot(other));

    /// <inheritdoc/>
    /// <remarks>A record's own would print <see cref="TurnedLeft"/>, and that its own, without end.</remarks>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"<{X}, {Y}>");
}
