using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>Carries the low sides of one block to its copies, turned and mirrored as they lie.</summary>
public static class TaughtSides
{
    // Real blocks are out of square: a seam within this part of the side of the taught one is that one.
    private const double SameSeam = 0.08;
    private const double SameWay = 0.94;

    /// <summary>
    /// The map with every copy's low sides like those of the taught block. Copies are blocks of the same pattern; what the user
    /// told of a seam stays, as do the taught block's own seams. O(copies × seams of a block × seams of the map).
    /// </summary>
    /// <exception cref="InputException">There is no such block, or its pattern is unknown, so that no other is its copy.</exception>
    public static QuiltMap Follow(QuiltMap map, string taught)
    {
        ArgumentNullException.ThrowIfNull(map);
        Block block =
            map.FindBlock(taught)
            ?? throw new InputException(
                $"The map has no block \"{taught}\"",
                "low side",
                "Give the id of a block of the map."
            );
        if (block.Pattern is not { } pattern)
        {
            throw new InputException(
                $"Block {taught} has no name, so no other block is known to be its copy",
                $"block {taught}",
                "Name its pattern first, or teach another block."
            );
        }

        string why = LowSideWords.TaughtBy + taught;
        HashSet<string> own = SeamsOf(map, block);
        List<Lesson> lessons =
        [
            .. map
                .Seams.Where(s => own.Contains(s.Id) && s.Role != SeamRole.Edge)
                .Where(s => s.Ditch is not null || s.DitchWhy == LowSideWords.Open)
                .Select(s => Lesson.Of(map.EdgeOf(s), block, s.Ditch)),
        ];
        Dictionary<string, Seam> changed = [];
        foreach (Block copy in map.Blocks.Where(b => b.Id != taught && b.Pattern == pattern))
        {
            HashSet<string> ids = SeamsOf(map, copy);
            foreach (Seam s in map.Seams.Where(s => ids.Contains(s.Id) && s.Role != SeamRole.Edge))
            {
                if (s.DitchWhy == LowSideWords.User || own.Contains(s.Id) || changed.ContainsKey(s.Id))
                {
                    continue;
                }

                // With left as the low side, the lesson's direction says whether that is so.
                Lesson here = Lesson.Of(map.EdgeOf(s), copy, Side.Left);
                Lesson? match = lessons
                    .Where(l =>
                        l.Middle.DistanceTo(here.Middle) <= SameSeam && Math.Abs(l.Low.Dot(here.Low)) >= SameWay
                    )
                    .MinBy(l => l.Middle.DistanceTo(here.Middle));
                if (match is { } lesson)
                {
                    changed[s.Id] = s with
                    {
                        Ditch =
                            lesson.Open ? null
                            : lesson.Low.Dot(here.Low) > 0 ? Side.Left
                            : Side.Right,
                        DitchWhy = why,
                        DitchConfidence = null,
                    };
                }
            }
        }

        return map.With(seams: [.. map.Seams.Select(s => changed.GetValueOrDefault(s.Id, s))]);
    }

    private static HashSet<string> SeamsOf(QuiltMap map, Block block) =>
        [.. block.Patches.Select(map.PatchOf).SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h)))];

    /// <summary>Where a seam lies on the draft of side 1, and which way its low side is there.</summary>
    private sealed record Lesson(Point<ClothSpace> Middle, Vector<ClothSpace> Low, bool Open)
    {
        public static Lesson Of(Edge<ClothSpace> path, Block block, Side? low)
        {
            Point<ClothSpace> p = path.PointAt(0.5);
            Vector<ClothSpace> n = path.DirectionAt(0.5).TurnedLeft * (low == Side.Right ? -1 : 1);
            Point<ClothSpace> middle = BlockFrame.InDraft(block, p);
            Vector<ClothSpace> lean = BlockFrame.InDraft(block, p + n) - middle;
            return new(middle, lean.Unit, low is null);
        }
    }
}
