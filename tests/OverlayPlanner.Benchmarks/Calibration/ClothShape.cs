using OverlayPlanner.Calibration;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Cloth that does not lie flat: its height over the plane at each place of the plane, in.</summary>
internal abstract record ClothShape
{
    /// <summary>Height over the plane at a cloth point, in.</summary>
    public abstract double HeightAt(double x, double y);

    /// <summary>Where the cloth lies that a line of sight meets which reaches the plane at a point.</summary>
    /// <param name="x">Where the line meets the plane.</param>
    /// <param name="y">Where the line meets the plane.</param>
    /// <param name="eye">The point that the line comes from: x, y, height.</param>
    public (double X, double Y, double Z) Meet(double x, double y, (double X, double Y, double Z) eye)
    {
        (double px, double py, double z) = (x, y, 0);
        for (int n = 0; n < 3; n++)
        {
            z = HeightAt(px, py);
            double share = z / eye.Z;
            (px, py) = (x + (eye.X - x) * share, y + (eye.Y - y) * share);
        }

        return (px, py, z);
    }
}

/// <summary>Waves across the whole cloth, all one way: half the height × sin(2π × along ÷ length + phase).</summary>
/// <param name="HeightInches">From trough to crest.</param>
/// <param name="LengthInches">From crest to crest, along the plane.</param>
/// <param name="Radians">Which way they follow each other, from x to y.</param>
/// <param name="Phase">Radians at the origin.</param>
internal sealed record ClothWaves(double HeightInches, double LengthInches, double Radians, double Phase) : ClothShape
{
    /// <summary>How far along the waves a cloth point lies, in.</summary>
    public double AlongAt(double x, double y) => x * Math.Cos(Radians) + y * Math.Sin(Radians);

    /// <summary>Height at a place along the waves, in.</summary>
    public double HeightAlong(double along) => HeightInches / 2 * Math.Sin(2 * Math.PI * along / LengthInches + Phase);

    /// <summary>Rise for each inch at a place along the waves.</summary>
    public double SlopeAlong(double along) =>
        HeightInches * Math.PI / LengthInches * Math.Cos(2 * Math.PI * along / LengthInches + Phase);

    /// <inheritdoc/>
    public override double HeightAt(double x, double y) => HeightAlong(AlongAt(x, y));

    /// <summary>
    /// A stiff card laid on the waves: its middle where it was, its lift and slopes those of the plane that fits the cloth below
    /// its square best.
    /// </summary>
    public double[] LayStiff(double[] place, double side)
    {
        const int Across = 9;
        (double sin, double cos) = Math.SinCos(place[CardModel.Turn]);
        double height = 0;
        double right = 0;
        double down = 0;
        double square = 0;
        for (int k = 0; k < Across * Across; k++)
        {
            double u = (k % Across / (Across - 1.0) - 0.5) * side;
            double v = (k / Across / (Across - 1.0) - 0.5) * side;
            double z = HeightAt(place[CardModel.X] + cos * u - sin * v, place[CardModel.Y] + sin * u + cos * v);
            height += z;
            right += u * z;
            down += v * z;
            square += u * u;
        }

        double[] laid = (double[])place.Clone();
        laid[CardModel.Lift] = height / (Across * Across);

        // The card's slopes say how fast it sinks.
        laid[CardModel.SlopeRight] = -right / square;
        laid[CardModel.SlopeDown] = -down / square;
        return laid;
    }
}
