using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>A report as lines of plain text. Every length and angle stands with its error, ± what holds 95 times in 100.</summary>
public static class ReportText
{
    // Usually accepted and eased (common practice, no source); what more than 1/4 in does, a border of that misfit shows.
    private const double Eases = 0.125;
    private const double Pleats = 0.25;
    private const int MostMissed = 24;

    /// <summary>The whole report.</summary>
    public static IReadOnlyList<string> Full(QuiltReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        List<string> lines = [];
        if (report.Drafted is { } drafted)
        {
            lines.Add(
                report.From == DraftedFrom.Told
                    ? $"Blocks, seam to seam, held against {Inches(drafted.Value)} in as told. ± is what holds 95 times in 100."
                    : $"Blocks, seam to seam, held against {Of(drafted)} in, the median of all their sides. ± is what holds 95 times in 100."
            );
            foreach (BlockReport b in report.Blocks)
            {
                lines.Add("");
                AddBlock(lines, b);
            }

            lines.Add("");
        }

        AddMissed(lines, report);
        lines.Add("");
        AddColors(lines, report);
        return lines;
    }

    /// <summary>A few lines, for the end of a map's summary; none where there is nothing to say.</summary>
    public static IReadOnlyList<string> Short(QuiltReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        List<string> lines = [];
        if (report.Drafted is { } drafted && report.Blocks.Count > 1)
        {
            BlockReport size = report.Blocks.MaxBy(b => Math.Abs(b.WorstDifference.Value))!;
            BlockReport skew = report.Blocks.MaxBy(b => Math.Abs(b.OffAtCorner.Value))!;
            lines.Add(
                $"blocks {Of(drafted)} in (median side); most off: {size.Id} by {Signed(size.WorstDifference)} in, least square: {skew.Id}, {Of(Absolute(skew.OffAtCorner))} in at a corner"
            );
        }

        int sure = report.Missed.Count(m => m.IsSure);
        if (sure > 0)
        {
            MissedPoint worst = report.Missed.First(m => m.IsSure);
            lines.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"{sure} {(sure == 1 ? "point does" : "points do")} not meet, the worst by {Of(worst.Gap)} in near ({worst.At.X:0.#}, {worst.At.Y:0.#})"
                )
            );
        }

        return lines;
    }

    /// <summary>A reason in a word for files: draft, symmetry, both-sides, sashing.</summary>
    public static string Word(MeetingReason reason) =>
        reason switch
        {
            MeetingReason.Draft => "draft",
            MeetingReason.Symmetry => "symmetry",
            MeetingReason.BothSides => "both-sides",
            _ => "sashing",
        };

    private static void AddBlock(List<string> lines, BlockReport b)
    {
        string place =
            b.Row is { } row && b.Column is { } column
                ? string.Create(CultureInfo.InvariantCulture, $", row {row + 1}, column {column + 1}")
                : "";
        lines.Add($"{b.Id}{place}{(b.Pattern is { } p ? ", " + p : "")}");
        lines.Add(
            $"  sides      top {Of(b.Sides[0])}, right {Of(b.Sides[1])}, bottom {Of(b.Sides[2])}, left {Of(b.Sides[3])} in"
        );
        lines.Add($"  to drafted {string.Join(", ", b.Differences.Select(Signed))} in: {Verdict(b.WorstDifference)}");
        lines.Add(
            $"  diagonals  {Of(b.Diagonals[0])}, {Of(b.Diagonals[1])} in; the one from top left is {Of(Absolute(b.DiagonalDifference))} in {(b.DiagonalDifference.Value < 0 ? "shorter" : "longer")}"
        );
        lines.Add(
            $"  corners    {string.Join(", ", b.Corners.Select(Degrees))}; off by {Of(Absolute(b.OffAtCorner))} in at the worst: {Square(b)}"
        );
    }

    private static void AddMissed(List<string> lines, QuiltReport report)
    {
        if (report.Missed.Count == 0)
        {
            lines.Add("Points that do not meet: none that the map holds apart.");
            return;
        }

        lines.Add("Points that do not meet, worst first");
        foreach (MissedPoint m in report.Missed.Take(MostMissed))
        {
            lines.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"  {m.First} and {m.Second}, {Of(m.Gap)} in, near ({m.At.X:0.##}, {m.At.Y:0.##}): {Because(m.Reason)}{(m.IsSure ? "" : "; no more than its error")}"
                )
            );
        }

        if (report.Missed.Count > MostMissed)
        {
            lines.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"  and {report.Missed.Count - MostMissed} more, smaller ones"
                )
            );
        }
    }

    private static void AddColors(List<string> lines, QuiltReport report)
    {
        if (report.Colors.Count == 0)
        {
            lines.Add("Patches by colour: the map has no colours.");
            return;
        }

        lines.Add("Patches by colour (finished areas)");
        foreach (ColorGroup c in report.Colors)
        {
            lines.Add(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"  {c.Name} ({c.Color}): {c.Patches.Count} {(c.Patches.Count == 1 ? "patch" : "patches")}, {c.Area.Value:0.0} ± {c.Area.Within95:0.0} sq in"
                )
            );
        }
    }

    // What the interval, not the best value, allows to say.
    private static string Verdict(Measured worst)
    {
        double off = Math.Abs(worst.Value);
        return off + worst.Within95 <= Eases ? "within 1/8 in, eases in"
            : off - worst.Within95 > Pleats ? "more than 1/4 in off, will pleat or stretch"
            : off - worst.Within95 > Eases ? "more than 1/8 in off, ease it with care"
            : "about 1/8 in, its error does not let one say which side";
    }

    private static string Square(BlockReport b)
    {
        double off = Math.Abs(b.OffAtCorner.Value);
        return off + b.OffAtCorner.Within95 <= Eases ? "square within 1/8 in"
            : off - b.OffAtCorner.Within95 > Eases ? "out of square"
            : "square or nearly so";
    }

    private static string Because(MeetingReason reason) =>
        reason switch
        {
            MeetingReason.Draft => "one point in the draft",
            MeetingReason.Symmetry => "one point where the block repeats itself",
            MeetingReason.BothSides => "two seams arrive at a third from both sides",
            _ => "out of line across the sashing",
        };

    private static Measured Absolute(Measured m) => m with { Value = Math.Abs(m.Value) };

    private static string Of(Measured m) => $"{Inches(m.Value)} ± {Inches(m.Within95)}";

    private static string Signed(Measured m) =>
        $"{(m.Value < 0 ? "−" : "+")}{Inches(Math.Abs(m.Value))} ± {Inches(m.Within95)}";

    private static string Degrees(Measured m) =>
        string.Create(CultureInfo.InvariantCulture, $"{m.Value:0.0} ± {m.Within95:0.0}°");

    private static string Inches(double v) => string.Create(CultureInfo.InvariantCulture, $"{v:0.00}");
}
