using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Copies;

/// <summary>
/// Brings every copy of a block to the pattern that all have in common: a seam that a copy lacks is laid in where its own
/// pixels do not speak against it, and one that no other copy has is taken out unless its own pixels insist.
/// </summary>
/// <remarks>
/// Odds, not votes: the log odds of a seam are those that the other copies give it plus those of its own evidence, so that a
/// quilter's change in one block survives where it is seen well. Each copy keeps its own measured points.
/// </remarks>
internal static class CopyFitter
{
    // Log odds of the evidence on a piece that the pattern proposes: zero at a mean probability of 0.42.
    private const double PerSupport = 8;
    private const double ProposedOffset = -3.4;

    // What the pattern adds to the odds that a piece's evidence gives without any pattern.
    private const double ForPattern = ProposedOffset - Confidence.Offset;
    private const double ExplainedPixels = 6;

    private const double EnoughCovered = 0.72;
    private const double ForSharedExtra = 6;

    // Copies cut from the same prints share the prints' lines too, and what is known has none there.
    private const double ForSharedExtraOfKnown = 2.5;
    private const double SameExtra = 0.04;

    /// <summary>Changes the graph in place.</summary>
    /// <param name="graph">The seams of the whole top.</param>
    /// <param name="evidence">What the picture shows.</param>
    /// <param name="groups">The kinds of block.</param>
    /// <param name="mayRemove">False where only what is missing is laid in.</param>
    /// <returns>How many pieces were laid in and taken out.</returns>
    public static (int Added, IReadOnlyList<Edge<PictureSpace>> Removed) Reconcile(
        SeamGraph graph,
        EvidenceMap evidence,
        IReadOnlyList<CopyGroup> groups,
        bool mayRemove = true
    )
    {
        List<Edge<PictureSpace>> removed = [];
        List<(PlacedCopy Copy, CopyGroup Group)> copies = [];
        foreach (CopyGroup group in groups)
        {
            PlacedCopy[] placed =
            [
                .. group.Cells.Select((cell, i) => PlacedCopy.Place(graph, cell, group.Template.In(group.How[i]))),
            ];
            copies.AddRange(placed.Select(p => (p, group)));
            if (mayRemove)
            {
                removed.AddRange(RemoveExtras(graph, group, placed));
            }
        }

        graph.RemoveDangling();
        int added = 0;
        foreach ((PlacedCopy copy, CopyGroup group) in copies)
        {
            added += AddMissing(graph, evidence, copy, group.Trust);
        }

        return (added, removed);
    }

    /// <summary>Takes every inner seam of a copy out and lays the template in, whatever its pixels say.</summary>
    /// <param name="trust">Log odds of each piece, for its confidence.</param>
    public static void Stamp(SeamGraph graph, PixelCell cell, BlockTemplate template, double trust)
    {
        PlacedCopy copy = PlacedCopy.Place(graph, cell, template);
        foreach (GraphEdge e in graph.Edges.Where(e => IsInner(e, cell)).ToArray())
        {
            if (!copy.Explains(e, ExplainedPixels))
            {
                graph.Remove(e);
            }
        }

        graph.RemoveDangling();
        copy = PlacedCopy.Place(graph, cell, template);
        for (int i = 0; i < template.Pieces.Count; i++)
        {
            if (copy.Coverage(graph, i) >= EnoughCovered)
            {
                copy.Believe(graph, i, trust + ForPattern);
            }
            else
            {
                copy.Lay(graph, i, trust + ForPattern);
            }
        }
    }

    /// <summary>The inner seams found in a block, and whether a template laid over it has them.</summary>
    public static IEnumerable<(GraphEdge Edge, bool Known)> InnerOf(
        SeamGraph graph,
        PixelCell cell,
        BlockTemplate template
    )
    {
        PlacedCopy copy = PlacedCopy.Place(graph, cell, template);
        return graph.Edges.Where(e => IsInner(e, cell)).Select(e => (e, copy.Explains(e, ExplainedPixels)));
    }

    private static int AddMissing(SeamGraph graph, EvidenceMap evidence, PlacedCopy copy, IReadOnlyList<double> trust)
    {
        int added = 0;
        foreach (int i in Enumerable.Range(0, copy.Template.Pieces.Count).OrderByDescending(i => trust[i]))
        {
            if (copy.Coverage(graph, i) >= EnoughCovered)
            {
                copy.Believe(graph, i, Math.Max(0, trust[i] + ForPattern));
                continue;
            }

            double support = copy.Seek(evidence, i);
            double odds = trust[i] + PerSupport * support + ProposedOffset;
            if (odds > 0 && copy.Lay(graph, i, trust[i] + ForPattern))
            {
                added++;
            }
        }

        return added;
    }

    private static List<Edge<PictureSpace>> RemoveExtras(SeamGraph graph, CopyGroup group, PlacedCopy[] placed)
    {
        List<(GraphEdge Edge, int Copy, (double X, double Y)[] Samples)> extras = [];
        for (int k = 0; k < placed.Length; k++)
        {
            PixelCell cell = placed[k].Cell;
            foreach (GraphEdge e in graph.Edges)
            {
                if (IsInner(e, cell) && !placed[k].Explains(e, ExplainedPixels))
                {
                    Orientation how = group.How[k];
                    extras.Add(
                        (
                            e,
                            k,
                            [
                                .. new[] { 0.2, 0.5, 0.8 }
                                    .Select(t => e.Path.PointAt(t))
                                    .Select(p => how.Undo(cell.ToUnit((p.X, p.Y)))),
                            ]
                        )
                    );
                }
            }
        }

        double distrust = group.Trust.Count == 0 ? 0 : group.Trust.Max();
        List<Edge<PictureSpace>> removed = [];
        foreach ((GraphEdge e, int copy, (double X, double Y)[] samples) in extras)
        {
            int others = extras
                .Where(x => x.Copy != copy && samples.All(s => x.Samples.Min(o => Gap(o, s)) <= 5 * SameExtra))
                .Where(x => samples.Count(s => IsOn(x.Samples, s)) >= 2)
                .Select(x => x.Copy)
                .Distinct()
                .Count();
            double shared = placed.Length > 1 ? (double)others / (placed.Length - 1) : 0;
            e.PriorLogOdds = (group.IsKnown ? ForSharedExtraOfKnown : ForSharedExtra) * shared - distrust;
            if (Confidence.LogOdds(e) < 0)
            {
                removed.Add(e.Path);
                graph.Remove(e);
            }
        }

        return removed;

        static double Gap((double X, double Y) a, (double X, double Y) b) =>
            Math.Sqrt((a.X - b.X) * (a.X - b.X) + (a.Y - b.Y) * (a.Y - b.Y));
        static bool IsOn((double X, double Y)[] line, (double X, double Y) p)
        {
            Edge<PictureSpace> path = new(new(line[0].X, line[0].Y), new(line[2].X, line[2].Y));
            return path.Nearest(new(p.X, p.Y)).Distance <= SameExtra;
        }
    }

    // Inside a block and not along its sides.
    private static bool IsInner(GraphEdge e, PixelCell cell)
    {
        double slack = Math.Max(ExplainedPixels / cell.Side, 0.02);
        (double u, double v) = cell.ToUnit((e.Path.PointAt(0.5).X, e.Path.PointAt(0.5).Y));
        if (u <= slack || v <= slack || u >= 1 - slack || v >= 1 - slack)
        {
            return false;
        }

        (double X, double Y) a = cell.ToUnit((e.From.X, e.From.Y));
        (double X, double Y) b = cell.ToUnit((e.To.X, e.To.Y));
        return Inside(a) && Inside(b);

        bool Inside((double X, double Y) p) =>
            p.X > -2 * slack && p.Y > -2 * slack && p.X < 1 + 2 * slack && p.Y < 1 + 2 * slack;
    }
}
