using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Photos that show cards and projected marks: the cloth's plane, and where each mark's light falls on it.</summary>
/// <param name="Plane">The plane, in the cards' own frame.</param>
/// <param name="Marks">Marks by photo: the photo, the mark, its place on the cloth, cloth inches for a photo pixel there.</param>
/// <param name="Findings">What a person should know.</param>
internal sealed record ThrownView(
    CardsPlane Plane,
    IReadOnlyList<(int Photo, Point<MarkSpace> Mark, Point<ClothSpace> Cloth, double InchesPerPixel)> Marks,
    IReadOnlyList<Finding> Findings
)
{
    /// <summary>Fewest measured corners that a projector is judged by.</summary>
    public const int LeastCorners = 40;

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
        List<(int, Point<MarkSpace>, Point<ClothSpace>, double)> marks = [];
        List<Finding> findings = [.. photos.SelectMany(p => p.Findings), .. plane.Findings];
        for (int p = 0; p < photos.Count; p++)
        {
            foreach ((Point<MarkSpace> mark, Point<PhotoSpace> at) in fields[p]?.Corners ?? [])
            {
                Point<ClothSpace> cloth = plane.Planes[p].ClothFromPhoto.Apply(at);
                if (cloth.IsFinite)
                {
                    double density = PlaneFromCorners.DensityAt(plane.Planes[p].PhotoFromCloth, cloth);
                    marks.Add((p, mark, cloth, 1 / density));
                }
            }
        }

        int different = marks.Select(m => m.Item2).Distinct().Count();
        if (different < LeastCorners)
        {
            throw TooFew(photos[0].Name, Text($"{different} of {field.Corners.Count} corners are measured"));
        }

        return new(plane, marks, findings);
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
            Text($"{photo.Name}: {field.Markers} marks lie in one place, {field.Others} of the same numbers in another"),
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
