using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>One block's lines as a map of their own, with the ids and the coordinates of the whole map.</summary>
internal sealed class BlockLines
{
    private readonly Dictionary<string, List<(Seam Seam, string Other)>> around = new(StringComparer.Ordinal);
    private readonly Dictionary<Point<ClothSpace>, string> pointAt = [];

    private DrawingGround? ground;
    private string? way;
    private IReadOnlyList<Point<ClothSpace>>? places;

    /// <exception cref="InputException">The block has no seams.</exception>
    public BlockLines(QuiltMap map, Block block)
    {
        Block = block;
        Patch[] patches = [.. block.Patches.Select(map.PatchOf)];
        HashSet<string> ring = [.. patches.SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h)))];

        // A seam that ends inside a patch borders no ring; its middle decides, as it does where routes are planned.
        Seam[] seams =
        [
            .. map.Seams.Where(s =>
                ring.Contains(s.Id)
                || (
                    (s.Role == SeamRole.Seam || patches.Length == 0)
                    && PatchFinder.IsInside(block.Corners, map.EdgeOf(s).PointAt(0.5))
                )
            ),
        ];
        if (seams.Length == 0)
        {
            throw new InputException("The block has no seams", block.Id, "Choose another block, or mend the map.");
        }

        HashSet<string> ends = [.. seams.SelectMany(s => new[] { s.From, s.To })];
        Map = new(map.Width, map.Height, [.. map.Junctions.Where(j => ends.Contains(j.Id))], seams, patches, [block]);
        foreach (Junction j in Map.Junctions)
        {
            around[j.Id] = [];
            pointAt.TryAdd(j.Place, j.Id);
        }

        foreach (Seam s in seams)
        {
            around[s.From].Add((s, s.To));
            around[s.To].Add((s, s.From));
        }

        Bounds = Box<ClothSpace>.Around(Map.Junctions.Select(j => j.Place).Concat(block.Corners));
        Side = Math.Max(Bounds.Width, Bounds.Height);
    }

    public Block Block { get; }

    /// <summary>The block's own seams, points and patches; nothing else of the quilt.</summary>
    public QuiltMap Map { get; }

    /// <summary>The same lines made ready for strokes, once for all of them.</summary>
    public DrawingGround Ground => ground ??= new(Map);

    public Box<ClothSpace> Bounds { get; }

    /// <summary>The longer side of the bounds, inches.</summary>
    public double Side { get; }

    /// <summary>The seams that are to be stitched; the top's own outline only where it is drawn.</summary>
    public IEnumerable<Seam> ToStitch => Map.Seams.Where(s => s.Role != SeamRole.Edge);

    /// <summary>SVG path data of all seams.</summary>
    public string Way => way ??= SvgWay.Of(Map.Seams.Select(Map.EdgeOf));

    /// <summary>Every point, inches.</summary>
    public IReadOnlyList<Point<ClothSpace>> Places => places ??= [.. Map.Junctions.Select(j => j.Place)];

    public string? PointAt(Point<ClothSpace> place) => pointAt.GetValueOrDefault(place);

    public Point<ClothSpace> PlaceOf(string point) => Map.JunctionOf(point).Place;

    public bool Has(string point) => around.ContainsKey(point);

    /// <summary>The nearest point within a reach in inches, or null.</summary>
    public string? Near(Point<ClothSpace> place, double reach) =>
        Map.Junctions.Select(j => (j.Id, Off: j.Place.DistanceTo(place))).MinBy(x => x.Off) is var (id, off)
        && off <= reach
            ? id
            : null;

    /// <summary>The point that an arrow key leads to: the nearest in that direction, neighbours along a seam first.</summary>
    public string? Toward(string from, Vector<ClothSpace> way)
    {
        Point<ClothSpace> at = PlaceOf(from);
        HashSet<string> neighbours = [.. around[from].Select(a => a.Other)];
        string? best = null;
        double least = double.PositiveInfinity;
        foreach (Junction j in Map.Junctions)
        {
            Vector<ClothSpace> d = j.Place - at;
            double along = d.Dot(way);
            if (j.Id == from || along < 0.5 * d.Norm)
            {
                continue;
            }

            // Twice as far where it lies at 45 degrees; half as far along a seam.
            double aside = Math.Abs(d.Cross(way));
            double cost = (along + aside) * (neighbours.Contains(j.Id) ? 0.5 : 1);
            if (cost < least)
            {
                (best, least) = (j.Id, cost);
            }
        }

        return best;
    }

    /// <summary>The shortest way along seams; those stitched already count half as long again. Null where there is none.</summary>
    public IReadOnlyList<DrawnMove>? WayBetween(string from, string to, IReadOnlySet<string> stitched)
    {
        Dictionary<string, (double Cost, Seam? By)> known = new(StringComparer.Ordinal) { [from] = (0, null) };
        PriorityQueue<string, double> open = new();
        open.Enqueue(from, 0);
        while (open.TryDequeue(out string? v, out double cost) && v != to)
        {
            if (cost > known[v].Cost)
            {
                continue;
            }

            foreach ((Seam s, string w) in around[v])
            {
                double next = cost + Map.EdgeOf(s).Length * (stitched.Contains(s.Id) ? 1.5 : 1);
                if (!known.TryGetValue(w, out (double Cost, Seam? By) old) || next < old.Cost)
                {
                    known[w] = (next, s);
                    open.Enqueue(w, next);
                }
            }
        }

        if (!known.ContainsKey(to))
        {
            return null;
        }

        List<DrawnMove> moves = [];
        for (string v = to; known[v].By is { } seam; v = seam.From == v ? seam.To : seam.From)
        {
            moves.Add(Along(seam, seam.To == v));
        }

        moves.Reverse();
        return moves;
    }

    /// <summary>The seam from one point to another that bows most like it, or null where none joins them.</summary>
    public DrawnMove? Between(string from, string to, double bulge) =>
        around[from]
            .Where(a => a.Other == to)
            .Select(a => Along(a.Seam, a.Seam.From == from))
            .MinBy(m => Math.Abs(m.Path.Bulge - bulge));

    public DrawnMove Along(Seam seam, bool forward)
    {
        Edge<ClothSpace> path = Map.EdgeOf(seam);
        return forward ? new(seam.From, seam.To, seam.Id, path) : new(seam.To, seam.From, seam.Id, path.Reversed);
    }

    /// <summary>Whether a line of one's own may lie there: it crosses and covers no seam and none of the other lines.</summary>
    public bool MayBeAdded(Edge<ClothSpace> path, IEnumerable<DrawnMove> others) =>
        Map
            .Seams.Select(Map.EdgeOf)
            .Concat(others.Where(o => o.Seam is null).Select(o => o.Path))
            .All(e =>
                e == path
                || e.Reversed == path
                || Exact.Relate(e, path) is not (EdgeRelation.Cross or EdgeRelation.Overlap)
            );

    /// <summary>The whole line that a stretch means, where it is more than half of one; null where it is less, or none.</summary>
    public DrawnMove? WholeLine(DrawnStretch s)
    {
        if (s.Seam is { } id)
        {
            return Math.Abs(s.To - s.From) <= 0.5 ? null : Along(Map.SeamOf(id), s.To > s.From);
        }

        // A bow that no eye sees is a shaking hand's.
        Edge<ClothSpace> path = Math.Abs(s.Path.Bulge) < 0.08 ? new(s.Path.From, s.Path.To) : s.Path;
        return PointAt(path.From) is { } a && PointAt(path.To) is { } b ? new(a, b, null, path) : null;
    }
}
