namespace OverlayPlanner.Geometry;

/// <summary>A quantity at the crossings of an even grid over a box; not finite where it is not known.</summary>
/// <typeparam name="TSpace">The space of the places; the quantity's unit is its maker's.</typeparam>
public sealed class ScalarGrid<TSpace>
    where TSpace : ISpace
{
    private readonly double[] values;

    private ScalarGrid(Box<TSpace> area, int columns, int rows, double[] values)
    {
        Area = area;
        Columns = columns;
        Rows = rows;
        this.values = values;
    }

    /// <summary>The box; its corners are crossings.</summary>
    public Box<TSpace> Area { get; }

    /// <summary>Crossings across, at least 2.</summary>
    public int Columns { get; }

    /// <summary>Crossings down, at least 2.</summary>
    public int Rows { get; }

    /// <summary>The crossings' values, row by row from the top left.</summary>
    public IReadOnlyList<double> Values => values;

    /// <summary>The value at a crossing.</summary>
    public double this[int column, int row] => values[row * Columns + column];

    /// <summary>Takes a quantity at each crossing.</summary>
    /// <param name="area">Where; wider and higher than nothing.</param>
    /// <param name="step">Distance of neighbours, at most; it is made smaller so that it divides each side.</param>
    /// <param name="value">The quantity; asked from several threads at once.</param>
    /// <exception cref="ArgumentOutOfRangeException">The area is empty, or the step is not more than zero.</exception>
    public static ScalarGrid<TSpace> Sample(
        Box<TSpace> area,
        double step,
        Func<Point<TSpace>, double> value,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(value);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(area.Width);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(area.Height);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(step);
        int columns = 1 + Math.Max(1, (int)Math.Ceiling(area.Width / step - 1e-9));
        int rows = 1 + Math.Max(1, (int)Math.Ceiling(area.Height / step - 1e-9));
        double[] taken = new double[columns * rows];
        ScalarGrid<TSpace> grid = new(area, columns, rows, taken);
        Parallel.For(
            0,
            rows,
            new ParallelOptions { CancellationToken = ct },
            row =>
            {
                for (int column = 0; column < columns; column++)
                {
                    taken[row * columns + column] = value(grid.PlaceOf(column, row));
                }
            }
        );
        return grid;
    }

    /// <summary>The place of a crossing.</summary>
    public Point<TSpace> PlaceOf(int column, int row) =>
        new(Area.Left + Area.Width * column / (Columns - 1), Area.Top + Area.Height * row / (Rows - 1));

    /// <summary>
    /// The value at any place, linear along both axes between the four crossings round it; NaN outside the area and where one of
    /// the four is not known.
    /// </summary>
    public double At(Point<TSpace> place)
    {
        if (!Area.Holds(place))
        {
            return double.NaN;
        }

        double x = (place.X - Area.Left) / Area.Width * (Columns - 1);
        double y = (place.Y - Area.Top) / Area.Height * (Rows - 1);
        int column = Math.Min((int)x, Columns - 2);
        int row = Math.Min((int)y, Rows - 2);
        (double fx, double fy) = (x - column, y - row);
        double value =
            (1 - fy) * ((1 - fx) * this[column, row] + fx * this[column + 1, row])
            + fy * ((1 - fx) * this[column, row + 1] + fx * this[column + 1, row + 1]);
        return double.IsFinite(value) ? value : double.NaN;
    }
}
