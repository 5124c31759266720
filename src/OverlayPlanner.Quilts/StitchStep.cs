using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>
/// What hands and head count: one placement of the ruler. Consecutive moves of one kind of line that run on straight with the
/// ruler on one side are one step; every arc is a step of its own.
/// </summary>
/// <param name="Number">1 for the first step of the route; runs on from run to run.</param>
/// <param name="Run">Index of the run.</param>
/// <param name="FirstMove">Index of its first move in the run.</param>
/// <param name="Moves">Its moves.</param>
/// <param name="RulerSide">
/// The side of travel where the ruler lies: the low side of the seam, or null where that is unknown or the line is added.
/// </param>
public sealed record StitchStep(int Number, int Run, int FirstMove, IReadOnlyList<Move> Moves, Side? RulerSide)
{
    // A hand follows a bend of two degrees without placing the ruler anew (common practice, no source).
    private const double StraightWithin = 2 * Math.PI / 180;

    /// <summary>Where the step begins, inches.</summary>
    public Point<ClothSpace> From => Moves[0].Path.From;

    /// <summary>Where the step ends, inches.</summary>
    public Point<ClothSpace> To => Moves[^1].Path.To;

    /// <summary>True where all of it was stitched before.</summary>
    public bool IsBacktrack => Moves[0].Kind == MoveKind.Retrace;

    /// <summary>Length along the step.</summary>
    public Length Length => Length.FromInches(Moves.Sum(m => m.Path.Length));

    /// <summary>The steps of a candidate, in order.</summary>
    public static IReadOnlyList<StitchStep> Of(QuiltMap quilt, RouteCandidate candidate)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        ArgumentNullException.ThrowIfNull(candidate);
        List<StitchStep> steps = [];
        for (int r = 0; r < candidate.Runs.Count; r++)
        {
            IReadOnlyList<Move> moves = candidate.Runs[r].Moves;
            List<Move> step = [];
            Side? side = null;
            for (int i = 0; i < moves.Count; i++)
            {
                Side? next = SideOf(quilt, moves[i]);
                if (step.Count > 0 && !RunsOn(step, side, moves[i], next))
                {
                    steps.Add(new(steps.Count + 1, r, i - step.Count, step, side));
                    step = [];
                    side = null;
                }

                step.Add(moves[i]);
                side ??= next;
            }

            if (step.Count > 0)
            {
                steps.Add(new(steps.Count + 1, r, moves.Count - step.Count, step, side));
            }
        }

        return steps;
    }

    private static bool RunsOn(List<Move> step, Side? side, Move next, Side? nextSide)
    {
        Move last = step[^1];
        if (
            !last.Path.IsLine
            || !next.Path.IsLine
            || last.Kind != next.Kind
            || (last.Seam is null) != (next.Seam is null)
        )
        {
            return false;
        }

        // Against the whole step, or many small bends would add up to a curve that no straight ruler follows.
        Vector<ClothSpace> way = next.Path.StartDirection;
        return Math.Abs(last.Path.EndDirection.AngleTo(way)) <= StraightWithin
            && Math.Abs((last.Path.To - step[0].Path.From).AngleTo(way)) <= StraightWithin
            && (side is null || nextSide is null || side == nextSide);
    }

    private static Side? SideOf(QuiltMap quilt, Move move)
    {
        if (move.Seam is null || quilt.FindSeam(move.Seam) is not { Ditch: { } ditch } seam)
        {
            return null;
        }

        // The nearer end, since a file's numbers may be rounded.
        bool along =
            quilt.JunctionOf(seam.From).Place.DistanceTo(move.Path.From)
            <= quilt.JunctionOf(seam.To).Place.DistanceTo(move.Path.From);
        return along ? ditch
            : ditch == Side.Left ? Side.Right
            : Side.Left;
    }
}
