using System.Globalization;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Copies;

/// <summary>One look at all copies of each block together, and what it changes in the graph.</summary>
internal sealed class CopyPass(SeamGraph graph, EvidenceMap evidence, LatticeHints hints)
{
    private const double MergePixels = 5.5;
    private const double SliverPixels = 5;
    private const int MostFindings = 6;
    private const double SameBlock = 0.1; // of a side
    private readonly EvidenceMap wide = EvidenceFolding.Widen(evidence);
    private readonly List<Edge<PictureSpace>> removed = [];
    private int runs;

    /// <summary>The kinds of block of the last pass.</summary>
    public IReadOnlyList<CopyGroup> Groups { get; private set; } = [];

    /// <summary>
    /// Where pieces were taken out that no other copy has, longest first: <c>seam-left-out</c>; the rest in one finding.
    /// </summary>
    public IReadOnlyList<Finding> Findings
    {
        get
        {
            List<Finding> findings =
            [
                .. removed
                    .OrderByDescending(e => e.Length)
                    .Take(MostFindings)
                    .Select(e =>
                    {
                        Point<PictureSpace> middle = e.PointAt(0.5);
                        Point<ClothSpace> at = evidence.ToCloth(middle.X, middle.Y);
                        return new Finding(
                            "seam-left-out",
                            string.Create(CultureInfo.InvariantCulture, $"near ({at.X:0.0}, {at.Y:0.0}) in"),
                            "The other copies of this block have no seam there; look whether this one has."
                        );
                    }),
            ];
            if (removed.Count > MostFindings)
            {
                findings.Add(
                    new(
                        "seam-left-out",
                        string.Create(CultureInfo.InvariantCulture, $"{removed.Count - MostFindings} more places"),
                        "Lines that single copies of a block show and the others do not; mostly prints."
                    )
                );
            }

            return findings;
        }
    }

    /// <summary>The blocks with the names that their copies together gave them.</summary>
    public IReadOnlyList<Block> Named(IReadOnlyList<Block> blocks)
    {
        List<(Point<ClothSpace> Middle, double Side, Orientation How, string Id)> read =
        [
            .. Groups
                .Where(g => g.Draft is not null)
                .SelectMany(g =>
                    g.Cells.Select(
                        (cell, i) =>
                        {
                            (double x, double y) = cell.FromUnit((0.5, 0.5));
                            return (evidence.ToCloth(x, y), cell.Side / evidence.PixelsPerInch, g.How[i], g.Draft!.Id);
                        }
                    )
                ),
        ];
        return [.. blocks.Select(NamedAsRead)];

        Block NamedAsRead(Block block)
        {
            Point<ClothSpace> middle = new(block.Corners.Average(c => c.X), block.Corners.Average(c => c.Y));
            double side = block.Corners[0].DistanceTo(block.Corners[1]);
            int at = read.FindIndex(r =>
                r.Middle.DistanceTo(middle) <= SameBlock * side && Math.Abs(r.Side - side) <= SameBlock * side
            );
            return at < 0 || read[at].Id == block.Pattern
                ? block
                : block with
                {
                    Pattern = read[at].Id,
                    Turn = read[at].How.Turn,
                    Mirror = read[at].How.Mirror,
                };
        }
    }

    /// <summary>Reads the copies and brings each to what all have in common.</summary>
    /// <param name="blocks">The blocks as known so far.</param>
    /// <param name="ct">Stops between kinds of block.</param>
    /// <returns>True where the graph was changed.</returns>
    public bool Run(IReadOnlyList<Block> blocks, CancellationToken ct)
    {
        EvenDivisions divisions = runs++ == 0 ? EvenDivisions.Try : EvenDivisions.Leave;
        Groups = CopyReader.Read(evidence, wide, graph.Frame, blocks, hints, divisions, ct);
        (int added, IReadOnlyList<Edge<PictureSpace>> gone) = CopyFitter.Reconcile(graph, evidence, Groups);
        removed.AddRange(gone);
        if (added + gone.Count == 0)
        {
            return Groups.Count > 0;
        }

        GraphPruner.Tidy(graph, MergePixels);
        GraphAdjuster.Adjust(graph, evidence, rounds: 2, reachPixels: 5);
        GraphPruner.RemoveSlivers(graph, SliverPixels);
        HangingPieces.Remove(graph);
        GraphPruner.DissolveStraight(graph);
        ChainJoiner.JoinArcs(graph);
        if (CuspCloser.Close(graph) > 0)
        {
            ChainJoiner.JoinArcs(graph);
        }

        GraphAdjuster.Adjust(graph, evidence, rounds: 1, reachPixels: 4);
        CuspOpener.Open(graph);
        return true;
    }
}
