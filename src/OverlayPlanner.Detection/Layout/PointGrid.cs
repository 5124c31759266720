using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>The junctions and seams of a map by place.</summary>
internal sealed class PointGrid
{
    private const double CellInches = 1;
    private readonly QuiltMap map;
    private readonly Dictionary<(int, int), List<int>> junctions = [];
    private readonly NetTopologySuite.Index.Strtree.STRtree<int> seams = new();

    public PointGrid(QuiltMap map)
    {
        this.map = map;
        for (int j = 0; j < map.Junctions.Count; j++)
        {
            (int, int) cell = CellOf(map.Junctions[j].Place);
            if (!junctions.TryGetValue(cell, out List<int>? there))
            {
                junctions[cell] = there = [];
            }

            there.Add(j);
        }

        Lines = [.. map.Seams.Select(map.EdgeOf)];
        for (int i = 0; i < Lines.Count; i++)
        {
            Box<ClothSpace> b = Lines[i].Bounds();
            seams.Insert(new(b.Left, b.Right, b.Top, b.Bottom), i);
        }

        seams.Build();
    }

    /// <summary>All seams, as in the map.</summary>
    public IReadOnlyList<Edge<ClothSpace>> Lines { get; }

    /// <summary>Indices of the junctions within so many inches.</summary>
    public IEnumerable<int> Near(Point<ClothSpace> p, double reach)
    {
        (int x0, int y0) = CellOf(new(p.X - reach, p.Y - reach));
        (int x1, int y1) = CellOf(new(p.X + reach, p.Y + reach));
        for (int x = x0; x <= x1; x++)
        {
            for (int y = y0; y <= y1; y++)
            {
                if (junctions.TryGetValue((x, y), out List<int>? there))
                {
                    foreach (int j in there)
                    {
                        if (map.Junctions[j].Place.DistanceTo(p) <= reach)
                        {
                            yield return j;
                        }
                    }
                }
            }
        }
    }

    /// <summary>The seams whose boxes meet that of these corners.</summary>
    public IEnumerable<Edge<ClothSpace>> LinesNear(IReadOnlyList<Point<ClothSpace>> corners)
    {
        Box<ClothSpace> b = Box<ClothSpace>.Around(corners);
        return seams.Query(new(b.Left, b.Right, b.Top, b.Bottom)).Select(i => Lines[i]);
    }

    private static (int, int) CellOf(Point<ClothSpace> p) =>
        ((int)Math.Floor(p.X / CellInches), (int)Math.Floor(p.Y / CellInches));
}
