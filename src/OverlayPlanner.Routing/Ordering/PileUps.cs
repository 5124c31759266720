using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>A point where many stitched lines end.</summary>
/// <param name="Junction">Index of the junction.</param>
/// <param name="Lines">Ends of stitching there: seams, added lines, each backtracking again.</param>
internal readonly record struct PileUp(int Junction, int Lines);

/// <summary>Points where cloth or stitching lies thick.</summary>
internal static class PileUps
{
    /// <summary>
    /// Points where at least <paramref name="from"/> ends of stitching meet, some of them added lines or backtracking: the most
    /// first.
    /// </summary>
    public static IReadOnlyList<PileUp> Of(QuiltMap map, RouteCandidate candidate, int from)
    {
        Dictionary<Point<ClothSpace>, (int All, int Extra)> ends = [];
        foreach (Move m in candidate.AllMoves)
        {
            int extra = m.Kind is MoveKind.Ditch or MoveKind.Frame ? 0 : 1;
            foreach (Point<ClothSpace> p in new[] { m.Path.From, m.Path.To })
            {
                (int all, int more) = ends.GetValueOrDefault(p);
                ends[p] = (all + 1, more + extra);
            }
        }

        List<PileUp> found = [];
        for (int v = 0; v < map.Junctions.Count; v++)
        {
            (int all, int extra) = ends.GetValueOrDefault(map.Junctions[v].Place);
            if (all >= from && extra > 0)
            {
                found.Add(new(v, all));
            }
        }

        return [.. found.OrderByDescending(p => p.Lines).ThenBy(p => p.Junction)];
    }

    /// <summary>As the route file's field <c>pileUps</c> says them: <c>[{"junction":"j5","lines":12}]</c>.</summary>
    public static JsonElement ToJson(QuiltMap map, IEnumerable<PileUp> found) =>
        JsonSerializer.SerializeToElement(
            new JsonArray([
                .. found.Select(p =>
                    (JsonNode)new JsonObject { ["junction"] = map.Junctions[p.Junction].Id, ["lines"] = p.Lines }
                ),
            ])
        );

    /// <summary>Number of seams that meet at each junction.</summary>
    public static int[] SeamsAt(QuiltMap map)
    {
        Dictionary<string, int> index = [];
        foreach (Junction j in map.Junctions)
        {
            index[j.Id] = index.Count;
        }

        int[] seams = new int[map.Junctions.Count];
        foreach (Seam s in map.Seams)
        {
            seams[index[s.From]]++;
            seams[index[s.To]]++;
        }

        return seams;
    }
}
