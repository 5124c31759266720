using NetTopologySuite.Geometries;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>A person puts one block right; the finder fits every other one to it.</summary>
/// <param name="Before">Points outside that block, before.</param>
/// <param name="After">Points outside that block, after.</param>
/// <param name="EditsInBlock">What had to be mended in it.</param>
/// <param name="EditsAfter">What is left to be mended in the whole top.</param>
internal readonly record struct TaughtBlock(Tally Before, Tally After, HandEdits EditsInBlock, HandEdits EditsAfter)
{
    /// <summary>
    /// Puts the block right whose seams need the most edits among the four nearest to the top's middle, as a person takes one
    /// that lies well before them: its seams become the true ones, everything else stays as found.
    /// </summary>
    public static TaughtBlock Teach(SeamFinder finder, SceneRun run, QuiltMap found, double tolerance)
    {
        QuiltMap truth = run.Scene.Truth;
        Point<ClothSpace> middle = new(truth.Width.Inches / 2, truth.Height.Inches / 2);
        const int Nearest = 4;
        (QuiltMap Mended, Polygon Inside, HandEdits Edits, string Id) = truth
            .Blocks.OrderBy(b => MiddleOf(b).DistanceTo(middle))
            .Take(Nearest)
            .Select(b => PutRight(found, truth, b, tolerance))
            .MaxBy(m => m.Edits.Total);
        QuiltMap after = finder.FitCopies(run.Picture, run.Wishes, Mended, Id).Map;
        return new(
            MapScore.ComparePoints(found, truth, tolerance, IsOutside),
            MapScore.ComparePoints(after, truth, tolerance, IsOutside),
            Edits,
            HandEdits.Between(after, truth, tolerance)
        );

        bool IsOutside(Point<ClothSpace> p) =>
            !Inside.IsWithinDistance(new NetTopologySuite.Geometries.Point(p.X, p.Y), 2 * tolerance);
    }

    private static (QuiltMap Mended, Polygon Inside, HandEdits Edits, string Id) PutRight(
        QuiltMap found,
        QuiltMap truth,
        Block block,
        double tolerance
    )
    {
        Polygon inside = new(
            new LinearRing([.. block.Corners.Append(block.Corners[0]).Select(c => new Coordinate(c.X, c.Y))])
        );
        SeamLine[] rest = [.. LinesOf(found).Where(l => !IsIn(l.Path))];
        SeamLine[] right = [.. LinesOf(truth).Where(l => IsIn(l.Path))];

        // Where the lattice was not read, the person gives its rows and columns first.
        bool read = LatticeScore.Compare(found, truth).Exact;
        Block[] blocks = [.. (read ? found : truth).Blocks];
        int at = Array.IndexOf(blocks, blocks.MinBy(b => MiddleOf(b).DistanceTo(MiddleOf(block))));
        blocks[at] = blocks[at] with { Corners = block.Corners };
        QuiltMap mended = MapBuilder.Build(
            truth.Width,
            truth.Height,
            [.. rest, .. right],
            [.. blocks.Select(b => b with { Patches = [] })],
            Length.FromInches(0.1)
        );
        return (mended, inside, HandEdits.Between(found, mended, tolerance), blocks[at].Id);

        bool IsIn(Edge<ClothSpace> e)
        {
            // On the block's own sides counts as in.
            Point<ClothSpace> p = e.PointAt(0.5);
            return inside.IsWithinDistance(new NetTopologySuite.Geometries.Point(p.X, p.Y), tolerance);
        }
    }

    private static IEnumerable<SeamLine> LinesOf(QuiltMap map) =>
        map.Seams.Where(s => s.Role != SeamRole.Edge).Select(s => new SeamLine(map.EdgeOf(s), s.Confidence));

    private static Point<ClothSpace> MiddleOf(Block b) => new(b.Corners.Average(p => p.X), b.Corners.Average(p => p.Y));
}

/// <summary>Whether one block is put right and the others fitted to it.</summary>
internal enum Teaching
{
    /// <summary>No.</summary>
    LeftOut,

    /// <summary>In every scene.</summary>
    OneBlock,
}
