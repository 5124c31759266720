using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>Sorts a top's blocks into kinds and reads from all copies of a kind together what its pattern is.</summary>
internal static class CopyReader
{
    /// <summary>Part of a draft's seams that must be seen in the folded evidence.</summary>
    public const double LeastSeen = 0.88;

    /// <summary>Most of the folded evidence that a draft may leave unexplained.</summary>
    public const double MostUnexplained = 0.13;

    // By how much the best draft must explain more than the second, in block sides and as a part of it.
    private const double LeastSeenOfTold = 0.5;
    private const double LeastLead = 0.06;
    private const double SameKind = 0.62; // correlation of the evidence of two copies
    private const double TurnShows = 0.1;
    private const double SameSide = 0.06;
    private const double LeastPiece = 0.12; // of a side
    private const double LeastOfMedian = 0.05;
    private const double ClearMedian = 0.97;
    private const double LeastOfClear = 0.32;
    private const double NearlyAsMuch = 0.75;
    private const int MostLookedAt = 6;
    private const double LeastGain = 0.5;
    private const double EnoughExplained = 0.55;
    private const double LeastGridExplained = 0.35;
    private const double LeastOwn = 0.5;
    private const double PlainPart = 0.25;
    private const double LeastOfGrid = 0.4;
    private const double MostOthers = 0.12;
    private const double ForLattice = 1.25; // seams that were found speak for their lattice
    private const int FeatureGrid = 40;
    private const int EnoughToFold = 3;
    private const double LeastStripPixels = 14;
    private const double DraftTrust = 4.2;
    private const double FoldedTrust = 2.4;
    private const double StripTrust = 5;

    /// <summary>The kinds of block, each with what its copies have in common.</summary>
    /// <param name="evidence">What the picture shows.</param>
    /// <param name="wide">The same, widened.</param>
    /// <param name="frame">The mapped area.</param>
    /// <param name="blocks">The top's blocks.</param>
    /// <param name="hints">What the user said.</param>
    /// <param name="ct">Stops between kinds.</param>
    public static IReadOnlyList<CopyGroup> Read(
        EvidenceMap evidence,
        EvidenceMap wide,
        PixelFrame frame,
        IReadOnlyList<Block> blocks,
        LatticeHints hints,
        CancellationToken ct
    )
    {
        IReadOnlyList<BlockDraft> drafts = hints.Drafts;
        string? told = hints.Pattern is { } name ? IdOf(name, drafts) : null;
        PixelCell[] cells = [.. blocks.Select(b => new PixelCell([.. b.Corners.Select(evidence.ToPixel)]))];
        List<CopyGroup> groups = ReadKinds(wide, blocks, cells, drafts, told, ct);
        double explained = groups.Sum(g => g.Explained);
        double all = SeamIn(wide, frame);
        if (
            explained >= EnoughExplained * all
            || hints.Lattice is not null
            || hints.BlockCorners is not null
            || GridReader.Find(wide, frame, drafts, ct)
                is not
                (IReadOnlyList<PixelCell> grid, DraftMatch seen, double value)
            || value <= Math.Max(ForLattice * explained, LeastGridExplained * all)
        )
        {
            groups.AddRange(Strips(cells, blocks));
            return groups;
        }

        CopyGroup even = GroupOf(wide, [.. Enumerable.Range(0, grid.Count)], grid, new Orientation[grid.Count], seen);
        int others = grid.Count - even.Cells.Count - even.Plain;
        if (even.Cells.Count < LeastOfGrid * grid.Count || others > MostOthers * grid.Count)
        {
            groups.AddRange(Strips(cells, blocks));
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
        foreach ((List<int> members, List<Orientation> how) in Kinds(wide, blocks, cells))
        {
            ct.ThrowIfCancellationRequested();
            PixelCell[] own = [.. members.Select(i => cells[i])];
            EvidenceMap folded = EvidenceFolding.Fold(wide, own, how);
            if (Name(folded, own.Length, drafts, blocks[members[0]].Pattern, told) is DraftMatch match)
            {
                groups.Add(GroupOf(wide, members, own, how, match));
            }
            else if (own.Length >= EnoughToFold)
            {
                DetectionWishes unit = new() { Width = Length.FromInches(1), Height = Length.FromInches(1) };
                BlockTemplate template = BlockTemplate.Of(SeamFinder.BuildGraph(folded, unit, ct));
                groups.Add(new(members, own, how, template, null, TrustIn(template, folded, own.Length, FoldedTrust)));
            }
        }

        return groups;
    }

    private static CopyGroup GroupOf(
        EvidenceMap wide,
        IReadOnlyList<int> members,
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
            (lies[i], scores[i]) = LiesIn(wide, cells[i], template, lies[i]);
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
            TrustIn(template, folded, kept.Length, DraftTrust)
        )
        {
            Explained = match.Gain * cells.Sum(c => c.Side),
            Plain = Enumerable.Range(0, cells.Count).Count(i => scores[i] < PlainPart * usual),
        };
    }

    // How a copy lies against the template: as said, unless another way is plainly better; with the mean evidence on it there.
    private static (Orientation How, double Score) LiesIn(
        EvidenceMap wide,
        PixelCell cell,
        BlockTemplate template,
        Orientation said
    )
    {
        double best = ScoreOf(wide, cell, template.In(said));
        Orientation how = said;
        double limit = best + TurnShows;
        foreach (Orientation o in Orientation.All.Where(o => o != said))
        {
            double score = ScoreOf(wide, cell, template.In(o));
            if (score > limit)
            {
                (best, how, limit) = (score, o, score);
            }
        }

        return (how, best);
    }

    /// <summary>Mean widened evidence along a template's inner pieces where it lies in a cell, 0 to 1.</summary>
    public static double ScoreOf(EvidenceMap wide, PixelCell cell, BlockTemplate template)
    {
        double sum = 0;
        int n = 0;
        foreach (TemplatePiece piece in template.Pieces.Where(p => !p.IsSide))
        {
            int samples = Math.Max(3, (int)(template.LengthOf(piece) * 60));
            for (int i = 0; i < samples; i++)
            {
                (double x, double y) = cell.FromUnit(template.PointOn(piece, (i + 0.5) / samples));
                sum += wide.SeamAt(x, y);
                n++;
            }
        }

        return n == 0 ? 0 : sum / n;
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

    // The sashing between neighbours: strips without seams, unless most of them have one.
    private static IEnumerable<CopyGroup> Strips(PixelCell[] cells, IReadOnlyList<Block> blocks)
    {
        List<PixelCell> strips = [];
        List<Orientation> how = [];
        for (int i = 0; i < blocks.Count; i++)
        {
            for (int k = 0; k < blocks.Count; k++)
            {
                bool right = blocks[k].Row == blocks[i].Row && blocks[k].Column == blocks[i].Column + 1;
                bool below = blocks[k].Column == blocks[i].Column && blocks[k].Row == blocks[i].Row + 1;
                if (!right && !below)
                {
                    continue;
                }

                PixelCell a = cells[i];
                PixelCell b = cells[k];
                (double X, double Y)[] corners = right
                    ? [a.FromUnit((1, 0)), b.FromUnit((0, 0)), b.FromUnit((0, 1)), a.FromUnit((1, 1))]
                    : [a.FromUnit((0, 1)), a.FromUnit((1, 1)), b.FromUnit((1, 0)), b.FromUnit((0, 0))];
                double across = right ? corners[1].X - corners[0].X : corners[3].Y - corners[0].Y;
                if (across > LeastStripPixels)
                {
                    strips.Add(new(corners));
                    how.Add(right ? default : new Orientation(1, false));
                }
            }
        }

        BlockTemplate plain = new(
            [(0, 0), (1, 0), (1, 1), (0, 1)],
            [new(0, 1, 0, true), new(1, 2, 0, true), new(2, 3, 0, true), new(3, 0, 0, true)]
        );
        double trust = strips.Count < 2 ? 0 : StripTrust * (strips.Count - 1) / (strips.Count + 0.5);
        return strips.Count < 2
            ? []
            : [new([], strips, how, plain, null, [trust, trust, trust, trust]) { IsKnown = true }];
    }

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

    // All blocks the same way up: the commonest top, and one where no block needs to be named on its own.
    private static CopyGroup? OfOneKind(
        EvidenceMap wide,
        PixelCell[] cells,
        IReadOnlyList<BlockDraft> drafts,
        string? told
    )
    {
        double side = cells.Average(c => c.Side);
        if (!Array.TrueForAll(cells, c => c.IsSound && Math.Abs(c.Side - side) <= SameSide * side))
        {
            return null;
        }

        EvidenceMap folded = EvidenceFolding.Fold(wide, cells, new Orientation[cells.Length]);
        if (Name(folded, cells.Length, drafts, told: told) is not DraftMatch match)
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

    private static string? IdOf(string name, IReadOnlyList<BlockDraft> drafts) =>
        drafts
            .Concat(BlockLibrary.All)
            .FirstOrDefault(d => d.Id == name || string.Equals(d.Name, name, StringComparison.OrdinalIgnoreCase))
            ?.Id;

    // Few copies prove little; a piece that shows in the fold is in most copies.
    private static double[] TrustIn(BlockTemplate template, EvidenceMap folded, int copies, double most)
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

    private static List<(List<int> Members, List<Orientation> How)> Kinds(
        EvidenceMap wide,
        IReadOnlyList<Block> blocks,
        PixelCell[] cells
    )
    {
        List<(List<int> Members, List<Orientation> How)> kinds = [];
        foreach (
            IGrouping<string, int> named in Enumerable
                .Range(0, blocks.Count)
                .Where(i => blocks[i].Pattern is not null)
                .GroupBy(i => blocks[i].Pattern!)
        )
        {
            kinds.Add(([.. named], [.. named.Select(i => new Orientation(blocks[i].Turn, blocks[i].Mirror))]));
        }

        List<float[]> leaders = [.. kinds.Select(k => FeatureOf(wide, cells[k.Members[0]], k.How[0]))];
        foreach (int i in Enumerable.Range(0, blocks.Count).Where(i => blocks[i].Pattern is null && cells[i].IsSound))
        {
            (int kind, Orientation how, double best) = (-1, default, SameKind);
            for (int k = 0; k < kinds.Count; k++)
            {
                if (Math.Abs(cells[i].Side - cells[kinds[k].Members[0]].Side) > 0.06 * cells[i].Side)
                {
                    continue;
                }

                foreach (Orientation o in Orientation.All)
                {
                    // Nearly symmetric blocks look turned by chance: a turn must show.
                    double c = Correlation(FeatureOf(wide, cells[i], o), leaders[k]) - (o == default ? 0 : TurnShows);
                    if (c > best)
                    {
                        (kind, how, best) = (k, o, c);
                    }
                }
            }

            if (kind < 0)
            {
                kinds.Add(([i], [default]));
                leaders.Add(FeatureOf(wide, cells[i], default));
            }
            else
            {
                kinds[kind].Members.Add(i);
                kinds[kind].How.Add(how);
            }
        }

        return kinds;
    }

    // The evidence inside a cell on a small grid, its sides left out: they are alike in all blocks.
    private static float[] FeatureOf(EvidenceMap wide, PixelCell cell, Orientation how)
    {
        float[] feature = new float[FeatureGrid * FeatureGrid];
        for (int row = 0; row < FeatureGrid; row++)
        {
            for (int column = 0; column < FeatureGrid; column++)
            {
                (double x, double y) = cell.FromUnit(
                    how.Apply((0.05 + 0.9 * (column + 0.5) / FeatureGrid, 0.05 + 0.9 * (row + 0.5) / FeatureGrid))
                );
                feature[row * FeatureGrid + column] = (float)wide.SeamAt(x, y);
            }
        }

        return feature;
    }

    private static double Correlation(float[] a, float[] b)
    {
        double ma = a.Average();
        double mb = b.Average();
        (double ab, double aa, double bb) = (0, 0, 0);
        for (int i = 0; i < a.Length; i++)
        {
            ab += (a[i] - ma) * (b[i] - mb);
            aa += (a[i] - ma) * (a[i] - ma);
            bb += (b[i] - mb) * (b[i] - mb);
        }

        return aa * bb > 0 ? ab / Math.Sqrt(aa * bb) : 0;
    }
}
