using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Copies;

/// <summary>Lays the seams of one block that a person has put right into all other blocks of its kind.</summary>
internal static class TaughtCopies
{
    // A taught seam is there: only its place is in question.
    private const double Trust = 5;
    private const double SameSide = 0.06;
    private const double SameKind = 0.55;
    private const double TurnShows = 0.08;
    private const double LeastExplained = 0.7;
    private const double SureSupport = 0.7;
    private const double MergePixels = 4;
    private const double OnOutlineInches = 1e-6;

    /// <summary>The graph of a map, its seams as sure as the map says.</summary>
    public static SeamGraph GraphOf(QuiltMap map, EvidenceMap evidence)
    {
        PixelFrame frame = PixelFrame.Of(evidence, map.Width, map.Height);
        SeamGraph graph = new(frame);
        Dictionary<string, GraphPoint> points = [];
        foreach (Seam seam in map.Seams.Where(s => s.Role != SeamRole.Edge))
        {
            GraphEdge e = graph.AddEdge(PointOf(seam.From), PointOf(seam.To), seam.Bulge);
            GraphAdjuster.Weigh(e, evidence);
            double said = Math.Clamp(seam.Confidence, 0.02, 0.995);
            e.PriorLogOdds = Math.Log(said / (1 - said)) - Confidence.LogOdds(e);
        }

        return graph;

        GraphPoint PointOf(string id)
        {
            if (points.TryGetValue(id, out GraphPoint? there))
            {
                return there;
            }

            Point<ClothSpace> place = map.JunctionOf(id).Place;
            (double x, double y) = evidence.ToPixel(place);
            GraphPoint p = graph.AddPoint(x, y);
            bool side = IsOn(place.X, 0) || IsOn(place.X, map.Width.Inches);
            bool end = IsOn(place.Y, 0) || IsOn(place.Y, map.Height.Inches);
            if (side || end)
            {
                graph.Pin(p, 0);
                (p.PinnedX, p.PinnedY) = (side, end);
            }

            return points[id] = p;
        }

        static bool IsOn(double a, double b) => Math.Abs(a - b) <= OnOutlineInches;
    }

    /// <summary>Fits every block of the taught one's kind to its own pixels.</summary>
    /// <returns>Which blocks were fitted, and how each lies against the taught one.</returns>
    public static IReadOnlyList<(Block Block, Orientation How)> Fit(
        SeamGraph graph,
        EvidenceMap evidence,
        QuiltMap map,
        Block taught,
        CancellationToken ct
    )
    {
        EvidenceMap wide = EvidenceFolding.Widen(evidence);
        BlockTemplate template = BlockTemplate.Of(map, taught);
        PixelCell own = CellOf(taught, evidence);
        double ownScore = CopyPlacing.ScoreOf(wide, own, template);
        HashSet<GraphPoint> moving = [];
        List<(Block, Orientation)> fitted = [];
        foreach (Block block in map.Blocks.Where(b => b.Id != taught.Id))
        {
            ct.ThrowIfCancellationRequested();
            PixelCell cell = CellOf(block, evidence);
            if (!cell.IsSound || Math.Abs(cell.Side - own.Side) > SameSide * own.Side)
            {
                continue;
            }

            (Orientation how, double score) = Orientation
                .All.Select(o =>
                    (o, Score: CopyPlacing.ScoreOf(wide, cell, template.In(o)) - (o == default ? 0 : TurnShows))
                )
                .MaxBy(x => x.Score);
            bool named = taught.Pattern is not null && block.Pattern == taught.Pattern;
            if (!named && score < SameKind * ownScore && Explained(graph, cell, template.In(how)) < LeastExplained)
            {
                continue;
            }

            CopyFitter.Stamp(graph, cell, template.In(how), Trust);
            foreach (GraphPoint p in graph.Points)
            {
                (double u, double v) = cell.ToUnit((p.X, p.Y));
                double slack = 6 / cell.Side;
                if (u > -slack && v > -slack && u < 1 + slack && v < 1 + slack)
                {
                    moving.Add(p);
                }
            }

            fitted.Add((block, how));
        }

        GraphPruner.Tidy(graph, MergePixels);

        // What a person has put right stays where it is; so does all that was not taught.
        List<(GraphPoint Point, bool X, bool Y)> held = [];
        foreach (GraphPoint p in graph.Points)
        {
            (double u, double v) = own.ToUnit((p.X, p.Y));
            bool isOwn = u is > -0.03 and < 1.03 && v is > -0.03 and < 1.03;
            if (isOwn || !moving.Contains(p))
            {
                held.Add((p, p.PinnedX, p.PinnedY));
                (p.PinnedX, p.PinnedY) = (true, true);
            }
        }

        GraphAdjuster.Adjust(graph, evidence, rounds: 3, reachPixels: 6);
        foreach ((GraphPoint p, bool x, bool y) in held)
        {
            (p.PinnedX, p.PinnedY) = (x, y);
        }

        return fitted;
    }

    private static PixelCell CellOf(Block block, EvidenceMap evidence) =>
        new([.. block.Corners.Select(evidence.ToPixel)]);

    // Share of the seams that were found surely inside a block, by length, which the template explains.
    private static double Explained(SeamGraph graph, PixelCell cell, BlockTemplate template)
    {
        double all = 0;
        double explained = 0;
        foreach ((GraphEdge e, bool known) in CopyFitter.InnerOf(graph, cell, template))
        {
            if (e.Support >= SureSupport)
            {
                all += e.Path.Length;
                explained += known ? e.Path.Length : 0;
            }
        }

        return all > 0 ? explained / all : 0;
    }
}
