using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection;

/// <summary>Finds the seams of a quilt top in a rectified picture.</summary>
/// <remarks>
/// A small network gives the probability of a seam at each pixel; regions are closed on it, their borders become lines and
/// arcs, and one adjustment over the whole top puts the points between pixels. Thread-safe; one picture at a time runs best,
/// since the network uses two threads.
/// </remarks>
public sealed class SeamFinder : IDisposable
{
    private readonly SeamNetwork network = new();

    /// <summary>Finds the map of a rectified picture.</summary>
    /// <param name="rectified">The cloth seen from straight above, <see cref="Picture.PixelsPerInch"/> set.</param>
    /// <param name="wishes">What is known about it.</param>
    /// <param name="ct">Stops between steps.</param>
    /// <returns>A map that is always a plane graph; of the outline alone where no seam was found.</returns>
    /// <exception cref="InputException">The picture has no scale, or the mapped area has no size.</exception>
    public DetectedQuilt Find(Picture rectified, DetectionWishes wishes, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(rectified);
        ArgumentNullException.ThrowIfNull(wishes);
        if (rectified.PixelsPerInch is not double density || !(density > 0 && double.IsFinite(density)))
        {
            throw new InputException(
                "The picture has no scale",
                "rectified picture",
                "Say how many pixels an inch of cloth has."
            );
        }

        wishes.Progress?.Report("Looking for seams");
        using Mat picture = Mat.FromPixelData(rectified.Height, rectified.Width, MatType.CV_8UC3, rectified.Rgb);
        EvidenceMap evidence = network.Look(picture, density, wishes.Margin.Inches, ct);
        return FindIn(rectified, evidence, wishes, ct);
    }

    /// <inheritdoc/>
    public void Dispose() => network.Dispose();

    /// <summary>The map that evidence shows, for studies and tests; otherwise as <see cref="Find"/>.</summary>
    internal static DetectedQuilt FindIn(
        Picture rectified,
        EvidenceMap evidence,
        DetectionWishes wishes,
        CancellationToken ct
    )
    {
        wishes.Progress?.Report("Joining seams to patches");
        SeamGraph graph = BuildGraph(evidence, wishes, ct);
        List<SeamLine> lines = MapAssembler.LinesOf(graph, evidence);
        PointSigma sigma = new(graph, evidence, wishes.ScaleSigma);
        QuiltMap map = Assemble(lines);
        (List<SeamLine> kept, List<Finding> leftOut) = PatternPrior.Apply(map, lines);
        if (leftOut.Count > 0)
        {
            map = Assemble(kept);
        }

        return new(map, [.. DetectionFindings.For(map, rectified, evidence), .. leftOut])
        {
            Missing = SuspectedSeams.Find(map, evidence),
        };

        QuiltMap Assemble(List<SeamLine> seams)
        {
            QuiltMap bare = PatchColors.Fill(
                MapAssembler.Assemble(seams, wishes, sigma.At),
                rectified,
                wishes.Margin.Inches
            );
            return BlockRoles.Give(bare, BlockLattice.Find(bare));
        }
    }

    /// <summary>Evidence for a picture, for studies and tests.</summary>
    internal EvidenceMap LookAt(Picture rectified, Length margin)
    {
        using Mat picture = Mat.FromPixelData(rectified.Height, rectified.Width, MatType.CV_8UC3, rectified.Rgb);
        return network.Look(picture, rectified.PixelsPerInch!.Value, margin.Inches, CancellationToken.None);
    }

    /// <summary>The seams that the evidence shows inside the mapped area.</summary>
    internal static SeamGraph BuildGraph(EvidenceMap evidence, DetectionWishes wishes, CancellationToken ct)
    {
        // Borders weaker than this are surely none; between this and the pruner's figure, geometry decides.
        const double LeastBorder = 0.22;
        const double ThinPixels = 3.2;
        const double MergePixels = 5.5;
        const double SliverPixels = 5;
        PixelFrame frame = PixelFrame.Of(evidence, wishes.Width, wishes.Height);
        int[] labels = Basins.Flood(evidence, frame, out int count);
        ct.ThrowIfCancellationRequested();
        RegionMerger.Merge(evidence, labels, count, LeastBorder, ThinPixels);
        (List<BorderPoint> points, List<BorderChain> chains) = BorderTracer.Trace(
            labels,
            evidence.Width,
            evidence.Height
        );
        SeamGraph graph = GraphSketcher.Sketch(points, chains, frame);
        ct.ThrowIfCancellationRequested();
        GraphAdjuster.Adjust(graph, evidence, rounds: 2, reachPixels: 6);
        GraphPruner.Tidy(graph, MergePixels);
        GraphAdjuster.Adjust(graph, evidence, rounds: 2, reachPixels: 5);
        for (int pass = 0; pass < 3; pass++)
        {
            ct.ThrowIfCancellationRequested();
            bool pruned = GraphPruner.Prune(graph, evidence);
            HangingPieces.Remove(graph);
            pruned |= PatchSplitter.Split(graph, evidence) > 0;
            GraphPruner.Tidy(graph, MergePixels);
            GraphAdjuster.Adjust(graph, evidence, rounds: 2, reachPixels: 4);
            if (!pruned)
            {
                break;
            }
        }

        GraphPruner.RemoveSlivers(graph, SliverPixels);
        HangingPieces.Remove(graph);
        GraphPruner.DissolveStraight(graph);
        GraphAdjuster.Adjust(graph, evidence, rounds: 1, reachPixels: 4);
        return graph;
    }
}
