using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>Low sides by rules of pressing, for seams of which nothing is known yet.</summary>
/// <remarks>
/// That allowances go toward the darker cloth, toward or from sashing, or one way in one row and the other in the next, is
/// common practice, no source; that the low side is the one without allowances has several.
/// </remarks>
internal static class PressingRules
{
    // Cloths that differ by less in CIE lightness are as dark as each other to the eye across a seam.
    private const double LeastDarker = 3;

    // A seam within 15° of upright counts as upright.
    private const double Upright = 0.966;

    /// <summary>Whether a rule may say something about the seam: an inner one of which nothing is known yet.</summary>
    public static bool IsFree(Seam s) => s.Role != SeamRole.Edge && s.Ditch is null && s.DitchWhy is null;

    /// <summary>The map with what the rule says about seams that are free. O(seams + patches).</summary>
    public static QuiltMap Apply(QuiltMap map, LowSideRule rule)
    {
        if (rule == LowSideRule.Open)
        {
            return Each(map, _ => (null, LowSideWords.Open));
        }

        SeamSides sides = new(map);
        Dictionary<string, Block> blockOf = [];
        foreach (Block b in map.Blocks)
        {
            foreach (string p in b.Patches)
            {
                blockOf[p] = b;
            }
        }

        return rule switch
        {
            LowSideRule.Dark => Each(map, s => Dark(sides, s)),
            LowSideRule.Sashing => Each(map, s => Along(sides, blockOf, s, Side.Left, LowSideWords.Sashing)),
            LowSideRule.Block => Each(map, s => Along(sides, blockOf, s, Side.Right, LowSideWords.Block)),
            LowSideRule.Alternate => Each(map, s => Alternate(map, sides, blockOf, s)),
            _ => map,
        };
    }

    private static QuiltMap Each(QuiltMap map, Func<Seam, (Side? Low, string Why)?> say) =>
        map.With(
            seams:
            [
                .. map.Seams.Select(s =>
                    IsFree(s) && say(s) is { } said ? s with { Ditch = said.Low, DitchWhy = said.Why } : s
                ),
            ]
        );

    private static (Side?, string)? Dark(SeamSides sides, Seam seam)
    {
        if (Lightness(sides.LeftOf(seam)) is not { } left || Lightness(sides.RightOf(seam)) is not { } right)
        {
            return null;
        }

        return Math.Abs(left - right) < LeastDarker ? null : (left > right ? Side.Left : Side.Right, LowSideWords.Dark);
    }

    private static double? Lightness(Patch? patch) => patch?.Color is { } hex ? LabColor.Parse(hex)?.L : null;

    // Where a block lies on one side alone: the low side is the block's (toLeft stands for "where the block is on the left").
    private static (Side?, string)? Along(
        SeamSides sides,
        Dictionary<string, Block> blockOf,
        Seam seam,
        Side whereBlockIsLeft,
        string why
    )
    {
        if (sides.LeftOf(seam) is not { } left || sides.RightOf(seam) is not { } right)
        {
            return null;
        }

        bool l = blockOf.ContainsKey(left.Id);
        bool r = blockOf.ContainsKey(right.Id);
        if (l == r)
        {
            return null;
        }

        Side other = whereBlockIsLeft == Side.Left ? Side.Right : Side.Left;
        return (l ? whereBlockIsLeft : other, why);
    }

    // Rows of patches are counted on the block's own grid, through all rows of blocks.
    private static (Side?, string)? Alternate(
        QuiltMap map,
        SeamSides sides,
        Dictionary<string, Block> blockOf,
        Seam seam
    )
    {
        Edge<ClothSpace> path = map.EdgeOf(seam);
        Vector<ClothSpace> along = (path.To - path.From).Unit;
        Block? block =
            sides.LeftOf(seam) is { } left && blockOf.TryGetValue(left.Id, out Block? lb) ? lb
            : sides.RightOf(seam) is { } right && blockOf.TryGetValue(right.Id, out Block? rb) ? rb
            : null;
        if (block?.Row is not { } blockRow)
        {
            return null;
        }

        // Along the block's own upright sides, which a top on point has aslant.
        Vector<ClothSpace> down = (block.Corners[3] - block.Corners[0] + (block.Corners[2] - block.Corners[1])).Unit;
        if (Math.Abs(along.Dot(down)) < Upright)
        {
            return null;
        }

        int grid = block.Pattern is { } name && FindGrid(name) is { } g ? g : 1;
        double height = block.Corners[0].DistanceTo(block.Corners[3]);
        double v = (path.PointAt(0.5) - block.Corners[0]).Dot(down) / Math.Max(height, 1e-6);
        int row = blockRow * grid + Math.Clamp((int)(v * grid), 0, grid - 1);

        // In even rows the allowances lie to the right, so the left as seen is low; left of the way where the way leads up.
        bool leftIsLow = row % 2 == 0;
        bool up = along.Dot(down) < 0;
        return (leftIsLow == up ? Side.Left : Side.Right, LowSideWords.Alternate);
    }

    private static int? FindGrid(string pattern) =>
        BlockLibrary.All.FirstOrDefault(d => d.Id == pattern) is { } draft
            ? Math.Max(1, (int)Math.Round((double)draft.Grid))
            : null;
}
