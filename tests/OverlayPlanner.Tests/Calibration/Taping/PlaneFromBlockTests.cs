using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration.Taping;

/// <summary>The plane from one block: its stated error against the spread of many solves.</summary>
public sealed class PlaneFromBlockTests
{
    // A tilted view of about 30 pixels to the inch.
    private static readonly Homography<PhotoSpace, ClothSpace> View = new([
        30,
        1.5,
        400,
        -0.8,
        28,
        300,
        0.0004,
        0.0011,
        1,
    ]);
    private static readonly Point<ClothSpace>[] Block = [new(0, 0), new(11.9, 0), new(11.95, 11.8), new(0.1, 11.85)];

    [Fact]
    public void The_stated_error_is_what_many_solves_spread_by_on_the_block_and_far_from_it()
    {
        const int solves = 400;
        Random random = new(11);
        double[] truth =
        [
            .. new[] { (0, 1), (1, 2), (3, 2), (0, 3), (0, 2), (1, 3) }.Select(e =>
                Block[e.Item1].DistanceTo(Block[e.Item2])
            ),
        ];
        Point<PhotoSpace>[] corners = [.. Block.Select(View.Apply)];
        PlaneFit clean = Solve(corners, truth);
        Point<ClothSpace>[] places = [new(6, 6), new(12, 0), new(20, 6), new(30, 24)];
        double[] squares = new double[places.Length];
        for (int s = 0; s < solves; s++)
        {
            PlaneFit noisy = Solve(
                [.. corners.Select(c => new Point<PhotoSpace>(c.X + Even(1), c.Y + Even(1)))],
                [.. truth.Select(l => l + Even(Math.Sqrt(1 / 1024.0 + 1e-6 * l * l)))]
            );
            for (int i = 0; i < places.Length; i++)
            {
                Vector<ClothSpace> off = noisy.ClothFromPhoto.Apply(clean.PhotoFromCloth.Apply(places[i])) - places[i];
                squares[i] += off.Dot(off) / 2 / solves;
            }
        }

        double before = 0;
        for (int i = 0; i < places.Length; i++)
        {
            double said = clean.SigmaAt(places[i]).Inches;
            Assert.InRange(Math.Sqrt(squares[i]) / said, 0.88, 1.12);
            Assert.True(i < 2 || said > before);
            before = said;
        }

        // Even noise of this standard deviation.
        double Even(double sigma) => sigma * Math.Sqrt(3) * (2 * random.NextDouble() - 1);
    }

    private static PlaneFit Solve(Point<PhotoSpace>[] corners, double[] lengths) =>
        PlaneFromCorners.SolveBlock(
            corners,
            BlockFromTape.Solve(
                new BlockMeasures(
                    [.. lengths[..4].Select(Length.FromInches)],
                    [.. lengths[4..].Select(Length.FromInches)]
                )
            ),
            1600,
            1200
        );
}
