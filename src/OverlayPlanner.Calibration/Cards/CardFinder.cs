using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>One pattern of a card as a photo shows it.</summary>
/// <param name="Card">The card.</param>
/// <param name="Pattern">Which of its patterns.</param>
/// <param name="Corners">Measured corners: inches from the card's middle, and photo pixels.</param>
internal sealed record SeenPattern(
    TargetCard Card,
    TargetPattern Pattern,
    IReadOnlyList<(Point<ClothSpace> OnCard, Point<PhotoSpace> Seen)> Corners
)
{
    /// <summary>The middle of what is seen, px.</summary>
    public Point<PhotoSpace> Middle => new(Corners.Average(c => c.Seen.X), Corners.Average(c => c.Seen.Y));
}

/// <summary>What a photo shows of cards.</summary>
/// <param name="Name">The photo.</param>
/// <param name="Width">Pixels across.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="Facts">What the file says about the camera.</param>
/// <param name="Patterns">The patterns, by number.</param>
/// <param name="Findings">Cards that are seen and can't be used.</param>
internal sealed record CardPhoto(
    string Name,
    int Width,
    int Height,
    PhotoFacts Facts,
    IReadOnlyList<SeenPattern> Patterns,
    IReadOnlyList<Finding> Findings
);

/// <summary>Finds cards in photos and measures their corners.</summary>
internal static class CardFinder
{
    // Of 24; below it a pattern might be a patch of the quilt that happens to read as a marker.
    private const int LeastCorners = 10;

    /// <summary>The cards of a photo.</summary>
    public static CardPhoto Find(Photo photo)
    {
        using Mat grey = GreyPicture.From(photo.Picture);
        List<SeenPattern> patterns = [];
        List<Finding> findings = [];
        foreach ((int id, Point<PhotoSpace>[] corners) in MarkerFinder.FindAll(grey))
        {
            if (TargetCard.Carrying(id) is not { } card)
            {
                continue;
            }

            TargetPattern pattern = card.Patterns.First(p => p.Id == id);
            int outside = 0;
            if (Measure(grey, card, pattern, corners, ref outside) is { } seen)
            {
                patterns.Add(seen);
            }
            else if (outside > 0)
            {
                findings.Add(
                    new(
                        "card-cut-off",
                        $"{photo.Name}: card {card.Number.ToString(CultureInfo.InvariantCulture)} lies half outside the photo",
                        "It is not used; take the photo so that the whole card is in it."
                    )
                );
            }
        }

        return new(photo.Name, photo.Picture.Width, photo.Picture.Height, photo.Facts, patterns, findings);
    }

    /// <summary>Whether the photo shows cards or the board as in a mirror.</summary>
    public static bool IsMirrored(Photo photo)
    {
        using Mat grey = GreyPicture.From(photo.Picture);
        using Mat turned = new();
        Cv2.Flip(grey, turned, FlipMode.Y);
        return MarkerFinder
            .FindAll(turned)
            .Any(m =>
                TargetCard.Carrying(m.Id) is { } card
                && Measure(turned, card, card.Patterns.First(p => p.Id == m.Id), m.Corners) is not null
            );
    }

    private static SeenPattern? Measure(Mat grey, TargetCard card, TargetPattern pattern, Point<PhotoSpace>[] marker)
    {
        int outside = 0;
        return Measure(grey, card, pattern, marker, ref outside);
    }

    /// <summary>
    /// Twice predicted and refined: from the marker's corners, which may be a pixel off, then from the corners that this finds.
    /// </summary>
    private static SeenPattern? Measure(
        Mat grey,
        TargetCard card,
        TargetPattern pattern,
        Point<PhotoSpace>[] marker,
        ref int outside
    )
    {
        double square = card.Side.Inches / TargetCard.Squares;
        double half = 1.5 * square;
        Point<ClothSpace>[] outline = [new(-half, -half), new(half, -half), new(half, half), new(-half, half)];
        Homography<PhotoSpace, ClothSpace>? map = HomographyFit.Fit<PhotoSpace, ClothSpace>([.. outline.Zip(marker)]);
        IReadOnlyList<Point<ClothSpace>> wanted = TargetCard.CornersOf(card.Side);
        List<(Point<ClothSpace> On, Point<PhotoSpace> Seen)> found = [];
        for (int pass = 0; pass < 2; pass++)
        {
            if (map is null)
            {
                return null;
            }

            List<(Point<PhotoSpace>, Vector<PhotoSpace>, Vector<PhotoSpace>)> predicted = [];
            outside = 0;
            foreach (Point<ClothSpace> corner in wanted)
            {
                Point<PhotoSpace> at = map.Apply(corner);
                Vector<PhotoSpace> right = map.Apply(corner + new Vector<ClothSpace>(square, 0)) - at;
                Vector<PhotoSpace> down = map.Apply(corner + new Vector<ClothSpace>(0, square)) - at;
                predicted.Add((at, right, down));
                outside += at.X < 0 || at.Y < 0 || at.X > grey.Width - 1 || at.Y > grey.Height - 1 ? 1 : 0;
            }

            MeasuredCorner?[] refined = CornerRefiner.Refine(grey, predicted);
            found.Clear();
            for (int k = 0; k < refined.Length; k++)
            {
                if (refined[k] is { } corner)
                {
                    found.Add((wanted[k], corner.At));
                }
            }

            if (found.Count < LeastCorners)
            {
                return null;
            }

            map = HomographyFit.Fit<PhotoSpace, ClothSpace>(found);
        }

        if (map is null)
        {
            return null;
        }

        // A corner that the card's own plane does not confirm lies under a finger or a fold.
        double side = (map.Apply(new Point<ClothSpace>(square, 0)) - map.Apply(Point<ClothSpace>.Origin)).Norm;
        double[] off = [.. found.Select(c => map.Apply(c.On).DistanceTo(c.Seen))];
        double median = off.Order().ElementAt(off.Length / 2);
        double most = Math.Max(5 * median, 0.3);
        List<(Point<ClothSpace>, Point<PhotoSpace>)> kept =
        [
            .. found
                .Where((_, k) => off[k] <= most)
                .Select(c => (new Point<ClothSpace>(c.On.X + pattern.X, c.On.Y + pattern.Y), c.Seen)),
        ];
        return kept.Count >= LeastCorners && median < 0.15 * side ? new(card, pattern, kept) : null;
    }
}
