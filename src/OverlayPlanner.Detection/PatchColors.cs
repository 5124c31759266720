using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection;

/// <summary>Gives every patch the median colour of its cloth.</summary>
internal static class PatchColors
{
    // The ditch and its shadow are left out.
    private const double KeepOffInches = 0.1;
    private const int MostSamples = 4_000;

    /// <summary>The map with colours, each channel's median over the patch.</summary>
    public static QuiltMap Fill(QuiltMap map, Picture picture, double marginInches)
    {
        double density = picture.PixelsPerInch!.Value;
        return map.With(
            patches: [.. map.Patches.Select(p => p with { Color = ColorOf(map, p, picture, density, marginInches) })]
        );
    }

    private static string? ColorOf(QuiltMap map, Patch patch, Picture picture, double density, double margin)
    {
        NetTopologySuite.Geometries.Geometry shape = PatchFinder.ToPolygon(map, patch, 0.02);
        NetTopologySuite.Geometries.Geometry inner = shape.Buffer(-KeepOffInches);
        shape = inner.IsEmpty ? shape : inner;
        NetTopologySuite.Geometries.Envelope box = shape.EnvelopeInternal;
        NetTopologySuite.Algorithm.Locate.IndexedPointInAreaLocator inside = new(shape);
        double step = Math.Max(1 / density, Math.Sqrt(box.Width * box.Height / MostSamples));
        int[][] counts = [new int[256], new int[256], new int[256]];
        int n = 0;
        for (double y = box.MinY + step / 2; y < box.MaxY; y += step)
        {
            for (double x = box.MinX + step / 2; x < box.MaxX; x += step)
            {
                int px = (int)Math.Round((x + margin) * density - 0.5);
                int py = (int)Math.Round((y + margin) * density - 0.5);
                if (
                    px < 0
                    || py < 0
                    || px >= picture.Width
                    || py >= picture.Height
                    || inside.Locate(new(x, y)) == NetTopologySuite.Geometries.Location.Exterior
                )
                {
                    continue;
                }

                int at = picture.IndexOf(px, py);
                for (int c = 0; c < 3; c++)
                {
                    counts[c][picture.Rgb[at + c]]++;
                }

                n++;
            }
        }

        return n == 0
            ? null
            : string.Create(
                CultureInfo.InvariantCulture,
                $"#{Median(counts[0], n):x2}{Median(counts[1], n):x2}{Median(counts[2], n):x2}"
            );
    }

    private static int Median(int[] counts, int n)
    {
        int seen = 0;
        for (int v = 0; v < 256; v++)
        {
            seen += counts[v];
            if (2 * seen >= n)
            {
                return v;
            }
        }

        return 255;
    }
}
