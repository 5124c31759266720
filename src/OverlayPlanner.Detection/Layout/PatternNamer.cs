using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>What cells were recognised as.</summary>
/// <param name="Id">Id of the draft.</param>
/// <param name="Agreement">Mean agreement of the cells with it, 0 to 1.</param>
/// <param name="Margin">Agreement less that of the second best draft.</param>
/// <param name="Second">The second best.</param>
/// <param name="How">How each cell lies.</param>
internal sealed record PatternName(string Id, double Agreement, double Margin, string? Second, Orientation[] How)
{
    /// <summary>Below this a person should look which of the two it is.</summary>
    public const double NarrowMargin = 0.05;

    /// <summary>True where the second best fits nearly as well.</summary>
    public bool IsNarrow => Second is not null && Margin < NarrowMargin;
}

/// <summary>Names the draft that a pattern is, of the library or taught, or none: "unknown" is an answer.</summary>
internal sealed class PatternNamer
{
    /// <summary>A block's seams may lie so far off their draft, in block sides, and still be that block.</summary>
    public const double Within = 0.028;

    private const double LeastAgreement = 0.84;
    private const double LeastMargin = 0.02;
    private const double LeastHinted = 0.6;
    private const double MostLengthOff = 0.35;

    // A draft that differs from another by less is the same one under another name.
    private const double SameDraft = 0.985;

    private static readonly Lazy<IReadOnlyList<Known>> Library = new(() =>
        [.. BlockLibrary.All.Select(d => new Known(d.Id, CellPattern.Of(d), Taught: false))]
    );

    private readonly IReadOnlyList<Known> drafts;
    private readonly string? hinted;

    /// <param name="taught">Drafts of the user; they come before those of the library.</param>
    /// <param name="hinted">Id of the draft that the user says the blocks are; it needs less agreement and no margin.</param>
    public PatternNamer(IReadOnlyList<BlockDraft> taught, string? hinted = null)
    {
        drafts =
        [
            .. taught.Select(d => new Known(d.Id, CellPattern.Of(d), Taught: true)),
            .. Library.Value.Where(k => !taught.Any(t => t.Id == k.Id)),
        ];
        this.hinted = hinted;
    }

    /// <summary>The library alone.</summary>
    public static PatternNamer OfLibrary { get; } = new([]);

    /// <summary>True where there is a draft of this id.</summary>
    public bool Knows(string id) => drafts.Any(d => d.Id == id);

    /// <summary>The draft that all these cells are, with each cell's orientation; null where there is none.</summary>
    /// <param name="cells">At least one, of one pattern, turned and mirrored as they lie.</param>
    /// <param name="within">How far off its place a seam may lie, in block sides.</param>
    /// <remarks>
    /// One cell is held against every draft in all eight ways, and all cells against the drafts that came near: O(drafts +
    /// cells × near drafts) comparisons of some hundred steps each.
    /// </remarks>
    public PatternName? Name(IReadOnlyList<CellPattern> cells, double within = Within)
    {
        const double Near = 0.15;
        CellPattern probe = cells.OrderBy(c => c.Count).ElementAt(cells.Count / 2);
        if (probe.IsPlain)
        {
            return null;
        }

        (Known Draft, double Agreement)[] first =
        [
            .. drafts
                .Where(d => Math.Abs(probe.Length - d.Pattern.Length) <= MostLengthOff * d.Pattern.Length)
                .Select(d => (d, Best(probe, d.Pattern, within).Agreement)),
        ];
        double top = first.Length == 0 ? 0 : first.Max(f => f.Agreement);
        if (top < Math.Min(LeastAgreement, hinted is null ? 1 : LeastHinted) - Near)
        {
            return null;
        }

        (Known Draft, double Agreement, Orientation[] How)[] ranked =
        [
            .. first
                .Where(f => f.Agreement >= top - Near || f.Draft.Id == hinted)
                .Select(f => Over(f.Draft, cells, within))
                .OrderByDescending(s => s.Agreement + (s.Draft.Taught ? 0.01 : 0)),
        ];
        (Known Draft, double Agreement, Orientation[] How)? told =
            hinted is null ? null : ranked.FirstOrDefault(r => r.Draft.Id == hinted);
        bool followed = told?.Draft is not null && told.Value.Agreement >= LeastHinted && told.Value.Agreement >= top - Near;
        (Known Draft, double Agreement, Orientation[] How) best = followed ? told!.Value : ranked[0];
        (Known Draft, double Agreement, Orientation[] How) second = ranked.FirstOrDefault(r =>
            r.Draft != best.Draft && Best(r.Draft.Pattern, best.Draft.Pattern, Within / 2).Agreement < SameDraft
        );
        double margin = second.Draft is null ? best.Agreement : best.Agreement - second.Agreement;
        bool sure = best.Agreement >= LeastAgreement && margin >= LeastMargin;
        return sure || followed ? new(best.Draft.Id, best.Agreement, margin, second.Draft?.Id, best.How) : null;
    }

    private static (Known Draft, double Agreement, Orientation[] How) Over(
        Known draft,
        IReadOnlyList<CellPattern> cells,
        double within
    )
    {
        double sum = 0;
        Orientation[] how = new Orientation[cells.Count];
        for (int i = 0; i < how.Length; i++)
        {
            (double agreement, how[i]) = Best(cells[i], draft.Pattern, within);
            sum += agreement;
        }

        return (draft, sum / cells.Count, how);
    }

    // The plainest way wins where a symmetric block fits several ways alike.
    private static (double Agreement, Orientation How) Best(CellPattern cell, CellPattern draft, double within)
    {
        double best = -1;
        Orientation how = default;
        foreach (Orientation way in Orientation.All)
        {
            double a = cell.AgreementWith(draft.In(way), within);
            if (a > best + 0.01)
            {
                (best, how) = (a, way);
            }
        }

        return (best, how);
    }

    private sealed record Known(string Id, CellPattern Pattern, bool Taught);
}
