using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

public static partial class PlaneFromCards
{
    // A card is asked whether it belongs when its corners are this many times as far off as the rest's, or when it would have
    // to be lifted or tilted by this many standard deviations.
    private const double Suspicious = 1.5;
    private const double SuspiciousLift = 3;

    // The worst of many are tried; a bad card is always among those that look worst.
    private const int MostAsked = 6;

    // Left out where the others' cost falls by this many times what the card's own corners explain.
    private const double BetterWithout = 4;
    private const double FarOff = 4;

    // Twice the fall of the cost, in units of one standard deviation squared, from which a lens profile is held to be wrong:
    // with five freedoms a right one passes 25 once in 7,000 photos.
    private const double LensMisfit = 25;

    // The corners' own spread is taken from their median where the mean square is more than this beyond it.
    private const double CleanRms = 1.3;

    // Of three cards nobody can say which one stands off.
    private const int LeastLeft = 3;

    // At most one card in so many stands off the cloth, or one at all; where more do, it is the cloth that waves.
    private const int MostStanding = 5;

    /// <summary>
    /// Leaves out, one by one, the card without which all others agree much better; and replaces a lens profile that the cards
    /// contradict by what they show themselves.
    /// </summary>
    private static (CardAdjustment Solved, (double[], double[], bool[]) Camera) LeaveOut(
        IReadOnlyList<CardPhoto> photos,
        CardAdjustment solved,
        (double[] Expected, double[] Covariance, bool[] Held) camera,
        (double[], double[]) print,
        List<(CardKey, TargetCard, CardAdjustment)> leftOut,
        CardWishes wishes,
        List<Finding> findings,
        CancellationToken ct
    )
    {
        // The same cards with a camera of which little is known: where that fits far better the profile is wrong, or the lens
        // is none of the usual ones, unless one bad card explains the misfit as well.
        (double[] Expected, double[] Covariance, bool[] Held) loose = wishes.Lens is { } lens
            ? CardPriors.Loose(photos[0], lens)
            : CardPriors.Wide(photos[0]);
        CardAdjustment? free = Adjust(photos, solved.Cards, loose, print, [], ct, solved);
        if (free is null || solved.MisfitAgainst(free) < LensMisfit || !LooksOther(free))
        {
            free = null;
        }

        List<(CardKey Key, TargetCard Card, Finding Said)> standing = [];
        int most = Math.Max(1, solved.Cards.Count / MostStanding);

        // A profile is believed until the corners themselves fit better; without one there is little to believe.
        bool LooksOther(CardAdjustment other) => wishes.Lens is null || other.SigmaPixels <= 0.8 * solved.SigmaPixels;

        while (true)
        {
            // Where no corner stands out, what stands off is asked first: it pulls the others' corners with it. In several photos
            // a card that moved looks lifted, and its corners tell it better.
            if (free is null && photos.Count == 1 && solved.Rms < CleanRms * solved.SigmaPixels)
            {
                if (
                    LeaveOutStanding(photos, solved, camera, print, standing, most, leftOut, findings, ct)
                    is not { } left
                )
                {
                    return (TakeBack(solved), camera);
                }

                solved = left;
            }

            (CardKey Key, CardAdjustment Without)? best = null;
            if (solved.Cards.Count >= 3 && (free is not null || IsSuspicious(solved)))
            {
                foreach (CardKey key in solved.Cards.Keys.OrderByDescending(k => Doubt(solved, k)).Take(MostAsked))
                {
                    Dictionary<CardKey, TargetCard> rest = solved
                        .Cards.Where(c => c.Key != key)
                        .ToDictionary(c => c.Key, c => c.Value);
                    if (
                        Adjust(photos, rest, camera, print, [], ct, solved) is { } without
                        && (best is null || without.Rms < best.Value.Without.Rms)
                    )
                    {
                        best = (key, without);
                    }
                }
            }

            CardMisfit? misfit =
                best is var (asked, others)
                && solved.MisfitAgainst(others) >= BetterWithout * 2 * solved.CountOf(asked)
                && CardMisfit.Explain(photos, others, asked, solved.Cards[asked]) is var found
                && found.RmsPixels >= FarOff * others.SigmaPixels
                    ? found
                    : null;

            if (free is not null && (misfit is null || free.Rms < 1.1 * best!.Value.Without.Rms))
            {
                findings.Add(LensFinding(solved, free, wishes.Lens));
                (solved, camera, free) = (free, loose, null);
                continue;
            }

            free = null;
            if (misfit is null || best is not var (worst, remaining))
            {
                break;
            }

            Finding said = misfit.ToFinding();
            if (misfit.Reason is MisfitReason.Aslant or MisfitReason.Curled && photos.Count == 1)
            {
                if (standing.Count == most || (IsInALine(remaining) && !IsInALine(solved)))
                {
                    return (TakeBack(solved), camera);
                }

                standing.Add((worst, solved.Cards[worst], said));
            }

            leftOut.Add((worst, solved.Cards[worst], remaining));
            findings.Add(said);
            solved = remaining;
        }

        if (LeaveOutStanding(photos, solved, camera, print, standing, most, leftOut, findings, ct) is not { } rested)
        {
            return (TakeBack(solved), camera);
        }

        solved = rested;
        if (solved.Cards.Count == 2 && solved.Rms > 0.6 && leftOut.Count == 0)
        {
            findings.Add(
                new(
                    "cards-disagree",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"the two cards' corners lie {solved.Rms:0.00} px off one flat plane"
                    ),
                    "One is curled, lifted, or printed at another scale, but which can't be told from two: lay three or more."
                )
            );
        }

        return (solved, camera);

        // All that stand off lie on the cloth as it is: how far they stand tells how much it waves.
        CardAdjustment TakeBack(CardAdjustment without)
        {
            Dictionary<CardKey, TargetCard> cards = new(without.Cards);
            foreach ((CardKey key, TargetCard card, _) in standing)
            {
                cards[key] = card;
            }

            if (Adjust(photos, cards, camera, print, [], ct) is not { } together)
            {
                return without;
            }

            leftOut.RemoveAll(o => standing.Exists(s => s.Key == o.Item1));
            findings.RemoveAll(f => standing.Exists(s => ReferenceEquals(s.Said, f)));
            return together;
        }
    }

    /// <summary>
    /// Leaves out cards that stand off the cloth by far more than the others: their corners fit, lifted or tilted, so no residual
    /// tells; but what is believed of a card does.
    /// </summary>
    /// <returns>The others; null where so many stand off that it is the cloth.</returns>
    private static CardAdjustment? LeaveOutStanding(
        IReadOnlyList<CardPhoto> photos,
        CardAdjustment solved,
        (double[], double[], bool[]) camera,
        (double[], double[]) print,
        List<(CardKey Key, TargetCard Card, Finding Said)> standing,
        int most,
        List<(CardKey, TargetCard, CardAdjustment)> leftOut,
        List<Finding> findings,
        CancellationToken ct
    )
    {
        while (solved.Cards.Count > LeastLeft && StandingCard.Suspect(solved) is { } key)
        {
            CardAdjustment? freed = Adjust(photos, solved.Cards, camera, print, [], ct, solved, standing: key);
            freed = freed is null
                ? null
                : Unevenness.Respect(
                    freed,
                    (before, uneven) => Adjust(photos, before.Cards, camera, print, [], ct, before, uneven, key)
                );
            Dictionary<CardKey, TargetCard> rest = solved
                .Cards.Where(c => c.Key != key)
                .ToDictionary(c => c.Key, c => c.Value);
            if (
                freed is null
                || !StandingCard.StandsOff(freed, key)
                || Adjust(photos, rest, camera, print, [], ct, freed, freed.Unevenness) is not { } remaining
            )
            {
                break;
            }

            if (photos.Count == 1 && (standing.Count == most || (IsInALine(remaining) && !IsInALine(solved))))
            {
                return null;
            }

            Finding said = CardMisfit.Explain(photos, remaining, key, solved.Cards[key]).ToFinding();
            findings.Add(said);
            standing.Add((key, solved.Cards[key], said));
            leftOut.Add((key, solved.Cards[key], remaining));
            solved = Adjust(photos, rest, camera, print, [], ct, remaining) ?? remaining;
        }

        return solved;
    }

    private static Finding LensFinding(CardAdjustment solved, CardAdjustment free, LensProfile? lens) =>
        lens is not null
            ? new(
                "lens-does-not-fit",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"corners lie {solved.Rms:0.00} px off with the profile, {free.Rms:0.00} px without it"
                ),
                "The profile was not used: the photo was taken with another lens, zoom or crop, or the picture was edited. The stated error is larger for it."
            )
            : new(
                "lens-bends-much",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"corners lie {solved.Rms:0.00} px off a usual lens, {free.Rms:0.00} px off one that bends straight lines much"
                ),
                "The stated error is larger for it. Photograph with the main camera, not the widest; or make a profile of this lens from photos of the lens board."
            );

    private static bool IsSuspicious(CardAdjustment solved) => solved.Cards.Keys.Any(k => Doubt(solved, k) > 1);

    /// <summary>How doubtful a card is: over 1 where it must be asked.</summary>
    private static double Doubt(CardAdjustment solved, CardKey key)
    {
        double[] place = solved.PlaceOf(key);
        double lift = Math.Abs(place[CardModel.Lift]) / CardPriors.LiftInches;
        double slope =
            Math.Max(Math.Abs(place[CardModel.SlopeRight]), Math.Abs(place[CardModel.SlopeDown])) / CardPriors.Slope;
        return Math.Max(solved.RmsOf(key) / (Suspicious * solved.SigmaPixels), Math.Max(lift, slope) / SuspiciousLift);
    }
}
