using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>Which draft the folded evidence of all copies of a block shows, and how far each of its seams is to be believed.</summary>
internal static class CopyNamer
{
    /// <summary>Part of a draft's seams that must be seen in the folded evidence.</summary>
    public const double LeastSeen = 0.88;

    /// <summary>Most of the folded evidence that a draft may leave unexplained.</summary>
    public const double MostUnexplained = 0.13;

    // By how much the best draft must explain more than the second, in block sides and as a part of it.
    private const double LeastSeenOfTold = 0.5;
    private const double LeastLead = 0.06;
    private const double LeastPiece = 0.12; // of a side
    private const double LeastOfMedian = 0.05;
    private const double ClearMedian = 0.97;
    private const double LeastOfClear = 0.32;
    private const double NearlyAsMuch = 0.75;
    private const int MostLookedAt = 6;
    private const double LeastGain = 0.5;
    public const double DraftTrust = 4.2;
    public const double FoldedTrust = 2.4;

    /// <summary>The draft that folded evidence shows; null where none does, or two alike.</summary>
    /// <param name="folded">The folded evidence.</param>
    /// <param name="copies">How many blocks were folded.</param>
    /// <param name="drafts">Drafts of the user's.</param>
    /// <param name="said">The name that the seams alone gave; it settles what is nearly even.</param>
    /// <param name="told">Id of the pattern as the user says; believed where most of it is seen.</param>
    public static DraftMatch? Name(
        EvidenceMap folded,
        int copies,
        IReadOnlyList<BlockDraft> drafts,
        string? said = null,
        string? told = null
    )
    {
        IReadOnlyList<DraftMatch> ranked = DraftMatcher.Rank(folded, drafts);
        if (told is not null && ranked.FirstOrDefault(m => m.Draft.Id == told) is { } asTold)
        {
            return asTold.Seen >= LeastSeenOfTold ? asTold : null;
        }

        // What lacks a seam of one draft may be another that explains nearly as much.
        DraftMatch[] whole =
        [
            .. ranked
                .TakeWhile(m => m.Gain >= NearlyAsMuch * ranked[0].Gain)
                .Take(MostLookedAt)
                .Where(m => !Lacks(folded, m, copies)),
        ];
        if (whole.Length == 0)
        {
            return null;
        }

        DraftMatch best = whole[0];
        if (whole.Length > 1 && best.Gain - whole[1].Gain < LeastLead)
        {
            if (whole.Take(2).FirstOrDefault(m => m.Draft.Id == said) is not { } agreed)
            {
                return null;
            }

            best = agreed;
        }

        double seen = copies == 1 ? LeastSeen + 0.07 : LeastSeen;
        double unexplained = copies == 1 ? MostUnexplained / 2 : MostUnexplained;
        return best.Seen >= seen && best.Unexplained <= unexplained && best.Gain > LeastGain ? best : null;
    }

    // A block that is like a draft but for a seam is another block: where nearly all is clear, what shows nowhere is not there.
    private static bool Lacks(EvidenceMap folded, DraftMatch match, int copies)
    {
        BlockTemplate template = BlockTemplate.Of(match.Draft).In(match.How);
        double[] seen =
        [
            .. template
                .Pieces.Where(p => !p.IsSide && template.LengthOf(p) >= LeastPiece)
                .Select(p => MeanOn(template, p, folded))
                .Order(),
        ];
        double usual = seen.Length > 0 ? seen[seen.Length / 2] : 0;
        return seen.Length > 0
            && (seen[0] < LeastOfMedian * usual || (copies > 1 && usual >= ClearMedian && seen[0] < LeastOfClear));
    }

    // Few copies prove little; a piece that shows in the fold is in most copies.
    public static double[] TrustIn(BlockTemplate template, EvidenceMap folded, int copies, double most)
    {
        double known = (copies - 1) / (copies + 0.5);
        double share = most > FoldedTrust ? 0.6 + 0.4 * known : known;
        return
        [
            .. template.Pieces.Select(piece =>
                share * most * Math.Clamp((MeanOn(template, piece, folded) + 0.1) / 0.5, 0.4, 1)
            ),
        ];
    }

    private static double MeanOn(BlockTemplate template, TemplatePiece piece, EvidenceMap folded)
    {
        const int Samples = 24;
        double sum = 0;
        for (int i = 0; i < Samples; i++)
        {
            (double u, double v) = template.PointOn(piece, 0.08 + 0.84 * (i + 0.5) / Samples);
            (double x, double y) = folded.ToPixel(new(u, v));
            sum += folded.SeamAt(x, y);
        }

        return sum / Samples;
    }

    public static string? IdOf(string name, IReadOnlyList<BlockDraft> drafts) =>
        drafts
            .Concat(BlockLibrary.All)
            .FirstOrDefault(d => d.Id == name || string.Equals(d.Name, name, StringComparison.OrdinalIgnoreCase))
            ?.Id;
}
