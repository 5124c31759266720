using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>What became of one photo of a board.</summary>
public enum BoardPhotoUse
{
    /// <summary>It was used.</summary>
    Used,

    /// <summary>No board was found.</summary>
    NoBoard,

    /// <summary>Too little of the board was seen.</summary>
    TooFewCorners,

    /// <summary>The corners are smeared.</summary>
    Blurred,

    /// <summary>The board lay so flat to the line of sight that its corners can't be measured.</summary>
    TooSteep,

    /// <summary>Its corners disagree with the other photos'.</summary>
    Disagrees,
}

/// <summary>One photo of the board.</summary>
/// <param name="Name">The photo's file.</param>
/// <param name="Use">What became of it.</param>
/// <param name="Corners">How many corners were measured.</param>
/// <param name="RmsPixels">Root mean square of their 2-D distances from where the lens shows them; NaN where unused.</param>
/// <param name="TiltDegrees">Angle between the board and the picture; NaN where unknown.</param>
/// <param name="BlurPixels">Estimated Gaussian blur of its edges, px; NaN where unknown.</param>
public sealed record BoardPhoto(
    string Name,
    BoardPhotoUse Use,
    int Corners,
    double RmsPixels,
    double TiltDegrees,
    double BlurPixels
);

/// <summary>A calibrated lens.</summary>
/// <param name="Lens">The profile, with covariance and camera.</param>
/// <param name="Model">The chosen distortion model in words, for example "k1, k2".</param>
/// <param name="RmsPixels">Root mean square of the 2-D reprojection distances.</param>
/// <param name="HeldOutRmsPixels">The same in photos that the lens was not fitted to.</param>
/// <param name="Photos">Each photo's lot, in the order given.</param>
/// <param name="Covered">Parts of the frame (3 × 3, row by row) that corners were seen in.</param>
/// <param name="Picture">Corners seen and residuals (one pixel of error is drawn as 40 pixels of the picture), over the frame.</param>
/// <param name="Findings">What a person should know; among them the next photo to take.</param>
public sealed record LensCalibrationResult(
    LensProfile Lens,
    string Model,
    double RmsPixels,
    double HeldOutRmsPixels,
    IReadOnlyList<BoardPhoto> Photos,
    IReadOnlyList<bool> Covered,
    Picture Picture,
    IReadOnlyList<Finding> Findings
);

/// <summary>A lens profile from photos of a board.</summary>
public static class LensCalibration
{
    // Below this a fold of the board's pose and the focal length can hide in each other.
    private const int LeastPhotos = 3;
    private const int LeastCorners = 12;

    // Tangent planes nearer than this to the line of sight squeeze the squares to a third.
    private const double SteepDegrees = 70;

    // A perspective weaker than this in all photos leaves the focal length loose.
    private const double TiltWanted = 15;

    // Blur of this part of a square mixes neighbouring corners.
    private const double MostBlurOfSquare = 0.12;
    private const double MostBlurPixels = 4;

    private static readonly string[] PartNames =
    [
        "the top left corner",
        "the top edge",
        "the top right corner",
        "the left edge",
        "the middle",
        "the right edge",
        "the bottom left corner",
        "the bottom edge",
        "the bottom right corner",
    ];

    /// <summary>Solves the lens.</summary>
    /// <param name="photos">Photos by one camera at one zoom, upright and uncropped, at least three.</param>
    /// <param name="board">What they show.</param>
    /// <remarks>
    /// The distortion terms are those with the least error in photos that were left out of the fit, in turn; of models within
    /// one standard error of the best, the one with the fewest terms (L. Breiman et al., 1984, the one-standard-error rule).
    /// Photos are searched on all processors; the answer does not depend on their number.
    /// </remarks>
    /// <exception cref="InputException">Too few photos show the board, or the photos are not of one size, or fix no lens.</exception>
    public static LensCalibrationResult Solve(
        IReadOnlyList<Photo> photos,
        CalibrationBoard board,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(photos);
        ArgumentNullException.ThrowIfNull(board);
        CheckSizes(photos);
        int width = photos[0].Picture.Width;
        int height = photos[0].Picture.Height;
        Found[] found = new Found[photos.Count];
        Parallel.For(
            0,
            photos.Count,
            new ParallelOptions { CancellationToken = ct },
            i => found[i] = Look(photos[i], board)
        );
        List<int> used = [.. Enumerable.Range(0, photos.Count).Where(i => found[i].Use == BoardPhotoUse.Used)];
        List<Finding> findings = [];
        if (used.Count < LeastPhotos)
        {
            throw TooFew(found, board);
        }

        (DistortionTerms terms, double heldOut) = ChooseTerms([.. used.Select(i => found[i].View!)], width, height, ct);
        LensSolution solution = SolveWithoutOutliers(found, used, width, height, terms, ct);
        CheckMirror(solution);
        double[] tilt = [.. solution.Poses.Select(Tilt)];
        BoardPhoto[] reports = Report(found, used, solution, tilt);
        bool[] covered = Cover(found, used, width, height);
        FindBadPhotos(reports, board, findings);
        FindAdvice(covered, tilt, used.Count, solution, findings);
        if (solution.RmsPixels > 0.5 && solution.RmsPixels > 0.0003 * width)
        {
            findings.Add(
                new(
                    "lens-fits-badly",
                    string.Create(CultureInfo.InvariantCulture, $"{solution.RmsPixels:0.00} px root mean square"),
                    "Lay the board on something flat and hard, and take the photos again with the zoom untouched."
                )
            );
        }

        LensProfile lens = CameraModel.ToProfile(solution.Camera, width, height) with
        {
            Covariance = [.. Enumerable.Range(0, 9).Select(r => Row(solution.Covariance, r))],
            Camera = LensMatch.Describe(photos[used[0]].Facts, used.Count, solution.RmsPixels),
        };
        return new(
            lens,
            NameOf(terms),
            solution.RmsPixels,
            heldOut,
            reports,
            covered,
            LensPicture.Draw(width, height, [.. used.Select(i => found[i].View!)], solution),
            findings
        );
    }

    /// <summary>
    /// Held-out error of each model, best first rule aside: root mean square over photos left out of the fit in five folds, with
    /// the standard error over photos.
    /// </summary>
    internal static IReadOnlyList<(DistortionTerms Terms, double Rms, double Error)> HeldOutErrors(
        IReadOnlyList<BoardView> views,
        int width,
        int height,
        CancellationToken ct = default
    )
    {
        const int MostFolds = 5;
        DistortionTerms[] models =
        [
            DistortionTerms.None,
            DistortionTerms.OneRadial,
            DistortionTerms.TwoRadial,
            DistortionTerms.TwoRadialTangential,
            DistortionTerms.All,
        ];
        int folds = Math.Min(MostFolds, views.Count);
        List<(DistortionTerms, double, double)> errors = [];
        foreach (DistortionTerms terms in models)
        {
            List<double> squares = [];
            for (int fold = 0; fold < folds; fold++)
            {
                BoardView[] rest = [.. views.Where((_, i) => i % folds != fold)];
                if (rest.Length < 2 || LensSolver.Solve(rest, width, height, new(terms), ct) is not { } solved)
                {
                    continue;
                }

                foreach (BoardView view in views.Where((_, i) => i % folds == fold))
                {
                    squares.Add(LensSolver.SolvePose(view, solved.Camera) is { } pose ? pose.Rms * pose.Rms : 1e6);
                }
            }

            if (squares.Count < views.Count)
            {
                continue;
            }

            double mean = squares.Average();
            double spread = Math.Sqrt(squares.Sum(s => (s - mean) * (s - mean)) / (squares.Count - 1.0));
            errors.Add((terms, Math.Sqrt(mean), spread / Math.Sqrt(squares.Count) / (2 * Math.Sqrt(mean))));
        }

        return errors;
    }

    /// <summary>The distortion terms that views of a board bear, and the error of views that were held out, px.</summary>
    internal static (DistortionTerms Terms, double HeldOut) ChooseTerms(
        IReadOnlyList<BoardView> views,
        int width,
        int height,
        CancellationToken ct
    )
    {
        IReadOnlyList<(DistortionTerms Terms, double Rms, double Error)> errors = HeldOutErrors(
            views,
            width,
            height,
            ct
        );
        if (errors.Count == 0)
        {
            return (DistortionTerms.TwoRadial, double.NaN);
        }

        (_, double best, double error) = errors.MinBy(e => e.Rms);
        (DistortionTerms terms, double rms, _) = errors.First(e => e.Rms <= best + error);
        return (terms, rms);
    }

    private static LensSolution SolveWithoutOutliers(
        Found[] found,
        List<int> used,
        int width,
        int height,
        DistortionTerms terms,
        CancellationToken ct
    )
    {
        while (true)
        {
            LensSolution solution =
                LensSolver.Solve([.. used.Select(i => found[i].View!)], width, height, new(terms), ct)
                ?? throw new InputException(
                    "These photos do not fix the lens: the board lies the same way in all of them",
                    "the photos of the board",
                    "Tilt the board, or yourself, about 30 degrees to the left, right, front and back between photos."
                );
            double[] sorted = [.. solution.ViewRms.Order()];
            double median = sorted[sorted.Length / 2];
            int worst = 0;
            for (int i = 1; i < used.Count; i++)
            {
                worst = solution.ViewRms[i] > solution.ViewRms[worst] ? i : worst;
            }

            if (used.Count <= LeastPhotos || solution.ViewRms[worst] < Math.Max(3 * median, 0.3))
            {
                return solution;
            }

            Found bad = found[used[worst]];
            found[used[worst]] = bad with { Use = BoardPhotoUse.Disagrees, Rms = solution.ViewRms[worst] };
            used.RemoveAt(worst);
        }
    }

    private static Found Look(Photo photo, CalibrationBoard board)
    {
        using Mat grey = GreyPicture.From(photo.Picture);
        if (BoardFinder.Find(grey, photo.Name, board) is not var (view, side))
        {
            return new(photo.Name, BoardPhotoUse.NoBoard, null, double.NaN, double.NaN, IsMirrored(grey, board));
        }

        double blur = EdgeBlur(grey, view, board);
        int least = board.IsPrinted ? LeastCorners : board.Across * board.Down * 2 / 3;
        BoardPhotoUse use =
            view.Points.Count < least ? BoardPhotoUse.TooFewCorners
            : blur > Math.Min(MostBlurPixels, MostBlurOfSquare * side) && blur > 1.5 ? BoardPhotoUse.Blurred
            : Squeeze(view) > 1 / Math.Cos(SteepDegrees * Math.PI / 180) ? BoardPhotoUse.TooSteep
            : BoardPhotoUse.Used;
        return new(
            photo.Name,
            use,
            view,
            blur,
            double.NaN,
            use == BoardPhotoUse.TooFewCorners && IsMirrored(grey, board)
        );
    }

    private static bool IsMirrored(Mat grey, CalibrationBoard board)
    {
        if (!board.IsPrinted)
        {
            return false;
        }

        using Mat turned = new();
        Cv2.Flip(grey, turned, FlipMode.Y);
        return BoardFinder.Find(turned, "", board) is var (view, _) && view.Points.Count >= LeastCorners;
    }

    // A chessboard is its own mirror image, but a camera never sees the back of the paper.
    private static void CheckMirror(LensSolution solution)
    {
        foreach (double[] pose in solution.Poses)
        {
            if (!(pose[5] > 0))
            {
                throw new InputException(
                    "The lens can't be solved: a board comes out behind the camera",
                    "the photos of the board",
                    "Take the photos again with the board filling a third to all of the frame."
                );
            }
        }
    }

    /// <summary>Ratio of the longest to the shortest scale of the board in the picture, about its middle.</summary>
    private static double Squeeze(BoardView view)
    {
        if (HomographyFit.Fit<PhotoSpace, ClothSpace>([.. view.Points]) is not { } map)
        {
            return double.PositiveInfinity;
        }

        Point<ClothSpace> middle = new(view.Points.Average(p => p.Board.X), view.Points.Average(p => p.Board.Y));
        (double a, double b, double c, double d) = map.DerivativeAt(middle);
        double sum = a * a + b * b + c * c + d * d;
        double det = Math.Abs(a * d - b * c);
        double root = Math.Sqrt(Math.Max(0, sum * sum - 4 * det * det));
        return Math.Sqrt((sum + root) / Math.Max(1e-12, sum - root));
    }

    /// <summary>
    /// Median Gaussian blur of the edges between neighbouring corners: a step of height h blurred by σ has the steepest slope
    /// h ÷ (σ √2π).
    /// </summary>
    private static double EdgeBlur(Mat grey, BoardView view, CalibrationBoard board)
    {
        double square = board.Square.Inches;
        Dictionary<(int, int), Point<PhotoSpace>> at = [];
        foreach ((Point<ClothSpace> b, Point<PhotoSpace> seen) in view.Points)
        {
            at[((int)Math.Round(b.X / square * 2), (int)Math.Round(b.Y / square * 2))] = seen;
        }

        List<double> blurs = [];
        foreach (((int i, int j), Point<PhotoSpace> p) in at)
        {
            foreach ((int di, int dj) in new[] { (2, 0), (0, 2) })
            {
                if (!at.TryGetValue((i + di, j + dj), out Point<PhotoSpace> q))
                {
                    continue;
                }

                // Across the edge at its middle, a third of a square each way.
                Vector<PhotoSpace> along = q - p;
                Vector<PhotoSpace> across = along.TurnedLeft.Unit;
                Point<PhotoSpace> middle = p.Toward(q, 0.5);
                int reach = (int)Math.Max(2, along.Norm / 4);
                double steepest = 0;
                double low = double.PositiveInfinity;
                double high = double.NegativeInfinity;
                double before = double.NaN;
                for (double t = -reach; t <= reach; t += 0.5)
                {
                    Point<PhotoSpace> s = middle + t * across;
                    double value = GreyPicture.Sample(grey, s.X, s.Y);
                    low = Math.Min(low, value);
                    high = Math.Max(high, value);
                    steepest = double.IsNaN(before) ? 0 : Math.Max(steepest, Math.Abs(value - before) / 0.5);
                    before = value;
                }

                if (high - low > 20 && steepest > 0)
                {
                    blurs.Add((high - low) / (steepest * Math.Sqrt(2 * Math.PI)));
                }
            }
        }

        if (blurs.Count == 0)
        {
            return double.NaN;
        }

        blurs.Sort();
        return blurs[blurs.Count / 2];
    }

    private static double Tilt(double[] pose)
    {
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        return Math.Acos(Math.Clamp(Math.Abs(r[8]), 0, 1)) * 180 / Math.PI;
    }

    private static BoardPhoto[] Report(Found[] found, List<int> used, LensSolution solution, double[] tilt) =>
        [
            .. found.Select(
                (f, i) =>
                {
                    int k = used.IndexOf(i);
                    return new BoardPhoto(
                        f.Name,
                        f.Use,
                        f.View?.Points.Count ?? 0,
                        k >= 0 ? solution.ViewRms[k] : f.Rms,
                        k >= 0 ? tilt[k] : double.NaN,
                        f.Blur
                    );
                }
            ),
        ];

    private static bool[] Cover(Found[] found, List<int> used, int width, int height)
    {
        bool[] covered = new bool[9];
        foreach ((_, Point<PhotoSpace> seen) in used.SelectMany(i => found[i].View!.Points))
        {
            // The outer parts are a fifth of the frame wide: there the distortion is.
            int column =
                seen.X < 0.2 * width ? 0
                : seen.X < 0.8 * width ? 1
                : 2;
            int row =
                seen.Y < 0.2 * height ? 0
                : seen.Y < 0.8 * height ? 1
                : 2;
            covered[3 * row + column] = true;
        }

        return covered;
    }

    private static void FindBadPhotos(BoardPhoto[] photos, CalibrationBoard board, List<Finding> findings)
    {
        foreach (BoardPhoto photo in photos.Where(p => p.Use != BoardPhotoUse.Used))
        {
            string number = photo.Corners.ToString(CultureInfo.InvariantCulture);
            findings.Add(
                photo.Use switch
                {
                    BoardPhotoUse.NoBoard => new(
                        "no-board-in-photo",
                        photo.Name,
                        board.IsPrinted
                            ? "Take it again with the board sharp, evenly lit, and a third of the frame wide."
                            : "Take it again with the whole chessboard and a white rim in the frame, or check --chessboard: it counts inner corners."
                    ),
                    BoardPhotoUse.TooFewCorners => new(
                        "too-few-corners",
                        $"{photo.Name}: {number} corners",
                        "Take it again nearer, with more of the board in the frame."
                    ),
                    BoardPhotoUse.Blurred => new(
                        "photo-is-blurred",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"{photo.Name}: edges are {photo.BlurPixels:0.0} px soft"
                        ),
                        "Take it again with more light, holding still, after the camera has focused."
                    ),
                    BoardPhotoUse.TooSteep => new(
                        "board-too-steep",
                        photo.Name,
                        "Take it again with the board tilted 20 to 50 degrees, not edge on."
                    ),
                    _ => new(
                        "photo-disagrees",
                        string.Create(
                            CultureInfo.InvariantCulture,
                            $"{photo.Name}: {photo.RmsPixels:0.00} px from the lens that the others show"
                        ),
                        "It was left out: the board was bent, moved, or the camera refocused or zoomed. Take it again."
                    ),
                }
            );
        }
    }

    private static void FindAdvice(
        bool[] covered,
        double[] tilt,
        int used,
        LensSolution solution,
        List<Finding> findings
    )
    {
        if (tilt.Max() < TiltWanted)
        {
            findings.Add(
                new(
                    "boards-not-tilted",
                    string.Create(CultureInfo.InvariantCulture, $"the steepest is tilted {tilt.Max():0} degrees"),
                    "Next photo: lean the board, or hold the camera, 30 to 45 degrees aslant; without that the focal length is loose."
                )
            );
        }

        // Corners of the frame first: there the distortion is largest.
        foreach (int part in new[] { 0, 2, 6, 8, 1, 3, 5, 7, 4 })
        {
            if (!covered[part])
            {
                findings.Add(
                    new(
                        "frame-not-covered",
                        PartNames[part],
                        $"Next photo: move the camera so that the board lies in {PartNames[part]} of the frame."
                    )
                );
                break;
            }
        }

        if (used < 8)
        {
            findings.Add(
                new(
                    "few-photos",
                    used.ToString(CultureInfo.InvariantCulture) + " photos of the board",
                    "Take 10 to 15: tilted each way, near and far, in every corner of the frame."
                )
            );
        }

        double focal = solution.SigmaOf(0) / solution.Camera[CameraModel.F];
        if (focal > 0.01)
        {
            findings.Add(
                new(
                    "focal-length-loose",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{solution.Camera[0]:0} px ± {2 * solution.SigmaOf(0):0} px (95 %)"
                    ),
                    "Add photos with the board tilted 30 to 45 degrees to the left, right, front and back."
                )
            );
        }
    }

    private static void CheckSizes(IReadOnlyList<Photo> photos)
    {
        if (photos.Count == 0)
        {
            throw new InputException("There are no photos", "the command", "Give 10 to 15 photos of the board.");
        }

        Photo first = photos[0];
        foreach (Photo photo in photos)
        {
            Picture p = photo.Picture;
            if (p.Width != first.Picture.Width || p.Height != first.Picture.Height)
            {
                bool turned = p.Width == first.Picture.Height && p.Height == first.Picture.Width;
                throw new InputException(
                    "The photos are not of one size",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{photo.Name} is {p.Width} × {p.Height} pixels, {first.Name} is {first.Picture.Width} × {first.Picture.Height}"
                    ),
                    turned
                        ? "Hold the camera the same way up for all photos, and for the quilt too."
                        : "Use photos by one camera at one zoom, uncropped."
                );
            }

            LensMatch.RequireSameLens(photo, first);
        }
    }

    private static InputException TooFew(Found[] found, CalibrationBoard board)
    {
        int seen = found.Count(f => f.Use == BoardPhotoUse.Used);
        string where =
            string.Create(CultureInfo.InvariantCulture, $"{seen} of {found.Length} photos can be used: ")
            + string.Join(", ", found.Select(f => $"{f.Name} {Word(f.Use)}"));
        if (found.Any(f => f.Mirrored))
        {
            return new(
                "The photos are mirrored",
                where,
                "Switch off the camera's selfie mirroring, or use the camera on the back."
            );
        }

        return new(
            "Too few photos show the board",
            where,
            board.IsPrinted
                ? "Take 10 to 15 sharp photos of the printed lens board; at least 3 must show it."
                : "Take 10 to 15 sharp photos of the whole chessboard with its white rim; --chessboard counts inner corners, one fewer than the squares."
        );
    }

    private static string Word(BoardPhotoUse use) =>
        use switch
        {
            BoardPhotoUse.Used => "good",
            BoardPhotoUse.NoBoard => "shows none",
            BoardPhotoUse.TooFewCorners => "shows too little",
            BoardPhotoUse.Blurred => "is blurred",
            BoardPhotoUse.TooSteep => "shows it edge on",
            _ => "disagrees",
        };

    private static string NameOf(DistortionTerms terms) =>
        terms switch
        {
            DistortionTerms.None => "no distortion",
            DistortionTerms.OneRadial => "k1",
            DistortionTerms.TwoRadial => "k1, k2",
            DistortionTerms.ThreeRadial => "k1, k2, k3",
            DistortionTerms.TwoRadialTangential => "k1, k2, p1, p2",
            _ => "k1, k2, p1, p2, k3",
        };

    private static double[] Row(double[,] matrix, int row) => [.. Enumerable.Range(0, 9).Select(c => matrix[row, c])];

    private sealed record Found(
        string Name,
        BoardPhotoUse Use,
        BoardView? View,
        double Blur,
        double Rms,
        bool Mirrored
    );
}
