using OpenCvSharp;
using OverlayPlanner.Detection.Copies;
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
    // The first pass may find the blocks themselves; the second then fits each copy where it lies.
    private const int MostCopyPasses = 2;

    private readonly SeamNetwork network = new();

    /// <summary>Finds the map of a rectified picture.</summary>
    /// <param name="rectified">The cloth seen from straight above, <see cref="Picture.PixelsPerInch"/> set.</param>
    /// <param name="wishes">What is known about it.</param>
    /// <param name="ct">Stops between steps.</param>
    /// <returns>A map that is always a plane graph; of the outline alone where no seam was found.</returns>
    /// <exception cref="InputException">The picture has no scale, or the mapped area has no size.</exception>
    public DetectedQuilt Find(Picture rectified, DetectionWishes wishes, CancellationToken ct = default)
    {
        return FindIn(rectified, Look(rectified, wishes, ct), wishes, ct);
    }

    private EvidenceMap Look(Picture rectified, DetectionWishes wishes, CancellationToken ct)
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
        return network.Look(picture, density, wishes.Margin.Inches, ct);
    }

    /// <summary>
    /// Fits every other block of a kind to one that a person has put right: its seams are laid into each, turned and mirrored
    /// as that lies, and drawn to the seams that the picture shows there.
    /// </summary>
    /// <param name="rectified">As for <see cref="Find"/>.</param>
    /// <param name="wishes">As for <see cref="Find"/>.</param>
    /// <param name="mended">The map as put right; what lies outside the fitted blocks stays where it is.</param>
    /// <param name="blockId">The block that is right.</param>
    /// <param name="ct">Stops between blocks.</param>
    /// <returns>
    /// A map with new ids whose blocks are those of <paramref name="mended"/>, and the finding <c>copies-fitted</c>.
    /// </returns>
    /// <exception cref="InputException">The picture has no scale, or the map no such block.</exception>
    public DetectedQuilt FitCopies(
        Picture rectified,
        DetectionWishes wishes,
        QuiltMap mended,
        string blockId,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(mended);
        Block taught =
            mended.Blocks.FirstOrDefault(b => b.Id == blockId)
            ?? throw new InputException(
                "The map has no such block",
                blockId,
                mended.Blocks.Count == 0
                    ? "Give the corners of one block first."
                    : $"Its blocks are {mended.Blocks[0].Id} to {mended.Blocks[^1].Id}."
            );
        return FitCopiesIn(rectified, Look(rectified, wishes, ct), wishes, mended, taught, ct);
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
        PointSigma sigma = new(graph, evidence, wishes.ScaleSigma, wishes.PhotoPixelsPerInch);
        IReadOnlyList<Finding> settingFindings = [];
        QuiltMap map = Assemble(lines);
        CopyPass copies = new(graph, evidence, LatticeHints.Of(wishes));
        for (int pass = 0; pass < MostCopyPasses && copies.Run(map.Blocks, ct); pass++)
        {
            lines = MapAssembler.LinesOf(graph, evidence);
            sigma = new(graph, evidence, wishes.ScaleSigma, wishes.PhotoPixelsPerInch);
            map = Assemble(lines);
            map = map.With(blocks: copies.Named(map.Blocks));
        }

        (List<SeamLine> kept, List<Finding> leftOut) = PatternPrior.Apply(map, lines, wishes.Drafts);
        if (leftOut.Count > 0)
        {
            map = Assemble(kept);
            map = map.With(blocks: copies.Named(map.Blocks));
        }

        return new(map, [.. DetectionFindings.For(map, rectified), .. settingFindings, .. copies.Findings, .. leftOut])
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
            FoundLattice lattice = BlockLattice.Find(bare, LatticeHints.Of(wishes));
            settingFindings = lattice.Findings;
            return BlockRoles.Give(bare, lattice.Blocks);
        }
    }

    /// <summary>As <see cref="FitCopies"/>, from evidence; for studies and tests.</summary>
    internal static DetectedQuilt FitCopiesIn(
        Picture rectified,
        EvidenceMap evidence,
        DetectionWishes wishes,
        QuiltMap mended,
        Block taught,
        CancellationToken ct
    )
    {
        wishes.Progress?.Report("Fitting the other blocks");
        SeamGraph graph = TaughtCopies.GraphOf(mended, evidence);
        IReadOnlyList<(Block Block, Orientation How)> fitted = TaughtCopies.Fit(graph, evidence, mended, taught, ct);
        PointSigma sigma = new(graph, evidence, wishes.ScaleSigma, wishes.PhotoPixelsPerInch);
        QuiltMap bare = PatchColors.Fill(
            MapAssembler.Assemble(MapAssembler.LinesOf(graph, evidence), wishes, sigma.At),
            rectified,
            wishes.Margin.Inches
        );
        Dictionary<string, Orientation> ways = fitted.ToDictionary(f => f.Block.Id, f => f.How);
        QuiltMap map = BlockRoles.Give(
            bare,
            [
                .. mended.Blocks.Select(b =>
                    ways.TryGetValue(b.Id, out Orientation how) && taught.Pattern is not null
                        ? b with
                        {
                            Pattern = taught.Pattern,
                            Turn = how.After(new(taught.Turn, taught.Mirror)).Turn,
                            Mirror = how.After(new(taught.Turn, taught.Mirror)).Mirror,
                        }
                        : b
                ),
            ]
        );
        string list = string.Join(", ", fitted.Select(f => f.Block.Id));
        Finding done = new(
            "copies-fitted",
            fitted.Count == 0 ? $"no other block is like {taught.Id}" : $"{list}, after {taught.Id}",
            fitted.Count == 0
                ? "Put one more right and teach it too."
                : "Look them over: each was drawn to its own seams."
        );
        return new(map, [.. DetectionFindings.For(map, rectified), done]);
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
        ChainJoiner.JoinArcs(graph);
        OutlineScraps.Remove(graph, evidence.PixelsPerInch);
        if (CuspCloser.Close(graph) > 0)
        {
            ChainJoiner.JoinArcs(graph);
        }

        GraphAdjuster.Adjust(graph, evidence, rounds: 1, reachPixels: 4);
        CuspOpener.Open(graph);
        return graph;
    }
}
