using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>Says that numbers found no room.</summary>
internal static class Unnumbered
{
    /// <summary>The finding <c>steps-unnumbered</c>.</summary>
    public static Finding Finding(IReadOnlyList<string> numbers, string where) =>
        new(
            "steps-unnumbered",
            $"{where}: step {string.Join(", ", numbers)}",
            "There is no room for these numbers; follow the arrows there, or render one block by itself."
        );
}
