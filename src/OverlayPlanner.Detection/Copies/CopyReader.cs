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
    private const double LeastLead = 0.06;
    private const double SameKind = 0.62; // correlation of the evidence of two copies
    private const double TurnShows = 0.1;
    private const int FeatureGrid = 40;
    private const int EnoughToFold = 3;
    private const double LeastStripPixels = 14;
    private const double DraftTrust = 4.2;
    private const double SaidTrust = 3;
    private const double FoldedTrust = 2.4;
    private const double StripTrust = 4;

    /// <summary>The kinds of block, each with what its copies have in common.</summary>
    /// <param name="evidence">What the picture shows.</param>
    /// <param name="wide">The same, widened.</param>
    /// <param name="frame">The mapped area.</param>
    /// <param name="blocks">The top's blocks.</param>
    /// <param name="drafts">Drafts of the user's.</param>
    /// <param name="ct">Stops between kinds.</param>
    public static IReadOnlyList<CopyGroup> Read(
        EvidenceMap evidence,
        EvidenceMap wide,
        PixelFrame frame,
        IReadOnlyList<Block> blocks,
        IReadOnlyList<BlockDraft> drafts,
        CancellationToken ct
    )
    {
        PixelCell[] cells = [.. blocks.Select(b => new PixelCell([.. b.Corners.Select(evidence.ToPixel)]))];
        List<CopyGroup> groups = [];
        foreach ((List<int> members, List<Orientation> how) in Kinds(wide, blocks, cells))
        {
            ct.ThrowIfCancellationRequested();
            PixelCell[] own = [.. members.Select(i => cells[i])];
            EvidenceMap folded = EvidenceFolding.Fold(wide, own, how);
            DraftMatch? match = Name(folded, own.Length, drafts);
            if (match is null && blocks[members[0]].Pattern is string id && DraftOf(id, drafts) is BlockDraft said)
            {
                match = new(said, default, 0, 1, 0);
            }

            if (match is not null)
            {
                BlockTemplate template = BlockTemplate.Of(match.Draft);
                groups.Add(
                    new(
                        members,
                        own,
                        [.. how.Select(h => h.After(match.How))],
                        template,
                        match.Draft,
                        TrustIn(template.In(match.How), folded, own.Length, match.Gain > 0 ? DraftTrust : SaidTrust)
                    )
                );
            }
            else if (own.Length >= EnoughToFold)
            {
                DetectionWishes unit = new() { Width = Length.FromInches(1), Height = Length.FromInches(1) };
                BlockTemplate template = BlockTemplate.Of(SeamFinder.BuildGraph(folded, unit, ct));
                groups.Add(new(members, own, how, template, null, TrustIn(template, folded, own.Length, FoldedTrust)));
            }
        }

        if (groups.Exists(g => g.Draft is not null) || blocks.Count > 1 && groups.Exists(g => g.Members.Count > 2))
        {
            groups.AddRange(Strips(cells, blocks));
            return groups;
        }

        if (GridReader.Find(wide, frame, drafts, ct) is not (IReadOnlyList<PixelCell> grid, DraftMatch seen))
        {
            return groups;
        }

        BlockTemplate known = BlockTemplate.Of(seen.Draft);
        Orientation[] upright = new Orientation[grid.Count];
        double[] trust = TrustIn(
            known.In(seen.How),
            EvidenceFolding.Fold(wide, grid, upright),
            grid.Count,
            DraftTrust
        );
        Array.Fill(upright, seen.How);
        return [new([.. Enumerable.Range(0, grid.Count)], grid, upright, known, seen.Draft, trust)];
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

        BlockTemplate plain = new([(0, 0), (1, 0), (1, 1), (0, 1)], [new(0, 1, 0, true), new(1, 2, 0, true), new(2, 3, 0, true), new(3, 0, 0, true)]);
        double trust = strips.Count < 2 ? 0 : StripTrust * (strips.Count - 1) / (strips.Count + 0.5);
        return strips.Count < 2
            ? []
            : [new([], strips, how, plain, null, [trust, trust, trust, trust]) { IsKnown = true }];
    }

    /// <summary>The draft that folded evidence shows; null where none does, or two alike.</summary>
    public static DraftMatch? Name(EvidenceMap folded, int copies, IReadOnlyList<BlockDraft> drafts)
    {
        IReadOnlyList<DraftMatch> ranked = DraftMatcher.Rank(folded, drafts);
        DraftMatch best = ranked[0];
        double lead = best.Gain - ranked[1].Gain;
        double seen = copies == 1 ? LeastSeen + 0.07 : LeastSeen;
        double unexplained = copies == 1 ? MostUnexplained / 2 : MostUnexplained;
        return best.Seen >= seen && best.Unexplained <= unexplained && lead >= LeastLead && best.Gain > 0.5 ? best : null;
    }

    private static BlockDraft? DraftOf(string id, IReadOnlyList<BlockDraft> drafts) =>
        drafts.FirstOrDefault(d => d.Id == id) ?? BlockLibrary.All.FirstOrDefault(d => d.Id == id);

    // Few copies prove little; a piece that shows in the fold is in most copies.
    private static double[] TrustIn(BlockTemplate template, EvidenceMap folded, int copies, double most)
    {
        double known = (copies - 1) / (copies + 0.5);
        double share = most > FoldedTrust ? 0.6 + 0.4 * known : known;
        return
        [
            .. template.Pieces.Select(piece =>
            {
                const int Samples = 24;
                double sum = 0;
                for (int i = 0; i < Samples; i++)
                {
                    (double u, double v) = template.PointOn(piece, 0.08 + 0.84 * (i + 0.5) / Samples);
                    (double x, double y) = folded.ToPixel(new(u, v));
                    sum += folded.SeamAt(x, y);
                }

                return share * most * Math.Clamp((sum / Samples + 0.1) / 0.5, 0.4, 1);
            }),
        ];
    }

    private static List<(List<int> Members, List<Orientation> How)> Kinds(
        EvidenceMap wide,
        IReadOnlyList<Block> blocks,
        PixelCell[] cells
    )
    {
        List<(List<int> Members, List<Orientation> How)> kinds = [];
        foreach (IGrouping<string, int> named in Enumerable.Range(0, blocks.Count).Where(i => blocks[i].Pattern is not null).GroupBy(i => blocks[i].Pattern!))
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
