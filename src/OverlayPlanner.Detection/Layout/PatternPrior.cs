using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>
/// A known draft as a prior, never as a cage: a doubtful seam where the block's pattern has none is left out, but only where
/// several blocks of the top are of that pattern.
/// </summary>
internal static class PatternPrior
{
    // A seam that is more likely there than not stays, whatever the draft says.
    private const double Doubtful = 0.5;

    // Two copies may share a mistake of the finder; a third settles what the pattern is.
    private const int LeastBlocks = 3;

    // Real blocks are out of square: a seam within this part of the side of a drafted one is that one.
    private const double SameSeam = 0.08;

    /// <summary>The lines that stay, and a finding for each that does not. O(lines × draft seams).</summary>
    /// <param name="map">The map with its blocks named.</param>
    /// <param name="lines">The lines that it was made of.</param>
    /// <param name="taught">Drafts of the user, before those of the library.</param>
    public static (List<SeamLine> Kept, List<Finding> LeftOut) Apply(
        QuiltMap map,
        IReadOnlyList<SeamLine> lines,
        IReadOnlyList<BlockDraft>? taught = null
    )
    {
        Dictionary<string, Edge<ClothSpace>[]> drafts = map
            .Blocks.Where(b => b.Pattern is not null)
            .GroupBy(b => b.Pattern!)
            .Where(g => g.Count() >= LeastBlocks)
            .ToDictionary(g => g.Key, g => SeamsOf(taught?.FirstOrDefault(d => d.Id == g.Key) ?? BlockLibrary.Find(g.Key)));
        List<SeamLine> kept = [];
        List<Finding> leftOut = [];
        foreach (SeamLine line in lines)
        {
            Point<ClothSpace> middle = line.Path.PointAt(0.5);
            Block? block =
                line.Confidence < Doubtful
                    ? map.Blocks.FirstOrDefault(b => PatchFinder.IsInside(b.Corners, middle))
                    : null;
            if (
                block?.Pattern is { } pattern
                && drafts.TryGetValue(pattern, out Edge<ClothSpace>[]? seams)
                && Contradicts(line, block, seams)
            )
            {
                string where = string.Create(
                    CultureInfo.InvariantCulture,
                    $"near ({middle.X:0.0}, {middle.Y:0.0}) in, {line.Confidence * 100:0} % sure"
                );
                leftOut.Add(new("seam-left-out", where, $"A {pattern} has no seam there; look whether this one has."));
            }
            else
            {
                kept.Add(line);
            }
        }

        return (kept, leftOut);
    }

    private static bool Contradicts(SeamLine line, Block block, Edge<ClothSpace>[] seams) =>
        new[] { 0.25, 0.5, 0.75 }.All(t =>
        {
            Point<ClothSpace> p = InDraft(block, line.Path.PointAt(t));
            return seams.All(s => s.Nearest(p).Distance > SameSeam);
        });

    // To a draft of side 1, by the block's own corners, its turn and mirror undone.
    private static Point<ClothSpace> InDraft(Block block, Point<ClothSpace> p)
    {
        (double x, double y) = new Orientation(block.Turn, block.Mirror).Undo(new CellFrame(block.Corners).ToUnit(p));
        return new(x, y);
    }

    private static Edge<ClothSpace>[] SeamsOf(BlockDraft draft)
    {
        QuiltMap unit = BlockDrafting.Draft(draft, Length.FromInches(1), 1, 1, Length.Zero);
        return [.. unit.Seams.Select(unit.EdgeOf)];
    }
}
