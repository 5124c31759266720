namespace OverlayPlanner.Rendering.Drawing;

/// <summary>The colours, taken from cloth and the sewing table.</summary>
internal static class Palette
{
    /// <summary>Unbleached cloth, the ground of screen pictures.</summary>
    public static readonly Ink Unbleached = new(0xF7, 0xF2, 0xE8);

    /// <summary>Paper.</summary>
    public static readonly Ink White = new(255, 255, 255);

    /// <summary>Pure black: whatever is measured.</summary>
    public static readonly Ink Black = new(0, 0, 0);

    /// <summary>Ink, for lines and words; 15 : 1 on white.</summary>
    public static readonly Ink Ink = new(0x23, 0x26, 0x3A);

    /// <summary>Softer ink for second words; 7.6 : 1 on white.</summary>
    public static readonly Ink SoftInk = new(0x4E, 0x52, 0x66);

    /// <summary>Seams that are only looked at; dark enough for a tired black cartridge.</summary>
    public static readonly Ink Seam = new(0xA2, 0xA2, 0xA6);

    /// <summary>Chalk blue: the route to come, on screens and in light.</summary>
    public static readonly Ink Chalk = new(0x00, 0x72, 0xB2);

    /// <summary>Madder: the next step.</summary>
    public static readonly Ink Madder = new(0xB8, 0x42, 0x0A);

    /// <summary>Ochre: doubtful places.</summary>
    public static readonly Ink Ochre = new(0xBA, 0x80, 0x00);
}
