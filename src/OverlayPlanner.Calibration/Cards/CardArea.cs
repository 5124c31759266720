using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How much of the cloth the photos are worth mapping.</summary>
internal static class CardArea
{
    private const int Steps = 48;

    // Where a photo has a third of the pixels to the inch that it has among the cards, it looks along the floor.
    private const double LeastDensity = 0.33;

    // Beyond this many times the cards' own spread an error is no longer one of the quilt.
    private const double MostReach = 1.5;

    /// <summary>
    /// The plane with its origin at the top left of the bounding box of what can be mapped: photo points whose cloth lies near
    /// the cards and is seen well.
    /// </summary>
    public static CardsPlane Frame(CardsPlane plane, IReadOnlyList<CardPhoto> photos)
    {
        PlacedCard[] used = [.. plane.Cards.Where(c => c.Used)];
        double cx = used.Average(c => c.Middle.X);
        double cy = used.Average(c => c.Middle.Y);
        double spread = used.SelectMany(c => c.Outline).Max(p => Math.Sqrt(Square(p.X - cx) + Square(p.Y - cy)));
        double left = used.SelectMany(c => c.Outline).Min(p => p.X);
        double right = used.SelectMany(c => c.Outline).Max(p => p.X);
        double top = used.SelectMany(c => c.Outline).Min(p => p.Y);
        double bottom = used.SelectMany(c => c.Outline).Max(p => p.Y);
        for (int p = 0; p < photos.Count; p++)
        {
            PlaneFit fit = plane.Planes[p];
            for (int i = 0; i <= Steps; i++)
            {
                for (int j = 0; j <= Steps; j++)
                {
                    Point<ClothSpace> at = fit.ClothFromPhoto.Apply(
                        new((photos[p].Width - 1.0) * i / Steps, (photos[p].Height - 1.0) * j / Steps)
                    );
                    bool near = at.IsFinite && Math.Sqrt(Square(at.X - cx) + Square(at.Y - cy)) < MostReach * spread;
                    if (near && PlaneFromCorners.DensityAt(fit.PhotoFromCloth, at) > LeastDensity * fit.PixelsPerInch)
                    {
                        left = Math.Min(left, at.X);
                        right = Math.Max(right, at.X);
                        top = Math.Min(top, at.Y);
                        bottom = Math.Max(bottom, at.Y);
                    }
                }
            }
        }

        // Cloth that no photo shows at all is cut away from the sides, down to the cards.
        double cardLeft = used.SelectMany(c => c.Outline).Min(p => p.X);
        double cardRight = used.SelectMany(c => c.Outline).Max(p => p.X);
        double cardTop = used.SelectMany(c => c.Outline).Min(p => p.Y);
        double cardBottom = used.SelectMany(c => c.Outline).Max(p => p.Y);
        double step = Math.Max(right - left, bottom - top) / 100;
        bool trimmed = true;
        while (trimmed)
        {
            trimmed = false;
            if (left + step < cardLeft && Unseen(i => new(left, top + i * (bottom - top))))
            {
                (left, trimmed) = (left + step, true);
            }

            if (right - step > cardRight && Unseen(i => new(right, top + i * (bottom - top))))
            {
                (right, trimmed) = (right - step, true);
            }

            if (top + step < cardTop && Unseen(i => new(left + i * (right - left), top)))
            {
                (top, trimmed) = (top + step, true);
            }

            if (bottom - step > cardBottom && Unseen(i => new(left + i * (right - left), bottom)))
            {
                (bottom, trimmed) = (bottom - step, true);
            }
        }

        return plane.WithArea(new(left, top), Length.FromInches(right - left), Length.FromInches(bottom - top));

        // Whether more than a tenth of a side, given by its share from 0 to 1, lies outside all photos.
        bool Unseen(Func<double, Point<ClothSpace>> side)
        {
            const int Along = 40;
            int unseen = 0;
            for (int i = 0; i <= Along; i++)
            {
                Point<ClothSpace> at = side(i / (double)Along);
                bool shown = false;
                for (int p = 0; p < photos.Count && !shown; p++)
                {
                    Point<PhotoSpace> q = plane.Planes[p].PhotoFromCloth.Apply(at);
                    shown = q.X >= 0 && q.Y >= 0 && q.X <= photos[p].Width - 1 && q.Y <= photos[p].Height - 1;
                }

                unseen += shown ? 0 : 1;
            }

            return unseen > Along / 10;
        }
    }

    private static double Square(double v) => v * v;
}
