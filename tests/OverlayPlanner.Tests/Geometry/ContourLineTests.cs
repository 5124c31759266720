using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

public class ContourLineTests
{
    private static readonly Box<ClothSpace> Area = new(-5, -4, 5, 4);

    [Fact]
    public void The_contour_of_a_cone_is_a_circle()
    {
        const double Step = 0.1;
        ScalarGrid<ClothSpace> grid = ScalarGrid<ClothSpace>.Sample(Area, Step, p => p.DistanceTo(new(0.03, -0.02)));

        ContourLine<ClothSpace> line = Assert.Single(ContourLine.Trace(grid, 3));

        // The distance's second derivative is at most 1 ÷ 2.9 there, its slope 1: off by no more than h² ÷ (8 × 2.9).
        Assert.True(line.IsClosed);
        Assert.All(line.Points, p => Assert.Equal(3, p.DistanceTo(new(0.03, -0.02)), Step * Step / (8 * 2.9)));

        // Chords no longer than a cell's diagonal: a circle's length less a share of (0.1414 ÷ 3)² ÷ 24 at most.
        double length = line.Edges.Sum(e => e.Chord);
        Assert.InRange(length, 2 * Math.PI * 3 * (1 - 1e-3), 2 * Math.PI * 3 * (1 + 1e-3));
        Assert.All(line.Edges, e => Assert.InRange(e.Chord, 0, Step * Math.Sqrt(2) + 1e-12));
    }

    [Fact]
    public void A_line_that_leaves_the_grid_is_open_and_ends_at_its_side()
    {
        // x + 2y = 1 goes from (−5, 3) at the left side to (5, −2) at the right one; a linear field is met exactly.
        ScalarGrid<ClothSpace> grid = ScalarGrid<ClothSpace>.Sample(Area, 0.7, p => p.X + 2 * p.Y);

        ContourLine<ClothSpace> line = Assert.Single(ContourLine.Trace(grid, 1));

        Assert.False(line.IsClosed);
        Assert.All(line.Points, p => Assert.Equal(1, p.X + 2 * p.Y, 1e-12));
        Point<ClothSpace>[] ends = [.. new[] { line.Points[0], line.Points[^1] }.OrderBy(p => p.X)];
        Assert.Equal(-5, ends[0].X, 1e-12);
        Assert.Equal(5, ends[1].X, 1e-12);
        Assert.Equal(line.Points.Count - 1, line.Edges.Count);
    }

    // x y is a saddle: at a level above zero two hyperbolas lie in the first and third quarter, below in the others.
    [Theory]
    [InlineData(0.05, 1)]
    [InlineData(-0.05, -1)]
    public void At_a_saddle_the_middle_says_which_crossings_belong_together(double level, int sign)
    {
        // Crossings at odd multiples of 1/2, so that the saddle's middle lies inside a cell.
        ScalarGrid<ClothSpace> grid = ScalarGrid<ClothSpace>.Sample(new(-2.5, -2.5, 2.5, 2.5), 1, p => p.X * p.Y);

        IReadOnlyList<ContourLine<ClothSpace>> lines = ContourLine.Trace(grid, level);

        Assert.Equal(2, lines.Count);
        Assert.All(lines, l => Assert.All(l.Points, p => Assert.Equal(sign, Math.Sign(p.X * p.Y))));
        Assert.All(lines, l => Assert.Single(l.Points.Select(p => Math.Sign(p.X)).Distinct()));
    }

    [Fact]
    public void Where_nothing_is_known_a_line_ends()
    {
        ScalarGrid<ClothSpace> grid = ScalarGrid<ClothSpace>.Sample(
            Area,
            0.1,
            p => p.X > 2 ? double.PositiveInfinity : p.DistanceTo(new(0, 0))
        );

        ContourLine<ClothSpace> line = Assert.Single(ContourLine.Trace(grid, 3));

        Assert.False(line.IsClosed);
        Assert.All(line.Points, p => Assert.InRange(p.X, -3.01, 2 + 1e-9));
        Assert.All([line.Points[0], line.Points[^1]], p => Assert.InRange(p.X, 1.85, 2 + 1e-9));
        Assert.True(double.IsNaN(grid.At(new(2.05, 0))));
        Assert.True(double.IsNaN(grid.At(new(5.1, 0))));
        Assert.Equal(1, grid.At(new(0, 1)), 1e-3);
    }

    [Fact]
    public void A_level_that_the_crossings_themselves_have_gives_each_point_once()
    {
        // |x| + |y| on whole numbers has the level 2 at eight crossings of the grid and nowhere between them off the diamond.
        ScalarGrid<ClothSpace> grid = ScalarGrid<ClothSpace>.Sample(
            new(-4, -4, 4, 4),
            1,
            p => Math.Abs(p.X) + Math.Abs(p.Y)
        );

        ContourLine<ClothSpace> line = Assert.Single(ContourLine.Trace(grid, 2));

        Assert.True(line.IsClosed);
        Assert.Equal(8, line.Points.Count);
        Assert.Equal(8, line.Points.Distinct().Count());
        Assert.Equal(4 * 2 * Math.Sqrt(2), line.Edges.Sum(e => e.Chord), 1e-12);
        Assert.Empty(ContourLine.Trace(grid, 9));
    }
}
