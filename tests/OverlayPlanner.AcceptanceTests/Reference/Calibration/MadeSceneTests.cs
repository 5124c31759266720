using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>That the made scenes are what they say: the truth that the scoreboards lean on.</summary>
public class MadeSceneTests
{
    private static readonly SceneWishes Small = new()
    {
        Name = "small",
        Seed = 9,
        Pattern = "four-patch",
        BlockInches = 8,
        Fabrics = FabricMix.Solids,
        PaletteIndex = 0,
        PhotoWidth = 1200,
        PhotoHeight = 900,
        TiltDegrees = 18,
        StandDegrees = 20,
        WobbleInches = 0.1,
        DitchDepth = 0,
        Pucker = 0,
        BlurPixels = 0.6,
        NoiseSigma = 0.5,
        Sharpening = 0,
        JpegQuality = 97,
        Distortion = [-0.1, 0.02, 0.0005, -0.0005, 0],
    };

    [Fact]
    public void The_same_wishes_give_the_same_bytes()
    {
        Assert.Equal(SceneMaker.Make(Small).Jpeg, SceneMaker.Make(Small).Jpeg);
        Assert.NotEqual(SceneMaker.Make(Small).Jpeg, SceneMaker.Make(Small with { Seed = 10 }).Jpeg);
    }

    [Fact]
    public void Seams_lie_in_the_picture_where_the_truth_says()
    {
        // Across the middle of each seam between light and dark cloth, the place of half the light. The lens blurs light, not grey
        // values: half-way between the grey values lies up to half a pixel on the dark side.
        MadeScene scene = SceneMaker.Make(Small);
        Picture picture = scene.Decode().Picture;
        List<double> offsets = [];
        foreach (Seam seam in scene.Truth.Seams.Where(s => s.Role != SeamRole.Edge))
        {
            Edge<ClothSpace> edge = scene.Truth.EdgeOf(seam);
            Point<PhotoSpace> at = scene.PhotoFromCloth.Apply(edge.PointAt(0.5));
            Point<PhotoSpace> ahead = scene.PhotoFromCloth.Apply(edge.PointAt(0.52));
            Vector<PhotoSpace> normal = (ahead - at).Unit.TurnedLeft;
            const int Reach = 8;
            double left = Grey(picture, at + normal * Reach);
            double right = Grey(picture, at - normal * Reach);
            if (Math.Abs(left - right) < 60)
            {
                continue;
            }

            double previous = right;
            for (double s = -Reach; s <= Reach; s += 0.05)
            {
                double v = Grey(picture, at + normal * s);
                if ((v - (left + right) / 2) * (previous - (left + right) / 2) < 0)
                {
                    // The phone's own contrast curve is left in: a little bias, the same way from dark to light.
                    offsets.Add(s * Math.Sign(left - right));
                    break;
                }

                previous = v;
            }
        }

        Assert.True(offsets.Count >= 8);
        Assert.All(offsets, o => Assert.InRange(o, -0.35, 0.35));
        Assert.InRange(offsets.Average(), -0.15, 0.15);
    }

    [Fact]
    public void Corners_and_lens_of_a_scene_lead_the_plane_back_to_the_truth()
    {
        MadeScene scene = SceneMaker.Make(Small);
        PlaneFit fit = PlaneFromCorners.Solve(
            scene.Corners,
            scene.Truth.Width,
            scene.Truth.Height,
            scene.PhotoWidth,
            scene.PhotoHeight,
            scene.Lens
        );
        for (int i = 0; i < scene.Truth.Junctions.Count; i++)
        {
            Assert.True(
                fit.ClothFromPhoto.Apply(scene.JunctionsInPhoto[i]).DistanceTo(scene.Truth.Junctions[i].Place) < 1e-6
            );
        }
    }

    [Fact]
    public void Piecing_moves_points_by_no_more_than_was_asked_and_the_map_stays_plane()
    {
        foreach (SceneWishes wishes in SceneSet.ForScoreboard().Where((_, i) => i % 12 == 5))
        {
            MadeScene scene = SceneMaker.Make(wishes with { PhotoWidth = 400, PhotoHeight = 300 });
            Assert.True(MapCheck.Inspect(scene.Truth).IsPlane, wishes.Name);
            Assert.Equal(scene.Truth.Junctions.Count, scene.JunctionsInPhoto.Count);
            Assert.All(scene.Corners, c => Assert.True(c.X is > 0 and < 400 && c.Y is > 0 and < 300));
        }
    }

    [Fact]
    public void The_scoreboard_has_at_least_44_scenes_over_14_patterns_with_equal_cloths_among_them()
    {
        IReadOnlyList<SceneWishes> scenes = SceneSet.ForScoreboard();
        Assert.True(scenes.Count >= 44);
        Assert.True(scenes.Select(s => s.Pattern).Distinct().Count() >= 14);
        Assert.Equal(scenes.Count, scenes.Select(s => s.Name).Distinct().Count());
        Assert.All(scenes, s => Assert.Null(s.Distortion));
        Assert.Contains(scenes, s => s.Fabrics == FabricMix.Solids);
        Assert.True(scenes.Count(s => s.SameFabricShare > 0) >= 10);
    }

    [Fact]
    public void The_sample_is_what_its_maker_makes()
    {
        DirectoryInfo? root = new(AppContext.BaseDirectory);
        while (root is not null && !File.Exists(Path.Combine(root.FullName, "OverlayPlanner.sln")))
        {
            root = root.Parent;
        }

        string folder = Path.Combine(root!.FullName, "samples");
        (MadeScene _, byte[] photo, byte[] truth, byte[] map) = SampleScene.Make();
        Assert.Equal(
            File.ReadAllText(Path.Combine(folder, SampleScene.TruthFile)),
            System.Text.Encoding.UTF8.GetString(truth)
        );
        Assert.Equal(
            File.ReadAllText(Path.Combine(folder, SampleScene.MapFile)),
            System.Text.Encoding.UTF8.GetString(map)
        );
        Picture kept = PhotoReader.Read(Path.Combine(folder, SampleScene.PhotoFile)).Picture;
        Picture made = PhotoReader.Read(photo, "made").Picture;
        Assert.Equal((kept.Width, kept.Height), (made.Width, made.Height));

        // Another system's sine may differ in its last digit, and JPEG's rounding with it.
        double sum = 0;
        for (int i = 0; i < kept.Rgb.Length; i++)
        {
            sum += Math.Abs(kept.Rgb[i] - made.Rgb[i]);
        }

        Assert.True(sum / kept.Rgb.Length < 0.5);
    }

    private static double Grey(Picture picture, Point<PhotoSpace> p)
    {
        int x = (int)Math.Floor(p.X);
        int y = (int)Math.Floor(p.Y);
        double fx = p.X - x;
        double fy = p.Y - y;
        double At(int dx, int dy)
        {
            int i = picture.IndexOf(x + dx, y + dy);
            double grey = 0.299 * picture.Rgb[i] + 0.587 * picture.Rgb[i + 1] + 0.114 * picture.Rgb[i + 2];
            return 255 * Math.Pow(grey / 255, 2.2);
        }

        return (At(0, 0) * (1 - fx) + At(1, 0) * fx) * (1 - fy) + (At(0, 1) * (1 - fx) + At(1, 1) * fx) * fy;
    }
}
