using OverlayPlanner.Benchmarks.Detection;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.AcceptanceTests.Reference.Detection;

public sealed class SeamFinderSmokeTests
{
    private static readonly Length Margin = Length.FromInches(1);

    // Two by two pinwheels have the seams of one broken dishes: three by two are no other block.
    [Theory]
    [InlineData("ohio-star", FabricMix.Solids, 12, 2, 1, 5)]
    [InlineData("pinwheel", FabricMix.Quiet, 9, 3, 2, 6)]
    [InlineData("sawtooth-star", FabricMix.Prints, 12, 1, 1, 7)]
    public void A_made_scene_is_mapped(string pattern, FabricMix cloth, double size, int columns, int rows, int seed)
    {
        MadeScene scene = SceneMaker.Make(
            new()
            {
                Name = pattern,
                Seed = seed,
                Pattern = pattern,
                BlockInches = size,
                Columns = columns,
                Rows = rows,
                Fabrics = cloth,
                PhotoWidth = 1600,
                PhotoHeight = 1200,
            }
        );
        PlaneFit plane = PlaneFromCorners.Solve(
            scene.Corners,
            scene.Truth.Width,
            scene.Truth.Height,
            scene.PhotoWidth,
            scene.PhotoHeight
        );
        Picture picture = Rectification.Rectify(
            scene.Decode(),
            plane.PhotoFromCloth,
            scene.Truth.Width,
            scene.Truth.Height,
            Rectification.UsualPixelsPerInch,
            Margin
        );
        using SeamFinder finder = new();
        DetectedQuilt found = finder.Find(
            picture,
            new()
            {
                Width = scene.Truth.Width,
                Height = scene.Truth.Height,
                Margin = Margin,
                ScaleSigma = plane.SigmaAt,
            }
        );
        MapScore score = MapScore.Compare(found.Map, scene.Truth);

        // The scoreboard's target over many scenes; these three easy ones must each reach it.
        Assert.True(score.Points.F1 >= 0.95, FormattableString.Invariant($"{score.Points}"));
        Assert.True(MapCheck.Inspect(found.Map).IsPlane);
        Assert.Equal(columns * rows, found.Map.Blocks.Count);
        Assert.All(found.Map.Blocks, b => Assert.Equal(pattern, b.Pattern));
    }

    [Theory]
    [InlineData("hst-scrappy", 0.95)]
    [InlineData("squares-floor-perspective", 0.9)]
    public void A_real_photograph_is_mapped_inside_its_annotated_rectangle(string name, double least)
    {
        RealPhoto? photo = RealPhoto.FindAll().FirstOrDefault(p => p.Name == name);
        Assert.SkipWhen(photo is null, "The real photographs are not beside this repository.");
        (Picture picture, DetectionWishes wishes, QuiltMap truth) = photo.Load();
        using SeamFinder finder = new();
        MapScore score = MapScore.Compare(finder.Find(picture, wishes).Map, truth, photo.Tolerance);
        Assert.True(score.Points.F1 >= least, FormattableString.Invariant($"{score.Points}"));
    }
}
