using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Structure;

/// <summary>Turns the finished graph into a map that is a plane graph without dangling seams.</summary>
internal static class MapAssembler
{
    // Points this near are one; less than half of the shortest seam that the sketcher keeps.
    private static readonly Length JoinWithin = Length.FromInches(0.05);

    /// <summary>The lines of the graph on the cloth, with confidence.</summary>
    public static List<SeamLine> LinesOf(SeamGraph graph, EvidenceMap evidence) =>
        [
            .. graph.Edges.Select(e => new SeamLine(
                new(
                    evidence.ToCloth(e.From.X, e.From.Y),
                    evidence.ToCloth(e.To.X, e.To.Y),
                    // Pixels of both axes differ by rounding alone, so an arc stays an arc.
                    e.Bulge
                ),
                Confidence.Of(e)
            )),
        ];

    /// <summary>
    /// Builds the map; what still crosses or dangles after joining loses its least sure line, until the map is sound.
    /// </summary>
    public static QuiltMap Assemble(
        List<SeamLine> lines,
        DetectionWishes wishes,
        Func<Point<ClothSpace>, Length> sigmaOf
    )
    {
        List<SeamLine> left = lines;
        while (true)
        {
            QuiltMap map = MapBuilder.Build(wishes.Width, wishes.Height, left, [], JoinWithin, wishes.Outline, sigmaOf);
            MapInspection inspection = MapCheck.Inspect(map);
            HashSet<int> bad = FindTrouble(inspection);
            if (bad.Count == 0 || left.Count == 0)
            {
                return inspection.Map;
            }

            // The trouble is named by seams of the map; the loose line that lies along each is found by its middle.
            QuiltMap seen = inspection.Map;
            SeamLine worst = bad.Select(s => seen.EdgeOf(seen.Seams[s]).PointAt(0.5))
                .Select(p => left.MinBy(l => l.Path.Nearest(p).Distance)!)
                .OrderBy(l => l.Path.IsLine)
                .ThenBy(l => l.Confidence)
                .First();
            left = worst.Path.IsLine
                ? [.. left.Where(l => l != worst)]
                : [.. left.Select(l => l == worst ? l with { Path = l.Path with { Bulge = 0 } } : l)];
        }
    }

    private static HashSet<int> FindTrouble(MapInspection inspection)
    {
        QuiltMap map = inspection.Map;
        PlaneGraph<ClothSpace> graph = map.ToPlaneGraph();
        HashSet<int> bad = [];
        if (!inspection.IsPlane)
        {
            foreach ((int a, int b, _) in graph.FindConflicts())
            {
                bad.Add(a);
                bad.Add(b);
            }
        }

        for (int v = 0; v < graph.Nodes.Count; v++)
        {
            if (graph.DegreeOf(v) == 1)
            {
                bad.Add(graph.Around(v)[0] >> 1);
            }
        }

        bad.RemoveWhere(s => map.Seams[s].Role == SeamRole.Edge);
        return bad;
    }
}
