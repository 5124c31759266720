namespace OverlayPlanner.Calibration;

/// <summary>Which card stands off the cloth: lifted as a whole, or aslant, by more than the others' lie explains.</summary>
internal static class StandingCard
{
    // χ² of three freedoms is more than that once in a thousand, and once in 60,000.
    private const double Suspicious = 16.3;
    private const double Certain = 25;

    /// <summary>
    /// The card whose lift and slopes are most surprising, where any is: by how much the cost would fall if nothing were believed
    /// of that card alone (W. Baarda, 1968, data snooping, here of the priors).
    /// </summary>
    public static CardKey? Suspect(CardAdjustment solved)
    {
        if (solved.Covariance() is not { } covariance)
        {
            return null;
        }

        (CardKey Key, double Surprise)? worst = null;
        foreach (CardKey key in solved.Cards.Keys)
        {
            double surprise = Surprise(solved, covariance, key);
            if (surprise > Suspicious && (worst is null || surprise > worst.Value.Surprise))
            {
                worst = (key, surprise);
            }
        }

        return worst?.Key;
    }

    /// <summary>
    /// Whether a card of which nothing was believed lies where none of the others would, nor any card on a loaded quilt.
    /// </summary>
    public static bool StandsOff(CardAdjustment freed, CardKey key) =>
        freed.Covariance() is { } covariance
        && Squared(freed, covariance, key, believed: Math.Pow(Math.Max(1, freed.Unevenness), 2), left: 1) > Certain;

    // What is believed less what is left of it when the corners have spoken; a little more, where they say nothing.
    private static double Surprise(CardAdjustment solved, ParameterCovariance covariance, CardKey key) =>
        Squared(solved, covariance, key, believed: 1.001, left: -1);

    // Lift and slopes against a weighed sum of what is usual and of their own covariance.
    private static double Squared(
        CardAdjustment solved,
        ParameterCovariance covariance,
        CardKey key,
        double believed,
        double left
    )
    {
        int group = solved.Groups.Cards[key];
        double[] place = solved.PlaceOf(key);
        int[] numbers = [CardModel.Lift, CardModel.SlopeRight, CardModel.SlopeDown];
        double[] usual = [CardPriors.LiftInches, CardPriors.Slope, CardPriors.Slope];
        double[] spread = new double[9];
        for (int i = 0; i < 3; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                spread[3 * i + j] =
                    left * covariance[(group, numbers[i]), (group, numbers[j])] / (usual[i] * usual[j])
                    + (i == j ? believed : 0);
            }
        }

        if (Matrices.Invert(spread, 3) is not { } weight)
        {
            return 0;
        }

        double sum = 0;
        for (int i = 0; i < 3; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                sum += place[numbers[i]] / usual[i] * weight[3 * i + j] * (place[numbers[j]] / usual[j]);
            }
        }

        return sum;
    }
}
