using OverlayPlanner.Geometry;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>What became of a stroke's parts that are no whole lines, in a calm sentence or two.</summary>
internal static class StrokeRemarks
{
    private const double Whole = 0.999;

    // In sides of the block: a stray end shorter than this is a hand that comes to rest.
    private const double Shortest = 0.06;

    /// <summary>Null where every part of the stroke was taken as it was drawn.</summary>
    /// <param name="lines">The block's lines.</param>
    /// <param name="stretches">The stroke as understood.</param>
    /// <param name="moves">All moves, the stroke's own last.</param>
    /// <param name="stroke">The stroke.</param>
    public static string? Of(
        BlockLines lines,
        IReadOnlyList<DrawnStretch> stretches,
        IReadOnlyList<DrawnMove> moves,
        StrokeSnapper stroke
    )
    {
        if (stretches.Count == 0)
        {
            return stroke.IsAstray
                ? "That stroke touches no line of the block. Draw along the seams, or from point to point."
                : null;
        }

        HashSet<string> taken = [.. moves.Select(m => m.Line)];
        List<string> said = [];
        if (stretches[^1] is { Seam: { } last } end && !IsWhole(end))
        {
            said.Add(
                lines.WholeLine(end) is not null ? "The pen stopped past the middle of a line: the whole line counts."
                : taken.Contains(last) ? ""
                : "The pen stopped before the middle of a line: that line is left out. Draw it to its end, or tap the next point."
            );
        }

        if (stretches.Count > 1 && stretches[0] is { Seam: { } begun } start && !IsWhole(start))
        {
            said.Add(
                lines.WholeLine(start) is not null ? "The first line counts from its point on."
                : taken.Contains(begun) ? ""
                : "The pen began past the middle of a line: that line is left out."
            );
        }

        if (stretches.Any(s => s.Seam is null && (lines.WholeLine(s) is not { } own || !taken.Contains(own.Line))))
        {
            said.Add("A line of your own ran over a seam and is left out. Go by a point on the way.");
        }

        if (stroke.Stray > Shortest * lines.Side)
        {
            said.Add("A part of the stroke follows no line and is left out.");
        }

        said.RemoveAll(string.IsNullOrEmpty);
        return said.Count == 0 ? null : string.Join(' ', said);
    }

    private static bool IsWhole(DrawnStretch s) => Math.Abs(s.To - s.From) >= Whole;
}
