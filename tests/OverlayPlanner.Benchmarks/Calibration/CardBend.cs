namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// A card that is bent like a sheet round a pipe: straight across one direction of the card, a curve along it. Paper keeps its
/// length: what is printed p inches from the middle along the bend lies that far along the curve.
/// </summary>
/// <param name="Radians">The direction along which it bends, in the card's own frame, from its right to its lower side.</param>
internal abstract record CardBend(double Radians)
{
    /// <summary>Where paper lies that is p inches along from the card's middle: how far over the plane, and how high.</summary>
    public abstract (double Along, double Rise) At(double paper);

    /// <summary>The paper over a place of the plane, and its height; NaN where there is none.</summary>
    public abstract (double Paper, double Rise) Over(double along);

    /// <summary>A card with its lower right corner up: flat to an inch from the middle, then an arc.</summary>
    /// <param name="rise">How high the printed pattern's corner is, in.</param>
    /// <param name="side">Side of the pattern, in.</param>
    public static CardBend CornerUp(double rise, double side) =>
        Curl.Reaching(Math.PI / 4, 1, side / Math.Sqrt(2), rise);

    /// <summary>A card with its right edge up: flat to half an inch from the middle, then an arc.</summary>
    public static CardBend EdgeUp(double rise, double side) => Curl.Reaching(0, 0.5, side / 2, rise);
}

/// <summary>Flat up to a line, from there on an arc upwards.</summary>
/// <param name="Radians">Towards what curls up.</param>
/// <param name="From">From the card's middle to the line, in.</param>
/// <param name="Radius">Of the arc, in.</param>
internal sealed record Curl(double Radians, double From, double Radius) : CardBend(Radians)
{
    /// <summary>The curl that lifts the paper at a distance from the middle by a rise.</summary>
    public static Curl Reaching(double radians, double from, double distance, double rise)
    {
        double arc = distance - from;
        double low = arc / Math.PI;
        double high = 1e6;

        // R (1 − cos(arc ÷ R)) falls as R grows.
        for (int step = 0; step < 200; step++)
        {
            double middle = Math.Sqrt(low * high);
            (low, high) = middle * (1 - Math.Cos(arc / middle)) > rise ? (middle, high) : (low, middle);
        }

        return new(radians, from, low);
    }

    /// <inheritdoc/>
    public override (double Along, double Rise) At(double paper)
    {
        if (paper <= From)
        {
            return (paper, 0);
        }

        double angle = (paper - From) / Radius;
        return (From + Radius * Math.Sin(angle), Radius * (1 - Math.Cos(angle)));
    }

    /// <inheritdoc/>
    public override (double Paper, double Rise) Over(double along)
    {
        if (along <= From)
        {
            return (along, 0);
        }

        double angle = Math.Asin((along - From) / Radius);
        return (From + Radius * angle, Radius * (1 - Math.Cos(angle)));
    }
}

/// <summary>Paper that follows the cloth's waves.</summary>
/// <param name="Waves">The cloth.</param>
/// <param name="Middle">How far along the waves the card's middle lies, in.</param>
/// <param name="Radians">Which way the waves follow each other, in the card's own frame.</param>
internal sealed record Draped(ClothWaves Waves, double Middle, double Radians) : CardBend(Radians)
{
    /// <inheritdoc/>
    public override (double Along, double Rise) At(double paper)
    {
        double along = paper;
        for (int step = 0; step < 6; step++)
        {
            double slope = Waves.SlopeAlong(Middle + along);
            along -= (PaperTo(along) - paper) / Math.Sqrt(1 + slope * slope);
        }

        return (along, Waves.HeightAlong(Middle + along));
    }

    /// <inheritdoc/>
    public override (double Paper, double Rise) Over(double along) =>
        (PaperTo(along), Waves.HeightAlong(Middle + along));

    // Length of the curve from the middle, by Simpson's rule in four parts: to 1e-6 in over a card.
    private double PaperTo(double along)
    {
        double sum = 0;
        for (int k = 0; k <= 4; k++)
        {
            double slope = Waves.SlopeAlong(Middle + along * k / 4);
            sum +=
                (
                    k is 0 or 4 ? 1
                    : k == 2 ? 2
                    : 4
                ) * Math.Sqrt(1 + slope * slope);
        }

        return along * sum / 12;
    }
}
