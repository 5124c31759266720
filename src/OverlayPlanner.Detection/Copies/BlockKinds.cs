using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Copies;

/// <summary>Sorts blocks into kinds, by name and by what is seen in them.</summary>
internal static class BlockKinds
{
    private const double SameKind = 0.62; // correlation of the evidence of two copies
    private const int FeatureGrid = 40;
    private const double TurnShows = 0.1;

    public static List<(List<int> Members, List<Orientation> How)> Of(
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
