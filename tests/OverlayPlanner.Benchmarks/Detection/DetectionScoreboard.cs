using System.Diagnostics;
using System.Globalization;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>How well seams are found, on made scenes whose truth is exact and on real photographs with hand-made truth.</summary>
public static class DetectionScoreboard
{
    private const double MarginInches = 1;
    private const double PointTolerance = 0.125;
    private const double BlockOfPrecision = 12;

    /// <summary>
    /// Runs the finder. Corners are given exactly; points, seam pieces and patches are matched one to one, see
    /// <see cref="MapScore"/>.
    /// </summary>
    /// <param name="quick">A quarter of the scenes.</param>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        List<(string, string, string, bool)> rows = [];
        using SeamFinder finder = new();
        Totals board = RunScenes(finder, SceneSet.ForScoreboard(), quick ? 4 : 1, peers: true);
        string scenes = string.Create(
            CultureInfo.InvariantCulture,
            $"{board.Scenes} made scenes, plain and quiet cloth"
        );
        rows.Add(($"{scenes}: point F1 at 1/8 in", Format(board.Points), "≥ 0.95", board.Points.F1 >= 0.95));
        rows.Add(($"{scenes}: seam piece F1", Format(board.Seams), "for information", true));
        rows.Add(($"{scenes}: patch F1 (IoU ≥ 0.7)", Format(board.Patches), "for information", true));
        double median = Quantile(board.Errors, 0.5);
        double p95 = Quantile(board.Errors, 0.95);
        rows.Add(
            ("12 in blocks, no lens distortion: point error, median", Inches(median), "< 0.03125 in", median < 1 / 32.0)
        );
        rows.Add(("12 in blocks, no lens distortion: point error, P95", Inches(p95), "< 0.0625 in", p95 < 1 / 16.0));
        rows.Add(("lattice rows × columns right", Share(board.LatticesRight, board.Scenes), "for information", true));
        rows.Add(("pattern named right / wrong / not named", board.Names, "for information", true));
        rows.Add(
            (
                "confidence: expected calibration error",
                board.CalibrationError.ToString("0.000", CultureInfo.InvariantCulture),
                "for information (≤ 0.05)",
                true
            )
        );
        rows.Add(
            ("12 megapixels: rectify and find, longest", Seconds(board.SlowestFind), "for information (≤ 4 s)", true)
        );
        rows.Add(("peer: line segment detector, point F1", Format(board.Lsd), "for information", true));
        rows.Add(("peer: Hough on Canny, point F1", Format(board.Hough), "for information", true));

        rows.AddRange(LatticeScoreboard.Run(quick));
        Totals loud = RunScenes(finder, SceneSet.LoudPrints(), quick ? 6 : 1, peers: false);
        string prints = string.Create(CultureInfo.InvariantCulture, $"{loud.Scenes} made scenes, loud prints");
        rows.Add(($"{prints}: point F1 at 1/8 in", Format(loud.Points), "for information", true));
        rows.Add(($"{prints}: seam piece F1", Format(loud.Seams), "for information", true));

        foreach (RealPhoto photo in RealPhoto.FindAll())
        {
            (Picture picture, DetectionWishes wishes, QuiltMap truth) = photo.Load();
            MapScore score = MapScore.Compare(finder.Find(picture, wishes).Map, truth, photo.Tolerance);
            rows.Add(($"photograph {photo.Name}: point F1", Format(score.Points), "for information (≥ 0.95)", true));
            rows.Add(($"photograph {photo.Name}: seam piece F1", Format(score.Seams), "for information", true));
        }

        return rows;
    }

    private static Totals RunScenes(SeamFinder finder, IReadOnlyList<SceneWishes> wishes, int step, bool peers)
    {
        Totals totals = new();
        for (int i = 0; i < wishes.Count; i += step)
        {
            MadeScene scene = SceneMaker.Make(wishes[i]);
            Photo photo = scene.Decode();
            Stopwatch clock = Stopwatch.StartNew();
            PlaneFit plane = PlaneFromCorners.Solve(
                scene.Corners,
                scene.Truth.Width,
                scene.Truth.Height,
                scene.PhotoWidth,
                scene.PhotoHeight
            );
            Picture picture = Rectification.Rectify(
                photo,
                plane.PhotoFromCloth,
                scene.Truth.Width,
                scene.Truth.Height,
                Rectification.UsualPixelsPerInch,
                Length.FromInches(MarginInches)
            );
            QuiltMap found = finder
                .Find(
                    picture,
                    new()
                    {
                        Width = scene.Truth.Width,
                        Height = scene.Truth.Height,
                        Margin = Length.FromInches(MarginInches),
                        ScaleSigma = plane.SigmaAt,
                    }
                )
                .Map;
            totals.Add(scene, found, clock.Elapsed.TotalSeconds);
            if (peers)
            {
                totals.AddPeers(
                    PeerLines.LineSegmentDetector(picture, scene.Truth.Width, scene.Truth.Height, MarginInches),
                    PeerLines.Hough(picture, scene.Truth.Width, scene.Truth.Height, MarginInches),
                    scene.Truth
                );
            }
        }

        return totals;
    }

    private static string Format(Tally t) =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"{t.F1:0.0000} ({t.Missed} missed, {t.False} false of {t.Hits + t.Missed})"
        );

    private static string Inches(double v) => string.Create(CultureInfo.InvariantCulture, $"{v:0.0000} in");

    private static string Seconds(double v) => string.Create(CultureInfo.InvariantCulture, $"{v:0.0} s");

    private static string Share(int n, int of) => string.Create(CultureInfo.InvariantCulture, $"{n} of {of}");

    private static double Quantile(List<double> values, double q)
    {
        double[] sorted = [.. values.Order()];
        return sorted.Length == 0 ? double.NaN : sorted[Math.Min(sorted.Length - 1, (int)(q * sorted.Length))];
    }

    private sealed class Totals
    {
        private readonly List<(double Confidence, bool Right)> seams = [];
        private int namedRight;
        private int namedWrong;
        private int notNamed;

        public int Scenes { get; private set; }

        public Tally Points { get; private set; }

        public Tally Seams { get; private set; }

        public Tally Patches { get; private set; }

        public Tally Lsd { get; private set; }

        public Tally Hough { get; private set; }

        public List<double> Errors { get; } = [];

        public int LatticesRight { get; private set; }

        public double SlowestFind { get; private set; }

        public string Names => string.Create(CultureInfo.InvariantCulture, $"{namedRight} / {namedWrong} / {notNamed}");

        // Ten equal bins of confidence; the mean gap between what was said and what was so, weighted by use.
        public double CalibrationError =>
            seams
                .GroupBy(s => Math.Min(9, (int)(s.Confidence * 10)))
                .Sum(g =>
                    Math.Abs(g.Average(s => s.Confidence) - g.Average(s => s.Right ? 1.0 : 0)) * g.Count() / seams.Count
                );

        public void Add(MadeScene scene, QuiltMap found, double seconds)
        {
            QuiltMap truth = scene.Truth;
            MapScore score = MapScore.Compare(found, truth, PointTolerance);
            Scenes++;
            Points += score.Points;
            Seams += score.Seams;
            Patches += score.Patches;
            if (scene.Wishes.BlockInches == BlockOfPrecision)
            {
                Errors.AddRange(score.PointErrors);
            }

            SlowestFind = Math.Max(SlowestFind, seconds);
            bool lattice =
                found.Blocks.Count == truth.Blocks.Count
                && found.Blocks.Max(b => b.Row) == truth.Blocks.Max(b => b.Row)
                && found.Blocks.Max(b => b.Column) == truth.Blocks.Max(b => b.Column);
            LatticesRight += lattice ? 1 : 0;
            string? name = found.Blocks.Count > 0 ? found.Blocks[0].Pattern : null;
            namedRight += name == scene.Wishes.Pattern ? 1 : 0;
            namedWrong += name is not null && name != scene.Wishes.Pattern ? 1 : 0;
            notNamed += name is null ? 1 : 0;
            foreach (Seam s in found.Seams.Where(s => s.Role != SeamRole.Edge))
            {
                Edge<ClothSpace> path = found.EdgeOf(s);
                bool right = Enumerable
                    .Range(1, 4)
                    .All(k =>
                        truth.Seams.Any(t => truth.EdgeOf(t).Nearest(path.PointAt(k / 5.0)).Distance <= PointTolerance)
                    );
                seams.Add((s.Confidence, right));
            }
        }

        public void AddPeers(QuiltMap lsd, QuiltMap hough, QuiltMap truth)
        {
            Lsd += MapScore.ComparePoints(lsd, truth, PointTolerance);
            Hough += MapScore.ComparePoints(hough, truth, PointTolerance);
        }
    }
}
