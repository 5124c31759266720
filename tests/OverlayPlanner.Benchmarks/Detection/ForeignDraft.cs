using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>Blocks that are in no library: a square split again and again at random places of a grid.</summary>
internal static class ForeignDraft
{
    private const int Grid = 12;

    /// <summary>A block of seven to sixteen patches, rectangles and triangles.</summary>
    public static BlockDraft Make(Random random)
    {
        List<(int L, int T, int R, int B)> boxes = [(0, 0, Grid, Grid)];
        int wanted = random.Next(5, 10);
        for (int tries = 0; boxes.Count < wanted && tries < 200; tries++)
        {
            int k = random.Next(boxes.Count);
            (int l, int t, int r, int b) = boxes[k];
            bool upright = random.Next(2) == 0;
            int extent = upright ? r - l : b - t;
            if (extent < 4)
            {
                continue;
            }

            int at = random.Next(2, extent - 1);
            boxes[k] = upright ? (l, t, l + at, b) : (l, t, r, t + at);
            boxes.Add(upright ? (l + at, t, r, b) : (l, t + at, r, b));
        }

        List<IReadOnlyList<DraftCorner>> patches = [];
        foreach ((int l, int t, int r, int b) in boxes)
        {
            if (random.Next(2) == 0)
            {
                patches.Add([At(l, t), At(r, t), At(r, b), At(l, b)]);
            }
            else if (random.Next(2) == 0)
            {
                patches.Add([At(l, t), At(r, t), At(r, b)]);
                patches.Add([At(l, t), At(r, b), At(l, b)]);
            }
            else
            {
                patches.Add([At(l, t), At(r, t), At(l, b)]);
                patches.Add([At(r, t), At(r, b), At(l, b)]);
            }
        }

        return new("foreign", "Foreign", Grid, "none", null, patches);

        static DraftCorner At(int x, int y) => new((double)x / Grid, (double)y / Grid);
    }
}
