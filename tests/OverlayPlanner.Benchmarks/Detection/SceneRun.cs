using System.Diagnostics;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>A made photograph, laid flat by its exact corners.</summary>
/// <param name="Scene">The photograph.</param>
/// <param name="Picture">The cloth from above.</param>
/// <param name="Wishes">What the finder is told: the size, the margin and the plane's error.</param>
/// <param name="Seconds">Decoding and laying flat.</param>
internal sealed record SceneRun(MadeScene Scene, Picture Picture, DetectionWishes Wishes, double Seconds)
{
    /// <summary>Cloth beyond the mapped area, in.</summary>
    public const double MarginInches = 1;

    /// <summary>Photo pixels to the inch along the upper side.</summary>
    public double Density => Scene.Corners[0].DistanceTo(Scene.Corners[1]) / Scene.Truth.Width.Inches;

    /// <summary>Makes the scene and lays it flat.</summary>
    public static SceneRun Prepare(SceneWishes wishes)
    {
        MadeScene scene = SceneMaker.Make(wishes);
        Stopwatch clock = Stopwatch.StartNew();
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
            Length.FromInches(MarginInches)
        );
        return new(
            scene,
            picture,
            new()
            {
                Width = scene.Truth.Width,
                Height = scene.Truth.Height,
                Margin = Length.FromInches(MarginInches),
                ScaleSigma = plane.SigmaAt,
                PhotoPixelsPerInch = plane.PixelsPerInch,
            },
            clock.Elapsed.TotalSeconds
        );
    }
}
