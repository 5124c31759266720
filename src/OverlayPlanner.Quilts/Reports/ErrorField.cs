using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>How far off a position on a map may be, anywhere on the cloth.</summary>
/// <remarks>
/// <para>
/// A point's error has two sources that are independent: the inches, from the photograph's plane, whose covariance is known
/// everywhere; and what was seen of the point's own seams. The first is taken as it is. The second is what each point's stated
/// standard deviation holds beyond the first; between the points it is interpolated, the nearest counting most, so that at a
/// point the field is what the map states there, and between them never beyond what the points round about have.
/// </para>
/// <para>
/// The weights are those of R. Franke and G. Nielson, "Smooth interpolation of large sets of scattered data" (1980): ((R − d) ÷
/// R d)², R being the distance of the first point that no longer counts. O(points) a place.
/// </para>
/// </remarks>
public sealed class ErrorField
{
    /// <summary>
    /// 95 of 100 positions lie within so many standard deviations of one axis, √(2 ln 20): their errors taken as round and
    /// Gaussian.
    /// </summary>
    public const double SigmasWithin95 = 2.447746830680816;

    private const int Neighbours = 8;

    private readonly Func<Point<ClothSpace>, Length> inches;
    private readonly Point<ClothSpace>[] places;

    // Square inches, one axis, beyond the inches' own; less than zero where a point was put there more surely than they are known.
    private readonly double[] own;

    /// <param name="map">The map, whose points state their errors.</param>
    /// <param name="inches">
    /// Standard deviation, one axis, that the inches bring to a place; not finite where nothing is known. Asked from several
    /// threads at once.
    /// </param>
    public ErrorField(QuiltMap map, Func<Point<ClothSpace>, Length> inches)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(inches);
        this.inches = inches;
        (Point<ClothSpace> Place, double Own)[] known =
        [
            .. map
                .Junctions.Select(j => (j.Place, Square(j.At.Sigma.Inches) - Square(inches(j.Place).Inches)))
                .Where(k => double.IsFinite(k.Item2)),
        ];
        places = [.. known.Select(k => k.Place)];
        own = [.. known.Select(k => k.Own)];
    }

    /// <summary>Standard deviation of a position, one axis; not finite where no number is known.</summary>
    public Length SigmaAt(Point<ClothSpace> place) =>
        Length.FromInches(Math.Sqrt(Math.Max(0, Square(inches(place).Inches) + OwnAt(place))));

    /// <summary>95 of 100 positions at this place are nearer than this to where the map puts them.</summary>
    public Length Within95At(Point<ClothSpace> place) => SigmaAt(place) * SigmasWithin95;

    private double OwnAt(Point<ClothSpace> place)
    {
        if (places.Length == 0)
        {
            return 0;
        }

        // The nearest ones, and one more that says how far they reach.
        Span<double> near = stackalloc double[Neighbours + 1];
        Span<int> which = stackalloc int[Neighbours + 1];
        int count = 0;
        for (int i = 0; i < places.Length; i++)
        {
            double d = places[i].DistanceTo(place);
            if (count == near.Length && d >= near[^1])
            {
                continue;
            }

            int k = count < near.Length ? count++ : count - 1;
            for (; k > 0 && near[k - 1] > d; k--)
            {
                (near[k], which[k]) = (near[k - 1], which[k - 1]);
            }

            (near[k], which[k]) = (d, i);
        }

        if (near[0] == 0)
        {
            return own[which[0]];
        }

        // With fewer points than that all count, however far they are.
        double reach = count == near.Length ? near[^1] : double.PositiveInfinity;
        double sum = 0;
        double all = 0;
        for (int k = 0; k < count; k++)
        {
            double w = 1 / near[k] - 1 / reach;
            sum += w * w * own[which[k]];
            all += w * w;
        }

        // All as far as the one that ends their reach.
        return all > 0 ? sum / all : own[which[0]];
    }

    private static double Square(double v) => v * v;
}
