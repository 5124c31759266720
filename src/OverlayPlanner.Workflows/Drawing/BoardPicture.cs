using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>One move as a screen draws it, cloth inches.</summary>
/// <param name="Number">From 1.</param>
/// <param name="Way">SVG path data.</param>
/// <param name="X">Where its number stands, beside the middle of the line.</param>
/// <param name="Y">The same, down.</param>
/// <param name="Arrow">SVG path data of an arrow head on the line's middle.</param>
/// <param name="IsAgain">True where it goes over a line already stitched.</param>
public sealed record MovePicture(int Number, string Way, double X, double Y, string Arrow, bool IsAgain);

/// <summary>A board as a screen draws it: cloth inches, x right, y down.</summary>
/// <param name="Left">The view's left edge.</param>
/// <param name="Top">The view's top edge.</param>
/// <param name="Width">The view's width.</param>
/// <param name="Height">The view's height.</param>
/// <param name="Seams">SVG path data of all seams.</param>
/// <param name="StillToDo">SVG path data of the seams that are left.</param>
/// <param name="Points">Every point of the block.</param>
/// <param name="Moves">The moves.</param>
/// <param name="Crossed">Where the path crosses itself.</param>
/// <param name="Needle">Where the needle is, or null.</param>
/// <param name="Lost">The point from which another way would have saved a start, or null.</param>
public sealed record BoardPicture(
    double Left,
    double Top,
    double Width,
    double Height,
    string Seams,
    string StillToDo,
    IReadOnlyList<Point<ClothSpace>> Points,
    IReadOnlyList<MovePicture> Moves,
    IReadOnlyList<Point<ClothSpace>> Crossed,
    Point<ClothSpace>? Needle,
    Point<ClothSpace>? Lost
)
{
    /// <summary>The board as it stands.</summary>
    public static BoardPicture Of(DrawingBoard board)
    {
        ArgumentNullException.ThrowIfNull(board);
        BlockLines lines = board.Lines;
        Box<ClothSpace> view = lines.Bounds.Grown(0.07 * lines.Side);
        PathStanding standing = board.Standing;
        HashSet<int> again = [.. standing.Again];
        HashSet<Edge<ClothSpace>> been = [];
        return new(
            view.Left,
            view.Top,
            view.Width,
            view.Height,
            lines.Way,
            SvgWay.Of(standing.Left.Select(id => lines.Map.EdgeOf(lines.Map.SeamOf(id)))),
            lines.Places,
            [
                .. board.Moves.Select(
                    (m, i) => PictureOf(m, i, again.Contains(i), been.Add(m.Path) ? lines.Side : -lines.Side)
                ),
            ],
            standing.Crossed,
            board.Needle is { } n ? lines.PlaceOf(n) : null,
            standing.LostAt is { } lost ? lines.PlaceOf(board.Moves[lost].From) : null
        );
    }

    /// <summary>Where a point is, for its ring.</summary>
    /// <returns>Null where the block has no such point.</returns>
    public static Point<ClothSpace>? PlaceOf(DrawingBoard board, string? point)
    {
        ArgumentNullException.ThrowIfNull(board);
        return point is not null && board.Lines.Has(point) ? board.Lines.PlaceOf(point) : null;
    }

    /// <summary>A point's place from the block's top left corner, in words.</summary>
    public static string SayPlace(DrawingBoard board, string point, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(board);
        ArgumentNullException.ThrowIfNull(words);
        Vector<ClothSpace> d =
            board.Lines.PlaceOf(point) - new Point<ClothSpace>(board.Lines.Bounds.Left, board.Lines.Bounds.Top);
        return $"{words.Say(Length.FromInches(d.X))} from the left, {words.Say(Length.FromInches(d.Y))} from the top";
    }

    // A line that is stitched twice carries its second number on the other side: travel turns round, and left with it. Where both
    // ways run alike, a negative side puts the second to the right.
    private static MovePicture PictureOf(DrawnMove m, int i, bool again, double side)
    {
        Point<ClothSpace> middle = m.Path.PointAt(0.5);
        Vector<ClothSpace> way = m.Path.DirectionAt(0.5);
        Vector<ClothSpace> left = way.TurnedLeft;
        Point<ClothSpace> number = middle + left * (0.03 * side);
        double s = 0.016 * Math.Abs(side);
        Point<ClothSpace> tip = middle + way * s;
        Point<ClothSpace> a = middle - way * s + left * (0.7 * s);
        Point<ClothSpace> b = middle - way * s - left * (0.7 * s);
        string arrow =
            $"M{SvgWay.Number(tip.X)} {SvgWay.Number(tip.Y)}L{SvgWay.Number(a.X)} {SvgWay.Number(a.Y)}L{SvgWay.Number(b.X)} {SvgWay.Number(b.Y)}Z";
        return new(i + 1, SvgWay.Of(m.Path), number.X, number.Y, arrow, again);
    }
}
