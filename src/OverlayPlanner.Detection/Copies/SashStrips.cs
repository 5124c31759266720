using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Copies;

/// <summary>The sashing between blocks, whose strips are copies of each other too.</summary>
internal static class SashStrips
{
    private const double LeastStripPixels = 14;
    private const double StripTrust = 5;

    // The sashing between neighbours: strips without seams, unless most of them have one.
    public static IEnumerable<CopyGroup> Between(PixelCell[] cells, IReadOnlyList<Block> blocks)
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
}
