using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>Whether confidence means something: of seams said to be so sure, so many are there.</summary>
internal sealed class ConfidenceScore
{
    private const int Bins = 10;
    private const double Sure = 0.9;

    private readonly List<(double Said, bool There)> seams = [];

    /// <summary>
    /// Expected calibration error: ten equal bins of confidence; the mean gap between what was said and what was so, weighted by
    /// use (M. Naeini, G. Cooper, M. Hauskrecht, "Obtaining well calibrated probabilities using Bayesian binning", 2015).
    /// </summary>
    public double CalibrationError =>
        seams
            .GroupBy(s => Math.Min(Bins - 1, (int)(s.Said * Bins)))
            .Sum(g => Math.Abs(g.Average(s => s.Said) - g.Average(s => s.There ? 1.0 : 0)) * g.Count() / seams.Count);

    /// <summary>Of the seams said to be at least 90 % sure: how many, and how many of those are there.</summary>
    public (int Said, int There) SureOnes =>
        (seams.Count(s => s.Said >= Sure), seams.Count(s => s.Said >= Sure && s.There));

    /// <summary>Of the seams said to be less than 90 % sure: how many, and how many of those are there.</summary>
    public (int Said, int There) OtherOnes =>
        (seams.Count(s => s.Said < Sure), seams.Count(s => s.Said < Sure && s.There));

    /// <summary>All seams of several.</summary>
    public static ConfidenceScore Sum(IEnumerable<ConfidenceScore> parts)
    {
        ConfidenceScore sum = new();
        foreach (ConfidenceScore part in parts)
        {
            sum.seams.AddRange(part.seams);
        }

        return sum;
    }

    /// <summary>Adds the inner seams of a found map; one is there where true seams run within the tolerance along all of it.</summary>
    public void Add(QuiltMap found, QuiltMap truth, double tolerance)
    {
        Edge<ClothSpace>[] paths = [.. truth.Seams.Select(truth.EdgeOf)];
        Box<ClothSpace>[] boxes = [.. paths.Select(p => Box<ClothSpace>.Around(p.Flatten(0.02)))];
        foreach (Seam s in found.Seams.Where(s => s.Role != SeamRole.Edge))
        {
            Edge<ClothSpace> path = found.EdgeOf(s);
            bool there = Enumerable
                .Range(1, 4)
                .All(k =>
                {
                    Point<ClothSpace> at = path.PointAt(k / 5.0);
                    for (int i = 0; i < paths.Length; i++)
                    {
                        Box<ClothSpace> b = boxes[i];
                        bool near =
                            at.X > b.Left - tolerance
                            && at.X < b.Right + tolerance
                            && at.Y > b.Top - tolerance
                            && at.Y < b.Bottom + tolerance;
                        if (near && paths[i].Nearest(at).Distance <= tolerance)
                        {
                            return true;
                        }
                    }

                    return false;
                });
            seams.Add((s.Confidence, there));
        }
    }
}
