using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows;

/// <summary>One fault of a drawn path.</summary>
/// <param name="Seam">Id of the seam, or null where it concerns none.</param>
/// <param name="At">Where it is, inches.</param>
/// <param name="Length">How much of the line it concerns.</param>
public sealed record PathFault(string? Seam, Point<ClothSpace> At, Length Length);

/// <summary>A drawn path, judged.</summary>
/// <param name="Score">1 for a path without fault, 0 at worst.</param>
public sealed record JudgedPath(
    IReadOnlyList<PathFault> Missed,
    IReadOnlyList<PathFault> Doubled,
    IReadOnlyList<PathFault> Crossed,
    IReadOnlyList<PathFault> Broken,
    double Score,
    IReadOnlyList<Finding> Findings
);

/// <summary>Judges a path drawn by hand against a quilt map.</summary>
public static class CheckDrawing
{
    /// <summary>Reads both files and judges.</summary>
    /// <param name="quilt">A quilt map's file.</param>
    /// <param name="drawn">A drawing's file: JSON strokes or SVG, inches.</param>
    /// <exception cref="InputException">A file can't be used.</exception>
    public static JudgedPath Run(string quilt, string drawn, CancellationToken cancellation = default)
    {
        (QuiltMap map, IReadOnlyList<Finding> findings) = InputFiles.ReadPlaneMap(quilt);
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes = DrawnStrokes.Read(InputFiles.ReadAll(drawn), drawn);
        DrawnJudgement j = DrawnRoute.Judge(map, strokes, cancellation);
        return new(Faults(j.Missed), Faults(j.Doubled), Faults(j.Crossed), Faults(j.Broken), j.Score, findings);
    }

    private static PathFault[] Faults(IReadOnlyList<DrawnFault> faults) =>
        [.. faults.Select(f => new PathFault(f.Seam, f.At, f.Length))];
}
