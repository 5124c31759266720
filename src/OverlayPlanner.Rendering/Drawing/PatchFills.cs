using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>Patches filled with their own colour, paled toward the ground.</summary>
internal static class PatchFills
{
    /// <summary>The fills of the patches whose seams lie in the shown part.</summary>
    /// <param name="pale">0 for the patch's own colour, 1 for the ground.</param>
    public static IEnumerable<Fill> Of(
        QuiltMap quilt,
        Box<ClothSpace> shown,
        Similarity<PageSpace, ClothSpace> pageFromCloth,
        Ink ground,
        double pale
    )
    {
        Box<ClothSpace> near = shown.Grown(1e-3);
        foreach (Patch patch in quilt.Patches)
        {
            if (ColorOf(patch.Color) is not { } color)
            {
                continue;
            }

            IReadOnlyList<Edge<ClothSpace>> ring = PatchFinder.RingOf(quilt, patch.Seams);
            if (ring.All(e => near.Holds(e.From)))
            {
                yield return new(
                    Layer.Ground,
                    [.. ring.Select(pageFromCloth.Apply)],
                    new(
                        Mix(color.Red, ground.Red, pale),
                        Mix(color.Green, ground.Green, pale),
                        Mix(color.Blue, ground.Blue, pale)
                    )
                );
            }
        }

        static byte Mix(byte a, byte b, double t) => (byte)Math.Round(a + (b - a) * t);
    }

    /// <summary>A patch's colour, <c>#rrggbb</c>; null where there is none.</summary>
    public static Ink? ColorOf(string? hex) =>
        hex is { Length: 7 }
        && hex[0] == '#'
        && int.TryParse(hex.AsSpan(1), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int rgb)
            ? new Ink((byte)(rgb >> 16), (byte)(rgb >> 8), (byte)rgb)
            : null;
}
