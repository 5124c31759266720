using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration.Onto;

public sealed class SimilarityFitTests
{
    [Fact]
    public void Umeyamas_own_example_comes_out()
    {
        // S. Umeyama (1991), the worked example: a triangle and its mirror image; R = (0.832 0.555; -0.555 0.832),
        // t = (-0.800, 0.400), c = 0.721.
        Similarity<SeenSpace, ClothSpace> fit = SimilarityFit.Solve<SeenSpace, ClothSpace>(
            [new(0, 0), new(1, 0), new(0, 2)],
            [new(0, 0), new(-1, 0), new(0, 2)]
        );
        Assert.Equal(0.721, fit.Scale, 3);
        Assert.Equal(0.832, fit.A / fit.Scale, 3);
        Assert.Equal(-0.555, fit.B / fit.Scale, 3);
        Assert.Equal(-0.800, fit.Tx, 3);
        Assert.Equal(0.400, fit.Ty, 3);
    }

    [Fact]
    public void A_mirrored_pattern_is_fitted_without_rest_from_behind()
    {
        Similarity<SeenSpace, ClothSpace> truth = new(0.8, 0.3, 4, -7, Mirrored: true);
        Point<ClothSpace>[] from = [new(1, 2), new(5, -3), new(0.5, 8), new(-4, 1)];
        Similarity<SeenSpace, ClothSpace> fit = SimilarityFit.Solve<SeenSpace, ClothSpace>(
            from,
            [.. from.Select(truth.Apply)],
            mirrored: true
        );
        Assert.All(from, p => Assert.InRange(fit.Apply(p).DistanceTo(truth.Apply(p)), 0, 1e-9));
    }

    [Fact]
    public void A_pair_of_no_weight_does_not_pull()
    {
        Similarity<SeenSpace, ClothSpace> fit = SimilarityFit.Solve<SeenSpace, ClothSpace>(
            [new(0, 0), new(10, 0), new(3, 3)],
            [new(1, 1), new(11, 1), new(90, 90)],
            [1, 1, 0]
        );
        Assert.Equal(new Similarity<SeenSpace, ClothSpace>(1, 0, 1, 1), fit);
    }
}
