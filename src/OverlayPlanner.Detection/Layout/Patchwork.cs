using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Which colour lies where on a map, on a grid of points.</summary>
internal sealed class Patchwork
{
    private const double StepInches = 0.2;
    private const double SameColor = 45; // RGB distance; light and shade over a top move a colour by less
    private const int Across = 8;
    private readonly int width;
    private readonly int height;
    private readonly int[] patchAt;
    private readonly (double R, double G, double B)?[] colors;

    public Patchwork(QuiltMap map)
    {
        width = Math.Max(1, (int)Math.Ceiling(map.Width.Inches / StepInches));
        height = Math.Max(1, (int)Math.Ceiling(map.Height.Inches / StepInches));
        patchAt = new int[width * height];
        Array.Fill(patchAt, -1);
        colors = [.. map.Patches.Select(p => p.Color is string c ? Rgb(c) : ((double R, double G, double B)?)null)];
        HasColors = colors.Any(c => c is not null);
        for (int i = 0; HasColors && i < map.Patches.Count; i++)
        {
            NetTopologySuite.Geometries.Polygon shape = PatchFinder.ToPolygon(map, map.Patches[i], 0.05);
            NetTopologySuite.Algorithm.Locate.IndexedPointInAreaLocator locator = new(shape);
            NetTopologySuite.Geometries.Envelope box = shape.EnvelopeInternal;
            for (int y = Index(box.MinY, height); y <= Index(box.MaxY, height); y++)
            {
                for (int x = Index(box.MinX, width); x <= Index(box.MaxX, width); x++)
                {
                    if (
                        locator.Locate(new((x + 0.5) * StepInches, (y + 0.5) * StepInches))
                        == NetTopologySuite.Geometries.Location.Interior
                    )
                    {
                        patchAt[y * width + x] = i;
                    }
                }
            }
        }
    }

    /// <summary>False where no patch has a colour.</summary>
    public bool HasColors { get; }

    /// <summary>The colours of a block, sampled in rows in its own frame.</summary>
    public Sample Look(CellFrame frame)
    {
        (double R, double G, double B)?[] seen = new (double R, double G, double B)?[Across * Across];
        HashSet<int> patches = [];
        for (int y = 0; y < Across; y++)
        {
            for (int x = 0; x < Across; x++)
            {
                // A little off the middle: middles of eighths lie on seams of fine grids.
                int at = At(frame.ToCloth((x + 0.43) / Across, (y + 0.46) / Across));
                if (at >= 0)
                {
                    patches.Add(at);
                    seen[y * Across + x] = colors[at];
                }
            }
        }

        return new(seen, Math.Max(1, patches.Count));
    }

    private int At(Point<ClothSpace> p) => patchAt[Index(p.Y, height) * width + Index(p.X, width)];

    private static int Index(double inches, int count) => Math.Clamp((int)(inches / StepInches), 0, count - 1);

    private static (double, double, double) Rgb(string color) => (Channel(color, 1), Channel(color, 3), Channel(color, 5));

    private static double Channel(string color, int at) =>
        int.Parse(color.AsSpan(at, 2), NumberStyles.HexNumber, CultureInfo.InvariantCulture);

    /// <summary>Colours of one block.</summary>
    /// <param name="Colors">Row by row.</param>
    /// <param name="Patches">How many patches they come from.</param>
    internal sealed record Sample(IReadOnlyList<(double R, double G, double B)?> Colors, int Patches)
    {
        /// <summary>Part of the block whose colour is another one there, 0 to 1.</summary>
        public double StrangeTo(Sample other)
        {
            int strange = 0;
            for (int i = 0; i < Colors.Count; i++)
            {
                strange +=
                    Colors[i] is { } p
                    && other.Colors[i] is { } q
                    && Math.Sqrt((p.R - q.R) * (p.R - q.R) + (p.G - q.G) * (p.G - q.G) + (p.B - q.B) * (p.B - q.B))
                        > SameColor
                        ? 1
                        : 0;
            }

            return (double)strange / Colors.Count;
        }
    }
}
