namespace OverlayPlanner.Calibration;

/// <summary>
/// How much less flat the cards lie than <see cref="CardPriors"/> expects of a loaded quilt, as they show it themselves: on cloth
/// that waves they are lifted and aslant by more, and so is the cloth between them.
/// </summary>
internal static class Unevenness
{
    // The normal distribution's 1 %: cards that lie as expected are called uneven once in a hundred photos, and then by little.
    private const double OneInHundred = 2.326;
    private const int MostRounds = 5;
    private const double Settled = 0.03;

    /// <summary>
    /// The adjustment again, believing the cards as uneven as they lie; the same where that is no more than expected.
    /// </summary>
    /// <param name="solved">The adjustment.</param>
    /// <param name="again">The same cards adjusted with another unevenness, from where the last one ended.</param>
    /// <remarks>
    /// Lifts and slopes are estimates drawn towards zero, so their squares are held against what the corners tell of them: the
    /// sum of 1 − posterior ÷ prior variance, the number of lifts and slopes that are measured (D. MacKay, 1992). One factor
    /// for all, since a few cards bear no more.
    /// </remarks>
    public static CardAdjustment Respect(CardAdjustment solved, Func<CardAdjustment, double, CardAdjustment?> again)
    {
        if (Measure(solved) is not var (squares, measured) || squares < Limit(measured))
        {
            return solved;
        }

        for (int round = 0; round < MostRounds; round++)
        {
            double change = Math.Sqrt(squares / measured);
            double uneven = Math.Max(1, solved.Unevenness * change);
            if (Math.Abs(uneven / solved.Unevenness - 1) < Settled || again(solved, uneven) is not { } next)
            {
                break;
            }

            solved = next;
            if (Measure(solved) is not var (now, of))
            {
                break;
            }

            (squares, measured) = (now, of);
        }

        return solved;
    }

    /// <summary>Squares of lifts and slopes in units of what was believed, and how many of them the corners measure.</summary>
    private static (double Squares, double Measured)? Measure(CardAdjustment solved)
    {
        if (solved.Covariance() is not { } covariance)
        {
            return null;
        }

        double squares = 0;
        double measured = 0;
        foreach ((CardKey key, int group) in solved.Groups.Cards)
        {
            double[] place = solved.PlaceOf(key);
            foreach (
                (int number, double believed) in new[]
                {
                    (CardModel.Lift, CardPriors.LiftInches),
                    (CardModel.SlopeRight, CardPriors.Slope),
                    (CardModel.SlopeDown, CardPriors.Slope),
                }
            )
            {
                double sigma = believed * solved.Unevenness;
                squares += Math.Pow(place[number] / sigma, 2);
                measured += 1 - Math.Pow(covariance.SigmaOf(group, number) / sigma, 2);
            }
        }

        return measured > 1 ? (squares, measured) : null;
    }

    // The quantile of χ² by the cube root, which is nearly normal (E. Wilson and M. Hilferty, 1931).
    private static double Limit(double freedom)
    {
        double spread = 2 / (9 * freedom);
        return freedom * Math.Pow(1 - spread + OneInHundred * Math.Sqrt(spread), 3);
    }
}
