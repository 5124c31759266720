using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Designs;

namespace OverlayPlanner.Routing;

/// <summary>Says which one curved ruler would serve most of a quilt.</summary>
internal static class RulerAdvice
{
    /// <summary>
    /// Of the generic set, the ruler that makes arcs along the most sides, those nearest to the common depth; null where none
    /// makes any.
    /// </summary>
    /// <returns>The ruler, the sides that it serves, and all sides.</returns>
    public static (Ruler Ruler, int Served, int Sides)? MostUseful(LineSelection selection, RouteWishes wishes)
    {
        bool measured = DesignSearch.IsMeasured(selection.Map);
        IReadOnlyList<Point<ClothSpace>> places = [.. selection.Map.Junctions.Select(j => j.Place)];
        PatchShape[] shapes =
        [
            .. selection
                .Patches.Where(p => !p.Leave)
                .Select(p => PatchShape.Of(selection.Map, p, selection.JunctionIndex))
                .OfType<PatchShape>(),
        ];

        // One patch of a class speaks for all of it.
        LikeShapes like = new(shapes, Enumerable.Range(0, shapes.Length), measured);
        int[] size = new int[like.Count];
        for (int s = 0; s < shapes.Length; s++)
        {
            size[like.ClassOf(s)]++;
        }

        int[] models = [.. Enumerable.Range(0, like.Count).Select(like.ModelOf)];
        (Ruler Ruler, int Served)? best = null;
        double least = double.PositiveInfinity;
        foreach (Ruler ruler in Ruler.GenericSet)
        {
            AddedLines proposals = new(wishes with { Rulers = [ruler] }, measured);
            int served = 0;
            double miss = 0;
            foreach (AddedLine a in proposals.Along(shapes, models, places, ArcDepth.Common))
            {
                int count = size[like.ClassOf(a.Shape)];
                served += count;
                miss += count * Math.Abs(Math.Abs(a.Path.Sagitta) / a.Path.Chord - 0.125);
            }

            if (
                served > 0
                && (best is null || served > best.Value.Served || (served == best.Value.Served && miss < least))
            )
            {
                best = (ruler, served);
                least = miss;
            }
        }

        return best is { } b ? (b.Ruler, b.Served, shapes.Sum(s => s.Sides.Count)) : null;
    }

    /// <summary>The advice in a sentence.</summary>
    public static string Words((Ruler Ruler, int Served, int Sides)? advice) =>
        advice is { } a
            ? string.Create(
                CultureInfo.InvariantCulture,
                $"The one curved ruler that would serve most here: {a.Ruler.FullName} edge (an arc along {a.Served} of {a.Sides} sides)."
            )
            : "No curved ruler from 2 to 12 in across fits this quilt's patches.";
}
