using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>Says in plain words what a step does and why a route is as it is.</summary>
internal static class TripWords
{
    private static readonly string[] Counts =
    [
        "no",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
    ];

    /// <summary>A count as a word up to twelve.</summary>
    public static string Count(int n) => n < Counts.Length ? Counts[n] : n.ToString(CultureInfo.InvariantCulture);

    /// <summary>What the needle follows.</summary>
    public static string KindOf(StitchStep step)
    {
        ArgumentNullException.ThrowIfNull(step);
        return step.Moves[0].Kind switch
        {
            MoveKind.Ditch => "Ditch",
            MoveKind.Frame => "Round the block",
            MoveKind.Retrace => "Backtrack",
            MoveKind.Arc => "Arc",
            _ => "Straight line",
        };
    }

    /// <summary>The curved ruler that an arc is planned for, and which of its edges; null where none is named.</summary>
    public static string? RulerOf(StitchStep step)
    {
        ArgumentNullException.ThrowIfNull(step);
        IReadOnlyDictionary<string, JsonElement> named = step.Moves[0].Unknown.Values;
        return named.TryGetValue("ruler", out JsonElement ruler) && ruler.ValueKind == JsonValueKind.String
            ? named.TryGetValue("side", out JsonElement edge) && edge.ValueKind == JsonValueKind.String
                ? $"{ruler.GetString()}, {edge.GetString()} edge"
                : ruler.GetString()
            : null;
    }

    /// <summary>The way from a step's first point to its last, in eighths of a turn: "down", "up and left".</summary>
    public static string DirectionOf(StitchStep step)
    {
        Vector<ClothSpace> d = step.To - step.From;
        if (d.Norm < 1e-9)
        {
            return "all round";
        }

        int eighth = ((int)Math.Round(Math.Atan2(d.Y, d.X) / (Math.PI / 4)) + 8) % 8;
        return eighth switch
        {
            0 => "right",
            1 => "down and right",
            2 => "down",
            3 => "down and left",
            4 => "left",
            5 => "up and left",
            6 => "up",
            _ => "up and right",
        };
    }

    /// <summary>A length to the eighth, as a ruler is read; under an eighth to the sixteenth.</summary>
    public static string Inches(Length length)
    {
        Length eighths = Length.FromInches(Math.Round(length.Inches * 8, MidpointRounding.AwayFromZero) / 8);
        return (eighths.Inches > 0 ? eighths : length).ToSixteenths() + " in";
    }

    /// <summary>Why the thread must start, stop or double back where it does: from the odd points of the proof.</summary>
    public static string WhyOf(RouteCandidate candidate, QuiltMap quilt)
    {
        int odd = candidate.Proof.OddJunctions.Count;
        if (odd == 0)
        {
            return "At every point an even number of lines meet: whatever brings the thread in also takes it out, so it never has to stop.";
        }

        Dictionary<Point<ClothSpace>, int> lines = [];
        foreach (Move move in candidate.AllMoves.Where(m => m.Kind != MoveKind.Retrace))
        {
            lines[move.Path.From] = lines.GetValueOrDefault(move.Path.From) + 1;
            lines[move.Path.To] = lines.GetValueOrDefault(move.Path.To) + 1;
        }

        string[] groups =
        [
            .. candidate
                .Proof.OddJunctions.Select(id =>
                    quilt.Junctions.FirstOrDefault(j => j.Id == id) is { } j ? lines.GetValueOrDefault(j.Place) : 0
                )
                .GroupBy(n => n)
                .OrderBy(g => g.Key)
                .Select(g =>
                    $"{Count(g.Count())} {(g.Count() == 1 ? "point" : "points")} where {(g.Key % 2 == 1 ? g.Key == 1 ? "one line ends" : $"{Count(g.Key)} lines meet" : "an odd number of lines meet")}"
                ),
        ];
        string there = Joined(groups);
        there = char.ToUpperInvariant(there[0]) + there[1..];
        return odd == 2
            ? $"{there}: at an odd point the thread comes in and cannot get out, so it starts at one and ends at the other."
            : $"{there}: at an odd point the thread must start, stop or double back. Each start and stop takes care of two.";
    }

    /// <summary>What was proven or counted, one plain line each.</summary>
    public static IReadOnlyList<string> ProvenOf(RouteCandidate candidate)
    {
        RouteMeasures m = candidate.Measures;
        RouteProof p = candidate.Proof;
        List<string> lines =
        [
            m.Missed.Inches < 1e-6
                ? "Every line is stitched; none is missed."
                : $"Left unstitched: {Inches(m.Missed)}.",
            m.Starts <= p.LeastStarts
                ? $"{Sentence(m.Starts, "start")}: no route over these lines has fewer."
                : $"{Sentence(m.Starts, "start")}; {Count(p.LeastStarts)} would be the least.",
            m.Doubled.Inches < 1e-6 ? "Nothing is stitched twice."
            : m.Doubled.Inches <= p.LeastDoubled.Inches + 1e-6
                ? $"Backtracking {Inches(m.Doubled)}: the least for so many starts."
            : $"Backtracking {Inches(m.Doubled)}; {Inches(p.LeastDoubled)} would be the least.",
            m.Crossings == 0
                ? "The stitching never crosses itself."
                : $"It crosses itself {Count(m.Crossings)} {(m.Crossings == 1 ? "time" : "times")}, at points.",
        ];
        return lines;
    }

    private static string Sentence(int n, string noun)
    {
        string text = $"{Count(n)} {noun}{(n == 1 ? "" : "s")}";
        return char.ToUpperInvariant(text[0]) + text[1..];
    }

    private static string Joined(string[] parts) =>
        parts.Length == 1 ? parts[0] : $"{string.Join(", ", parts[..^1])} and {parts[^1]}";
}
