using System.Diagnostics;
using System.Globalization;
using OpenCvSharp;
using OpenCvSharp.Aruco;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// How good calibration is, against its targets, and beside the stock way: the library's own marker corners and one homography
/// from one card. Fixed seeds.
/// </summary>
public static class CalibrationScoreboard
{
    private const double Sixteenth = 1.0 / 16;
    private const double ThirtySecond = 1.0 / 32;

    /// <summary>Runs all cases.</summary>
    /// <param name="quick">Fewer scenes and solves: some two minutes instead of twenty.</param>
    /// <returns>Case, number with spread, target, and whether it is met.</returns>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        List<(string, string, string, bool)> rows = [];
        Corners(rows, quick);
        Chessboard(rows);
        BlurScore.Add(rows);
        Intervals(rows, quick);
        Positions(rows, quick);
        Mosaic(rows, quick);
        ProjectorScore.Add(rows, quick);
        OntoScore.Add(rows, quick);
        RefitScore.Add(rows, quick);
        PhoneScore.Add(rows, quick);
        Time(rows);
        return rows;
    }

    private static void Corners(List<(string, string, string, bool)> rows, bool quick)
    {
        double[] blurs = quick ? [0.5, 1, 2] : [0.5, 0.75, 1, 1.25, 1.5, 1.75, 2];
        foreach (double blur in blurs)
        {
            double sx = 0;
            double sy = 0;
            double ss = 0;
            double stock = 0;
            double stockX = 0;
            int n = 0;
            int stockCount = 0;
            for (int seed = 0; seed < (quick ? 2 : 5); seed++)
            {
                Random random = new(9_000 + seed);
                CardTruth truth = CardLayouts.Draw(random, CardLayout.LoadedBand, 3, withProfile: true);
                Photo photo = CardRenderer.Render(truth, 0, new(blur, 2, 0), seed);
                CardPhoto exact = CardLayouts.Observe(truth, 0, new Random(1))[0];
                foreach (SeenPattern pattern in CardFinder.Find(photo).Patterns)
                {
                    IReadOnlyList<(Point<ClothSpace> OnCard, Point<PhotoSpace> Seen)> known =
                        exact.Patterns.FirstOrDefault(p => p.Pattern.Id == pattern.Pattern.Id)?.Corners ?? [];
                    foreach ((Point<ClothSpace> on, Point<PhotoSpace> at) in pattern.Corners)
                    {
                        Point<PhotoSpace>? place = known
                            .Where(c => c.OnCard.DistanceTo(on) < 1e-9)
                            .Select(c => (Point<PhotoSpace>?)c.Seen)
                            .FirstOrDefault();
                        if (place is { } t)
                        {
                            Vector<PhotoSpace> d = at - t;
                            sx += d.X;
                            sy += d.Y;
                            ss += d.Dot(d);
                            n++;
                        }
                    }
                }

                foreach ((Point<PhotoSpace> found, Point<PhotoSpace> t) in StockCorners(photo, truth))
                {
                    Vector<PhotoSpace> d = found - t;
                    stock += d.Dot(d);
                    stockX += d.X;
                    stockCount++;
                }
            }

            double rms = Math.Sqrt(ss / n);
            double bias = Math.Max(Math.Abs(sx / n), Math.Abs(sy / n));
            string name = string.Create(
                CultureInfo.InvariantCulture,
                $"chessboard corner, blur {blur:0.00} px, noise 2, {n} corners"
            );
            rows.Add((name + ": RMS", Text($"{rms:0.000} px"), "≤ 0.10 px", rms <= 0.10));
            rows.Add((name + ": bias", Text($"{sx / n:0.000}, {sy / n:0.000} px"), "≤ 0.02 px each", bias <= 0.02));
            if (stockCount > 0)
            {
                rows.Add(
                    (
                        name + ": stock marker corners, subpixel",
                        Text($"{Math.Sqrt(stock / stockCount):0.000} px RMS, {stockX / stockCount:0.000} px bias in x"),
                        "beside",
                        true
                    )
                );
            }
        }
    }

    private static void Chessboard(List<(string, string, string, bool)> rows)
    {
        string? folder = SharedFolder("opencv-chessboard");
        if (folder is null)
        {
            return;
        }

        Photo[] photos = [.. Directory.GetFiles(folder, "left*.jpg").Order().Select(f => PhotoReader.Read(f))];
        LensCalibrationResult lens = LensCalibration.Solve(
            photos,
            CalibrationBoard.Chessboard(9, 6, Length.FromInches(1))
        );
        double sigma = Math.Sqrt(lens.Lens.Covariance![0][0]);
        rows.Add(
            (
                "13 published chessboard photos: reprojection RMS",
                Text($"{lens.RmsPixels:0.000} px, held out {lens.HeldOutRmsPixels:0.000} px, {lens.Model}"),
                "≤ 0.3 px",
                lens.RmsPixels <= 0.3
            )
        );
        rows.Add(
            (
                "13 published chessboard photos: fx, published 533.0 ± 1.1",
                Text($"{lens.Lens.Fx:0.00} ± {3 * sigma:0.00} px (3 sigma)"),
                "within 2.5 px",
                Math.Abs(lens.Lens.Fx - 533.0) <= 2.5
            )
        );
        (double fx, double rms) = StockCalibration(photos);
        rows.Add(
            (
                "13 published chessboard photos: stock OpenCV, window 11",
                Text($"fx {fx:0.00} px, RMS {rms:0.000} px"),
                "beside",
                true
            )
        );
    }

    private static void Intervals(List<(string, string, string, bool)> rows, bool quick)
    {
        int solves = quick ? 200 : 1_000;
        (CardLayout Layout, int Photos, bool Profile, ScaleKnown Scale)[] cases =
        [
            (CardLayout.WholeTop, 1, true, ScaleKnown.No),
            (CardLayout.WholeTop, 1, true, ScaleKnown.ByTape),
            (CardLayout.WholeTop, 1, false, ScaleKnown.ByTape),
            (CardLayout.FourCorners, 1, true, ScaleKnown.ByRuler),
            (CardLayout.LoadedBand, 1, true, ScaleKnown.ByTape),
            (CardLayout.LoadedBand, 3, true, ScaleKnown.ByTape),
            (CardLayout.OneBlock, 1, true, ScaleKnown.ByRuler),
        ];
        foreach ((CardLayout layout, int photos, bool profile, ScaleKnown scale) in cases)
        {
            ErrorTally[] tallies = StatedError.Run(layout, photos, solves, profile, 0.1, 20_000, scale);
            string name = Name(layout, photos, profile, scale);
            for (int region = 0; region < 3; region++)
            {
                ErrorTally t = tallies[region];

                // The spread of a share of n trials at 95 %: one sigma √(0.95 × 0.05 ÷ n).
                double spread = Math.Sqrt(0.95 * 0.05 / t.Count);
                rows.Add(
                    (
                        $"stated 95 % holds, {name}, {StatedError.Regions[region]}",
                        Text(
                            $"{100 * t.Region:0.0} ± {100 * spread:0.0} % of {t.Count} (axes {100 * t.Intervals:0.0} %); error P95 {t.Quantile(0.95):0.000} in"
                        ),
                        "93–97 %",
                        t.Region is >= 0.93 and <= 0.97
                    )
                );
            }
        }
    }

    private static void Positions(List<(string, string, string, bool)> rows, bool quick)
    {
        (CardLayout Layout, int Photos, double Target)[] cases =
        [
            (CardLayout.WholeTop, 1, Sixteenth),
            (CardLayout.FourCorners, 1, Sixteenth),
            (CardLayout.OneBlock, 1, ThirtySecond),
            (CardLayout.LoadedBand, 1, Sixteenth),
            (CardLayout.LoadedBand, 3, Sixteenth),
        ];
        int scenes = quick ? 3 : 15;
        foreach ((CardLayout layout, int photos, double target) in cases)
        {
            ErrorTally tally = new();
            ErrorTally stock = new();
            LeastError least = new();
            int cardsSeen = 0;
            int cardsThere = 0;
            for (int k = 0; k < scenes; k++)
            {
                Scene(layout, photos, 40_000 + k, tally, stock, least, ref cardsSeen, ref cardsThere);
            }

            string name = string.Create(
                CultureInfo.InvariantCulture,
                $"{scenes} rendered scenes, {Word(layout)}, {photos} photo(s), cards flat, print measured"
            );
            double p95 = tally.Quantile(0.95);
            rows.Add(
                (
                    name + ": position",
                    Text(
                        $"P95 {p95:0.0000} in, P50 {tally.Quantile(0.5):0.0000} in, {tally.Count} points; cards found {cardsSeen}/{cardsThere}"
                    ),
                    Text($"P95 ≤ {target:0.0000} in"),
                    p95 <= target
                )
            );
            rows.Add(
                (
                    name + ": stated 95 % holds",
                    Text($"{100 * tally.Region:0.0} % of {tally.Count} points in {scenes} scenes"),
                    "≥ 93 %",
                    tally.Region >= 0.93
                )
            );
            if (layout is CardLayout.WholeTop or CardLayout.FourCorners)
            {
                least.AddRows(rows, name, tally);
            }

            if (stock.Count > 0)
            {
                rows.Add(
                    (
                        name + ": stock, one homography from one card",
                        Text($"P95 {stock.Quantile(0.95):0.000} in"),
                        "beside",
                        true
                    )
                );
            }
        }
    }

    private static void Scene(
        CardLayout layout,
        int photos,
        int seed,
        ErrorTally tally,
        ErrorTally stock,
        LeastError least,
        ref int cardsSeen,
        ref int cardsThere
    )
    {
        Random random = new(seed);
        CardTruth drawn = CardLayouts.Draw(random, layout, photos, withProfile: true);
        CardTruth truth = drawn with
        {
            Print = [1, 1],
            Cards = [.. drawn.Cards.Select(c => (c.Card, new[] { c.Place[0], c.Place[1], c.Place[2], 0, 0, 0 }))],
        };
        double blur = 0.5 + 1.0 * random.NextDouble();
        Photo[] made =
        [
            .. Enumerable.Range(0, photos).Select(p => CardRenderer.Render(truth, p, new(blur, 2, 92), seed)),
        ];
        CardsPlane plane = PlaneFromCards.Solve(
            made,
            new() { Lens = CardLayouts.Nominal(truth.Width, truth.Height), Printed = PrintedSize.Parse("7x9") }
        );
        cardsSeen += plane.Cards.Count(c => c.Used);
        cardsThere += truth.Cards.Count;
        if (photos == 1)
        {
            least.Add(truth, plane.Seen[0], CardLayouts.Nominal(truth.Width, truth.Height), PrintedSize.Parse("7x9"));
        }

        Similarity<ClothSpace, ClothSpace> truthFromMap = StatedError.Lay(truth, plane);
        Homography<ClothSpace, PhotoSpace>? one = photos == 1 ? StockPlane(made[0], truth) : null;
        (double left, double top, double w, double h) = truth.Area;
        for (int i = 0; i <= 8; i++)
        {
            for (int j = 0; j <= 8; j++)
            {
                double x = left + w * i / 8;
                double y = top + h * j / 8;
                for (int p = 0; p < photos; p++)
                {
                    Point<PhotoSpace>? seen = truth.Project(p, x, y);
                    if (!truth.Shows(seen))
                    {
                        continue;
                    }

                    Point<ClothSpace> map = plane.Planes[p].ClothFromPhoto.Apply(seen!.Value);
                    Point<ClothSpace> laid = truthFromMap.Apply(map);
                    double dx = laid.X - x;
                    double dy = laid.Y - y;
                    double c = truthFromMap.A;
                    double s = truthFromMap.B;
                    tally.Add(c * dx + s * dy, -s * dx + c * dy, plane.CovarianceAt(p, map));
                    if (one is not null)
                    {
                        Point<ClothSpace> byOne = one.Apply(seen.Value);
                        stock.Add(byOne.X - x, byOne.Y - y, new(1, 0, 1));
                    }

                    break;
                }
            }
        }
    }

    private static void Mosaic(List<(string, string, string, bool)> rows, bool quick)
    {
        List<double> rms = [];
        List<double> p95 = [];
        int ties = 0;
        for (int k = 0; k < (quick ? 1 : 5); k++)
        {
            CardTruth truth = CardLayouts.Draw(new Random(60_000 + k), CardLayout.LoadedBand, 3, withProfile: true);
            Photo[] made = [.. Enumerable.Range(0, 3).Select(p => CardRenderer.Render(truth, p, new(0.8, 2, 92), k))];
            CardsPlane plane = PlaneFromCards.Solve(
                made,
                new() { Lens = CardLayouts.Nominal(truth.Width, truth.Height) }
            );
            MosaicResult joined = PlaneMosaic.Join(made, plane, Rectification.UsualPixelsPerInch);
            rms.Add(joined.TieRms.Inches * Rectification.UsualPixelsPerInch);
            p95.Add(joined.TieP95.Inches);
            ties += joined.Ties;
        }

        rows.Add(
            (
                $"mosaic of 3 photos, 18 × 90 in at 32 px/in, {Text($"{ties}")} ties: tie RMS",
                Text($"{rms.Average():0.00} px ({rms.Min():0.00} to {rms.Max():0.00})"),
                "≤ 0.5 px",
                rms.Average() <= 0.5
            )
        );
        rows.Add(
            (
                "the same: overlap P95",
                Text($"{p95.Average():0.0000} in ({p95.Min():0.0000} to {p95.Max():0.0000})"),
                "≤ 0.0312 in",
                p95.Average() <= ThirtySecond
            )
        );
    }

    private static void Time(List<(string, string, string, bool)> rows)
    {
        CardTruth truth = CardLayouts.Draw(new Random(70_000), CardLayout.LoadedBand, 1, withProfile: true);
        truth = truth with { Cards = [.. truth.Cards.Where((_, i) => i is not (1 or 8))] };
        Photo photo = CardRenderer.Render(truth, 0, new(0.8, 2, 92), 1);
        CardWishes wishes = new() { Lens = CardLayouts.Nominal(truth.Width, truth.Height) };
        PlaneFromCards.Solve([photo], wishes);
        Stopwatch watch = Stopwatch.StartNew();
        PlaneFromCards.Solve([photo], wishes);
        double one = watch.Elapsed.TotalSeconds;
        rows.Add(("time: 12 MP with 8 cards, decoded photo to plane", Text($"{one:0.00} s"), "≤ 2 s", one <= 2));

        (double all, double gigabytes) = MosaicCost.Measure();
        rows.Add(
            (
                "time: 12 photos of 12 MP to one picture",
                Text($"{all:0.0} s, peak {gigabytes:0.0} GB"),
                "≤ 30 s, ≤ 3 GB",
                all <= 30 && gigabytes <= 3
            )
        );
    }

    /// <summary>The marker's outer corners as the library refines them, each with the true place.</summary>
    private static List<(Point<PhotoSpace> Found, Point<PhotoSpace> True)> StockCorners(Photo photo, CardTruth truth)
    {
        using Mat grey = GreyPicture.From(photo.Picture);
        using ArucoDetector detector = new(
            Markers.Dictionary,
            new DetectorParameters
            {
                CornerRefinementMethod = CornerRefineMethod.Subpix,
                MinMarkerPerimeterRate = 0.01,
            },
            new RefineParameters()
        );
        detector.DetectMarkers(grey, out Point2f[][] corners, out int[] ids, out _);
        List<(Point<PhotoSpace>, Point<PhotoSpace>)> pairs = [];
        for (int k = 0; k < ids.Length; k++)
        {
            foreach ((TargetCard card, double[] place) in truth.Cards.Where(c => c.Card.Number == ids[k]))
            {
                double half = card.Side.Inches * 3 / 16;
                (double, double)[] outline = [(-half, -half), (half, -half), (half, half), (-half, half)];
                for (int c = 0; c < 4; c++)
                {
                    double[] world = new double[3];
                    CardModel.Place(
                        place,
                        truth.Print,
                        false,
                        outline[c].Item1,
                        outline[c].Item2,
                        world,
                        [],
                        new double[6]
                    );
                    if (truth.Project(0, world[0], world[1], -world[2]) is { } t)
                    {
                        pairs.Add((new(corners[k][c].X, corners[k][c].Y), t));
                    }
                }
            }
        }

        return pairs;
    }

    /// <summary>The usual recipe: one card's marker, its four corners, one homography for the whole picture.</summary>
    private static Homography<ClothSpace, PhotoSpace>? StockPlane(Photo photo, CardTruth truth)
    {
        List<(Point<PhotoSpace> From, Point<ClothSpace> To)> pairs = [];
        foreach ((Point<PhotoSpace> found, Point<PhotoSpace> t) in StockCorners(photo, truth))
        {
            // Which true cloth point this corner is: the nearest of the first card found.
            foreach ((TargetCard card, double[] place) in truth.Cards)
            {
                double half = card.Side.Inches * 3 / 16;
                foreach ((double u, double v) in new[] { (-half, -half), (half, -half), (half, half), (-half, half) })
                {
                    double[] world = new double[3];
                    CardModel.Place(place, truth.Print, false, u, v, world, [], new double[6]);
                    if (truth.Project(0, world[0], world[1], -world[2])?.DistanceTo(t) < 1e-9)
                    {
                        pairs.Add((found, new(world[0], world[1])));
                    }
                }
            }

            if (pairs.Count == 4)
            {
                break;
            }
        }

        return HomographyFit.Fit<ClothSpace, PhotoSpace>(pairs);
    }

    private static (double Fx, double Rms) StockCalibration(Photo[] photos)
    {
        List<List<Point3f>> objects = [];
        List<List<Point2f>> images = [];
        foreach (Photo photo in photos)
        {
            using Mat grey = GreyPicture.From(photo.Picture);
            if (!Cv2.FindChessboardCorners(grey, new Size(9, 6), out Point2f[] corners))
            {
                continue;
            }

            images.Add([
                .. Cv2.CornerSubPix(
                    grey,
                    corners,
                    new Size(11, 11),
                    new Size(-1, -1),
                    new TermCriteria(CriteriaTypes.Eps | CriteriaTypes.MaxIter, 30, 0.001)
                ),
            ]);
            objects.Add([.. Enumerable.Range(0, 54).Select(k => new Point3f(k % 9, k / 9, 0))]);
        }

        double[,] camera = new double[3, 3];
        double[] distortion = new double[5];
        double rms = Cv2.CalibrateCamera(
            objects,
            images,
            new Size(photos[0].Picture.Width, photos[0].Picture.Height),
            camera,
            distortion,
            out _,
            out _
        );
        return (camera[0, 0], rms);
    }

    private static string Name(CardLayout layout, int photos, bool profile, ScaleKnown scale) =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"{Word(layout)}, {photos} photo(s), {(profile ? "lens profile" : "no lens profile")}, scale {scale switch { ScaleKnown.ByRuler => "by ruler", ScaleKnown.ByTape => "by tape", _ => "not measured" }}"
        );

    private static string Word(CardLayout layout) =>
        layout switch
        {
            CardLayout.WholeTop => "76 × 46 in, 6 cards",
            CardLayout.FourCorners => "76 × 46 in, 4 cards",
            CardLayout.LoadedBand => "band 18 × 90 in, 10 cards",
            _ => "12 in block, 4 cards",
        };

    private static string Text(FormattableString text) => FormattableString.Invariant(text);

    private static string? SharedFolder(string name)
    {
        for (DirectoryInfo? d = new(AppContext.BaseDirectory); d is not null; d = d.Parent)
        {
            string folder = Path.Combine(d.FullName, "..", "shared", "data", "calibration", name);
            if (File.Exists(Path.Combine(d.FullName, "OverlayPlanner.sln")) && Directory.Exists(folder))
            {
                return folder;
            }
        }

        return null;
    }
}
