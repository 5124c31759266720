namespace OverlayPlanner.Calibration;

/// <summary>
/// How flat the cards lie, as they show it themselves, in units of what <see cref="CardPriors"/> expects of a loaded quilt: on
/// cloth that waves they are lifted and aslant by more, and so is the cloth between them; on a table by less, and then each
/// card's foreshortening tells how the camera stands.
/// </summary>
internal static class Unevenness
{
    // One in twenty and one in six of the normal distribution, one-sided.
    private const double OneInTwenty = 1.645;
    private const double OneInSix = 1;
    private const int MostRounds = 6;
    private const double Settled = 0.03;

    // No card lies flatter than 1/128 in and 1/64 in over its 3 in: paper is no plate.
    private const double Flattest = 0.25;

    // Fewer lifts and slopes than this say nothing of their spread.
    private const double LeastMeasured = 2;

    /// <summary>
    /// The adjustment again, believing the cards as uneven as they may well lie, where they lie more unevenly than expected, or
    /// where even that is less.
    /// </summary>
    /// <param name="solved">The adjustment.</param>
    /// <param name="again">The same cards adjusted with another unevenness, from where the last one ended.</param>
    /// <remarks>
    /// Lifts and slopes are estimates drawn towards zero, so their squares are held against what the corners tell of them: the
    /// sum of 1 − posterior ÷ prior variance, the number of lifts and slopes that are measured (D. MacKay, 1992). One factor
    /// for all, since a few cards bear no more: the upper limit that is passed one time in twenty, because cloth between the cards
    /// is believed to wave by as much, and nothing else is known of it.
    /// </remarks>
    public static CardAdjustment Respect(CardAdjustment solved, Func<CardAdjustment, double, CardAdjustment?> again)
    {
        if (Measure(solved) is not var (squares, measured))
        {
            return solved;
        }

        bool more = squares > Quantile(measured, OneInSix);
        if (!more && squares > Quantile(measured, -OneInTwenty))
        {
            return solved;
        }

        for (int round = 0; round < MostRounds; round++)
        {
            double expected = Quantile(measured, -OneInTwenty);
            double uneven = solved.Unevenness * Math.Sqrt(squares / expected);
            uneven = more ? Math.Max(1, uneven) : Math.Clamp(uneven, Flattest, 1);
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
        foreach ((CardKey key, int group) in solved.Groups.Cards.Where(c => c.Key != solved.Standing))
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

        return measured > LeastMeasured ? (squares, measured) : null;
    }

    // The quantile of χ² by the cube root, which is nearly normal (E. Wilson and M. Hilferty, 1931).
    private static double Quantile(double freedom, double normal)
    {
        double spread = 2 / (9 * freedom);
        return freedom * Math.Pow(1 - spread + normal * Math.Sqrt(spread), 3);
    }
}
