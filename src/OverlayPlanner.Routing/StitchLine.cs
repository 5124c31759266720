using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing;

/// <summary>One line to stitch, from junction to junction.</summary>
/// <param name="From">Index of the junction where <paramref name="Path"/> begins.</param>
/// <param name="To">Index of the junction where it ends.</param>
/// <param name="Path">Line or arc, inches; its ends are the junctions' own coordinates.</param>
/// <param name="Kind">What a first pass along it is: ditch, frame, arc or line.</param>
/// <param name="Seam">Id of the seam, or null for an added line.</param>
/// <param name="Block">Id of the block that it belongs to, or null.</param>
internal sealed record StitchLine(int From, int To, Edge<ClothSpace> Path, MoveKind Kind, string? Seam, string? Block)
{
    /// <summary>Length in inches.</summary>
    public double Inches { get; } = Path.Length;

    /// <summary>True along a raw edge: the needle stays inside the binding line.</summary>
    public bool IsRaw { get; init; }

    /// <summary>The curved ruler that makes it, or null.</summary>
    public Ruler? Ruler { get; init; }

    /// <summary>True for a line that is not there without the planner.</summary>
    public bool IsAdded => Kind is MoveKind.Arc or MoveKind.Line;

    /// <summary>The lines that a candidate stitches, each once, over the junctions of its map.</summary>
    public static List<StitchLine> Of(QuiltMap map, RouteCandidate candidate)
    {
        Dictionary<Point<ClothSpace>, int> index = [];
        for (int v = 0; v < map.Junctions.Count; v++)
        {
            index.TryAdd(map.Junctions[v].Place, v);
        }

        return
        [
            .. candidate
                .AllMoves.Where(m => m.Kind != MoveKind.Retrace)
                .Select(m => new StitchLine(index[m.Path.From], index[m.Path.To], m.Path, m.Kind, m.Seam, m.Block)
                {
                    IsRaw = m.Seam is { } s && map.SeamOf(s).Edge == EdgeKind.Raw,
                }),
        ];
    }
}

/// <summary>All lines of one design as a plane graph over the map's junctions, with what parity needs.</summary>
internal sealed class StitchGraph
{
    public StitchGraph(QuiltMap map, IReadOnlyList<StitchLine> lines)
    {
        Map = map;
        Lines = lines;
        Plane = new([.. map.Junctions.Select(j => j.Place)], [.. lines.Select(l => (l.From, l.To, l.Path.Bulge))]);
        Network = new(map.Junctions.Count, [.. lines.Select(l => (l.From, l.To, l.Inches))]);
    }

    /// <summary>Lines between nodes of their own: several may stand for one junction, each at its place.</summary>
    public StitchGraph(QuiltMap map, IReadOnlyList<Point<ClothSpace>> nodes, IReadOnlyList<StitchLine> lines)
    {
        Map = map;
        Lines = lines;
        Plane = new(nodes, [.. lines.Select(l => (l.From, l.To, l.Path.Bulge))]);
        Network = new(nodes.Count, [.. lines.Select(l => (l.From, l.To, l.Inches))]);
    }

    public QuiltMap Map { get; }

    public IReadOnlyList<StitchLine> Lines { get; }

    /// <summary>Node i is junction i, edge i is line i.</summary>
    public PlaneGraph<ClothSpace> Plane { get; }

    /// <summary>The same without its geometry.</summary>
    public LineNetwork Network { get; }

    /// <inheritdoc cref="LineNetwork.PieceCount"/>
    public int PieceCount => Network.PieceCount;

    /// <inheritdoc cref="LineNetwork.Odd"/>
    public IReadOnlyList<int> Odd => Network.Odd;

    /// <inheritdoc cref="LineNetwork.LeastStarts"/>
    public int LeastStarts => Network.LeastStarts;

    /// <inheritdoc cref="LineNetwork.PieceOf"/>
    public int PieceOf(int junction) => Network.PieceOf(junction);
}
