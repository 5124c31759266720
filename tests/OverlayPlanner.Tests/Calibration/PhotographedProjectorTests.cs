using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration;

/// <summary>Projectors calibrated from made photos whose truth is known.</summary>
public class PhotographedProjectorTests
{
    [Fact]
    public void A_photo_of_cards_and_pattern_gives_light_within_a_projector_pixel()
    {
        ProjectorScene scene = ProjectorScenes.Draw(80_000, CardLayout.LoadedBand, 1280, 800);
        (PhotographedProjector found, ProjectorScore.Loop ours, _) = ProjectorScore.Close(scene);

        // The project's own target; a sixteenth of an inch is a good pixel here.
        Assert.True(
            ours.Pixels.Order().ElementAt((int)(0.95 * ours.Pixels.Length)) <= 1
                && Math.Abs(ours.Scale) <= 0.001
                && found.Marks >= 100,
            FormattableString.Invariant(
                $"px {ours.Pixels.Order().ElementAt((int)(0.95 * ours.Pixels.Length)):0.000} in {ours.Inches.Max():0.0000} scale {ours.Scale:0.00000} marks {found.Marks} out {found.LeftOut} rms {found.RootMeanSquarePixels:0.000} held {found.HeldOutPixels:0.000} straight {found.HeldOutStraightPixels:0.000} within {found.Within95.Inches:0.0000} cards {found.Profile.Cards.Count}"
            )
        );
    }
}
