using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>The continuous curve of the trade: no ditch, an arc along each side of each seam.</summary>
/// <remarks>
/// Every patch gets one arc from corner to corner along each of its sides, bowing into it; at the outline that is the inner
/// side alone. A patch's arcs close a ring through its corners, so every point stays even and each connected piece is one
/// thread (Euler 1736). A patch that is too thin for one of its arcs gets none, which leaves the parity as it is.
/// </remarks>
internal static class ContinuousCurve
{
    /// <summary>The arcs, and what could not be done.</summary>
    public static List<StitchLine> Lay(LineSelection selection, RouteWishes wishes, List<Finding> findings)
    {
        AddedLines proposals = new(wishes);
        IReadOnlyList<Point<ClothSpace>> places = [.. selection.Map.Junctions.Select(j => j.Place)];
        List<StitchLine> lines = [];
        List<string> thin = [];
        foreach (Patch patch in selection.Patches.Where(p => !p.Leave))
        {
            PatchShape? shape = PatchShape.Of(selection.Map, patch, selection.JunctionIndex);
            List<AddedLine> arcs = [];
            for (int s = 0; shape is not null && s < shape.Sides.Count; s++)
            {
                if (proposals.AlongSide(shape, s, places) is { } path)
                {
                    PatchSide side = shape.Sides[s];
                    arcs.Add(new(0, shape.Corners[side.From], shape.Corners[side.To], path, AddedStyle.AlongSide));
                }
            }

            if (shape is null || arcs.Count < shape.Sides.Count || InEachOthersWay(arcs))
            {
                thin.Add(patch.Id);
                continue;
            }

            string? block = selection.BlockOfPatch.GetValueOrDefault(patch.Id);
            lines.AddRange(arcs.Select(a => new StitchLine(a.From, a.To, a.Path, MoveKind.Arc, null, block)));
        }

        if (thin.Count > 0)
        {
            const int Named = 8;
            findings.Add(
                new(
                    "patch-too-thin",
                    string.Join(", ", thin.Take(Named))
                        + (
                            thin.Count > Named
                                ? string.Create(CultureInfo.InvariantCulture, $" and {thin.Count - Named} more")
                                : ""
                        ),
                    "No arc along each side fits there with the stand-off and the rulers; it is left without. A smaller stand-off or a tighter ruler may help."
                )
            );
        }

        return lines;
    }

    private static bool InEachOthersWay(List<AddedLine> arcs)
    {
        for (int i = 0; i < arcs.Count; i++)
        {
            for (int k = i + 1; k < arcs.Count; k++)
            {
                if (AddedLines.Conflict(arcs[i], arcs[k]))
                {
                    return true;
                }
            }
        }

        return false;
    }
}
