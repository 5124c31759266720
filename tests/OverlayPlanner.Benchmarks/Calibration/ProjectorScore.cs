using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// The projector's loop on made scenes: pattern, photo, profile; then light thrown by the profile at known inches, and where it
/// truly falls. Beside it the stock way: one homography by the library from the same marks.
/// </summary>
internal static class ProjectorScore
{
    private const double Sixteenth = 1.0 / 16;

    /// <summary>What one scene gave.</summary>
    /// <param name="Inches">Distances on the cloth from where the light should fall.</param>
    /// <param name="Pixels">The same, projector px.</param>
    /// <param name="Scale">Light against wanted inches, less 1.</param>
    /// <param name="Within95">What the calibration said of itself.</param>
    internal sealed record Loop(double[] Inches, double[] Pixels, double Scale, double Within95);

    /// <summary>Adds the rows.</summary>
    public static void Add(List<(string, string, string, bool)> rows, bool quick)
    {
        (string Name, CardLayout Layout, int Width, int Height)[] cases =
        [
            ("76 × 46 in, 6 cards, 1920 × 1080", CardLayout.WholeTop, 1920, 1080),
            ("band 18 × 90 in, 10 cards, 1280 × 800", CardLayout.LoadedBand, 1280, 800),
            ("12 in block, 4 cards, 1280 × 720", CardLayout.OneBlock, 1280, 720),
        ];
        int scenes = quick ? 2 : 8;
        foreach ((string name, CardLayout layout, int width, int height) in cases)
        {
            List<Loop> ours = [];
            List<Loop> stock = [];
            List<double> measured = [];
            int bent = 0;
            for (int k = 0; k < scenes; k++)
            {
                ProjectorScene scene = ProjectorScenes.Draw(80_000 + k, layout, width, height);
                (PhotographedProjector found, Loop loop, Loop peer) = Close(scene);
                ours.Add(loop);
                stock.Add(peer);
                bent += found.Profile.Bend is null ? 0 : 1;
                ProjectorCheckResult check = ProjectorCheck.Measure(
                    [scene.Photograph(ThrownPicture.Check(found.Profile))],
                    found.Profile,
                    scene.Wishes
                );
                measured.Add(check.Within95.Inches);
            }

            string row = Text($"projector, {scenes} rendered scenes, {name}: light against its inches");
            double pixels = Quantile([.. ours.SelectMany(l => l.Pixels)]);
            double inches = Quantile([.. ours.SelectMany(l => l.Inches)]);
            double[] byScene = [.. ours.Select(l => Quantile(l.Pixels))];
            rows.Add(
                (
                    row,
                    Text(
                        $"P95 {pixels:0.00} px ({byScene.Min():0.00} to {byScene.Max():0.00}), {inches:0.0000} in; bend kept in {bent}"
                    ),
                    "P95 ≤ 1 px and ≤ 0.0625 in",
                    pixels <= 1 && inches <= Sixteenth
                )
            );
            double scale = ours.Max(l => Math.Abs(l.Scale));
            rows.Add((row + ", scale, worst", Text($"{100 * scale:0.000} %"), "≤ 0.1 %", scale <= 0.001));
            double held = ours.Average(l => l.Inches.Count(d => d <= l.Within95) / (double)l.Inches.Length);
            rows.Add((row + ", within the stated 95 %", Text($"{100 * held:0.0} %"), "≥ 93 %", held >= 0.93));
            rows.Add(
                (
                    row + ", as a photo of the check picture measures it",
                    Text($"P95 {measured.Average():0.0000} in ({measured.Min():0.0000} to {measured.Max():0.0000})"),
                    "≤ 0.0625 in",
                    measured.Max() <= Sixteenth
                )
            );
            rows.Add(
                (
                    row + ", stock homography from the same marks",
                    Text(
                        $"P95 {Quantile([.. stock.SelectMany(l => l.Pixels)]):0.00} px, {Quantile([.. stock.SelectMany(l => l.Inches)]):0.0000} in, scale {100 * stock.Max(l => Math.Abs(l.Scale)):0.000} %"
                    ),
                    "beside",
                    true
                )
            );
        }
    }

    /// <summary>Calibrates one scene and throws light by the profile, and by the library's homography from the same marks.</summary>
    internal static (PhotographedProjector Found, Loop Ours, Loop Stock) Close(ProjectorScene scene)
    {
        Photo photo = scene.Photograph(ThrownPicture.Pattern(scene.Width, scene.Height));
        PhotographedProjector found = ProjectorFromPhotos.Solve([photo], scene.Width, scene.Height, scene.Wishes, []);
        Similarity<ClothSpace, ClothSpace> truthFromProfile = ProjectorScenes.TruthFromProfile(scene, found.Profile);
        (MarkField Field, double, double, double) pattern = ThrownPicture.PatternOf(scene.Width, scene.Height);
        ThrownView view = ThrownView.Look([photo], pattern.Field, "the pattern", scene.Wishes, CancellationToken.None);
        Point2d[] from = [.. view.Marks.Select(m => new Point2d(m.Cloth.X, m.Cloth.Y))];
        Point2d[] to =
        [
            .. view.Marks.Select(m => ThrownPicture.PixelOf(m.Mark, pattern)).Select(p => new Point2d(p.X, p.Y)),
        ];
        using Mat h = Cv2.FindHomography(from, to, HomographyMethods.Ransac, 3);
        Homography<ProjectorSpace, ClothSpace> stock = new([
            .. Enumerable.Range(0, 9).Select(k => h.At<double>(k / 3, k % 3)),
        ]);
        return (
            found,
            Throw(scene, found.Profile, truthFromProfile, found.Within95.Inches),
            Throw(scene, stock, truthFromProfile, 0)
        );
    }

    // Cloth points all over the projector's picture, thrown by a map, and where their light falls.
    private static Loop Throw(
        ProjectorScene scene,
        IMap<ProjectorSpace, ClothSpace> map,
        Similarity<ClothSpace, ClothSpace> truthFromProfile,
        double within
    )
    {
        List<double> inches = [];
        List<double> pixels = [];
        List<(Point<ClothSpace> Wanted, Point<ClothSpace> Lit)> pairs = [];
        Similarity<ClothSpace, ClothSpace> profileFromTruth = truthFromProfile.Inverse();
        Homography<ClothSpace, ProjectorSpace> back = scene.Projector.Map.Inverse();
        const int Across = 12;
        for (int k = 0; k < Across * Across; k++)
        {
            // In from the edge by a twentieth of the picture: nothing is drawn on its last pixels.
            double fx = 0.05 + 0.9 * (k % Across) / (Across - 1);
            double fy = 0.05 + 0.9 * (k / Across) / (Across - 1);
            Point<ClothSpace> wanted = back.Apply(new Point<ProjectorSpace>(fx * scene.Width, fy * scene.Height));
            Point<ProjectorSpace> pixel = map.Apply(profileFromTruth.Apply(wanted));
            Point<ProjectorSpace> right = scene.Projector.Apply(wanted);
            Point<ClothSpace> lit = Landing(scene.Projector, pixel, back);
            inches.Add(lit.DistanceTo(wanted));
            pixels.Add(pixel.DistanceTo(right));
            pairs.Add((wanted, lit));
        }

        double wx = pairs.Average(p => p.Wanted.X);
        double wy = pairs.Average(p => p.Wanted.Y);
        double lx = pairs.Average(p => p.Lit.X);
        double ly = pairs.Average(p => p.Lit.Y);
        double dot = pairs.Sum(p => (p.Wanted.X - wx) * (p.Lit.X - lx) + (p.Wanted.Y - wy) * (p.Lit.Y - ly));
        double cross = pairs.Sum(p => (p.Wanted.X - wx) * (p.Lit.Y - ly) - (p.Wanted.Y - wy) * (p.Lit.X - lx));
        double own = pairs.Sum(p => Math.Pow(p.Wanted.X - wx, 2) + Math.Pow(p.Wanted.Y - wy, 2));
        return new([.. inches], [.. pixels], Math.Sqrt(dot * dot + cross * cross) / own - 1, within);
    }

    // The true map turned round by Newton steps with the pinhole's part.
    private static Point<ClothSpace> Landing(
        MadeProjector projector,
        Point<ProjectorSpace> pixel,
        Homography<ClothSpace, ProjectorSpace> back
    )
    {
        Point<ProjectorSpace> straight = pixel;
        for (int n = 0; n < 30; n++)
        {
            straight += pixel - projector.Apply(back.Apply(straight));
        }

        return back.Apply(straight);
    }

    private static double Quantile(double[] values) =>
        values.Order().ElementAt(Math.Min(values.Length - 1, (int)Math.Ceiling(0.95 * values.Length) - 1));

    private static string Text(FormattableString text) => FormattableString.Invariant(text);
}
