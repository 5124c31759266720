using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Inches on the cloth as a new photograph shows it, in that photograph's own frame; x right, y down.</summary>
public abstract class SeenSpace : ISpace
{
    private SeenSpace() { }
}

/// <summary>A point where seams meet, as registration compares it.</summary>
/// <param name="At">Place, inches.</param>
/// <param name="Sigma">Standard deviation of one axis.</param>
/// <param name="Directions">Directions in which seams leave, radians from x toward y; empty where they are not known.</param>
public sealed record ClothMark<TSpace>(Point<TSpace> At, Length Sigma, IReadOnlyList<double> Directions)
    where TSpace : ISpace;

/// <summary>A patch's colour, to tell blocks of one draft apart by their fabrics.</summary>
/// <param name="At">A place inside the patch, inches.</param>
/// <param name="L">Lightness, 0 to 100 (CIE L*a*b*).</param>
/// <param name="A">Red against green.</param>
/// <param name="B">Yellow against blue.</param>
public sealed record ClothColor<TSpace>(Point<TSpace> At, double L, double A, double B)
    where TSpace : ISpace;

/// <summary>Sides of an area beyond which there is no quilt: its own edge lies there, not only the map's.</summary>
[Flags]
public enum ClosedSides
{
    /// <summary>The quilt may go on everywhere.</summary>
    None = 0,

    /// <summary>It ends at the top.</summary>
    Top = 1,

    /// <summary>It ends at the right.</summary>
    Right = 2,

    /// <summary>It ends at the bottom.</summary>
    Bottom = 4,

    /// <summary>It ends at the left.</summary>
    Left = 8,
}

/// <summary>A piece of quilt as registration sees it.</summary>
/// <param name="Marks">Points where seams meet; those that exist only because the map ends there are left out.</param>
/// <param name="Area">The mapped area, inches.</param>
public sealed record ClothScene<TSpace>(IReadOnlyList<ClothMark<TSpace>> Marks, Box<TSpace> Area)
    where TSpace : ISpace
{
    /// <summary>Colours of patches; may be empty.</summary>
    public IReadOnlyList<ClothColor<TSpace>> Colors { get; init; } = [];

    /// <summary>Where the quilt itself ends.</summary>
    public ClosedSides Closed { get; init; }

    /// <summary>The same seen from behind, left and right exchanged.</summary>
    internal ClothScene<TSpace> Mirrored()
    {
        Point<TSpace> Flip(Point<TSpace> p) => new(Area.Left + Area.Right - p.X, p.Y);
        bool left = Closed.HasFlag(ClosedSides.Left);
        bool right = Closed.HasFlag(ClosedSides.Right);
        return this with
        {
            Marks =
            [
                .. Marks.Select(m =>
                    m with
                    {
                        At = Flip(m.At),
                        Directions = [.. m.Directions.Select(d => Math.PI - d)],
                    }
                ),
            ],
            Colors = [.. Colors.Select(c => c with { At = Flip(c.At) })],
            Closed =
                (Closed & (ClosedSides.Top | ClosedSides.Bottom))
                | (left ? ClosedSides.Right : ClosedSides.None)
                | (right ? ClosedSides.Left : ClosedSides.None),
        };
    }
}
