using OpenCvSharp;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;

namespace OverlayPlanner.Detection.Copies;

/// <summary>
/// Lays the evidence of all copies of a block over each other. A print lies otherwise in every copy and fades; a seam stays,
/// one between two patches of the same cloth too, that no single copy shows well.
/// </summary>
internal static class EvidenceFolding
{
    /// <summary>Pixels round the folded block on each side.</summary>
    public const int MarginPixels = 16;

    private const int MostSidePixels = 640;
    private const int EnoughCopies = 24;

    /// <summary>
    /// The evidence with its lines made wider by <paramref name="reach"/> pixels on both sides, so that copies whose piecing
    /// differs by as much still agree.
    /// </summary>
    public static EvidenceMap Widen(EvidenceMap evidence, int reach = 2)
    {
        using Mat seam = Mat.FromPixelData(evidence.Height, evidence.Width, MatType.CV_32FC1, evidence.Seam);
        using Mat wide = new();
        using Mat disc = Cv2.GetStructuringElement(MorphShapes.Ellipse, new(2 * reach + 1, 2 * reach + 1));
        Cv2.Dilate(seam, wide, disc);
        wide.GetArray(out float[] plane);
        return new(
            evidence.Width,
            evidence.Height,
            plane,
            evidence.Junction,
            evidence.PixelsPerInchX,
            evidence.PixelsPerInchY,
            evidence.MarginInches
        );
    }

    /// <summary>The mean evidence of copies, as of a block of 1 in whose pixels are as fine as the copies' own.</summary>
    /// <param name="wide">Widened evidence of the whole top.</param>
    /// <param name="cells">Where the copies lie.</param>
    /// <param name="how">How each lies against the folded block.</param>
    /// <param name="mostSide">Most pixels of a side; fewer are quicker.</param>
    public static EvidenceMap Fold(
        EvidenceMap wide,
        IReadOnlyList<PixelCell> cells,
        IReadOnlyList<Orientation> how,
        int mostSide = MostSidePixels
    )
    {
        int side = Math.Clamp((int)Math.Round(cells.Average(c => c.Side)), 16, mostSide);
        int whole = side + 2 * MarginPixels;
        float[] sum = new float[whole * whole];
        int step = Math.Max(1, cells.Count / EnoughCopies);
        int used = 0;
        for (int k = 0; k < cells.Count; k += step)
        {
            used++;
            for (int y = 0; y < whole; y++)
            {
                double v = (y - MarginPixels + 0.5) / side;
                for (int x = 0; x < whole; x++)
                {
                    (double px, double py) = cells[k].FromUnit(how[k].Apply(((x - MarginPixels + 0.5) / side, v)));
                    sum[y * whole + x] += (float)wide.SeamAt(px, py);
                }
            }
        }

        for (int i = 0; i < sum.Length; i++)
        {
            sum[i] /= used;
        }

        return new(whole, whole, sum, new float[sum.Length], side, side, (double)MarginPixels / side);
    }
}
