using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>Whether even divisions of a top compete with its blocks.</summary>
internal enum EvenDivisions
{
    /// <summary>They do.</summary>
    Try,

    /// <summary>They were tried before.</summary>
    Leave,
}

/// <summary>Sorts a top's blocks into kinds and reads from all copies of a kind together what its pattern is.</summary>
internal static class CopyReader
{
    private const double SameSide = 0.06;
    private const double EnoughExplained = 0.55;
    private const double LeastGridExplained = 0.35;
    private const double LeastOwn = 0.5;
    private const double PlainPart = 0.25;
    private const double LeastOfGrid = 0.4;
    private const double MostOthers = 0.12;
    private const double ForLattice = 1.25; // seams that were found speak for their lattice
    private const int EnoughToFold = 3;

    /// <summary>The kinds of block, each with what its copies have in common.</summary>
    /// <param name="evidence">What the picture shows.</param>
    /// <param name="wide">The same, widened.</param>
    /// <param name="frame">The mapped area.</param>
    /// <param name="blocks">The top's blocks.</param>
    /// <param name="hints">What the user said.</param>
    /// <param name="divisions">Whether even divisions of the top are tried too, where the blocks explain little.</param>
    /// <param name="ct">Stops between kinds.</param>
    public static IReadOnlyList<CopyGroup> Read(
        EvidenceMap evidence,
        EvidenceMap wide,
        PixelFrame frame,
        IReadOnlyList<Block> blocks,
        LatticeHints hints,
        EvenDivisions divisions,
        CancellationToken ct
    )
    {
        IReadOnlyList<BlockDraft> drafts = hints.Drafts;
        string? told = hints.Pattern is { } name ? CopyNamer.IdOf(name, drafts) : null;
        PixelCell[] cells = [.. blocks.Select(b => new PixelCell([.. b.Corners.Select(evidence.ToPixel)]))];
        List<CopyGroup> groups = ReadKinds(wide, blocks, cells, drafts, told, ct);
        double explained = groups.Sum(g => g.Explained);
        double all = SeamIn(wide, frame);
        if (
            explained >= EnoughExplained * all
            || divisions == EvenDivisions.Leave
            || hints.Lattice is not null
            || hints.BlockCorners is not null
            || GridReader.Find(wide, frame, drafts, ct)
                is not
                (IReadOnlyList<PixelCell> grid, DraftMatch seen, double value)
            || value <= Math.Max(ForLattice * explained, LeastGridExplained * all)
        )
        {
            groups.AddRange(SashStrips.Between(cells, blocks));
            return groups;
        }

        CopyGroup even = GroupOf(wide, [.. Enumerable.Range(0, grid.Count)], grid, new Orientation[grid.Count], seen);
        int others = grid.Count - even.Cells.Count - even.Plain;
        if (even.Cells.Count < LeastOfGrid * grid.Count || others > MostOthers * grid.Count)
        {
            groups.AddRange(SashStrips.Between(cells, blocks));
            return groups;
        }

        return [even];
    }

    private static List<CopyGroup> ReadKinds(
        EvidenceMap wide,
        IReadOnlyList<Block> blocks,
        PixelCell[] cells,
        IReadOnlyList<BlockDraft> drafts,
        string? told,
        CancellationToken ct
    )
    {
        if (blocks.Count > 1 && OfOneKind(wide, cells, drafts, told) is CopyGroup one)
        {
            return [one];
        }

        List<CopyGroup> groups = [];
        foreach ((List<int> members, List<Orientation> how) in BlockKinds.Of(wide, blocks, cells))
        {
            ct.ThrowIfCancellationRequested();
            PixelCell[] own = [.. members.Select(i => cells[i])];
            EvidenceMap folded = EvidenceFolding.Fold(wide, own, how);
            if (
                Array.TrueForAll(own, IsBlock)
                && CopyNamer.Name(folded, own.Length, drafts, blocks[members[0]].Pattern, told) is DraftMatch match
            )
            {
                groups.Add(GroupOf(wide, members, own, how, match));
            }
            else if (own.Length >= EnoughToFold)
            {
                DetectionWishes unit = new() { Width = Length.FromInches(1), Height = Length.FromInches(1) };
                BlockTemplate template = BlockTemplate.Of(SeamFinder.BuildGraph(folded, unit, ct));
                groups.Add(
                    new(
                        members,
                        own,
                        how,
                        template,
                        null,
                        CopyNamer.TrustIn(template, folded, own.Length, CopyNamer.FoldedTrust)
                    )
                );
            }
        }

        return groups;
    }

    // A library block is square; the whole of a top that is not is no block.
    private static bool IsBlock(PixelCell cell) => cell.IsSound && cell.Aspect <= 1 + SameSide;

    private static CopyGroup GroupOf(
        EvidenceMap wide,
        List<int> members,
        IReadOnlyList<PixelCell> cells,
        IReadOnlyList<Orientation> how,
        DraftMatch match
    )
    {
        BlockTemplate template = BlockTemplate.Of(match.Draft);
        Orientation[] lies = [.. how.Select(h => h.After(match.How))];
        double[] scores = new double[cells.Count];
        for (int i = 0; i < cells.Count; i++)
        {
            (lies[i], scores[i]) = CopyPlacing.LiesIn(wide, cells[i], template, lies[i]);
        }

        // A plain block between two others, or another pattern, is none of them.
        double usual = scores.Order().ElementAt(scores.Length * 3 / 4);
        int[] own = [.. Enumerable.Range(0, cells.Count).Where(i => scores[i] >= LeastOwn * usual)];
        PixelCell[] kept = [.. own.Select(i => cells[i])];
        Orientation[] keptHow = [.. own.Select(i => lies[i])];
        EvidenceMap folded = EvidenceFolding.Fold(wide, kept, keptHow);
        return new(
            [.. own.Select(i => members[i])],
            kept,
            keptHow,
            template,
            match.Draft,
            CopyNamer.TrustIn(template, folded, kept.Length, CopyNamer.DraftTrust)
        )
        {
            Explained = match.Gain * cells.Sum(c => c.Side),
            Plain = Enumerable.Range(0, cells.Count).Count(i => scores[i] < PlainPart * usual),
        };
    }

    // Evidence of seams inside the outline, as pixels of seam.
    private static double SeamIn(EvidenceMap wide, PixelFrame frame)
    {
        const int Step = 3;
        const int OffOutline = 9;
        double sum = 0;
        for (int y = (int)frame.Top + OffOutline; y < frame.Bottom - OffOutline; y += Step)
        {
            for (int x = (int)frame.Left + OffOutline; x < frame.Right - OffOutline; x += Step)
            {
                sum += Math.Max(0, wide.Seam[y * wide.Width + x] - DraftMatcher.Ground);
            }
        }

        return sum * Step * Step / DraftMatcher.LineWidthPixels;
    }

    // All blocks the same way up: the commonest top, and one where no block needs to be named on its own.
    private static CopyGroup? OfOneKind(
        EvidenceMap wide,
        PixelCell[] cells,
        IReadOnlyList<BlockDraft> drafts,
        string? told
    )
    {
        double side = cells.Average(c => c.Side);
        if (!Array.TrueForAll(cells, c => IsBlock(c) && Math.Abs(c.Side - side) <= SameSide * side))
        {
            return null;
        }

        EvidenceMap folded = EvidenceFolding.Fold(wide, cells, new Orientation[cells.Length]);
        if (CopyNamer.Name(folded, cells.Length, drafts, told: told) is not DraftMatch match)
        {
            return null;
        }

        CopyGroup group = GroupOf(
            wide,
            [.. Enumerable.Range(0, cells.Length)],
            cells,
            new Orientation[cells.Length],
            match
        );
        return group.Cells.Count + group.Plain >= (1 - MostOthers) * cells.Length ? group : null;
    }
}
