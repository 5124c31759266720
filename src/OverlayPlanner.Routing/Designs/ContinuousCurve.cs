using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>The continuous curve of the trade: no ditch, an arc along each side of each seam.</summary>
/// <remarks>
/// Every patch gets one arc from corner to corner along each of its sides, bowing into it; at the outline that is the inner
/// side alone. A patch's arcs close a ring through its corners, so every point stays even and each connected piece is one
/// thread (Euler 1736). A patch that is too thin for one of its arcs gets none, which leaves the parity as it is. On a grid
/// of squares, with the arcs as deep as two can be that share a corner, this is the orange peel: the circles through each
/// square's corners (handbook 3.4: rise 0.2071 of the side).
/// </remarks>
internal static class ContinuousCurve
{
    // Arcs that leave a square's corner within this of its diagonal are seen as petals of whole circles.
    private const double PeelFrom = 0.185;

    /// <summary>The arcs, and which patches got none.</summary>
    /// <param name="selection">The patches.</param>
    /// <param name="wishes">Rulers, foot and stand-off.</param>
    /// <param name="depth">How deep the arcs shall be.</param>
    /// <param name="thin">Ids of the patches that take no arc along each side.</param>
    public static List<StitchLine> Lay(LineSelection selection, RouteWishes wishes, ArcDepth depth, List<string> thin)
    {
        AddedLines proposals = new(wishes, DesignSearch.IsMeasured(selection.Map));
        IReadOnlyList<Point<ClothSpace>> places = [.. selection.Map.Junctions.Select(j => j.Place)];
        List<PatchShape> shapes = [];
        foreach (Patch patch in selection.Patches.Where(p => !p.Leave))
        {
            if (PatchShape.Of(selection.Map, patch, selection.JunctionIndex) is { } shape)
            {
                shapes.Add(shape);
            }
            else
            {
                thin.Add(patch.Id);
            }
        }

        ILookup<int, AddedLine> arcs = proposals
            .Along(shapes, [.. Enumerable.Range(0, shapes.Count)], places, depth)
            .ToLookup(a => a.Shape);
        List<StitchLine> lines = [];
        for (int s = 0; s < shapes.Count; s++)
        {
            AddedLine[] own = [.. arcs[s]];
            if (own.Length < shapes[s].Sides.Count || InEachOthersWay(own, depth))
            {
                thin.Add(shapes[s].Patch.Id);
                continue;
            }

            string? block = selection.BlockOfPatch.GetValueOrDefault(shapes[s].Patch.Id);
            lines.AddRange(
                own.Select(a => new StitchLine(a.From, a.To, a.Path, MoveKind.Arc, null, block) { Ruler = a.Ruler })
            );
        }

        return lines;
    }

    /// <summary>What was left without arcs, for the quilter.</summary>
    public static Finding TooThin(IReadOnlyList<string> thin)
    {
        const int Named = 8;
        return new(
            "patch-too-thin",
            string.Join(", ", thin.Take(Named))
                + (
                    thin.Count > Named
                        ? string.Create(CultureInfo.InvariantCulture, $" and {thin.Count - Named} more")
                        : ""
                ),
            "No arc along each side fits there with the stand-off and the rulers; it is left without. A smaller stand-off or a tighter ruler may help."
        );
    }

    /// <summary>True where the arcs make an orange peel: most of them deep, along sides of one length.</summary>
    public static bool IsPeel(IReadOnlyList<StitchLine> arcs) =>
        arcs.Count > 0
        && arcs.Count(a => Math.Abs(a.Path.Sagitta) >= PeelFrom * a.Path.Chord) >= 0.9 * arcs.Count
        && arcs.Max(a => a.Path.Chord) - arcs.Min(a => a.Path.Chord) <= 0.15 * arcs.Max(a => a.Path.Chord);

    private static bool InEachOthersWay(AddedLine[] arcs, ArcDepth depth)
    {
        for (int i = 0; i < arcs.Length; i++)
        {
            for (int k = i + 1; k < arcs.Length; k++)
            {
                if (AddedLines.Conflict(arcs[i], arcs[k], depth == ArcDepth.Peel ? 0 : AddedLines.LeastFan))
                {
                    return true;
                }
            }
        }

        return false;
    }
}
