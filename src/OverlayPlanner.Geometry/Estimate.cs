namespace OverlayPlanner.Geometry;

/// <summary>A measured value with its error.</summary>
/// <param name="Value">The best value.</param>
/// <param name="Sigma">
/// One standard deviation; for a point, along one axis. Zero says that the value is exact by construction (a draft), not
/// that nobody looked.
/// </param>
/// <typeparam name="T">A <see cref="Length"/> or a cloth point.</typeparam>
public readonly record struct Estimate<T>(T Value, Length Sigma)
{
    /// <summary>A value that is exact by construction.</summary>
    public static Estimate<T> Exact(T value) => new(value, Length.Zero);
}
