using OverlayPlanner.Detection.Copies;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection.Copies;

public sealed class DraftMatcherTests
{
    public static TheoryData<string> AllBlocks => [.. BlockLibrary.All.Select(b => b.Id)];

    [Theory]
    [MemberData(nameof(AllBlocks))]
    public void Every_drawn_block_is_explained_best_by_its_own_draft(string id)
    {
        EvidenceMap folded = Folded(BlockLibrary.Find(id), default, 1);
        IReadOnlyList<DraftMatch> ranked = DraftMatcher.Rank(folded, []);
        DraftMatch own = ranked.First(m => m.Draft.Id == id);

        // Drafts that have the same seams explain the same.
        Assert.True(
            own.Gain >= ranked[0].Gain - 1e-6,
            FormattableString.Invariant($"{ranked[0].Draft.Id} {ranked[0].Gain:0.00}, own {own.Gain:0.00}")
        );
        Assert.True(own.Seen > 0.97, FormattableString.Invariant($"seen {own.Seen:0.00}"));
        Assert.True(own.Unexplained < 0.06, FormattableString.Invariant($"unexplained {own.Unexplained:0.00}"));
    }

    [Fact]
    public void A_turned_and_mirrored_block_is_named_with_its_turn()
    {
        BlockDraft draft = BlockLibrary.Find("log-cabin");
        foreach (Orientation how in Orientation.All)
        {
            DraftMatch best = DraftMatcher.Rank(Folded(draft, how, 1), [])[0];
            Assert.Equal("log-cabin", best.Draft.Id);

            // Whatever way is named, the seams lie where they were drawn.
            BlockTemplate named = BlockTemplate.Of(draft).In(best.How);
            BlockTemplate drawn = BlockTemplate.Of(draft).In(how);
            Assert.All(
                drawn.Points,
                p => Assert.Contains(named.Points, q => Math.Abs(q.X - p.X) < 1e-9 && Math.Abs(q.Y - p.Y) < 1e-9)
            );
        }
    }

    [Fact]
    public void A_line_that_one_copy_of_four_has_fades_to_a_quarter()
    {
        QuiltMap truth = BlockDrafting.Draft(BlockLibrary.Find("four-patch"), Length.FromInches(6), 2, 2, Length.Zero);
        List<(Edge<ClothSpace>, double)> lines = [.. truth.Seams.Select(s => (truth.EdgeOf(s), 0.96))];
        lines.Add((new(new(1, 1.5), new(2, 1.5)), 0.96));
        EvidenceMap evidence = DrawnEvidence.Of(12, 12, lines);
        PixelCell[] cells = [.. truth.Blocks.Select(b => new PixelCell([.. b.Corners.Select(evidence.ToPixel)]))];
        EvidenceMap folded = EvidenceFolding.Fold(EvidenceFolding.Widen(evidence), cells, new Orientation[4]);
        (double x, double y) = folded.ToPixel(new(1.5 / 6, 1.5 / 6));
        Assert.Equal(0.24, folded.SeamAt(x, y), 0.02);
        (x, y) = folded.ToPixel(new(0.5, 0.25));
        Assert.Equal(0.96, folded.SeamAt(x, y), 0.02);
    }

    [Fact]
    public void Nothing_is_named_where_nothing_is_seen()
    {
        EvidenceMap folded = DrawnEvidence.Of(12, 12, []);
        Assert.Null(CopyNamer.Name(folded, 4, []));
    }

    // One seam of a nine patch missing in all copies, all else clear: common practice, no source, that a patch twice as long
    // is another block.
    [Fact]
    public void A_block_that_lacks_a_seam_of_a_draft_is_not_that_draft()
    {
        BlockDraft draft = BlockLibrary.Find("nine-patch");
        QuiltMap truth = BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);
        Seam left = truth.Seams.First(s => s.Role == SeamRole.Seam);
        EvidenceMap whole = Fold(DrawnEvidence.Of(truth), truth, default);
        EvidenceMap lacking = Fold(DrawnEvidence.Of(truth, s => s.Id == left.Id ? 0 : 0.97), truth, default);
        Assert.Equal("nine-patch", CopyNamer.Name(whole, 4, [])?.Draft.Id);
        Assert.Null(CopyNamer.Name(lacking, 4, []));
    }

    private static EvidenceMap Folded(BlockDraft draft, Orientation how, int repeat)
    {
        QuiltMap truth = BlockDrafting.Draft(draft, Length.FromInches(12), repeat, repeat, Length.Zero);
        return Fold(DrawnEvidence.Of(truth), truth, how);
    }

    private static EvidenceMap Fold(EvidenceMap evidence, QuiltMap truth, Orientation how)
    {
        PixelCell[] cells = [.. truth.Blocks.Select(b => new PixelCell([.. b.Corners.Select(evidence.ToPixel)]))];

        // Folding undoes a turn; to see the block turned, the other way round.
        Orientation seen = Orientation.All.First(o => o.After(how) == default);
        Orientation[] all = new Orientation[cells.Length];
        Array.Fill(all, seen);
        return EvidenceFolding.Fold(EvidenceFolding.Widen(evidence), cells, all);
    }
}
