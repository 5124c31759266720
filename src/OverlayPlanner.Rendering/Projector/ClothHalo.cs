using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Projector;

/// <summary>
/// Chooses the dim light on both sides of a projected line, so that the line stands out from the cloth that it falls on and
/// the print beside it does not run into it.
/// </summary>
/// <remarks>
/// What is seen is the cloth's colour times the light on it, projected and of the room. Compared by the distance ΔE*ab of
/// CIE 1976 L*a*b* (ISO/CIE 11664-4), white cloth in full light as the white point.
/// </remarks>
internal static class ClothHalo
{
    /// <summary>The room's light against the projector's white (common practice, no source: a dimmed sewing room).</summary>
    public const double RoomLight = 0.12;

    private static readonly Ink[] Tints =
    [
        new(0x10, 0x28, 0x58),
        new(0x0C, 0x40, 0x30),
        new(0x58, 0x18, 0x10),
        new(0x44, 0x10, 0x48),
        new(0x30, 0x30, 0x30),
    ];

    /// <summary>The tint whose least distance, to the line and to unlit cloth, over all these cloths is greatest.</summary>
    /// <returns>The tint, or null where no cloth's colour is known.</returns>
    public static Ink? Against(IReadOnlyCollection<Ink> cloths, Ink line) =>
        cloths.Count == 0 ? null : Tints.MaxBy(t => Least(cloths, line, t));

    /// <summary>Colours of the patches of a map, each once.</summary>
    public static IReadOnlyCollection<Ink> ClothsOf(QuiltMap quilt) =>
        [.. quilt.Patches.Select(p => PatchFills.ColorOf(p.Color)).OfType<Ink>().Distinct()];

    /// <summary>How far, at least, a line in its halo differs from the halo, and the halo from the cloth beside it.</summary>
    public static double Least(IEnumerable<Ink> cloths, Ink line, Ink halo) =>
        cloths.Min(c =>
        {
            (double, double, double) bare = Seen(c, Palette.Black);
            (double, double, double) round = Seen(c, halo);
            return Math.Min(Distance(Seen(c, line), round), 4 * Distance(round, bare));
        });

    private static (double L, double A, double B) Seen(Ink cloth, Ink light)
    {
        double r = Linear(cloth.Red) * (Linear(light.Red) + RoomLight) / (1 + RoomLight);
        double g = Linear(cloth.Green) * (Linear(light.Green) + RoomLight) / (1 + RoomLight);
        double b = Linear(cloth.Blue) * (Linear(light.Blue) + RoomLight) / (1 + RoomLight);

        // IEC 61966-2-1 (sRGB) to CIE XYZ, each against the white point's.
        double x = F((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
        double y = F(0.2126 * r + 0.7152 * g + 0.0722 * b);
        double z = F((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
        return (116 * y - 16, 500 * (x - y), 200 * (y - z));

        static double F(double t) => t > 216.0 / 24389 ? Math.Cbrt(t) : (24389.0 / 27 * t + 16) / 116;
    }

    private static double Linear(byte value)
    {
        double v = value / 255.0;
        return v <= 0.04045 ? v / 12.92 : Math.Pow((v + 0.055) / 1.055, 2.4);
    }

    private static double Distance((double L, double A, double B) p, (double L, double A, double B) q) =>
        Math.Sqrt((p.L - q.L) * (p.L - q.L) + (p.A - q.A) * (p.A - q.A) + (p.B - q.B) * (p.B - q.B));
}
