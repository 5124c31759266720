using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>One move of the needle as a player shows it.</summary>
/// <param name="Path">SVG path data, cloth inches.</param>
/// <param name="Inches">Its length.</param>
/// <param name="Words">What is done on it, in words.</param>
/// <param name="IsStart">True where a thread starts with it.</param>
/// <param name="IsBacktrack">True where it goes over a line stitched before.</param>
public sealed record NeedleMove(string Path, double Inches, string Words, bool IsStart, bool IsBacktrack);

/// <summary>A choice's whole way, move by move, in the order stitched.</summary>
/// <param name="Moves">The moves.</param>
/// <param name="Left">Cloth inches of the left edge of what it covers.</param>
/// <param name="Top">Of the top edge.</param>
/// <param name="Width">Inches across.</param>
/// <param name="Height">Inches down.</param>
public sealed record NeedleWay(IReadOnlyList<NeedleMove> Moves, double Left, double Top, double Width, double Height)
{
    /// <summary>Length of all moves, inches.</summary>
    public double Inches => Moves.Sum(m => m.Inches);

    /// <summary>The way of a choice.</summary>
    /// <param name="choice">The choice; it must have a move.</param>
    /// <param name="words">How lengths are said.</param>
    /// <exception cref="InputException">The choice has no move.</exception>
    public static NeedleWay Of(RouteCandidate choice, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(choice);
        ArgumentNullException.ThrowIfNull(words);
        List<NeedleMove> moves = [];
        foreach (Run run in choice.Runs)
        {
            for (int i = 0; i < run.Moves.Count; i++)
            {
                Move move = run.Moves[i];
                moves.Add(
                    new(
                        SvgWay.Of(move.Path),
                        move.Path.Length,
                        Say(move, words),
                        IsStart: i == 0,
                        IsBacktrack: move.Kind == MoveKind.Retrace
                    )
                );
            }
        }

        if (moves.Count == 0)
        {
            throw new InputException("The choice has no stitch", $"choice {choice.Name}", "Plan the choices again.");
        }

        Point<ClothSpace>[] places =
        [
            .. choice.AllMoves.SelectMany(m => Enumerable.Range(0, 9).Select(t => m.Path.PointAt(t / 8.0))),
        ];
        double left = places.Min(p => p.X);
        double top = places.Min(p => p.Y);
        return new(moves, left, top, places.Max(p => p.X) - left, places.Max(p => p.Y) - top);
    }

    private static string Say(Move move, LengthWords words)
    {
        string what = move.Kind switch
        {
            MoveKind.Ditch => "In the ditch",
            MoveKind.Frame => "Round the block",
            MoveKind.Retrace => "Backtrack",
            MoveKind.Arc => "Arc",
            _ => "Straight line",
        };
        string ruler = Text(move, "ruler") is { } name ? $", {words.Tell(name)}" : "";
        string edge = Text(move, "side") is { } side ? $", {side} edge" : "";
        return string.Create(
            CultureInfo.InvariantCulture,
            $"{what}, {words.Say(Length.FromInches(move.Path.Length))}{ruler}{edge}"
        );
    }

    private static string? Text(Move move, string field) =>
        move.Unknown.Values.TryGetValue(field, out System.Text.Json.JsonElement value)
        && value.ValueKind == System.Text.Json.JsonValueKind.String
            ? value.GetString()
            : null;
}
