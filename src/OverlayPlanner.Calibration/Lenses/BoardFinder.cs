using OpenCvSharp;
using OpenCvSharp.Aruco;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>What a lens is calibrated with.</summary>
/// <param name="Across">Inner corners across; 0 for the printed lens board.</param>
/// <param name="Down">Inner corners down; 0 for the printed lens board.</param>
/// <param name="Square">Side of a square.</param>
public sealed record CalibrationBoard(int Across, int Down, Length Square)
{
    /// <summary>The printed lens board, of which any part may be seen.</summary>
    public static readonly CalibrationBoard Printed = new(0, 0, LensBoard.Square);

    /// <summary>Whether it is the printed lens board.</summary>
    public bool IsPrinted => Across == 0;

    /// <summary>A plain chessboard, all of whose inner corners must be seen.</summary>
    /// <exception cref="InputException">Fewer than 3 corners either way, or a square that can't be.</exception>
    public static CalibrationBoard Chessboard(int across, int down, Length square)
    {
        if (across < 3 || down < 3 || across > 60 || down > 60)
        {
            throw new InputException(
                string.Create(
                    System.Globalization.CultureInfo.InvariantCulture,
                    $"A chessboard of {across} x {down} inner corners can't be used"
                ),
                "--chessboard",
                "Give the inner corners, where four squares meet, across x down; at least 3 each way, for example 9x6."
            );
        }

        if (!(square.Inches >= 0.05 && square.Inches <= 40))
        {
            throw new InputException(
                string.Create(
                    System.Globalization.CultureInfo.InvariantCulture,
                    $"A square of {square.Inches:0.####} in can't be"
                ),
                "--square",
                "Give the side of one square, from 0.05 to 40 in, for example 1.0 or 25mm."
            );
        }

        return new(across, down, square);
    }
}

/// <summary>Finds the corners of a calibration board in a photo.</summary>
internal static class BoardFinder
{
    // The coarse search needs no more: squares of 4 px in a copy of this size are 10 px in a 12-megapixel photo.
    private const int SearchSide = 1600;

    // Half windows against a square's narrow side. A chessboard's outer row is often cut by its paper: on the reference photos
    // 0.3 gives 0.18 px, 0.4 already 0.31. On the printed board a marker stands a quarter of a square away.
    private const double ChessboardWindow = 0.3;
    private const double PrintedWindow = 0.18;

    /// <summary>The corners found, board inches and photo pixels, and the median side of a square in pixels; null for none.</summary>
    public static (BoardView View, double SquarePixels)? Find(Mat grey, string name, CalibrationBoard board) =>
        board.IsPrinted ? FindPrinted(grey, name) : FindChessboard(grey, name, board);

    private static (BoardView View, double SquarePixels)? FindChessboard(Mat grey, string name, CalibrationBoard board)
    {
        Size size = new(board.Across, board.Down);
        (Mat small, double scale) = GreyPicture.Shrink(grey, SearchSide);
        using Mat smaller = small;
        const ChessboardFlags Flags =
            ChessboardFlags.AdaptiveThresh | ChessboardFlags.NormalizeImage | ChessboardFlags.FastCheck;
        bool found =
            Cv2.FindChessboardCorners(smaller, size, out Point2f[] corners, Flags)
            || Cv2.FindChessboardCorners(smaller, size, out corners, Flags & ~ChessboardFlags.FastCheck)
            || Cv2.FindChessboardCornersSB(smaller, size, out corners, ChessboardFlags.NormalizeImage);
        if (!found)
        {
            return null;
        }

        Point<PhotoSpace>[] at =
        [
            .. corners.Select(c => new Point<PhotoSpace>((c.X + 0.5) / scale - 0.5, (c.Y + 0.5) / scale - 0.5)),
        ];
        List<(Point<PhotoSpace>, Vector<PhotoSpace>, Vector<PhotoSpace>)> predicted = [];
        List<double> sides = [];
        for (int j = 0; j < board.Down; j++)
        {
            for (int i = 0; i < board.Across; i++)
            {
                Vector<PhotoSpace> right = Step(i, j, board.Across - 1, i, 1, 0);
                Vector<PhotoSpace> down = Step(i, j, board.Down - 1, j, 0, 1);
                predicted.Add((at[j * board.Across + i], right, down));
                sides.Add(Math.Min(right.Norm, down.Norm));
            }
        }

        MeasuredCorner?[] refined = CornerRefiner.Refine(grey, predicted, ChessboardWindow);
        List<(Point<ClothSpace>, Point<PhotoSpace>)> points = [];
        for (int k = 0; k < refined.Length; k++)
        {
            if (refined[k] is { } corner)
            {
                points.Add(
                    (new(k % board.Across * board.Square.Inches, k / board.Across * board.Square.Inches), corner.At)
                );
            }
        }

        sides.Sort();
        return (new(name, points), sides[sides.Count / 2]);

        // Half the way between the neighbours; at the board's edge the way to the one neighbour.
        Vector<PhotoSpace> Step(int i, int j, int last, int along, int di, int dj)
        {
            int before = along > 0 ? 1 : 0;
            int after = along < last ? 1 : 0;
            Point<PhotoSpace> a = at[(j - before * dj) * board.Across + i - before * di];
            Point<PhotoSpace> b = at[(j + after * dj) * board.Across + i + after * di];
            return (b - a) * (1.0 / (before + after));
        }
    }

    private static (BoardView View, double SquarePixels)? FindPrinted(Mat grey, string name)
    {
        Dictionary<int, Point<PhotoSpace>[]> markers = MarkerFinder.Find(grey);
        List<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)> outline = [];
        Dictionary<int, (double X, double Y)> places = LensBoard.MarkerPlaces.ToDictionary(m => m.Id, m => (m.X, m.Y));
        Dictionary<int, List<(Point<ClothSpace>, Point<PhotoSpace>)>> own = [];
        double half = LensBoard.Marker.Inches / 2;
        foreach ((int id, Point<PhotoSpace>[] corners) in markers)
        {
            if (!places.TryGetValue(id, out (double X, double Y) p))
            {
                continue;
            }

            own[id] =
            [
                (new(p.X - half, p.Y - half), corners[0]),
                (new(p.X + half, p.Y - half), corners[1]),
                (new(p.X + half, p.Y + half), corners[2]),
                (new(p.X - half, p.Y + half), corners[3]),
            ];
            outline.AddRange(own[id]);
        }

        if (own.Count < 2)
        {
            return null;
        }

        // Each corner is predicted from the markers round it, so that the lens's bend over the board does not matter.
        List<Point<ClothSpace>> wanted = [];
        List<(Point<PhotoSpace>, Vector<PhotoSpace>, Vector<PhotoSpace>)> predicted = [];
        List<double> sides = [];
        foreach (Point<ClothSpace> corner in LensBoard.Corners)
        {
            int[] near =
            [
                .. own.Keys.Where(id =>
                    Math.Abs(places[id].X - corner.X) < 1.1 && Math.Abs(places[id].Y - corner.Y) < 1.1
                ),
            ];
            bool beside = near.Any(id =>
                Math.Abs(places[id].X - corner.X) < 0.6 && Math.Abs(places[id].Y - corner.Y) < 0.6
            );
            if (!beside || near.Length < 2)
            {
                continue;
            }

            if (HomographyFit.Fit<PhotoSpace, ClothSpace>([.. near.SelectMany(id => own[id])]) is not { } map)
            {
                continue;
            }

            Point<PhotoSpace> at = map.Apply(corner);
            Vector<PhotoSpace> right = (map.Apply(corner + new Vector<ClothSpace>(0.1, 0)) - at) * 10;
            Vector<PhotoSpace> down = (map.Apply(corner + new Vector<ClothSpace>(0, 0.1)) - at) * 10;
            wanted.Add(corner);
            predicted.Add((at, right, down));
            sides.Add(Math.Min(right.Norm, down.Norm));
        }

        if (wanted.Count == 0)
        {
            return null;
        }

        MeasuredCorner?[] refined = CornerRefiner.Refine(grey, predicted, PrintedWindow);
        List<(Point<ClothSpace>, Point<PhotoSpace>)> points = [];
        for (int k = 0; k < refined.Length; k++)
        {
            if (refined[k] is { } corner)
            {
                points.Add((wanted[k], corner.At));
            }
        }

        sides.Sort();
        return (new(name, points), sides[sides.Count / 2]);
    }
}
