using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>One block as measured, seam to seam. Lengths are inches, angles degrees.</summary>
/// <param name="Id">The block's id.</param>
/// <param name="Pattern">Its pattern's id, or null.</param>
/// <param name="Sides">Top, right, bottom, left.</param>
/// <param name="Diagonals">From the top left, from the top right.</param>
/// <param name="Corners">Angles at the top left, top right, bottom right, bottom left.</param>
/// <param name="DiagonalDifference">The first diagonal less the second; 0 for a square, but for an even trapezoid too.</param>
/// <param name="OffAtCorner">
/// What the worst corner's angle means in inches: how far the shorter of its two sides ends from where a right angle would put
/// it. Positive where the corner is wider than a right angle.
/// </param>
/// <param name="Differences">Each side less the drafted one; the drafted one's own error is in the error.</param>
public sealed record BlockReport(
    string Id,
    string? Pattern,
    IReadOnlyList<Measured> Sides,
    IReadOnlyList<Measured> Diagonals,
    IReadOnlyList<Measured> Corners,
    Measured DiagonalDifference,
    Measured OffAtCorner,
    IReadOnlyList<Measured> Differences
)
{
    // A corner of the block and the point of the map that it stands for are this near.
    private const double SamePoint = 0.25;

    /// <summary>Row in the setting from 0, or null.</summary>
    public int? Row { get; init; }

    /// <summary>Column in the setting from 0, or null.</summary>
    public int? Column { get; init; }

    /// <summary>The side that differs most from the drafted size.</summary>
    public Measured WorstDifference => Differences.MaxBy(d => Math.Abs(d.Value));

    /// <summary>Measures a block.</summary>
    /// <param name="map">The map; its points give the error.</param>
    /// <param name="block">One of its blocks.</param>
    /// <param name="drafted">The size that it should have, inches.</param>
    public static BlockReport Of(QuiltMap map, Block block, Measured drafted)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        IReadOnlyList<Point<ClothSpace>> c = block.Corners;
        double[] sigma = SigmasOf(map, block);
        Measured[] sides =
        [
            .. Enumerable.Range(0, 4).Select(i => Measured.From(c, sigma, p => p[i].DistanceTo(p[(i + 1) % 4]))),
        ];
        Measured[] angles = [.. Enumerable.Range(0, 4).Select(i => Measured.From(c, sigma, p => Angle(p, i)))];
        int worst = Enumerable.Range(0, 4).MaxBy(i => Math.Abs(OffAt(c, i)));
        return new(
            block.Id,
            block.Pattern,
            sides,
            [Measured.From(c, sigma, p => p[0].DistanceTo(p[2])), Measured.From(c, sigma, p => p[1].DistanceTo(p[3]))],
            angles,
            Measured.From(c, sigma, p => p[0].DistanceTo(p[2]) - p[1].DistanceTo(p[3])),
            Measured.From(c, sigma, p => OffAt(p, worst)),
            [
                .. sides.Select(s => new Measured(
                    s.Value - drafted.Value,
                    Math.Sqrt(s.Sigma * s.Sigma + drafted.Sigma * drafted.Sigma)
                )),
            ]
        )
        {
            Row = block.Row,
            Column = block.Column,
        };
    }

    /// <summary>Standard deviations of a block's corners, one axis, inches: those of the points that lie there.</summary>
    /// <remarks>
    /// A corner at which the map has no point is known as well as the map's worst point and the distance within which points
    /// are looked for.
    /// </remarks>
    internal static double[] SigmasOf(QuiltMap map, Block block)
    {
        double[] sigmas = new double[4];
        for (int i = 0; i < 4; i++)
        {
            Point<ClothSpace> corner = block.Corners[i];
            Junction? nearest = map.Junctions.MinBy(j => j.Place.DistanceTo(corner));
            double away = nearest?.Place.DistanceTo(corner) ?? double.PositiveInfinity;
            sigmas[i] =
                away <= SamePoint
                    ? nearest!.At.Sigma.Inches
                    : Math.Max(SamePoint, map.Junctions.Select(j => j.At.Sigma.Inches).DefaultIfEmpty(0).Max());
        }

        return sigmas;
    }

    private static double Angle(IReadOnlyList<Point<ClothSpace>> c, int i)
    {
        Vector<ClothSpace> on = c[(i + 1) % 4] - c[i];
        Vector<ClothSpace> back = c[(i + 3) % 4] - c[i];
        return Math.Atan2(on.Cross(back), on.Dot(back)) * 180 / Math.PI;
    }

    private static double OffAt(IReadOnlyList<Point<ClothSpace>> c, int i)
    {
        double shorter = Math.Min(c[i].DistanceTo(c[(i + 1) % 4]), c[i].DistanceTo(c[(i + 3) % 4]));
        return shorter * Math.Sin((Angle(c, i) - 90) * Math.PI / 180);
    }
}
