using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The cloth's plane from loosely laid cards in one or more photos.</summary>
public static partial class PlaneFromCards
{
    // Cloth this many times less flat than usual is said.
    private const double WorthSaying = 2;

    /// <summary>Solves the plane.</summary>
    /// <param name="photos">Photos by one camera that show at least one card each and hang together by shared cards.</param>
    /// <param name="wishes">Lens, tape distances, measured print.</param>
    /// <remarks>One 12-megapixel photo with 8 cards takes under 2 s, most of it the search for markers.</remarks>
    /// <exception cref="InputException">
    /// No card is seen; the photos do not hang together; a card's number occurs twice where it must not; the tape and the print
    /// contradict each other.
    /// </exception>
    public static CardsPlane Solve(IReadOnlyList<Photo> photos, CardWishes wishes, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(photos);
        ArgumentNullException.ThrowIfNull(wishes);
        CardPhoto[] seen = new CardPhoto[photos.Count];
        Parallel.For(
            0,
            photos.Count,
            new ParallelOptions { CancellationToken = ct },
            i => seen[i] = CardFinder.Find(photos[i])
        );
        for (int i = 0; i < photos.Count; i++)
        {
            if (seen[i].Patterns.Count == 0)
            {
                bool mirrored = CardFinder.IsMirrored(photos[i]);
                throw new InputException(
                    mirrored ? "The photo is mirrored" : "No card is seen in the photo",
                    seen[i].Findings.Count > 0 ? seen[i].Findings[0].Where : photos[i].Name,
                    mirrored
                        ? "Switch off the camera's selfie mirroring, or use the camera on the back."
                        : "Lay four or more printed cards flat near the corners of what is to be mapped, whole and in focus; or give --corners and --size."
                );
            }

            CheckSize(photos[0], photos[i]);
        }

        LensProfile? lens = wishes.Lens is { } given ? LensMatch.For(given, photos[0]) : null;
        for (int i = 1; i < photos.Count && wishes.Lens is not null; i++)
        {
            LensMatch.For(wishes.Lens, photos[i]);
        }

        return Solve(seen, wishes with { Lens = lens }, ct);
    }

    /// <summary>Solves the plane from measured corners; the lens is for these photos.</summary>
    internal static CardsPlane Solve(IReadOnlyList<CardPhoto> photos, CardWishes wishes, CancellationToken ct = default)
    {
        List<Finding> findings = [.. photos.SelectMany(p => p.Findings)];
        Dictionary<CardKey, TargetCard> cards = Collect(photos, wishes.Tapes, findings);
        List<(CardKey From, CardKey To, double Inches)> tapes = CheckTapes(wishes.Tapes, cards);
        (double[] Expected, double[] Covariance, bool[] Held) prior = CardPriors.Camera(photos[0], wishes.Lens);
        (double[] Expected, double[] Covariance) print = CardPriors.Print(wishes.Printed, tapes.Count > 0);
        CardAdjustment solved = Adjust(photos, cards, prior, print, [], ct) ?? throw NotFixed(photos);
        List<(CardKey Key, TargetCard Card, CardAdjustment Without)> dropped = [];
        (solved, prior) = LeaveOut(photos, solved, prior, print, dropped, wishes, findings, ct);
        solved = Unevenness.Respect(
            solved,
            (before, uneven) => Adjust(photos, before.Cards, prior, print, [], ct, before, uneven)
        );
        if (solved.Unevenness > WorthSaying)
        {
            findings.Add(
                new(
                    "cloth-not-flat",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"the cards lie up to {solved.Unevenness:0.0} times as uneven as on a taut quilt"
                    ),
                    "The stated error is larger for it. Smooth the cloth, pull it taut, and take the photo from straight above."
                )
            );
        }

        if (tapes.Count > 0)
        {
            tapes.RemoveAll(t => !solved.Cards.ContainsKey(t.From) || !solved.Cards.ContainsKey(t.To));
            solved = WithTapes(photos, solved, prior, print, tapes, wishes, findings, ct);
        }
        else if (wishes.Printed is null)
        {
            findings.Add(
                new(
                    "print-not-measured",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"the cards' printed size is taken as drawn, ± {200 * CardPriors.UnmeasuredPrint:0.0} %"
                    ),
                    "Measure the long rulers on the printed page (--printed 6.98x8.97), or the tape distance between two cards (--tape 3:7=40.25)."
                )
            );
        }

        ParameterCovariance covariance = solved.Covariance() ?? throw NotFixed(photos);
        FindLayout(solved, findings);
        CardsPlane own = new(solved, covariance, photos, Upright(photos, solved), [], findings);
        List<PlacedCard> leftOut =
        [
            .. dropped.Select(o => Place(photos, solved, own, o.Key, o.Card)).OfType<PlacedCard>(),
        ];
        CardsPlane placed = new(solved, covariance, photos, Upright(photos, solved), leftOut, findings);
        return CardArea.Frame(placed, photos);
    }

    private static CardAdjustment? Adjust(
        IReadOnlyList<CardPhoto> photos,
        IReadOnlyDictionary<CardKey, TargetCard> cards,
        (double[], double[], bool[]) camera,
        (double[], double[]) print,
        IReadOnlyList<(CardKey, CardKey, double)> tapes,
        CancellationToken ct,
        CardAdjustment? near = null,
        double unevenness = 1,
        CardKey? standing = null
    ) => CardAdjustment.Solve(photos, cards, camera, print, tapes, near, unevenness, standing, ct);

    private static Dictionary<CardKey, TargetCard> Collect(
        IReadOnlyList<CardPhoto> photos,
        IReadOnlyList<TapeDistance> tapes,
        List<Finding> findings
    )
    {
        Dictionary<CardKey, TargetCard> cards = [];
        foreach (CardPhoto photo in photos)
        {
            foreach ((CardKey key, SeenPattern pattern) in CardAdjustment.Keyed(photo))
            {
                cards[key] = pattern.Card;
                if (key.Copy == 0 || findings.Any(f => f.What == "card-number-twice"))
                {
                    continue;
                }

                string where = $"{photo.Name}: card {Number(key.Number)}";
                if (photos.Count > 1 || tapes.Any(t => t.From == key.Number || t.To == key.Number))
                {
                    throw new InputException(
                        "Two cards have the same number",
                        where,
                        "Take one of them away, or print another page: each card of a page has its own number."
                    );
                }

                findings.Add(
                    new(
                        "card-number-twice",
                        where,
                        "Both are used in this one photo; for tapes or further photos each card needs its own number."
                    )
                );
            }
        }

        return cards.OrderBy(c => (c.Key.Number, c.Key.Copy)).ToDictionary(c => c.Key, c => c.Value);
    }

    private static List<(CardKey From, CardKey To, double Inches)> CheckTapes(
        IReadOnlyList<TapeDistance> tapes,
        Dictionary<CardKey, TargetCard> cards
    )
    {
        List<(CardKey, CardKey, double)> found = [];
        foreach (TapeDistance tape in tapes)
        {
            foreach (int number in new[] { tape.From, tape.To })
            {
                if (!cards.ContainsKey(new(number, 0)))
                {
                    throw new InputException(
                        $"Card {Number(number)} is not seen in the photo",
                        $"--tape {Number(tape.From)}:{Number(tape.To)}",
                        "Seen are: " + string.Join(", ", cards.Keys.Select(k => Number(k.Number)).Distinct()) + "."
                    );
                }
            }

            found.Add((new(tape.From, 0), new(tape.To, 0), tape.Distance.Inches));
        }

        return found;
    }

    private static CardAdjustment WithTapes(
        IReadOnlyList<CardPhoto> photos,
        CardAdjustment solved,
        (double[], double[], bool[]) camera,
        (double[], double[]) print,
        List<(CardKey From, CardKey To, double Inches)> tapes,
        CardWishes wishes,
        List<Finding> findings,
        CancellationToken ct
    )
    {
        // Each tape's ratio to the distance that the cards' drawn size gives; two ratios differ by what the tapes and the
        // adjustment leave open, the print's scale being common to both.
        ParameterCovariance covariance = solved.Covariance() ?? throw NotFixed(photos);
        List<(CardKey From, CardKey To, double Inches)> good = [.. tapes];
        while (good.Count > 2)
        {
            double[] ratios = [.. good.Select(Ratio)];
            int middle = Enumerable.Range(0, good.Count).OrderBy(i => ratios[i]).ElementAt(good.Count / 2);
            int worst = Enumerable
                .Range(0, good.Count)
                .MaxBy(i => i == middle ? 0 : Math.Abs(ratios[i] - ratios[middle]) / Spread(good[i], good[middle]));
            if (Math.Abs(ratios[worst] - ratios[middle]) < 4 * Spread(good[worst], good[middle]))
            {
                break;
            }

            findings.Add(
                new(
                    "tape-disagrees",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"--tape {good[worst].From.Number}:{good[worst].To.Number}={good[worst].Inches:0.###}: the others make it {good[worst].Inches / ratios[worst] * ratios[middle]:0.##} in"
                    ),
                    "It was left out; measure that distance again, middle to middle."
                )
            );
            good.RemoveAt(worst);
        }

        if (good.Count == 2 && Math.Abs(Ratio(good[0]) - Ratio(good[1])) > 5 * Spread(good[0], good[1]))
        {
            throw new InputException(
                "The tape distances contradict each other",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"--tape {good[0].From.Number}:{good[0].To.Number} makes the cards {100 * Ratio(good[0]):0.0} % of their drawn size, --tape {good[1].From.Number}:{good[1].To.Number} {100 * Ratio(good[1]):0.0} %"
                ),
                "Measure both again, middle to middle; a third tells which is wrong."
            );
        }

        CardAdjustment taped =
            Adjust(photos, solved.Cards, camera, print, good, ct, solved, solved.Unevenness) ?? throw NotFixed(photos);
        double scale = Math.Sqrt(taped.Print[0] * taped.Print[1]);
        if (wishes.Printed is { } printed)
        {
            foreach ((CardKey From, CardKey To, double Inches) tape in good)
            {
                (double distance, double[] gradient) = solved.Distance(covariance, tape.From, tape.To);
                double sigma = Math.Sqrt(
                    Math.Pow(TapeDistance.Sigma.Inches, 2) + covariance.Between(gradient, gradient)
                );
                if (Math.Abs(tape.Inches - distance) > 5 * sigma)
                {
                    throw new InputException(
                        "The tape and the measured print contradict each other",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"--tape {tape.From.Number}:{tape.To.Number}={tape.Inches:0.###}, but with --printed {printed.Across.Inches:0.###}x{printed.Down.Inches:0.###} the cards make it {distance:0.##} in"
                        ),
                        "Measure both again: the tape from middle to middle of the cards, the long rulers on the page that these cards are from."
                    );
                }
            }
        }
        else if (Math.Abs(scale - 1) > 0.005)
        {
            findings.Add(
                new(
                    "print-scale-off",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"by the tape the cards are printed at {100 * scale:0.0} %"
                    ),
                    "The inches follow the tape. Print the cards at actual size (100 %), or measure the tape once more."
                )
            );
        }

        return taped;

        // Tape over the distance at the drawn size.
        double Ratio((CardKey From, CardKey To, double Inches) tape) =>
            tape.Inches
            / solved.Distance(covariance, tape.From, tape.To).Inches
            * Math.Sqrt(solved.Print[0] * solved.Print[1]);

        double Spread((CardKey From, CardKey To, double Inches) a, (CardKey From, CardKey To, double Inches) b)
        {
            (double da, double[] ga) = solved.Distance(covariance, a.From, a.To);
            (double db, double[] gb) = solved.Distance(covariance, b.From, b.To);
            double[] g = [.. ga.Zip(gb, (u, v) => u / da - v / db)];
            double tape = TapeDistance.Sigma.Inches;
            return Math.Sqrt(tape * tape * (1 / (da * da) + 1 / (db * db)) + covariance.Between(g, g));
        }
    }

    private static void FindLayout(CardAdjustment solved, List<Finding> findings)
    {
        string which = string.Join(", ", solved.Cards.Keys.Select(k => Number(k.Number)));
        if (solved.Cards.Count == 1)
        {
            findings.Add(
                new(
                    "one-card",
                    "card " + which + " alone is used",
                    "The error grows fast away from it: lay four or more cards round what is to be mapped."
                )
            );
            return;
        }

        if (IsInALine(solved))
        {
            findings.Add(
                new(
                    "cards-in-a-line",
                    "cards " + which,
                    "The error grows fast to both sides of the line: lay cards on the other side of what is to be mapped too."
                )
            );
        }
    }

    private static bool IsInALine(CardAdjustment solved)
    {
        const double Narrow = 0.08;
        Point<ClothSpace>[] middles =
        [
            .. solved.Cards.SelectMany(c =>
                c.Value.Patterns.Select(p =>
                {
                    double[] place = solved.PlaceOf(c.Key);
                    return new Point<ClothSpace>(
                        place[0] + Math.Cos(place[2]) * p.X,
                        place[1] + Math.Sin(place[2]) * p.X
                    );
                })
            ),
        ];
        double cx = middles.Average(m => m.X);
        double cy = middles.Average(m => m.Y);
        double xx = middles.Sum(m => (m.X - cx) * (m.X - cx));
        double yy = middles.Sum(m => (m.Y - cy) * (m.Y - cy));
        double xy = middles.Sum(m => (m.X - cx) * (m.Y - cy));
        double root = Math.Sqrt((xx - yy) * (xx - yy) / 4 + xy * xy);
        double narrow = Math.Sqrt(Math.Max(0, (xx + yy) / 2 - root) / Math.Max(1e-9, (xx + yy) / 2 + root));
        return narrow < Narrow;
    }

    /// <summary>The turn that brings the photo's up to the cloth's up, about the cards' middle.</summary>
    private static Similarity<ClothSpace, ClothSpace> Upright(IReadOnlyList<CardPhoto> photos, CardAdjustment solved)
    {
        double cx = solved.Cards.Keys.Average(k => solved.PlaceOf(k)[CardModel.X]);
        double cy = solved.Cards.Keys.Average(k => solved.PlaceOf(k)[CardModel.Y]);
        int photo = Enumerable
            .Range(0, photos.Count)
            .First(p => CardAdjustment.Keyed(photos[p]).Any(k => solved.Cards.ContainsKey(k.Key)));
        double[] byWorld = new double[6];
        CameraModel.ProjectPosed(solved.Camera, solved.PoseOf(photo), [cx, cy, 0], out _, out _, [], [], byWorld);

        // Cloth direction that the photo shows straight down, (0, 1) px.
        double det = byWorld[0] * byWorld[4] - byWorld[1] * byWorld[3];
        double dx = -byWorld[1] / det;
        double dy = byWorld[0] / det;
        double n = Math.Sqrt(dx * dx + dy * dy);
        (dx, dy) = (dx / n, dy / n);

        // Turned so that (dx, dy) becomes (0, 1): (a, b) with a dx − b dy = 0, b dx + a dy = 1.
        double a = dy;
        double b = dx;
        return new(a, b, -(a * cx - b * cy), -(b * cx + a * cy));
    }

    private static PlacedCard? Place(
        IReadOnlyList<CardPhoto> photos,
        CardAdjustment solved,
        CardsPlane plane,
        CardKey key,
        TargetCard card
    )
    {
        for (int p = 0; p < photos.Count; p++)
        {
            Point<ClothSpace>[] on =
            [
                .. CardAdjustment
                    .Keyed(photos[p])
                    .Where(k => k.Key == key)
                    .SelectMany(k => k.Pattern.Corners)
                    .Select(c => plane.Planes[p].ClothFromPhoto.Apply(c.Seen)),
            ];
            if (on.Length > 0)
            {
                double left = on.Min(q => q.X);
                double right = on.Max(q => q.X);
                double top = on.Min(q => q.Y);
                double bottom = on.Max(q => q.Y);
                return new(
                    card,
                    new((left + right) / 2, (top + bottom) / 2),
                    [new(left, top), new(right, top), new(right, bottom), new(left, bottom)],
                    CardMisfit.Explain(photos, solved, key, card).RmsPixels,
                    Used: false
                );
            }
        }

        return null;
    }

    internal static void CheckSize(Photo first, Photo photo)
    {
        if (photo.Picture.Width != first.Picture.Width || photo.Picture.Height != first.Picture.Height)
        {
            throw new InputException(
                "The photos are not of one size",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{photo.Name} is {photo.Picture.Width} × {photo.Picture.Height} pixels, {first.Name} is {first.Picture.Width} × {first.Picture.Height}"
                ),
                "Take all photos with one camera, held the same way up, and give them uncropped."
            );
        }

        LensMatch.RequireSameLens(photo, first);
    }

    private static InputException NotFixed(IReadOnlyList<CardPhoto> photos) =>
        photos.Count > 1
            ? new(
                "The photos do not hang together: one shares no card with the others",
                string.Join(
                    "; ",
                    photos.Select(p =>
                        p.Name + " shows " + string.Join(", ", p.Patterns.Select(s => Number(s.Card.Number)).Distinct())
                    )
                ),
                "Take the photos so that each shows at least two cards of another, and all of one quilt with the cards left where they are."
            )
            : new(
                "The cards do not fix the plane of the cloth",
                photos[0].Name,
                "Lay four or more cards round what is to be mapped, and photograph them larger."
            );

    private static string Number(int n) => n.ToString(CultureInfo.InvariantCulture);
}
