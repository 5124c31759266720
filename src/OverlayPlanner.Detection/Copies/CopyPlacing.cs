using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;

namespace OverlayPlanner.Detection.Copies;

/// <summary>How well a template fits one copy, and which way it lies there.</summary>
internal static class CopyPlacing
{
    private const double TurnShows = 0.1;

    // How a copy lies against the template: as said, unless another way is plainly better; with the mean evidence on it there.
    public static (Orientation How, double Score) LiesIn(
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
}
