using System.Globalization;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>How well seams are found: made scenes held out from all tuning, and real photographs with hand-made truth.</summary>
/// <remarks>
/// Corners are given exactly; points, seam pieces and patches are matched one to one in inches on the rectified plane, see
/// <see cref="MapScore"/>. The scenes are <see cref="SceneSet.HeldOut"/>.
/// </remarks>
public static class DetectionScoreboard
{
    private const double PointTolerance = 0.125;
    private const int BlocksOfATop = 20;

    /// <summary>Runs the finder and its peers.</summary>
    /// <param name="quick">A quarter of the scenes.</param>
    public static IReadOnlyList<(string Case, string Number, string Target, bool Met)> Run(bool quick)
    {
        Board board = new();
        using (SeamFinder finder = new())
        {
            BoardTotals quiet = BoardTotals.Run(finder, Some(SceneSet.HeldOutQuiet(), quick), PointTolerance);
            board.AddFound("solids and small prints", quiet, 0.99, 0.98, 0.98);
            BoardTotals printed = BoardTotals.Run(finder, Some(SceneSet.HeldOutPrinted(), quick), PointTolerance);
            BoardTotals tops = BoardTotals.Run(
                finder,
                SceneSet.HeldOutTops().Take(quick ? 1 : int.MaxValue),
                PointTolerance,
                teaching: Teaching.OneBlock
            );
            board.AddFound("printed, held out", Sum(printed, tops), 0.97, 0.95, 0.95);
            board.AddEdits(tops);
            board.AddTaught(tops);
            board.AddLattices([quiet, printed, tops]);
            BoardTotals foreign = BoardTotals.Run(
                finder,
                Some(SceneSet.HeldOutForeign(), quick),
                PointTolerance,
                Peers.LeftOut
            );
            board.AddForeign(foreign);
            board.AddErrors([quiet, printed, tops]);
            board.AddConfidence([quiet, printed, tops]);
            board.AddPeers("solids and small prints", quiet);
            board.AddPeers("printed, held out", Sum(printed, tops));
            board.AddPhotographs(finder);
        }

        board.AddSpeed(quick);
        return [.. board.Rows, .. LatticeScoreboard.Run(quick)];
    }

    // A quarter that steps through all settings.
    private static IEnumerable<SceneWishes> Some(IReadOnlyList<SceneWishes> scenes, bool quick) =>
        scenes.Where((_, i) => !quick || i % 4 == i / 4 % 4);

    private static (Tallies Found, Tallies Segments, Tallies Hough, Tallies Colors, int Scenes) Sum(
        params BoardTotals[] parts
    ) =>
        (
            parts.Aggregate(default(Tallies), (a, p) => a + p.Found),
            parts.Aggregate(default(Tallies), (a, p) => a + p.Segments),
            parts.Aggregate(default(Tallies), (a, p) => a + p.Hough),
            parts.Aggregate(default(Tallies), (a, p) => a + p.Colors),
            parts.Sum(p => p.Scenes)
        );

    private sealed class Board
    {
        private readonly List<(string, string, string, bool)> rows = [];

        public IReadOnlyList<(string Case, string Number, string Target, bool Met)> Rows => rows;

        public void AddFound(string what, BoardTotals totals, double points, double seams, double patches) =>
            AddFound(what, Sum(totals), points, seams, patches);

        public void AddFound(
            string what,
            (Tallies Found, Tallies, Tallies, Tallies, int Scenes) sum,
            double points,
            double seams,
            double patches
        )
        {
            Tallies t = sum.Found;
            Add($"{what}, {Text(sum.Scenes)} scenes: point F1 at 1/8 in", t.Points, points);
            Add($"{what}: seam piece F1, both ends within 1/8 in", t.Seams, seams);
            Add($"{what}: patch F1, IoU ≥ 0.7", t.Patches, patches);
        }

        public void AddEdits(BoardTotals tops)
        {
            (HandEdits Edits, int Blocks)[] all = [.. tops.Edits];
            double[] totals = [.. all.Select(e => (double)e.Edits.Total * BlocksOfATop / e.Blocks)];
            double median = Quantile(totals, 0.5);
            int missed = all.Sum(e => e.Edits.Missed);
            double missedPerBlock = (double)missed / all.Sum(e => e.Blocks);
            string each = string.Join(", ", all.Select(e => e.Edits.Total.ToString(CultureInfo.InvariantCulture)));
            rows.Add(
                (
                    "corrections by hand, a printed top of 20 blocks: median",
                    Text($"{median:0.#} ({each})"),
                    "≤ 10",
                    median <= 10
                )
            );
            rows.Add(
                (
                    "of these, missed seams to a block (false and moved over all tops)",
                    Text(
                        $"{missedPerBlock:0.00} ({missed} missed; {all.Sum(e => e.Edits.False)} false, {all.Sum(e => e.Edits.Moved)} moved)"
                    ),
                    "≤ 0.20",
                    missedPerBlock <= 0.2
                )
            );
        }

        public void AddTaught(BoardTotals tops)
        {
            Tally before = tops.Taught.Aggregate(default(Tally), (a, t) => a + t.Before);
            Tally after = tops.Taught.Aggregate(default(Tally), (a, t) => a + t.After);
            rows.Add(
                (
                    "the same tops, one block put right: point F1 of all others (before)",
                    Text($"{after.F1:0.0000} ({before.F1:0.0000})"),
                    "≥ 0.97",
                    after.F1 >= 0.97
                )
            );
            string[] edits = [.. tops.Taught.Select(t => Text($"{t.EditsInBlock.Total} + {t.EditsAfter.Total}"))];
            rows.Add(("edits: in that block + left in the whole top, top by top", string.Join(", ", edits), "-", true));
        }

        public void AddLattices(IReadOnlyList<BoardTotals> parts)
        {
            foreach (bool onPoint in new[] { false, true })
            {
                LatticeScore[] some =
                [
                    .. parts.SelectMany(p => p.Lattices).Where(l => l.OnPoint == onPoint).Select(l => l.Score),
                ];
                string setting = onPoint ? "on point" : "straight";
                int exact = some.Count(l => l.Exact);
                rows.Add(
                    (
                        $"lattice, {setting}: rows × columns exact",
                        Text($"{exact} of {some.Length}"),
                        "≥ 95 %",
                        exact >= 0.95 * some.Length
                    )
                );
                double[] errors = [.. some.Select(l => l.PitchError).Where(double.IsFinite)];
                double worst = errors.Length == 0 ? double.NaN : errors.Max();
                rows.Add(
                    (
                        $"lattice, {setting}: pitch error where exact, worst (median)",
                        Text($"{worst * 100:0.00} % ({Quantile(errors, 0.5) * 100:0.00} %)"),
                        "≤ 0.3 %",
                        worst <= 0.003
                    )
                );
            }

            LatticeScore[] all = [.. parts.SelectMany(p => p.Lattices).Select(l => l.Score)];
            int right = all.Count(l => l.Named == Naming.Right);
            int wrong = all.Count(l => l.Named == Naming.Wrong);
            rows.Add(
                (
                    "pattern among the library's, no hints: right (wrong, not named)",
                    Text($"{right} of {all.Length} ({wrong}, {all.Length - right - wrong})"),
                    "≥ 95 %",
                    right >= 0.95 * all.Length
                )
            );
        }

        public void AddForeign(BoardTotals foreign)
        {
            int unknown = foreign.Lattices.Count(l => l.Score.Named == Naming.None);
            rows.Add(
                (
                    "patterns that are in no library: \"unknown\"",
                    Text($"{unknown} of {foreign.Scenes}"),
                    "≥ 90 %",
                    unknown >= 0.9 * foreign.Scenes
                )
            );
        }

        public void AddErrors(IReadOnlyList<BoardTotals> parts)
        {
            double[] errors = [.. parts.SelectMany(p => p.Errors)];
            double median = Quantile(errors, 0.5);
            double p95 = Quantile(errors, 0.95);
            rows.Add(
                (
                    $"point error where found, photographs of 40 px/in, {Text(errors.Length)} points: median",
                    Text($"{median:0.0000} in"),
                    "≤ 1/64 in",
                    median <= 1 / 64.0
                )
            );
            rows.Add(("point error where found: P95", Text($"{p95:0.0000} in"), "≤ 1/24 in", p95 <= 1 / 24.0));
        }

        public void AddConfidence(IReadOnlyList<BoardTotals> parts)
        {
            ConfidenceScore all = ConfidenceScore.Sum(parts.Select(p => p.Confidence));
            rows.Add(
                (
                    "confidence: expected calibration error",
                    Text($"{all.CalibrationError:0.000}"),
                    "≤ 0.05",
                    all.CalibrationError <= 0.05
                )
            );
            (int said, int there) = all.SureOnes;
            rows.Add(
                (
                    "confidence: of seams said to be ≥ 90 % sure, there are",
                    Text($"{100.0 * there / Math.Max(1, said):0.0} % of {said}"),
                    "≥ 90 %",
                    there >= 0.9 * said
                )
            );
            (said, there) = all.OtherOnes;
            rows.Add(
                (
                    "confidence: of the others, there are",
                    Text($"{100.0 * there / Math.Max(1, said):0.0} % of {said}"),
                    "-",
                    true
                )
            );
        }

        public void AddPeers(string what, BoardTotals totals) => AddPeers(what, Sum(totals));

        public void AddPeers(
            string what,
            (Tallies Found, Tallies Segments, Tallies Hough, Tallies Colors, int Scenes) sum
        )
        {
            Peer("line segment detector", sum.Segments);
            Peer("Hough on Canny", sum.Hough);
            Peer("k-means in Lab", sum.Colors);

            void Peer(string name, Tallies t) =>
                rows.Add(
                    (
                        $"peer, {name}, {what}: point / seam / patch F1",
                        Text($"{t.Points.F1:0.000} / {t.Seams.F1:0.000} / {t.Patches.F1:0.000}"),
                        "-",
                        true
                    )
                );
        }

        public void AddPhotographs(SeamFinder finder)
        {
            Tally points = default;
            IReadOnlyList<RealPhoto> photos = RealPhoto.FindAll();
            foreach (RealPhoto photo in photos)
            {
                (Picture picture, DetectionWishes wishes, QuiltMap truth) = photo.Load();
                QuiltMap found = finder.Find(picture, wishes).Map;
                MapScore score = MapScore.Compare(found, truth, photo.Tolerance);
                HandEdits edits = HandEdits.Between(found, truth, photo.Tolerance);
                points += score.Points;
                rows.Add(($"photograph {photo.Name}: point F1", Format(score.Points), "-", true));
                rows.Add(
                    (
                        $"photograph {photo.Name}: seam piece F1, patch F1; to draw + to take out + to move",
                        Text(
                            $"{score.Seams.F1:0.000}, {score.Patches.F1:0.000}; {edits.Missed} + {edits.False} + {edits.Moved}"
                        ),
                        "-",
                        true
                    )
                );
            }

            if (photos.Count > 0)
            {
                Add($"real photographs, all {Text(photos.Count)}: point F1 at 1/4 in or 1/48 of a block", points, 0.95);
            }
        }

        public void AddSpeed(bool quick)
        {
            Speed("12 megapixels, 4 × 5 blocks", SceneSet.HeldOutTops()[0], quick ? 1 : 3, 5, 1500);
            Speed("50 megapixels, 8 × 6 blocks", PhotoSpeed.Mosaic, 1, 25, 3000);

            void Speed(string what, SceneWishes wishes, int repeats, double seconds, double megabytes)
            {
                (double s, double m) = PhotoSpeed.Map(wishes, repeats);
                rows.Add(($"map, {what}: whole command", Text($"{s:0.0} s"), Text($"≤ {seconds} s"), s <= seconds));
                rows.Add(($"map, {what}: peak memory", Text($"{m:0} MB"), Text($"≤ {megabytes} MB"), m <= megabytes));
            }
        }

        private void Add(string what, Tally t, double target) =>
            rows.Add((what, Format(t), Text($"≥ {target:0.00}"), t.F1 >= target));

        private static string Format(Tally t) =>
            Text($"{t.F1:0.0000} ({t.Missed} missed, {t.False} false of {t.Hits + t.Missed})");

        private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

        private static string Text(int n) => n.ToString(CultureInfo.InvariantCulture);

        private static double Quantile(IReadOnlyCollection<double> values, double q)
        {
            double[] sorted = [.. values.Order()];
            return sorted.Length == 0 ? double.NaN : sorted[Math.Min(sorted.Length - 1, (int)(q * sorted.Length))];
        }
    }
}
