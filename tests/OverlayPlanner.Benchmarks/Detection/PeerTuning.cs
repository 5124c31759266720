using System.Globalization;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>
/// Chooses the peers' parameters on scenes of the Tuning set: one parameter after the other is tried at all its values with the
/// others held, twice round; the mean of point, seam and patch F1 decides. <c>./dev bench peers</c> prints what it finds; the
/// figures in <see cref="PeerLines"/> and <see cref="PeerColors"/> are those.
/// </summary>
internal static class PeerTuning
{
    private const double Tolerance = 0.125;
    private const int Rounds = 2;

    /// <summary>Prints the best settings of each peer and their score on the scenes that they were chosen on.</summary>
    public static void Print()
    {
        SceneRun[] scenes =
        [
            .. SceneSet
                .ForScoreboard()
                .Where((_, i) => i % 8 == 3)
                .Concat(SceneSet.LoudPrints().Where((_, i) => i % 8 == 1))
                .Concat(SceneSet.TuningSettings().Where((_, i) => i % 5 == 2))
                .Select(SceneRun.Prepare),
        ];
        Report(
            "line segment detector",
            Climb(PeerLines.TunedSegments, Lines(scenes, PeerLines.LineSegmentDetector), [Blur, Least, LedOn, Merge])
        );
        Report(
            "Hough on Canny",
            Climb(PeerLines.TunedHough, Lines(scenes, PeerLines.Hough), [Blur, Least, LedOn, Merge, Canny, Votes, Gap])
        );
        Report(
            "k-means in Lab",
            Climb(
                PeerColors.Tuned,
                s =>
                    Mean(
                        scenes,
                        r => PeerColors.Segment(r.Picture, r.Wishes.Width, r.Wishes.Height, SceneRun.MarginInches, s)
                    ),
                [
                    s => [.. new[] { 0.03, 0.06, 0.12, 0.2, 0.3 }.Select(v => s with { SmoothInches = v })],
                    s => [.. new[] { 3, 4, 6, 10, 16 }.Select(v => s with { Colors = v })],
                    s => [.. new[] { 0.2, 0.4, 0.8, 1.2 }.Select(v => s with { LeastSquareInches = v })],
                    s => [.. new[] { 0.06, 0.1, 0.15, 0.22, 0.3 }.Select(v => s with { StraightInches = v })],
                    s => [.. new[] { 0.1, 0.15, 0.2, 0.3, 0.4 }.Select(v => s with { MergeInches = v })],
                ]
            )
        );
    }

    private static LinePeerSettings[] Blur(LinePeerSettings s) =>
        [.. new[] { 0, 0.04, 0.08, 0.14, 0.2 }.Select(v => s with { BlurInches = v })];

    private static LinePeerSettings[] Least(LinePeerSettings s) =>
        [.. new[] { 0.5, 0.75, 1, 1.5, 2 }.Select(v => s with { LeastInches = v })];

    private static LinePeerSettings[] LedOn(LinePeerSettings s) =>
        [.. new[] { 0.1, 0.25, 0.4, 0.6, 0.9 }.Select(v => s with { LedOnInches = v })];

    private static LinePeerSettings[] Merge(LinePeerSettings s) =>
        [.. new[] { 0.1, 0.15, 0.2, 0.3, 0.4 }.Select(v => s with { MergeInches = v })];

    private static LinePeerSettings[] Canny(LinePeerSettings s) =>
        [.. new[] { 25.0, 40, 80, 120, 200 }.Select(v => s with { CannyHigh = v })];

    private static LinePeerSettings[] Votes(LinePeerSettings s) =>
        [.. new[] { 12, 20, 30, 50 }.Select(v => s with { Votes = v })];

    private static LinePeerSettings[] Gap(LinePeerSettings s) =>
        [.. new[] { 0.1, 0.2, 0.4 }.Select(v => s with { GapInches = v })];

    private delegate QuiltMap LinePeer(
        Geometry.Picture picture,
        Geometry.Length width,
        Geometry.Length height,
        double marginInches,
        LinePeerSettings settings
    );

    private static Func<LinePeerSettings, double> Lines(SceneRun[] scenes, LinePeer peer) =>
        s => Mean(scenes, r => peer(r.Picture, r.Wishes.Width, r.Wishes.Height, SceneRun.MarginInches, s));

    private static double Mean(SceneRun[] scenes, Func<SceneRun, QuiltMap> peer) =>
        scenes
            .AsParallel()
            .Sum(r =>
            {
                MapScore score = MapScore.Compare(peer(r), r.Scene.Truth, Tolerance);
                return (score.Points.F1 + score.Seams.F1 + score.Patches.F1) / 3;
            }) / scenes.Length;

    private static (T Settings, double Score) Climb<T>(
        T start,
        Func<T, double> score,
        IReadOnlyList<Func<T, T[]>> parameters
    )
        where T : class
    {
        (T Settings, double Score) best = (start, score(start));
        for (int round = 0; round < Rounds; round++)
        {
            foreach (Func<T, T[]> values in parameters)
            {
                foreach (T trial in values(best.Settings).Where(t => !t.Equals(best.Settings)))
                {
                    double s = score(trial);
                    best = s > best.Score ? (trial, s) : best;
                }
            }
        }

        return best;
    }

    private static void Report<T>(string peer, (T Settings, double Score) best) =>
        Console.WriteLine(
            string.Create(CultureInfo.InvariantCulture, $"{peer}: {best.Settings}, mean F1 {best.Score:0.000}")
        );
}
