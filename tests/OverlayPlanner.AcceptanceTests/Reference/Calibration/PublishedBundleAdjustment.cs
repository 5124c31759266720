using System.IO.Compression;
using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;

namespace OverlayPlanner.AcceptanceTests.Reference.Calibration;

/// <summary>The sparse path of the solver on a problem of the Bundle Adjustment in the Large collection (S. Agarwal et al., 2010).</summary>
public sealed class PublishedBundleAdjustment
{
    /// <summary>A cut of the problem: 6 cameras, 150 points; initial 61727.371, final 90.1824 by an independent trust-region solver.</summary>
    [Fact]
    public void The_cut_problem_reaches_the_independent_solvers_cost()
    {
        using Stream file = File.OpenRead(SharedData.Require("bal-problem-16", "problem-6-150-cut.txt"));
        LeastSquaresProblem problem = BundleProblem.Read(file);
        Assert.Equal(61727.371359, problem.Cost(), 1e-3);
        SolveReport report = problem.Solve(300, 1e-12);
        Assert.Equal(90.1824, report.Cost, 1e-3);
    }

    /// <summary>16 cameras, 22,106 points, 83,718 observations: published initial cost 4.185660e+06, final 1.803390e+04.</summary>
    [Fact]
    public void The_whole_problem_reaches_the_published_cost()
    {
        using Stream file = File.OpenRead(SharedData.Require("bal-problem-16", "problem-16-22106-pre.txt.gz"));
        using GZipStream plain = new(file, CompressionMode.Decompress);
        LeastSquaresProblem problem = BundleProblem.Read(plain);
        Assert.Equal(4.185660e6, problem.Cost(), 1.0);
        SolveReport report = problem.Solve(60, 1e-7);
        Assert.True(report.Cost <= 18035, report.Cost.ToString(System.Globalization.CultureInfo.InvariantCulture));
    }
}
