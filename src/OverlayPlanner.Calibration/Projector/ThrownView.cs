using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Photos that show cards and projected marks: the cloth's plane, and where each mark's light falls on it.</summary>
/// <param name="Plane">The plane, in the cards' own frame.</param>
/// <param name="Marks">Each mark that is seen, once.</param>
/// <param name="Sights">What each photo alone says of them.</param>
/// <param name="Findings">What a person should know.</param>
internal sealed record ThrownView(
    CardsPlane Plane,
    IReadOnlyList<LitMark> Marks,
    IReadOnlyList<SeenMark> Sights,
    IReadOnlyList<Finding> Findings
)
{
    /// <summary>Fewest measured corners that a projector is judged by.</summary>
    public const int LeastCorners = 40;

    // No corner is measured better than this, however well cards happen to fit.
    private const double LeastSigmaPixels = 0.05;

    // Half of how far light may have moved from photo to photo, in (no source: more than cards' and corners' own errors).
    private const double MovedInches = 1.0 / 24;

    // Cloth nearly this far above or below the cards, in, is no cloth under a machine.
    private const double RisenInches = 0.5;

    // Sizes that projectors have.
    private static readonly (int Width, int Height)[] UsualSizes =
    [
        (1920, 1080),
        (1280, 720),
        (1280, 800),
        (1024, 768),
        (1920, 1200),
        (3840, 2160),
        (800, 600),
        (854, 480),
        (1366, 768),
        (1600, 900),
        (1400, 1050),
        (2560, 1440),
        (2560, 1600),
        (640, 480),
        (960, 540),
        (1080, 1920),
    ];

    /// <summary>Looks at photos for cards and for one field of marks.</summary>
    /// <param name="photos">By one camera; at least one shows the marks, and all hang together by cards.</param>
    /// <param name="field">The marks that are looked for.</param>
    /// <param name="what">What threw them, in words: "the pattern for 1920 × 1080" or "the check picture of this profile".</param>
    /// <param name="wishes">What is known of lens and cards.</param>
    /// <exception cref="InputException">
    /// A photo has no card; no photo shows the marks, or shows them mirrored, of another picture, of two projectors, or too few.
    /// </exception>
    public static ThrownView Look(
        IReadOnlyList<Photo> photos,
        MarkField field,
        string what,
        CardWishes wishes,
        CancellationToken ct
    )
    {
        CardPhoto[] cards = new CardPhoto[photos.Count];
        SeenField?[] fields = new SeenField?[photos.Count];
        int[] seen = new int[photos.Count];
        InputException?[] wrong = new InputException?[photos.Count];
        Parallel.For(
            0,
            photos.Count,
            new ParallelOptions { CancellationToken = ct },
            i =>
            {
                cards[i] = CardFinder.Find(photos[i]);
                using Mat grey = GreyPicture.From(photos[i].Picture);
                IReadOnlyList<SeenMarker> markers = MarkFinder.FindMarkers(grey);
                seen[i] = markers.Count;
                fields[i] = MarkFinder.Find(grey, markers, field);
                wrong[i] =
                    fields[i] is null ? Explain(grey, markers, photos[i], field, what)
                    : fields[i]!.Others > 0 ? TwoProjectors(photos[i], fields[i]!)
                    : null;
            }
        );
        foreach (InputException? refusal in wrong)
        {
            if (refusal is not null)
            {
                throw refusal;
            }
        }

        for (int i = 0; i < photos.Count; i++)
        {
            RequireCards(photos[i], cards[i]);
            PlaneFromCards.CheckSize(photos[0], photos[i]);
        }

        if (fields.All(f => f is null))
        {
            throw TooFew(photos[0].Name, Text($"{seen.Max()} of {field.Markers} marks can be read"));
        }

        LensProfile? lens = wishes.Lens is { } given ? LensMatch.For(given, photos[0]) : null;
        CardsPlane plane = PlaneFromCards.Solve(cards, wishes with { Lens = lens }, ct);
        SeenMark[] sights =
        [
            .. Enumerable
                .Range(0, photos.Count)
                .SelectMany(p => (fields[p]?.Corners ?? []).Select(c => SightOf(plane, p, c.Mark, c.Seen)))
                .Where(s => s.OnPlane.IsFinite),
        ];
        (Point<ClothSpace>, double)[] eyes = [.. Enumerable.Range(0, photos.Count).Select(plane.EyeOf)];
        LitMark[] marks = [.. sights.GroupBy(s => s.Mark).Select(g => LitMark.Of([.. g], eyes))];
        RequireStill(photos, sights, marks);
        return marks.Length >= LeastCorners
            ? new(plane, marks, sights, [.. photos.SelectMany(p => p.Findings), .. plane.Findings])
            : throw TooFew(photos[0].Name, Text($"{marks.Length} of {field.Corners.Count} corners are measured"));
    }

    private static SeenMark SightOf(CardsPlane plane, int photo, Point<MarkSpace> mark, Point<PhotoSpace> at)
    {
        IMap<ClothSpace, PhotoSpace> map = plane.Planes[photo].ClothFromPhoto;
        Vector<ClothSpace> right = (map.Apply(new(at.X + 1, at.Y)) - map.Apply(new(at.X - 1, at.Y))) * 0.5;
        Vector<ClothSpace> down = (map.Apply(new(at.X, at.Y + 1)) - map.Apply(new(at.X, at.Y - 1))) * 0.5;
        double variance = Math.Pow(Math.Max(plane.CornerSigmaPixels, LeastSigmaPixels), 2);
        return new(
            photo,
            mark,
            map.Apply(at),
            new(
                variance * (right.X * right.X + down.X * down.X),
                variance * (right.X * right.Y + down.X * down.Y),
                variance * (right.Y * right.Y + down.Y * down.Y)
            )
        );
    }

    /// <summary>Shift and turn that lay cards as they are seen on the places where they are known to lie, and the worst misfit.</summary>
    /// <returns>Null where fewer than two of them are seen.</returns>
    public static (Similarity<ClothSpace, ClothSpace> KnownFromSeen, int Worst, Length Misfit)? LayOn(
        CardsPlane plane,
        IReadOnlyList<KnownCard> known
    )
    {
        (KnownCard Known, Point<ClothSpace> Seen)[] pairs =
        [
            .. plane
                .Cards.Where(c => c.Used)
                .SelectMany(c => known.Where(k => k.Number == c.Card.Number).Select(k => (k, c.Middle))),
        ];
        if (pairs.Length < 2)
        {
            return null;
        }

        Similarity<ClothSpace, ClothSpace> laid = Lay([.. pairs.Select(p => (p.Seen, p.Known.At))]);
        (KnownCard worst, Point<ClothSpace> at) = pairs.MaxBy(p => laid.Apply(p.Seen).DistanceTo(p.Known.At));
        return (laid, worst.Number, Length.FromInches(laid.Apply(at).DistanceTo(worst.At)));
    }

    /// <summary>Shift and turn of least squares (W. Kabsch, 1976, in the plane).</summary>
    public static Similarity<ClothSpace, ClothSpace> Lay(
        IReadOnlyList<(Point<ClothSpace> From, Point<ClothSpace> To)> pairs
    )
    {
        double fx = pairs.Average(p => p.From.X);
        double fy = pairs.Average(p => p.From.Y);
        double tx = pairs.Average(p => p.To.X);
        double ty = pairs.Average(p => p.To.Y);
        double a = pairs.Sum(p => (p.From.X - fx) * (p.To.X - tx) + (p.From.Y - fy) * (p.To.Y - ty));
        double b = pairs.Sum(p => (p.From.X - fx) * (p.To.Y - ty) - (p.From.Y - fy) * (p.To.X - tx));
        double n = Math.Sqrt(a * a + b * b);
        (a, b) = n > 0 ? (a / n, b / n) : (1, 0);
        return new(a, b, tx - (a * fx - b * fy), ty - (b * fx + a * fy));
    }

    // Lines of sight to one mark that pass each other by, or meet far above or below the cards: its light moved.
    private static void RequireStill(IReadOnlyList<Photo> photos, SeenMark[] sights, LitMark[] marks)
    {
        LitMark[] twice = [.. marks.Where(m => m.Misfit > 0)];
        if (
            twice.Length < LeastCorners
            || (
                Median(twice.Select(m => m.Misfit)) < MovedInches
                && Median(twice.Select(m => Math.Abs(m.Height))) < RisenInches
            )
        )
        {
            return;
        }

        double apart = Median(
            sights
                .GroupBy(s => s.Mark)
                .Where(g => g.Count() > 1)
                .Select(g => g.Max(s => s.OnPlane.DistanceTo(g.First().OnPlane)))
        );
        string[] seen = [.. sights.Select(s => s.Photo).Distinct().Order().Select(p => photos[p].Name)];
        throw new InputException(
            "The projector moved between the photos, or the cloth did",
            Text($"{string.Join(" and ", seen)}: the same marks lie {apart:0.00} in apart"),
            "Fix the projector, lay the cards flat, and take all photos anew; or use one of these photos alone."
        );
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted[sorted.Length / 2];
    }

    private static void RequireCards(Photo photo, CardPhoto cards)
    {
        if (cards.Patterns.Count > 0)
        {
            return;
        }

        bool mirrored = CardFinder.IsMirrored(photo);
        throw new InputException(
            mirrored ? "The photo is mirrored" : "No card is seen beside the projected marks",
            cards.Findings.Count > 0 ? cards.Findings[0].Where : photo.Name,
            mirrored
                ? "Switch off the camera's selfie mirroring, or use the camera on the back."
                : "Lay four or more printed cards flat round the projector's picture, outside its light, with some light on in the room."
        );
    }

    // Why a photo that should show a field shows none; null where it shows hardly any mark, which cards alone may do.
    private static InputException? Explain(
        Mat grey,
        IReadOnlyList<SeenMarker> markers,
        Photo photo,
        MarkField field,
        string what
    )
    {
        if (markers.Count >= MarkFinder.LeastMarkers)
        {
            foreach ((int width, int height) in UsualSizes)
            {
                MarkField other = ThrownPicture.PatternOf(width, height).Field;
                if (other != field && MarkFinder.CountOf(markers, other) >= MarkFinder.LeastMarkers)
                {
                    return new(
                        Text($"The photo shows the pattern for a projector of {width} × {height} pixels"),
                        Text($"{photo.Name}: looked for was {what}"),
                        "Give the size that the pattern was made for, or make it again with the projector's own pixels."
                    );
                }
            }

            if (markers.Count >= 2 * MarkFinder.LeastMarkers)
            {
                return new(
                    "The photo shows marks of another picture",
                    Text($"{photo.Name}: looked for was {what}, {markers.Count} other marks are seen"),
                    "Throw the picture that was made for this projector and this profile, and photograph it again."
                );
            }
        }

        using Mat turned = MarkFinder.Mirrored(grey);
        return MarkFinder.CountOf(MarkFinder.FindMarkers(turned), field) >= MarkFinder.LeastMarkers
            ? new(
                "The projected marks are seen mirrored",
                photo.Name,
                "Photograph the cloth from the projector's side, switch off the projector's rear projection, and the camera's selfie mirroring."
            )
            : null;
    }

    private static InputException TwoProjectors(Photo photo, SeenField field) =>
        new(
            "The photo shows the pattern twice",
            Text(
                $"{photo.Name}: {field.Markers} marks lie in one place, {field.Others} of the same numbers in another"
            ),
            "Leave one projector on alone, and take away screens and mirrors that show the pattern."
        );

    private static InputException TooFew(string photo, string where) =>
        new(
            "Too few projected marks are seen",
            Text($"{photo}: {where}"),
            "Dim the room, focus the projector on the cloth, and photograph its whole picture sharp and as large as it fits, with the cards round it."
        );

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
