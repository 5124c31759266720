using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>
/// What already stands on the page: lines with their width, and boxes. Tells whether a label would cover any of it.
/// </summary>
/// <remarks>Arcs are held as chords within 0.05 pt, a tenth of the thinnest line. Look-ups touch near cells only.</remarks>
internal sealed class LabelSpace(Box<PageSpace> region)
{
    private const double Cell = 24;
    private const double ChordError = 0.05;
    private readonly List<(Point<PageSpace> A, Point<PageSpace> B, double Half)> lines = [];
    private readonly List<Box<PageSpace>> boxes = [];
    private readonly Dictionary<(int, int), List<int>> linesIn = [];

    /// <summary>Labels lie wholly inside.</summary>
    public Box<PageSpace> Region { get; } = region;

    /// <summary>Boxes that stand.</summary>
    public IReadOnlyList<Box<PageSpace>> Boxes => boxes;

    /// <summary>Adds a drawn line.</summary>
    public void Add(Edge<PageSpace> edge, double width)
    {
        IReadOnlyList<Point<PageSpace>> points = edge.Flatten(ChordError);
        for (int i = 1; i < points.Count; i++)
        {
            Add(points[i - 1], points[i], width / 2 + (edge.IsLine ? 0 : ChordError));
        }
    }

    /// <summary>Adds a segment with half its width.</summary>
    public void Add(Point<PageSpace> a, Point<PageSpace> b, double half)
    {
        // Long lines are cut up, so that a slanted one does not fill the cells of its whole box.
        int pieces = Math.Max(1, (int)(a.DistanceTo(b) / (2 * Cell)));
        for (int k = 0; k < pieces; k++)
        {
            Point<PageSpace> p = a.Toward(b, (double)k / pieces);
            Point<PageSpace> q = a.Toward(b, (double)(k + 1) / pieces);
            int index = lines.Count;
            lines.Add((p, q, half));
            foreach ((int, int) cell in CellsOf(Box<PageSpace>.Around(p, q).Grown(half)))
            {
                if (!linesIn.TryGetValue(cell, out List<int>? list))
                {
                    linesIn[cell] = list = [];
                }

                list.Add(index);
            }
        }
    }

    /// <summary>Adds a box that nothing else may cover.</summary>
    public void Add(Box<PageSpace> box) => boxes.Add(box);

    /// <summary>True where the box, grown by the gap, covers nothing and lies in the region.</summary>
    public bool IsFree(Box<PageSpace> box, double gap)
    {
        if (
            box.Left < Region.Left
            || box.Right > Region.Right
            || box.Top < Region.Top
            || box.Bottom > Region.Bottom
            || boxes.Any(b => b.Meets(box.Grown(gap)))
        )
        {
            return false;
        }

        foreach (int i in Near(box.Grown(gap)))
        {
            (Point<PageSpace> a, Point<PageSpace> b, double half) = lines[i];
            if (EdgeClipping.Distance(a, b, box) < gap + half)
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>True where the segment with this half width covers nothing and lies in the region.</summary>
    public bool IsFree(Point<PageSpace> a, Point<PageSpace> b, double half)
    {
        Box<PageSpace> box = Box<PageSpace>.Around(a, b).Grown(half);
        return box.Left >= Region.Left
            && box.Right <= Region.Right
            && box.Top >= Region.Top
            && box.Bottom <= Region.Bottom
            && !TouchesBox(a, b, half)
            && CountCrossed(a, b, half) == 0;
    }

    /// <summary>True where the segment comes nearer than half to a box.</summary>
    public bool TouchesBox(Point<PageSpace> a, Point<PageSpace> b, double half) =>
        boxes.Any(o => EdgeClipping.Distance(a, b, o) <= half);

    /// <summary>Lines that come nearer than half to the segment.</summary>
    public int CountCrossed(Point<PageSpace> a, Point<PageSpace> b, double half)
    {
        int count = 0;
        foreach (int i in Near(Box<PageSpace>.Around(a, b).Grown(half)))
        {
            (Point<PageSpace> c, Point<PageSpace> d, double other) = lines[i];
            if (EdgeClipping.Distance(a, b, c, d) < half + other)
            {
                count++;
            }
        }

        return count;
    }

    /// <summary>Distance from the box to the nearest line that is not drawn along <paramref name="own"/>, at most 60 pt.</summary>
    public double ClearanceBeside(Box<PageSpace> box, IReadOnlyList<Edge<PageSpace>> own)
    {
        double least = 60;
        foreach (int i in Near(box.Grown(least)))
        {
            (Point<PageSpace> a, Point<PageSpace> b, double half) = lines[i];
            Point<PageSpace> middle = a.Toward(b, 0.5);
            if (own.Any(e => e.Nearest(middle).Distance < 0.5))
            {
                continue;
            }

            least = Math.Min(least, EdgeClipping.Distance(a, b, box) - half);
        }

        return least;
    }

    private SortedSet<int> Near(Box<PageSpace> box)
    {
        SortedSet<int> near = [];
        foreach ((int, int) cell in CellsOf(box))
        {
            if (linesIn.TryGetValue(cell, out List<int>? list))
            {
                near.UnionWith(list);
            }
        }

        return near;
    }

    private static IEnumerable<(int, int)> CellsOf(Box<PageSpace> box)
    {
        for (int x = (int)Math.Floor(box.Left / Cell); x <= (int)Math.Floor(box.Right / Cell); x++)
        {
            for (int y = (int)Math.Floor(box.Top / Cell); y <= (int)Math.Floor(box.Bottom / Cell); y++)
            {
                yield return (x, y);
            }
        }
    }
}
