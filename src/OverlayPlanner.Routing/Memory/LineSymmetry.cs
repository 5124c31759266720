using OverlayPlanner.Geometry;
using OverlayPlanner.Routing.Designs;

namespace OverlayPlanner.Routing.Memory;

/// <summary>The ways to lay a design's lines on themselves, about the middle of all their points.</summary>
internal sealed class LineSymmetry
{
    // As for blocks of measured cloth: a point may be an eighth of an inch off its image.
    private const double Tolerance = 0.125;
    private const double BulgeTolerance = 0.02;

    private readonly Dictionary<int, int[]> images = [];

    private LineSymmetry() { }

    /// <summary>The elements found, the identity among them; see <see cref="SquareTurns"/>.</summary>
    public IReadOnlyCollection<int> Elements => images.Keys;

    /// <summary>Where each half-edge of a line goes (2 × line + 0 at its first junction, + 1 at its second).</summary>
    public int[] ImageUnder(int element) => images[element];

    /// <summary>Finds them. O(8·v²) for v points.</summary>
    public static LineSymmetry Find(StitchGraph graph)
    {
        LineSymmetry found = new();
        int[] used = [.. graph.Lines.SelectMany(l => new[] { l.From, l.To }).Distinct().Order()];
        IReadOnlyList<Point<ClothSpace>> places = graph.Plane.Nodes;
        Box<ClothSpace> box = Box<ClothSpace>.Around(used.Select(v => places[v]));
        Dictionary<(int, int), List<int>> between = [];
        for (int e = 0; e < graph.Lines.Count; e++)
        {
            (int, int) key = KeyOf(graph.Lines[e].From, graph.Lines[e].To);
            if (!between.TryGetValue(key, out List<int>? lines))
            {
                between[key] = lines = [];
            }

            lines.Add(e);
        }

        for (int element = 0; element < SquareTurns.Count; element++)
        {
            int[]? nodes = LayNodes(element, used, places, box.Center);
            int[]? ends = nodes is null ? null : LayLines(element, nodes, graph, between);
            if (ends is not null)
            {
                found.images[element] = ends;
            }
        }

        return found;
    }

    private static int[]? LayNodes(
        int element,
        int[] used,
        IReadOnlyList<Point<ClothSpace>> places,
        Point<ClothSpace> center
    )
    {
        int[] image = new int[places.Count];
        bool[] taken = new bool[places.Count];
        foreach (int v in used)
        {
            (double x, double y) = SquareTurns.Apply(element, places[v].X - center.X, places[v].Y - center.Y);
            Point<ClothSpace> p = new(center.X + x, center.Y + y);
            int best = -1;
            double least = Tolerance;
            foreach (int w in used)
            {
                double d = places[w].DistanceTo(p);
                if (d <= least)
                {
                    (best, least) = (w, d);
                }
            }

            if (best < 0 || taken[best])
            {
                return null;
            }

            taken[best] = true;
            image[v] = best;
        }

        return image;
    }

    private static int[]? LayLines(
        int element,
        int[] nodes,
        StitchGraph graph,
        Dictionary<(int, int), List<int>> between
    )
    {
        int[] ends = new int[2 * graph.Lines.Count];
        for (int e = 0; e < graph.Lines.Count; e++)
        {
            StitchLine line = graph.Lines[e];
            double bulge = SquareTurns.IsMirror(element) ? -line.Path.Bulge : line.Path.Bulge;
            int from = nodes[line.From];
            int to = nodes[line.To];
            int image = -1;
            double least = BulgeTolerance;
            foreach (int other in between.GetValueOrDefault(KeyOf(from, to)) ?? [])
            {
                StitchLine o = graph.Lines[other];
                double off = Math.Abs((o.From == from ? o.Path.Bulge : -o.Path.Bulge) - bulge);
                if (o.Kind == line.Kind && o.Path.IsLine == line.Path.IsLine && off <= least)
                {
                    (image, least) = (other, off);
                }
            }

            if (image < 0)
            {
                return null;
            }

            int first = graph.Lines[image].From == from ? 0 : 1;
            ends[2 * e] = 2 * image + first;
            ends[2 * e + 1] = 2 * image + 1 - first;
        }

        return ends;
    }

    private static (int, int) KeyOf(int a, int b) => a < b ? (a, b) : (b, a);
}
