using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>Orders places as a page is read: rows from the top, in each row from the left.</summary>
internal static class ReadingOrder
{
    /// <summary>
    /// Sorts items; those whose y lies within <paramref name="tolerance"/> inches of a row's first belong to that row.
    /// </summary>
    /// <remarks>
    /// Rows are gathered, not rounded to a grid: two equal heights that differ in their last bit would fall to both sides of a
    /// grid's limit.
    /// </remarks>
    public static IReadOnlyList<T> Sort<T>(IEnumerable<T> items, Func<T, Point<ClothSpace>> placeOf, double tolerance)
    {
        List<(T Item, Point<ClothSpace> Place, int Row)> rows = [];
        double top = double.NegativeInfinity;
        int row = 0;
        foreach ((T item, Point<ClothSpace> place) in items.Select(i => (i, placeOf(i))).OrderBy(i => i.Item2.Y))
        {
            if (place.Y > top + tolerance)
            {
                row++;
                top = place.Y;
            }

            rows.Add((item, place, row));
        }

        return [.. rows.OrderBy(r => r.Row).ThenBy(r => r.Place.X).ThenBy(r => r.Place.Y).Select(r => r.Item)];
    }
}
