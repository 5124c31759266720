using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Standard deviations of the points, one axis.</summary>
/// <remarks>
/// <para>
/// Each seam that meets at a point holds it across its own direction, with the variance σ² = (g · photo pixel)² + 4 s² / n +
/// (u (1 − support))². The first is what a whole seam shares, which no number of places averages out; on made tops it goes
/// with the size of the photo's pixels on the cloth. In the second s is the scatter about the fitted line; the variance of a
/// regression line at its end is 4 s² / n (N. R. Draper and H. Smith, "Applied Regression Analysis", 1998, 1.4), n being the
/// number of independent places. Neighbouring places are off together, so there are fewer of these than of measured ones:
/// measured / ℓ, ℓ = Σ ρ(lag) over all lags, the sum of the correlations along the seam (G. V. Bayley and J. M. Hammersley,
/// "The 'effective' number of independent observations in an autocorrelated time series", 1946). The third: where little of a
/// seam is seen, what is measured may be a print.
/// </para>
/// <para>
/// The information of the seams adds up; a side of the mapped area, being given, holds its coordinate. The scale's own error is
/// added in quadrature. g, ℓ and u are of greatest likelihood (D. A. Harville, "Maximum likelihood approaches to variance
/// component estimation", 1977) for 3,590 coordinates of found points on 28 made tops whose corners were given exactly.
/// </para>
/// </remarks>
internal sealed class PointSigma
{
    // Measured places that are worth one independent place: about two inches of seam.
    private const double PlacesPerMeasure = 65;

    // What a whole seam shares, in pixels of the photo.
    private const double SharedPhotoPixels = 0.42;

    // Where nothing of a seam is seen.
    private const double UnseenPixels = 15;

    // An axis along which nothing was measured: even over the 1/8 in to either side that piecing may be off.
    private static readonly double PriorInches = 0.125 / Math.Sqrt(3);

    private readonly List<(Point<ClothSpace> Place, double Inches)> known;
    private readonly Func<Point<ClothSpace>, Length>? scaleSigma;

    /// <param name="graph">The points.</param>
    /// <param name="evidence">What they were found in.</param>
    /// <param name="scaleSigma">The scale's own error; null for none.</param>
    /// <param name="photoPixelsPerInch">Of the photograph; null where unknown: as many as the evidence has.</param>
    public PointSigma(
        SeamGraph graph,
        EvidenceMap evidence,
        Func<Point<ClothSpace>, Length>? scaleSigma,
        double? photoPixelsPerInch = null
    )
    {
        this.scaleSigma = scaleSigma;
        double density = evidence.PixelsPerInch;
        double shared = SharedPhotoPixels * density / (photoPixelsPerInch ?? density);
        known =
        [
            .. graph.Points.Select(p =>
                (evidence.ToCloth(p.X, p.Y), PixelsOf(p, shared, PriorInches * density) / density)
            ),
            .. new (double X, double Y)[]
            {
                (graph.Frame.Left, graph.Frame.Top),
                (graph.Frame.Right, graph.Frame.Top),
                (graph.Frame.Right, graph.Frame.Bottom),
                (graph.Frame.Left, graph.Frame.Bottom),
            }.Select(c => (evidence.ToCloth(c.X, c.Y), 0.0)),
        ];
    }

    /// <summary>
    /// One standard deviation at a place: at the mapped area's own corners that of the scale alone, where no point was found as
    /// large as where nothing was measured.
    /// </summary>
    public Length At(Point<ClothSpace> place)
    {
        double own = PriorInches;
        double nearest = 0.1;
        foreach ((Point<ClothSpace> p, double inches) in known)
        {
            double d = p.DistanceTo(place);
            if (d < nearest)
            {
                (own, nearest) = (inches, d);
            }
        }

        double scale = scaleSigma?.Invoke(place).Inches ?? 0;
        return Length.FromInches(Math.Sqrt(own * own + scale * scale));
    }

    private static double PixelsOf(GraphPoint p, double shared, double priorPixels)
    {
        double prior = 1 / (priorPixels * priorPixels);
        double a = prior;
        double b = 0;
        double c = prior;
        foreach (GraphEdge e in p.Edges)
        {
            // A piece of a seam that was split still says how many places the whole had.
            double measured = Math.Min(e.Measured, e.Path.Length);
            if (measured <= 0)
            {
                continue;
            }

            double unseen = UnseenPixels * (1 - e.Support);
            double weight =
                1 / (shared * shared + 4 * e.Scatter * e.Scatter * PlacesPerMeasure / measured + unseen * unseen);
            Vector<PictureSpace> n = e.DirectionFrom(p).TurnedLeft;
            a += weight * n.X * n.X;
            b += weight * n.X * n.Y;
            c += weight * n.Y * n.Y;
        }

        // Variance of a free coordinate; both where the point is free.
        if (p.PinnedX && p.PinnedY)
        {
            return 0;
        }

        if (p.PinnedX || p.PinnedY)
        {
            return Math.Sqrt(1 / (p.PinnedX ? c : a));
        }

        return Math.Sqrt((a + c) / (a * c - b * b) / 2);
    }
}
