using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>A seam as it is drawn and touched.</summary>
/// <param name="Id">Its id in the map.</param>
/// <param name="Way">Its SVG path data, cloth inches.</param>
/// <param name="Along">Places along it, cloth inches: x, y, x, y and so on; two for a line, more for an arc.</param>
public sealed record DrawnSeam(string Id, string Way, IReadOnlyList<double> Along)
{
    /// <summary>True where it is to be drawn dashed.</summary>
    public bool IsDoubtful { get; init; }
}

/// <summary>A point where seams meet.</summary>
/// <param name="Id">Its id in the map.</param>
/// <param name="X">Cloth inches from the left.</param>
/// <param name="Y">Cloth inches from the top.</param>
public sealed record DrawnPoint(string Id, double X, double Y);

/// <summary>A patch or a block.</summary>
/// <param name="Id">Its id in the map.</param>
/// <param name="Way">SVG path data of its outline, and of its holes, cloth inches; what is inside follows by the even-odd rule.</param>
/// <param name="Seams">For a patch the numbers, in <see cref="ClothDrawing.Seams"/>, of the seams around it; empty for a block.</param>
/// <param name="Box">Left, top, right and bottom, cloth inches.</param>
public sealed record DrawnArea(string Id, string Way, IReadOnlyList<int> Seams, IReadOnlyList<double> Box);

/// <summary>A map as lines to be drawn over its cloth, and as what a finger's place is compared with. It knows no screen.</summary>
/// <param name="Seams">In the map's order.</param>
/// <param name="Points">In the map's order.</param>
/// <param name="Patches">In the map's order.</param>
/// <param name="Blocks">In the map's order.</param>
public sealed record ClothDrawing(
    IReadOnlyList<DrawnSeam> Seams,
    IReadOnlyList<DrawnPoint> Points,
    IReadOnlyList<DrawnArea> Patches,
    IReadOnlyList<DrawnArea> Blocks
)
{
    /// <summary>A seam whose confidence is below this is drawn as doubtful: the same that are asked about one after another.</summary>
    public const double Sure = Detection.LookHereChooser.SureFrom;

    // How far the places along an arc may lie off it: a 64th of an inch is less than a finger or a cursor can tell.
    private const double Flat = 1.0 / 64;
    private const int MostPieces = 64;

    /// <summary>Draws a map.</summary>
    public static ClothDrawing Of(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        DrawnSeam[] seams = [.. map.Seams.Select(s => SeamOf(map, s))];
        return new(
            seams,
            [.. map.Junctions.Select(j => new DrawnPoint(j.Id, Rounded(j.Place.X), Rounded(j.Place.Y)))],
            [.. map.Patches.Select(p => PatchOf(map, p, seams))],
            [.. map.Blocks.Select(BlockOf)]
        );
    }

    private static DrawnSeam SeamOf(QuiltMap map, Seam seam)
    {
        Edge<ClothSpace> edge = map.EdgeOf(seam);
        int pieces = PiecesOf(edge);
        double[] along = new double[2 * (pieces + 1)];
        for (int i = 0; i <= pieces; i++)
        {
            Point<ClothSpace> at = edge.PointAt((double)i / pieces);
            (along[2 * i], along[2 * i + 1]) = (Rounded(at.X), Rounded(at.Y));
        }

        return new(seam.Id, SvgWay.Of(edge), along) { IsDoubtful = seam.Confidence < Sure };
    }

    // A chord over the angle a of a circle of radius r lies at most r (1 − cos(a/2)) off it.
    private static int PiecesOf(Edge<ClothSpace> edge)
    {
        if (edge.IsLine)
        {
            return 1;
        }

        double half = Math.Acos(Math.Max(0, 1 - Flat / edge.Radius));
        double pieces = Math.Ceiling(Math.Abs(edge.Sweep) / (2 * half));
        return double.IsFinite(pieces) ? (int)Math.Clamp(pieces, 1, MostPieces) : MostPieces;
    }

    private static DrawnArea PatchOf(QuiltMap map, Patch patch, DrawnSeam[] seams)
    {
        int[] around = [.. patch.Holes.SelectMany(h => h).Concat(patch.Seams).Select(map.SeamIndexOf)];
        string way = string.Concat(
            patch.Holes.Prepend(patch.Seams).Select(ring => SvgWay.Of(PatchFinder.RingOf(map, ring)) + "Z")
        );
        return new(patch.Id, way, around, BoxOf(around.SelectMany(i => seams[i].Along)));
    }

    private static DrawnArea BlockOf(Block block)
    {
        IEnumerable<Edge<ClothSpace>> sides = block.Corners.Select(
            (c, i) => new Edge<ClothSpace>(c, block.Corners[(i + 1) % block.Corners.Count])
        );
        return new(
            block.Id,
            SvgWay.Of(sides) + "Z",
            [],
            BoxOf(block.Corners.SelectMany(c => new[] { Rounded(c.X), Rounded(c.Y) }))
        );
    }

    private static double[] BoxOf(IEnumerable<double> along)
    {
        double[] box = [double.MaxValue, double.MaxValue, double.MinValue, double.MinValue];
        int i = 0;
        foreach (double v in along)
        {
            box[i] = Math.Min(box[i], v);
            box[i + 2] = Math.Max(box[i + 2], v);
            i = 1 - i;
        }

        return box;
    }

    // As many decimals as the paths have; more only makes the message to the browser longer.
    private static double Rounded(double v) => Math.Round(v, 4);
}
