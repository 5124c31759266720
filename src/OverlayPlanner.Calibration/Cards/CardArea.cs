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

        return plane.WithArea(new(left, top), Length.FromInches(right - left), Length.FromInches(bottom - top));
    }

    private static double Square(double v) => v * v;
}
