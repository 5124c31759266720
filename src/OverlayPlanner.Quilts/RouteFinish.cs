using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>What a route that was begun by hand does with the beginning.</summary>
public enum FinishWay
{
    /// <summary>Keeps all that is stitched and goes on from it.</summary>
    GoOn,

    /// <summary>Unpicks back to a point and goes on from there.</summary>
    Unpick,
}

/// <summary>How a half-stitched block is finished, and what that costs from here.</summary>
/// <param name="Way">Go on, or unpick first.</param>
/// <param name="StitchedMoves">Moves of the route that are stitched already and stay.</param>
/// <param name="Point">Id of the point where stitching goes on.</param>
/// <param name="At">Its place, inches.</param>
/// <param name="NewStarts">Starts still to make.</param>
/// <param name="Backtracking">Length still to be stitched twice.</param>
/// <param name="Unpicked">Length to unpick first.</param>
/// <param name="Overlap">Length by which a thread that ties in again covers the old stitches; zero on a whole thread.</param>
/// <param name="Seconds">Time that all of that takes, by the user's figures.</param>
/// <param name="IsLeast">True where what is left can't be finished for less by the thread wish.</param>
public sealed record RouteFinish(
    FinishWay Way,
    int StitchedMoves,
    string Point,
    Point<ClothSpace> At,
    int NewStarts,
    Length Backtracking,
    Length Unpicked,
    Length Overlap,
    double Seconds,
    bool IsLeast
);
