using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>How large the cloth is in a photograph, and how far aside it is seen, at one place.</summary>
/// <param name="PixelsPerInch">√(photo pixels in a square inch).</param>
/// <param name="TiltDegrees">Angle between the line of sight and straight down on the cloth, 0 to 90.</param>
public readonly record struct PhotoScale(double PixelsPerInch, double TiltDegrees)
{
    /// <summary>Reads both from the map's derivative: a tilt makes the inch shorter one way, by its cosine.</summary>
    /// <param name="photoFromCloth">The cloth's plane.</param>
    /// <param name="at">Where, inches.</param>
    public static PhotoScale At(IMap<PhotoSpace, ClothSpace> photoFromCloth, Point<ClothSpace> at)
    {
        ArgumentNullException.ThrowIfNull(photoFromCloth);
        const double Step = 0.01;
        Vector<PhotoSpace> x =
            photoFromCloth.Apply(new(at.X + Step, at.Y)) - photoFromCloth.Apply(new(at.X - Step, at.Y));
        Vector<PhotoSpace> y =
            photoFromCloth.Apply(new(at.X, at.Y + Step)) - photoFromCloth.Apply(new(at.X, at.Y - Step));

        // Singular values of the 2 × 2 derivative: from its square sum and its determinant.
        double squares = x.Dot(x) + y.Dot(y);
        double area = Math.Abs(x.Cross(y));
        double apart = Math.Sqrt(Math.Max(0, squares * squares - 4 * area * area));
        double ratio = squares + apart > 0 ? Math.Sqrt(Math.Max(0, squares - apart) / (squares + apart)) : 0;
        return new(Math.Sqrt(area) / (2 * Step), Math.Acos(Math.Clamp(ratio, 0, 1)) * 180 / Math.PI);
    }
}

/// <summary>A marker card that a photograph shows whole.</summary>
/// <param name="Number">The number printed on it.</param>
/// <param name="Scale">How large and from where it is seen.</param>
public readonly record struct SeenCard(int Number, PhotoScale Scale);

/// <summary>Looks which marker cards a photograph shows.</summary>
public static class CardLook
{
    /// <summary>The cards, by number; a strip counts once.</summary>
    /// <param name="photo">The photograph.</param>
    public static IReadOnlyList<SeenCard> Of(Photo photo)
    {
        ArgumentNullException.ThrowIfNull(photo);
        return
        [
            .. CardFinder
                .Find(photo)
                .Patterns.GroupBy(p => p.Card.Number)
                .OrderBy(g => g.Key)
                .Select(g =>
                    (g.Key, Map: HomographyFit.Fit<PhotoSpace, ClothSpace>(g.First().Corners), g.First().Pattern)
                )
                .Where(g => g.Map is not null)
                .Select(g => new SeenCard(g.Key, PhotoScale.At(g.Map!, new(g.Pattern.X, g.Pattern.Y)))),
        ];
    }
}
