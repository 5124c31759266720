using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Marks by place, in squares of one inch.</summary>
internal sealed class MarkIndex<TSpace>
    where TSpace : ISpace
{
    private readonly IReadOnlyList<Point<TSpace>> places;
    private readonly Dictionary<(int, int), List<int>> cells = [];

    public MarkIndex(IReadOnlyList<Point<TSpace>> places)
    {
        this.places = places;
        for (int i = 0; i < places.Count; i++)
        {
            (int, int) cell = CellOf(places[i]);
            (cells.TryGetValue(cell, out List<int>? there) ? there : cells[cell] = []).Add(i);
        }
    }

    /// <summary>The nearest that passes, within a distance; −1 where there is none.</summary>
    public int Nearest(Point<TSpace> at, double within, Func<int, bool>? passes = null)
    {
        int reach = (int)Math.Ceiling(within);
        (int cx, int cy) = CellOf(at);
        int best = -1;
        double least = within;
        for (int x = cx - reach; x <= cx + reach; x++)
        {
            for (int y = cy - reach; y <= cy + reach; y++)
            {
                if (!cells.TryGetValue((x, y), out List<int>? there))
                {
                    continue;
                }

                foreach (int i in there)
                {
                    double d = places[i].DistanceTo(at);
                    if (d <= least && (passes is null || passes(i)))
                    {
                        (best, least) = (i, d);
                    }
                }
            }
        }

        return best;
    }

    private static (int, int) CellOf(Point<TSpace> p) => ((int)Math.Floor(p.X), (int)Math.Floor(p.Y));
}
