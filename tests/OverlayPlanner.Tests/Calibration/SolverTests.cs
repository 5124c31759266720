using OverlayPlanner.Calibration;

namespace OverlayPlanner.Tests.Calibration;

public sealed class SolverTests
{
    [Fact]
    public void The_cameras_derivatives_agree_with_central_differences()
    {
        Random random = new(11);
        for (int trial = 0; trial < 20; trial++)
        {
            double[] camera =
            [
                900 + 200 * random.NextDouble(),
                0.98 + 0.04 * random.NextDouble(),
                640,
                480,
                0.2 * R(),
                0.2 * R(),
                0.01 * R(),
                0.01 * R(),
                0.1 * R(),
                R(),
            ];
            double[] pose = [R(), R(), R(), R(), R(), 6 + R()];
            double[] point = [2 * R(), 2 * R(), 0.3 * R()];
            double[] byCamera = new double[20];
            double[] byPose = new double[12];
            double[] byWorld = new double[6];
            Assert.True(CameraModel.ProjectPosed(camera, pose, point, out _, out _, byCamera, byPose, byWorld));
            foreach (
                (double[] x, double[] derivative) in new[] { (camera, byCamera), (pose, byPose), (point, byWorld) }
            )
            {
                for (int k = 0; k < x.Length; k++)
                {
                    double step = 1e-5 * Math.Max(1, Math.Abs(x[k]));
                    double kept = x[k];
                    x[k] = kept + step;
                    CameraModel.ProjectPosed(camera, pose, point, out double u1, out double v1, [], [], []);
                    x[k] = kept - step;
                    CameraModel.ProjectPosed(camera, pose, point, out double u0, out double v0, [], [], []);
                    x[k] = kept;

                    // Central differences of step h are off by h² times a third derivative: 1e-10 × 1e4.
                    double scale = 1e-5 * (1 + Math.Abs(derivative[k]) + Math.Abs(derivative[x.Length + k]));
                    Assert.Equal((u1 - u0) / (2 * step), derivative[k], scale);
                    Assert.Equal((v1 - v0) / (2 * step), derivative[x.Length + k], scale);
                }
            }
        }

        double R() => 2 * random.NextDouble() - 1;
    }

    [Theory]
    [InlineData(0, 0, 0)]
    [InlineData(1e-9, -2e-9, 1e-9)]
    [InlineData(0.3, -1.2, 0.7)]
    [InlineData(3.1, 0.2, -0.1)]
    [InlineData(0, 3.14159265, 0)]
    [InlineData(-1.8, 1.8, 1.8)]
    public void A_rotation_vector_comes_back_from_its_matrix(double x, double y, double z)
    {
        double[] r = new double[9];
        CameraModel.Rotation([x, y, z], r, []);
        double[] back = CameraModel.RotationVector(r);
        Assert.Equal(x, back[0], 1e-7);
        Assert.Equal(y, back[1], 1e-7);
        Assert.Equal(z, back[2], 1e-7);
    }

    [Fact]
    public void Eliminating_groups_gives_the_same_minimum_and_covariance_as_keeping_them()
    {
        (double[] kept, double keptSigma) = SolveChain(eliminate: false);
        (double[] gone, double goneSigma) = SolveChain(eliminate: true);
        Assert.Equal(kept[0], gone[0], 1e-9);
        Assert.Equal(kept[1], gone[1], 1e-9);
        Assert.Equal(keptSigma, goneSigma, 1e-9);
    }

    [Fact]
    public void The_covariance_of_a_straight_line_is_the_textbooks()
    {
        // y = a + b x at x = 0, 1, 2, 3 with σ = 0.5: var b = σ² ÷ Σ (x − mean)² = 0.25 ÷ 5, var a = σ² (¼ + 1.5² ÷ 5).
        LeastSquaresProblem problem = new();
        int line = problem.AddGroup([0, 0]);
        for (int x = 0; x < 4; x++)
        {
            problem.Add(new Line(line, x, 2 + 3 * x, 0.5));
        }

        problem.Solve();
        ParameterCovariance covariance = problem.Covariance()!;
        Assert.Equal(2, problem.Values(line)[0], 1e-9);
        Assert.Equal(3, problem.Values(line)[1], 1e-9);
        Assert.Equal(Math.Sqrt(0.25 / 5), covariance.SigmaOf(line, 1), 1e-9);
        Assert.Equal(Math.Sqrt(0.25 * (0.25 + 2.25 / 5)), covariance.SigmaOf(line, 0), 1e-9);
        Assert.Equal(-0.25 * 1.5 / 5, covariance[(line, 0), (line, 1)], 1e-9);
    }

    [Fact]
    public void A_prior_weighs_by_its_variance()
    {
        // One measurement 10 ± 1 and a prior 0 ± 2: (10 ÷ 1 + 0 ÷ 4) ÷ (1 + ¼) = 8, variance 1 ÷ 1.25.
        LeastSquaresProblem problem = new();
        int group = problem.AddGroup([3]);
        problem.Add(new PriorBlock(group, [10], [1]));
        problem.Add(PriorBlock.FromCovariance(group, [0], [4])!);
        problem.Solve(100, 1e-16);
        // Near its minimum the cost is flat: to the square root of the rounding.
        Assert.Equal(8, problem.Values(group)[0], 1e-7);
        Assert.Equal(Math.Sqrt(0.8), problem.Covariance()!.SigmaOf(group, 0), 1e-9);
    }

    [Theory]
    [InlineData((int)RobustLoss.Square, 3.0)] // the mean of 0 0 0 0 15
    [InlineData((int)RobustLoss.Huber, 0.25)] // 4 m = the outlier's constant pull of 1
    [InlineData((int)RobustLoss.Cauchy, 0.0164)] // 4 m ÷ (1 + m²) = (15 − m) ÷ (1 + (15 − m)²)
    public void A_robust_loss_limits_what_one_outlier_does(int loss, double expected)
    {
        LeastSquaresProblem problem = new();
        int group = problem.AddGroup([0.5]);
        foreach (double y in new[] { 0.0, 0, 0, 0, 15 })
        {
            problem.Add(new PriorBlock(group, [y], [1]) { Loss = (RobustLoss)loss, LossScale = 1 });
        }

        problem.Solve(500, 1e-15);
        Assert.Equal(expected, problem.Values(group)[0], 6e-4);
    }

    [Fact]
    public void What_nothing_fixes_has_no_covariance()
    {
        LeastSquaresProblem problem = new();
        int line = problem.AddGroup([0, 0]);
        problem.Add(new Line(line, 1, 2, 1));
        problem.Solve();
        Assert.Null(problem.Covariance());
    }

    private static (double[] Values, double Sigma) SolveChain(bool eliminate)
    {
        // Two common numbers a, b and ten own numbers c_i: residuals a + c_i − i, b c_i − 2, c_i − 1.
        LeastSquaresProblem problem = new();
        int shared = problem.AddGroup([0.5, 1.5]);
        for (int i = 0; i < 10; i++)
        {
            problem.Add(new Link(shared, problem.AddGroup([1], eliminate), 0.1 * i));
        }

        problem.Solve(300, 1e-15);
        return (problem.Values(shared), problem.Covariance()!.SigmaOf(shared, 0));
    }

    private sealed class Line(int group, double x, double y, double sigma) : ResidualBlock(1, group)
    {
        public override bool Evaluate(ReadOnlySpan<double> p, Span<double> r, Span<double> j)
        {
            r[0] = (p[0] + p[1] * x - y) / sigma;
            if (!j.IsEmpty)
            {
                j[0] = 1 / sigma;
                j[1] = x / sigma;
            }

            return true;
        }
    }

    private sealed class Link(int shared, int own, double y) : ResidualBlock(3, shared, own)
    {
        public override bool Evaluate(ReadOnlySpan<double> p, Span<double> r, Span<double> j)
        {
            r[0] = p[0] + p[2] - y;
            r[1] = p[1] * p[2] - 2;
            r[2] = p[2] - 1;
            if (!j.IsEmpty)
            {
                j[0] = 1;
                j[2] = 1;
                j[4] = p[2];
                j[5] = p[1];
                j[8] = 1;
            }

            return true;
        }
    }
}
