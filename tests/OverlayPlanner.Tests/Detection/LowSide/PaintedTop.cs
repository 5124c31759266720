using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Detection.LowSide;

/// <summary>Plain cloth with seams that stand on one side, painted by its own few lines and none of the scene maker's.</summary>
internal static class PaintedTop
{
    public const double Density = 32;
    public static readonly Length Margin = Length.FromInches(1);

    /// <summary>
    /// The picture: each patch in its colour; beside each seam a dark line, darker on the low side by <paramref name="step"/>;
    /// what faces <paramref name="light"/> is brighter.
    /// </summary>
    /// <param name="lowAt">The low side at a place of a seam, or null for a seam pressed open.</param>
    public static Picture Paint(
        QuiltMap map,
        Func<Seam, double, Side?> lowAt,
        double step,
        Vector<ClothSpace> light,
        int seed
    )
    {
        int width = (int)((map.Width.Inches + 2) * Density);
        int height = (int)((map.Height.Inches + 2) * Density);
        byte[] rgb = new byte[width * height * 3];
        Random dice = new(seed);
        (Seam Seam, Edge<ClothSpace> Path)[] seams =
        [
            .. map.Seams.Where(s => s.Role != SeamRole.Edge).Select(s => (s, map.EdgeOf(s))),
        ];
        (Patch Patch, NetTopologySuite.Algorithm.Locate.IndexedPointInAreaLocator Inside)[] patches =
        [
            .. map.Patches.Select(p =>
                (
                    p,
                    new NetTopologySuite.Algorithm.Locate.IndexedPointInAreaLocator(PatchFinder.ToPolygon(map, p, 0.01))
                )
            ),
        ];
        for (int y = 0; y < height; y++)
        {
            for (int x = 0; x < width; x++)
            {
                Point<ClothSpace> at = new((x + 0.5) / Density - 1, (y + 0.5) / Density - 1);
                Patch? patch = Array
                    .Find(
                        patches,
                        p => p.Inside.Locate(new(at.X, at.Y)) != NetTopologySuite.Geometries.Location.Exterior
                    )
                    .Patch;
                int color = patch?.Color is { } hex
                    ? int.Parse(
                        hex.AsSpan(1),
                        System.Globalization.NumberStyles.HexNumber,
                        System.Globalization.CultureInfo.InvariantCulture
                    )
                    : 0x909090;
                double shade = 1 + 0.015 * (dice.NextDouble() + dice.NextDouble() + dice.NextDouble() - 1.5);
                foreach ((Seam seam, Edge<ClothSpace> path) in seams)
                {
                    (double t, double d) = path.Nearest(at);
                    if (d > 0.2)
                    {
                        continue;
                    }

                    Vector<ClothSpace> left = path.DirectionAt(t).TurnedLeft;
                    int side = Math.Sign((at - path.PointAt(t)).Dot(left));
                    Side? low = lowAt(seam, t);
                    double dark =
                        low is null || side == 0 ? 0.5
                        : side == (low == Side.Left ? 1 : -1) ? 1
                        : 0;
                    double near = Math.Exp(-d / 0.05);
                    shade *=
                        1 - 0.3 * Math.Exp(-d * d / 0.0008) - step * dark * near + 0.08 * side * left.Dot(light) * near;
                }

                for (int c = 0; c < 3; c++)
                {
                    double v = Math.Pow((color >> (16 - 8 * c) & 255) / 255.0, 2.2) * shade;
                    rgb[(y * width + x) * 3 + c] = (byte)
                        Math.Clamp(255 * Math.Pow(Math.Max(0, v), 1 / 2.2) + 0.5, 0, 255);
                }
            }
        }

        return new(width, height, rgb, Density);
    }
}
