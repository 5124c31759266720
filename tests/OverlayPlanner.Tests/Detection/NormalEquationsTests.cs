using OverlayPlanner.Detection.Structure;

namespace OverlayPlanner.Tests.Detection;

public sealed class NormalEquationsTests
{
    [Fact]
    public void A_regression_line_has_its_textbook_coefficients()
    {
        // y = 1, 3, 2, 5 at x = 0, 1, 2, 3: slope Σ(x−x̄)(y−ȳ)/Σ(x−x̄)² = 5.5/5 = 1.1, intercept 2.75 − 1.1·1.5 = 1.1.
        NormalEquations equations = new(2);
        double[] y = [1, 3, 2, 5];
        for (int x = 0; x < 4; x++)
        {
            equations.Add([0, 1], [1, x], y[x], 1);
        }

        double[] solution = equations.Solve();
        Assert.Equal(1.1, solution[0], 1e-9);
        Assert.Equal(1.1, solution[1], 1e-9);
    }

    [Fact]
    public void A_weight_counts_as_so_many_equal_equations()
    {
        // (3·1 + 1·5) / 4 = 2.
        NormalEquations equations = new(1);
        equations.Add([0], [1], 1, 3);
        equations.Add([0], [1], 5, 1);
        Assert.Equal(2, equations.Solve()[0], 1e-12);
    }

    [Fact]
    public void A_fixed_unknown_stays_at_zero()
    {
        NormalEquations equations = new(2);
        equations.Add([0, 1], [1, 1], 6, 1);
        equations.Add([1], [1], 1, 1);
        equations.Fix(1);
        double[] solution = equations.Solve();
        Assert.Equal(0, solution[1]);
        Assert.Equal(6, solution[0], 1e-9);
    }
}
