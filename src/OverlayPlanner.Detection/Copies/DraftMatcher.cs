using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>How well a draft explains folded evidence.</summary>
/// <param name="Draft">The draft.</param>
/// <param name="How">How it lies in the folded block.</param>
/// <param name="Gain">Evidence on its seams less what it leaves unexplained, in block sides.</param>
/// <param name="Seen">Share of the length of its inner seams where a seam is seen, 0 to 1.</param>
/// <param name="Unexplained">Evidence that lies off its seams, as a share of all above the ground, 0 to 1.</param>
internal sealed record DraftMatch(BlockDraft Draft, Orientation How, double Gain, double Seen, double Unexplained);

/// <summary>Finds the draft that explains folded evidence best, by what it would look like (analysis by synthesis).</summary>
internal static class DraftMatcher
{
    /// <summary>Folded evidence above this speaks for a seam, below it against one.</summary>
    public const double Ground = 0.22;

    // A seam of the draft that shows in no copy speaks harder against it than a seen one speaks for it: else a draft with more
    // seams than the block has would nearly always win.
    private const double ForUnseen = 3;

    // A symmetric draft explains as much in each of its ways, but for rounding.
    private const double SameGain = 0.02;

    private const int Grid = 72;
    private const double Near = 0.034; // of a side: 0.4 in of a 12 in block, piecing error and the lines' own width

    /// <summary>Width of a widened line of evidence.</summary>
    public const double LineWidthPixels = 7;

    private static readonly Lazy<IReadOnlyList<Candidate>> Library = new(() =>
        [.. BlockLibrary.All.Select(Candidate.Of)]
    );

    /// <summary>All drafts that explain something, best first. About 600 readings of a grid of 72 × 72.</summary>
    /// <param name="folded">From <see cref="EvidenceFolding.Fold"/>.</param>
    /// <param name="taught">Drafts of the user's, beside the library's.</param>
    public static IReadOnlyList<DraftMatch> Rank(EvidenceMap folded, IReadOnlyList<BlockDraft> taught)
    {
        List<DraftMatch> ranked = [];
        float[] cells = Sample(folded);
        foreach (Candidate candidate in Library.Value.Concat(taught.Select(Candidate.Of)))
        {
            DraftMatch? best = null;
            foreach (Orientation how in Orientation.All)
            {
                DraftMatch match = Match(candidate, how, folded, cells);

                // The plainest way wins where a symmetric block fits several ways alike.
                if (best is null || match.Gain > best.Gain + SameGain)
                {
                    best = match;
                }
            }

            ranked.Add(best!);
        }

        return [.. ranked.OrderByDescending(m => m.Gain)];
    }

    private static DraftMatch Match(Candidate candidate, Orientation how, EvidenceMap folded, float[] cells)
    {
        double on = 0;
        int seen = 0;
        foreach ((double X, double Y) p in candidate.Samples)
        {
            (double x, double y) = folded.ToPixelOf(how.Apply(p));
            double here = folded.SeamAt(x, y);
            on += here > Ground ? here - Ground : (here - Ground) * ForUnseen;
            seen += here > Ground ? 1 : 0;
        }

        on *= Candidate.Step;
        double off = 0;
        double all = 0;
        for (int row = 0; row < Grid; row++)
        {
            for (int column = 0; column < Grid; column++)
            {
                // The draft's mask is kept one way only; the evidence's cell is looked up where that place lies.
                (double u, double v) = how.Apply(((column + 0.5) / Grid, (row + 0.5) / Grid));
                double excess =
                    cells[Math.Min(Grid - 1, (int)(v * Grid)) * Grid + Math.Min(Grid - 1, (int)(u * Grid))] - Ground;
                if (excess > 0 && !candidate.OnSide[row * Grid + column])
                {
                    all += excess;
                    off += candidate.OnSeam[row * Grid + column] ? 0 : excess;
                }
            }
        }

        double width = LineWidthPixels / folded.PixelsPerInch;
        return new(
            candidate.Draft,
            how,
            on - off / (Grid * Grid) / width,
            candidate.Samples.Length == 0 ? 1 : (double)seen / candidate.Samples.Length,
            all > 0 ? off / all : 0
        );
    }

    // The strongest evidence in each cell of the grid would widen lines again: the mean of what lies in it.
    private static float[] Sample(EvidenceMap folded)
    {
        float[] cells = new float[Grid * Grid];
        for (int row = 0; row < Grid; row++)
        {
            for (int column = 0; column < Grid; column++)
            {
                (double x, double y) = folded.ToPixelOf(((column + 0.5) / Grid, (row + 0.5) / Grid));
                cells[row * Grid + column] = (float)folded.SeamAt(x, y);
            }
        }

        return cells;
    }

    private static (double X, double Y) ToPixelOf(this EvidenceMap folded, (double X, double Y) unit) =>
        folded.ToPixel(new Point<ClothSpace>(unit.X, unit.Y));

    private sealed record Candidate(BlockDraft Draft, (double X, double Y)[] Samples, bool[] OnSeam, bool[] OnSide)
    {
        public const double Step = 1.0 / 96;

        public static Candidate Of(BlockDraft draft)
        {
            BlockTemplate template = BlockTemplate.Of(draft);
            List<(double X, double Y)> samples = [];
            foreach (TemplatePiece piece in template.Pieces.Where(p => !p.IsSide))
            {
                int n = Math.Max(1, (int)Math.Round(template.LengthOf(piece) / Step));
                for (int i = 0; i < n; i++)
                {
                    samples.Add(template.PointOn(piece, (i + 0.5) / n));
                }
            }

            bool[] seam = new bool[Grid * Grid];
            bool[] side = new bool[Grid * Grid];
            int reach = (int)Math.Ceiling(Near * Grid);
            foreach ((double x, double y) in samples)
            {
                int cx = (int)(x * Grid);
                int cy = (int)(y * Grid);
                for (int row = Math.Max(0, cy - reach); row <= Math.Min(Grid - 1, cy + reach); row++)
                {
                    for (int column = Math.Max(0, cx - reach); column <= Math.Min(Grid - 1, cx + reach); column++)
                    {
                        (double dx, double dy) = ((column + 0.5) / Grid - x, (row + 0.5) / Grid - y);
                        seam[row * Grid + column] |= dx * dx + dy * dy <= Near * Near;
                    }
                }
            }

            for (int row = 0; row < Grid; row++)
            {
                for (int column = 0; column < Grid; column++)
                {
                    (double u, double v) = ((column + 0.5) / Grid, (row + 0.5) / Grid);
                    side[row * Grid + column] = Math.Min(Math.Min(u, 1 - u), Math.Min(v, 1 - v)) <= Near;
                }
            }

            return new(draft, [.. samples], seam, side);
        }
    }
}
