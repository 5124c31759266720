namespace OverlayPlanner.Geometry;

/// <summary>A line along which a quantity has one value.</summary>
/// <param name="Points">Its points in order; a closed line does not repeat the first at its end.</param>
/// <param name="IsClosed">True where it comes back to its beginning; an open line ends where the quantity is not known any more.</param>
public sealed record ContourLine<TSpace>(IReadOnlyList<Point<TSpace>> Points, bool IsClosed)
    where TSpace : ISpace
{
    /// <summary>Its pieces in order, the last one back to the beginning where it is closed.</summary>
    public IReadOnlyList<Edge<TSpace>> Edges =>
        [
            .. Points.Skip(1).Zip(Points, (to, from) => new Edge<TSpace>(from, to)),
            .. IsClosed ? [new Edge<TSpace>(Points[^1], Points[0])] : Array.Empty<Edge<TSpace>>(),
        ];
}

/// <summary>Contour lines of a grid by marching squares (W. Lorensen and H. Cline's cubes of 1987, in the plane).</summary>
/// <remarks>
/// Along each side of a cell whose ends lie on both sides of the level, the crossing is placed as if the quantity were linear
/// there; both cells that share the side get the same point, so lines join exactly. Where all four sides are crossed, the mean
/// of the four corners says which two crossings belong together. Off by at most h² M ÷ 8 |∇f| for cells of width h and second
/// derivatives up to M. O(cells).
/// </remarks>
public static class ContourLine
{
    private const int None = -1;

    /// <summary>All lines at a level, in a fixed order; none touches a cell with a corner that is not known.</summary>
    public static IReadOnlyList<ContourLine<TSpace>> Trace<TSpace>(ScalarGrid<TSpace> grid, double level)
        where TSpace : ISpace
    {
        ArgumentNullException.ThrowIfNull(grid);
        SortedDictionary<int, (int A, int B)> links = [];
        for (int row = 0; row + 1 < grid.Rows; row++)
        {
            for (int column = 0; column + 1 < grid.Columns; column++)
            {
                foreach ((int a, int b) in PiecesIn(grid, column, row, level))
                {
                    Link(links, a, b);
                    Link(links, b, a);
                }
            }
        }

        List<ContourLine<TSpace>> lines = [];
        HashSet<int> walked = [];

        // From the loose ends first; what is left over are loops.
        foreach (int start in links.Keys.Where(k => links[k].B == None).Concat(links.Keys))
        {
            // A line that is a single point is a peak of the very level.
            if (!walked.Contains(start) && Walk(grid, level, links, start, walked) is { Points.Count: > 1 } line)
            {
                lines.Add(line);
            }
        }

        return lines;
    }

    // Sides have numbers: an even one for the side from a crossing to the right, an odd one for that from it down.
    private static IEnumerable<(int A, int B)> PiecesIn<TSpace>(
        ScalarGrid<TSpace> grid,
        int column,
        int row,
        double level
    )
        where TSpace : ISpace
    {
        double topLeft = grid[column, row];
        double topRight = grid[column + 1, row];
        double bottomRight = grid[column + 1, row + 1];
        double bottomLeft = grid[column, row + 1];
        double sum = topLeft + topRight + bottomRight + bottomLeft;
        if (!double.IsFinite(sum))
        {
            yield break;
        }

        int corner = row * grid.Columns + column;
        int top = 2 * corner;
        int left = top + 1;
        int bottom = 2 * (corner + grid.Columns);
        int right = 2 * (corner + 1) + 1;
        List<int> crossed = [];
        AddIf(topLeft >= level != topRight >= level, top);
        AddIf(topRight >= level != bottomRight >= level, right);
        AddIf(bottomRight >= level != bottomLeft >= level, bottom);
        AddIf(bottomLeft >= level != topLeft >= level, left);
        if (crossed.Count == 2)
        {
            yield return (crossed[0], crossed[1]);
        }
        else if (crossed.Count == 4)
        {
            // The middle belongs with the top left corner, or cuts it off.
            bool together = sum / 4 >= level == topLeft >= level;
            yield return together ? (top, right) : (top, left);
            yield return together ? (bottom, left) : (bottom, right);
        }

        void AddIf(bool isCrossed, int side)
        {
            if (isCrossed)
            {
                crossed.Add(side);
            }
        }
    }

    private static void Link(SortedDictionary<int, (int A, int B)> links, int from, int to) =>
        links[from] = links.TryGetValue(from, out (int A, int B) one) ? (one.A, to) : (to, None);

    private static ContourLine<TSpace> Walk<TSpace>(
        ScalarGrid<TSpace> grid,
        double level,
        SortedDictionary<int, (int A, int B)> links,
        int start,
        HashSet<int> walked
    )
        where TSpace : ISpace
    {
        List<Point<TSpace>> points = [];
        int before = None;
        int at = start;
        while (at != None && walked.Add(at))
        {
            Point<TSpace> place = PlaceOn(grid, at, level);

            // Where a crossing of the grid has the very level, several sides are crossed at one point.
            if (points.Count == 0 || points[^1] != place)
            {
                points.Add(place);
            }

            (int a, int b) = links[at];
            (before, at) = (at, a == before ? b : a);
        }

        bool closed = at == start && links[start].B != None;
        if (closed && points.Count > 1 && points[^1] == points[0])
        {
            points.RemoveAt(points.Count - 1);
        }

        return new(points, closed && points.Count > 2);
    }

    private static Point<TSpace> PlaceOn<TSpace>(ScalarGrid<TSpace> grid, int side, double level)
        where TSpace : ISpace
    {
        int column = side / 2 % grid.Columns;
        int row = side / 2 / grid.Columns;
        (int right, int down) = side % 2 == 0 ? (1, 0) : (0, 1);
        double from = grid[column, row];
        double to = grid[column + right, row + down];
        return grid.PlaceOf(column, row).Toward(grid.PlaceOf(column + right, row + down), (level - from) / (to - from));
    }
}
