using System.Runtime.InteropServices;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Cards are on the picture and not on the quilt: they are painted over, and what they cover is said.</summary>
public static class CardHiding
{
    // White rim and number strip of a card, and the shadow of its edge, in.
    private const double Rim = 0.2;
    private const double NumberStrip = 0.62;

    /// <summary>
    /// The rectified picture with the cards painted over from what surrounds them (A. Telea, 2004), so that no squares of a card
    /// are taken for patches.
    /// </summary>
    /// <param name="rectified">The cloth from above.</param>
    /// <param name="margin">How far it reaches past the mapped area.</param>
    /// <param name="cards">The cards, in the same frame.</param>
    public static Picture PaintOver(Picture rectified, Length margin, IReadOnlyList<PlacedCard> cards)
    {
        ArgumentNullException.ThrowIfNull(rectified);
        ArgumentNullException.ThrowIfNull(cards);
        double density =
            rectified.PixelsPerInch ?? throw new ArgumentException("The picture has no scale.", nameof(rectified));
        Similarity<PictureSpace, ClothSpace> pictureFromCloth = Rectification.PictureFromCloth(density, margin);
        byte[] rgb = (byte[])rectified.Rgb.Clone();
        GCHandle pinned = GCHandle.Alloc(rgb, GCHandleType.Pinned);
        try
        {
            using Mat whole = Mat.FromPixelData(
                rectified.Height,
                rectified.Width,
                MatType.CV_8UC3,
                pinned.AddrOfPinnedObject()
            );
            foreach (PlacedCard card in cards)
            {
                OpenCvSharp.Point[] outline =
                [
                    .. Grown(card)
                        .Select(pictureFromCloth.Apply)
                        .Select(p => new OpenCvSharp.Point((int)Math.Round(p.X), (int)Math.Round(p.Y))),
                ];

                // A window round the card, for the whole picture need not be looked at.
                int around = (int)(0.5 * density) + 4;
                Rect box = Cv2.BoundingRect(outline);
                box.Inflate(around, around);
                box = box.Intersect(new Rect(0, 0, rectified.Width, rectified.Height));
                if (box.Width < 4 || box.Height < 4)
                {
                    continue;
                }

                using Mat part = new(whole, box);
                using Mat mask = new(box.Height, box.Width, MatType.CV_8UC1, Scalar.All(0));
                Cv2.FillConvexPoly(
                    mask,
                    outline.Select(p => new OpenCvSharp.Point(p.X - box.X, p.Y - box.Y)),
                    Scalar.All(255)
                );
                using Mat painted = new();
                Cv2.Inpaint(part, mask, painted, 3, InpaintTypes.Telea);
                painted.CopyTo(part);
            }
        }
        finally
        {
            pinned.Free();
        }

        return new(rectified.Width, rectified.Height, rgb, density);
    }

    /// <summary>A finding for each card that covers a point where seams meet, or would.</summary>
    /// <param name="cards">The cards.</param>
    /// <param name="points">Points where seams meet.</param>
    public static IReadOnlyList<Finding> FindCovered(
        IReadOnlyList<PlacedCard> cards,
        IEnumerable<Point<ClothSpace>> points
    )
    {
        ArgumentNullException.ThrowIfNull(cards);
        List<Point<ClothSpace>> all = [.. points];
        List<Finding> findings = [];
        foreach (PlacedCard card in cards)
        {
            IReadOnlyList<Point<ClothSpace>> outline = Grown(card);
            int covered = all.Count(p => Holds(outline, p));
            if (covered > 0)
            {
                findings.Add(
                    new(
                        "card-covers-point",
                        string.Create(
                            System.Globalization.CultureInfo.InvariantCulture,
                            $"card {card.Card.Number} at {card.Middle.X:0.#},{card.Middle.Y:0.#} in"
                        ),
                        "Where seams meet under it is a guess: move it into a patch or into the margin, and take the photo again."
                    )
                );
            }
        }

        return findings;
    }

    /// <summary>The paper's outline, clockwise from the card's top left: the pattern, its rim and the strip with its number.</summary>
    private static List<Point<ClothSpace>> Grown(PlacedCard card)
    {
        IReadOnlyList<Point<ClothSpace>> o = card.Outline;
        Vector<ClothSpace> right = (o[1] - o[0]).Unit;
        Vector<ClothSpace> down = (o[3] - o[0]).Unit;

        // The strip with the number lies under a card and above a strip's patterns.
        double above = card.Card.Kind == CardKind.Strip ? NumberStrip : Rim;
        double below = card.Card.Kind == CardKind.Strip ? Rim : NumberStrip;
        return
        [
            o[0] - right * Rim - down * above,
            o[1] + right * Rim - down * above,
            o[2] + right * Rim + down * below,
            o[3] - right * Rim + down * below,
        ];
    }

    private static bool Holds(IReadOnlyList<Point<ClothSpace>> convex, Point<ClothSpace> p)
    {
        for (int i = 0; i < convex.Count; i++)
        {
            if ((convex[(i + 1) % convex.Count] - convex[i]).Cross(p - convex[i]) < 0)
            {
                return false;
            }
        }

        return true;
    }
}
