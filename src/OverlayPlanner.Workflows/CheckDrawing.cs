using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;

namespace OverlayPlanner.Workflows;

/// <summary>One fault of a drawn path.</summary>
/// <param name="Seam">Id of the seam, or null where it concerns none.</param>
/// <param name="At">Where it is, inches.</param>
/// <param name="Length">How much of the line it concerns.</param>
public sealed record PathFault(string? Seam, Point<ClothSpace> At, Length Length);

/// <summary>Where a drawn path lost the best that was possible over the lines that it stitches.</summary>
/// <param name="Point">Id of the point: the nearest mend is to go on otherwise from there.</param>
/// <param name="At">Its place, inches.</param>
/// <param name="MoreStarts">Starts that it costs.</param>
/// <param name="MoreBacktracking">Backtracking that it costs.</param>
/// <param name="MoreCrossings">Crossings that can no longer be avoided.</param>
/// <param name="Words">The same in words.</param>
public sealed record PathLoss(
    string Point,
    Point<ClothSpace> At,
    int MoreStarts,
    Length MoreBacktracking,
    int MoreCrossings,
    string Words
);

/// <summary>A drawn path, judged.</summary>
/// <param name="Score">1 for a path without fault, 0 at worst.</param>
public sealed record JudgedPath(
    IReadOnlyList<PathFault> Missed,
    IReadOnlyList<PathFault> Doubled,
    IReadOnlyList<PathFault> Crossed,
    IReadOnlyList<PathFault> Broken,
    double Score,
    IReadOnlyList<Finding> Findings
)
{
    /// <summary>Where the best possible was lost, or null where it was not.</summary>
    public PathLoss? Loss { get; init; }
}

/// <summary>Judges a path drawn by hand against a quilt map.</summary>
public static class CheckDrawing
{
    private const double MuchStray = 0.25;

    /// <summary>Reads both files and judges.</summary>
    /// <param name="quilt">A quilt map's file.</param>
    /// <param name="drawn">A drawing's file: JSON strokes or SVG, inches.</param>
    /// <exception cref="InputException">A file can't be used.</exception>
    public static JudgedPath Run(string quilt, string drawn, CancellationToken cancellation = default)
    {
        (QuiltMap map, IReadOnlyList<Finding> findings) = InputFiles.ReadPlaneMap(quilt);
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes = DrawnStrokes.Read(InputFiles.ReadAll(drawn), drawn);
        DrawnJudgement j = DrawnRoute.Judge(map, strokes, cancellation);
        DrawnPath path = DrawnRoute.Follow(map, strokes, cancellation);
        return new(
            Faults(j.Missed),
            Faults(j.Doubled),
            Faults(j.Crossed),
            Faults(j.Broken),
            j.Score,
            [.. findings, .. OffTheLines(strokes, path)]
        )
        {
            Loss = LossOf(map, path, cancellation),
        };
    }

    // A drawing of another block of the same size follows some lines by chance.
    private static IEnumerable<Finding> OffTheLines(
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes,
        DrawnPath path
    )
    {
        if (path.Threads.All(t => t.Count == 0))
        {
            yield return new(
                "follows-no-line",
                "the drawing",
                "Nothing that is drawn lies on a line of this map. Draw in inches on this map, along its seams, or take the map that belongs to the drawing."
            );
            yield break;
        }

        double drawn = strokes.Sum(s => s.Zip(s.Skip(1), (a, b) => a.DistanceTo(b)).Sum());
        if (path.Stray.Inches > MuchStray * drawn)
        {
            yield return new(
                "much-beside-the-lines",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{path.Stray.ToSixteenths()} of {Length.FromInches(drawn).ToSixteenths()} in drawn"
                ),
                "This much follows no line of the map. See that the drawing belongs to this map and not to another block."
            );
        }
    }

    // Over the lines that are drawn and the seams that are left, by fewest starts.
    private static PathLoss? LossOf(QuiltMap map, DrawnPath path, CancellationToken cancellation)
    {
        if (path.Threads.All(t => t.Count == 0))
        {
            return null;
        }

        RouteWishes wishes = new() { Lines = LineChoice.Seams, Candidates = 1 };
        return RouteFinisher.Finish(map, path, new(wishes), cancellation).Lost is { } l
            ? new(l.Point, l.At, l.MoreStarts, l.MoreBacktracking, l.MoreCrossings, l.Words)
            : null;
    }

    private static PathFault[] Faults(IReadOnlyList<DrawnFault> faults) =>
        [.. faults.Select(f => new PathFault(f.Seam, f.At, f.Length))];
}
