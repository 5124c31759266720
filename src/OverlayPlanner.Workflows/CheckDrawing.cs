using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows;

/// <summary>Judges a path drawn by hand against a quilt map.</summary>
public static class CheckDrawing
{
    /// <summary>Reads both files and judges.</summary>
    /// <param name="quilt">A quilt map's file.</param>
    /// <param name="drawn">A drawing's file: JSON strokes or SVG, inches.</param>
    /// <exception cref="InputException">A file can't be used.</exception>
    public static (DrawnJudgement Judgement, IReadOnlyList<Finding> Findings) Run(
        string quilt,
        string drawn,
        CancellationToken cancellation = default
    )
    {
        (QuiltMap map, IReadOnlyList<Finding> findings) = InputFiles.ReadPlaneMap(quilt);
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes = DrawnStrokes.Read(InputFiles.ReadAll(drawn), drawn);
        return (DrawnRoute.Judge(map, strokes, cancellation), findings);
    }
}
