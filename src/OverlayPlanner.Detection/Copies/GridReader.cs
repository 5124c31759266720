using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>
/// Where the seams found do not add up to equal blocks: tries every even division of the top, with and without sashing, and
/// takes the one whose blocks, laid over each other, show a known draft that explains the most of the evidence.
/// </summary>
internal static class GridReader
{
    private const int MostAcross = 16;
    private const int MostBlocks = 120;
    private const int LeastBlocks = 2;
    private const double LeastSidePixels = 90;
    private const double SquareWithin = 0.03;
    private const double LeastSidesSeen = 0.3;
    private const int CopiesLookedAt = 9;
    private const int QuickSidePixels = 144; // two for each cell of the matcher's grid
    private static readonly double[] SashesInches = [0, 1, 1.25, 1.5, 1.75, 2, 2.25, 2.5, 3, 3.5, 4];

    /// <summary>The blocks of the division that explains most, or null where none is convincing.</summary>
    public static (IReadOnlyList<PixelCell> Cells, DraftMatch Match, double Explained)? Find(
        EvidenceMap wide,
        PixelFrame frame,
        IReadOnlyList<BlockDraft> drafts,
        CancellationToken ct
    )
    {
        double width = frame.Right - frame.Left;
        double height = frame.Bottom - frame.Top;
        (IReadOnlyList<PixelCell> Cells, DraftMatch Match, double Explained)? best = null;
        HashSet<(int, int, int)> tried = [];
        for (int columns = 1; columns <= MostAcross; columns++)
        {
            foreach (double inches in SashesInches)
            {
                double sash = inches * wide.PixelsPerInch;
                double side = (width - (columns - 1) * sash) / columns;
                int rows = (int)Math.Round((height + sash) / (side + sash));
                double down = rows < 1 ? 0 : (height - (rows - 1) * sash) / rows;
                if (
                    side < LeastSidePixels
                    || rows < 1
                    || columns * rows is < LeastBlocks or > MostBlocks
                    || sash > 0.5 * side
                    || Math.Abs(side - down) > SquareWithin * side
                    || !tried.Add((columns, rows, (int)(sash / 8)))
                )
                {
                    continue;
                }

                ct.ThrowIfCancellationRequested();
                PixelCell[] cells =
                [
                    .. Enumerable
                        .Range(0, rows)
                        .SelectMany(r =>
                            Enumerable
                                .Range(0, columns)
                                .Select(c =>
                                    Cell(frame.Left + c * (side + sash), frame.Top + r * (down + sash), side, down)
                                )
                        ),
                ];
                double sides = SidesOf(wide, frame, columns, rows, side, down, sash);
                if (sides < LeastSidesSeen)
                {
                    continue;
                }

                int step = Math.Max(1, cells.Length / CopiesLookedAt);
                PixelCell[] some = [.. cells.Where((_, i) => i % step == 0)];
                EvidenceMap folded = EvidenceFolding.Fold(wide, some, new Orientation[some.Length], QuickSidePixels);
                if (
                    CopyNamer.Name(folded, some.Length, drafts) is not DraftMatch match
                    || CellPattern.Of(match.Draft).IsPlainGrid
                )
                {
                    continue;
                }

                double value =
                    cells.Length * side * match.Gain
                    + (sides - DraftMatcher.Ground)
                        * ((columns - 1) * height * (sash > 0 ? 2 : 1) + (rows - 1) * width * (sash > 0 ? 2 : 1));
                if (best is null || value > best.Value.Explained)
                {
                    best = (cells, match, value);
                }
            }
        }

        return best;
    }

    private static PixelCell Cell(double x, double y, double width, double height) =>
        new([(x, y), (x + width, y), (x + width, y + height), (x, y + height)]);

    // Mean evidence along the inner sides of all blocks.
    private static double SidesOf(
        EvidenceMap wide,
        PixelFrame frame,
        int columns,
        int rows,
        double side,
        double down,
        double sash
    )
    {
        double sum = 0;
        int n = 0;
        for (int c = 1; c < columns; c++)
        {
            double x = frame.Left + c * (side + sash);
            foreach (double at in sash > 0 ? [x, x - sash] : new[] { x })
            {
                for (double y = frame.Top + 6; y < frame.Bottom - 6; y += 4)
                {
                    sum += Best(k => wide.SeamAt(at + k, y));
                    n++;
                }
            }
        }

        for (int r = 1; r < rows; r++)
        {
            double y = frame.Top + r * (down + sash);
            foreach (double at in sash > 0 ? [y, y - sash] : new[] { y })
            {
                for (double x = frame.Left + 6; x < frame.Right - 6; x += 4)
                {
                    sum += Best(k => wide.SeamAt(x, at + k));
                    n++;
                }
            }
        }

        return n == 0 ? 0 : sum / n;

        // The widened lines allow for two pixels already; a real side wanders by a few more.
        static double Best(Func<double, double> at) => Math.Max(at(0), Math.Max(at(-3), at(3)));
    }
}
