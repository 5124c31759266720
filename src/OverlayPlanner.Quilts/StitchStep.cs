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
            int first = 0;
            for (int i = 1; i <= moves.Count; i++)
            {
                if (i < moves.Count && RunsOn(quilt, moves[i - 1], moves[i]))
                {
                    continue;
                }

                Move[] part = [.. moves.Skip(first).Take(i - first)];
                Side? side = part.Select(m => SideOf(quilt, m)).FirstOrDefault(s => s is not null);
                steps.Add(new(steps.Count + 1, r, first, part, side));
                first = i;
            }
        }

        return steps;
    }

    private static bool RunsOn(QuiltMap quilt, Move a, Move b)
    {
        if (!a.Path.IsLine || !b.Path.IsLine || (a.Kind == MoveKind.Retrace) != (b.Kind == MoveKind.Retrace))
        {
            return false;
        }

        if (Math.Abs(a.Path.EndDirection.AngleTo(b.Path.StartDirection)) > StraightWithin)
        {
            return false;
        }

        Side? sa = SideOf(quilt, a);
        Side? sb = SideOf(quilt, b);
        return sa is null || sb is null || sa == sb;
    }

    private static Side? SideOf(QuiltMap quilt, Move move)
    {
        if (move.Seam is null || quilt.FindSeam(move.Seam) is not { Ditch: { } ditch } seam)
        {
            return null;
        }

        bool along = quilt.JunctionOf(seam.From).Place == move.Path.From;
        return along ? ditch
            : ditch == Side.Left ? Side.Right
            : Side.Left;
    }
}
