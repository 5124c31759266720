using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

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

    /// <summary>True for a line that is not there without the planner.</summary>
    public bool IsAdded => Kind is MoveKind.Arc or MoveKind.Line;
}

/// <summary>All lines of one design as a plane graph over the map's junctions, with what parity needs.</summary>
internal sealed class StitchGraph
{
    private readonly int[] piece;

    public StitchGraph(QuiltMap map, IReadOnlyList<StitchLine> lines)
    {
        Map = map;
        Lines = lines;
        Plane = new([.. map.Junctions.Select(j => j.Place)], [.. lines.Select(l => (l.From, l.To, l.Path.Bulge))]);
        piece = Plane.FindPieces(out int count);
        PieceCount = count;
        Odd = [.. Enumerable.Range(0, map.Junctions.Count).Where(v => Plane.DegreeOf(v) % 2 == 1)];
        int[] odd = new int[count];
        foreach (int v in Odd)
        {
            odd[piece[v]]++;
        }

        OddInPiece = odd;
        LeastStarts = odd.Sum(k => Math.Max(1, k / 2));
    }

    public QuiltMap Map { get; }

    public IReadOnlyList<StitchLine> Lines { get; }

    /// <summary>Node i is junction i, edge i is line i.</summary>
    public PlaneGraph<ClothSpace> Plane { get; }

    /// <summary>Number of connected pieces.</summary>
    public int PieceCount { get; }

    /// <summary>Junctions where an odd number of lines meet.</summary>
    public IReadOnlyList<int> Odd { get; }

    /// <summary>How many of them each piece has.</summary>
    public IReadOnlyList<int> OddInPiece { get; }

    /// <summary>Sum over pieces of max(1, odd ÷ 2): nothing stitched twice takes no fewer starts (Listing 1847).</summary>
    public int LeastStarts { get; }

    /// <summary>Number of the piece that a junction belongs to, −1 where no line meets it.</summary>
    public int PieceOf(int junction) => piece[junction];
}
