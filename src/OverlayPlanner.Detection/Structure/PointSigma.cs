using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Standard deviations of the points, one axis.</summary>
/// <remarks>
/// Each seam that meets at a point holds it across its own direction: the end of a line fitted to N independent places with
/// scatter s is known to 2 s / √N (the variance of a regression line at its end is 4 s² / N). Their information adds up; a
/// side of the mapped area, being given, holds its coordinate. The scale's own error is added in quadrature.
/// </remarks>
internal sealed class PointSigma
{
    // Profiles a pixel apart share what they see; four are worth one.
    private const double PixelsPerMeasure = 4;
    private const double LeastScatterPixels = 0.25;

    // A point at which nothing was measured is known to about a seam's width.
    private const double PriorPixels = 5;

    private readonly List<(Point<ClothSpace> Place, double Inches)> known;
    private readonly Func<Point<ClothSpace>, Length>? scaleSigma;

    public PointSigma(SeamGraph graph, EvidenceMap evidence, Func<Point<ClothSpace>, Length>? scaleSigma)
    {
        this.scaleSigma = scaleSigma;
        known = [.. graph.Points.Select(p => (evidence.ToCloth(p.X, p.Y), PixelsOf(p) / evidence.PixelsPerInch))];
    }

    /// <summary>One standard deviation at a place; at the mapped area's own corners that of the scale alone.</summary>
    public Length At(Point<ClothSpace> place)
    {
        double own = 0;
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

    private static double PixelsOf(GraphPoint p)
    {
        double prior = 1 / (PriorPixels * PriorPixels);
        double a = prior;
        double b = 0;
        double c = prior;
        foreach (GraphEdge e in p.Edges)
        {
            double scatter = Math.Max(LeastScatterPixels, e.Scatter);
            double weight = e.Measured / PixelsPerMeasure / (4 * scatter * scatter);
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
