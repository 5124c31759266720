using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>How a path stands while it is drawn.</summary>
/// <param name="Left">Ids of the seams that are still to stitch.</param>
/// <param name="LeftLength">How long they are together.</param>
/// <param name="Again">Indices of the moves that go over a line already stitched.</param>
/// <param name="AgainLength">How long those are together.</param>
/// <param name="Crossed">Places where the path crosses itself, inches.</param>
/// <param name="Starts">Starts so far.</param>
/// <param name="StartsLeft">Further starts that the lines left need with nothing more stitched twice.</param>
/// <param name="StartsLost">Starts more in all than were needed before the first move; 0 where nothing is lost.</param>
/// <param name="LostAt">Index of the move after which that was so, or null.</param>
public sealed record PathStanding(
    IReadOnlyList<string> Left,
    Length LeftLength,
    IReadOnlyList<int> Again,
    Length AgainLength,
    IReadOnlyList<Point<ClothSpace>> Crossed,
    int Starts,
    int StartsLeft,
    int StartsLost,
    int? LostAt
)
{
    /// <summary>True where every seam is stitched.</summary>
    public bool IsWhole => Left.Count == 0;

    /// <summary>How it stands, in one or two calm sentences.</summary>
    /// <param name="words">Lengths as she reads them.</param>
    public string Say(LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(words);
        if (Starts == 0)
        {
            return "Put the pen on a point and draw along the seams, or tap one point after another.";
        }

        List<string> said = [];
        if (IsWhole)
        {
            said.Add(
                $"Everything is stitched: {Numbers.Count(Starts, "start", "starts")}"
                    + (Again.Count == 0 ? ", nothing twice." : ".")
            );
        }
        else
        {
            string left = Left.Count == 1 ? "One line is left" : $"{Numbers.Upper(Left.Count)} lines are left";
            said.Add(
                StartsLeft == 0
                    ? $"{left}; the thread can go on to the end."
                    : $"{left}; from here the thread must break {Numbers.Times(StartsLeft)} more."
            );
        }

        if (LostAt is { } lost)
        {
            said.Add(
                $"Before move {Numbers.Of(lost + 1)} it could be done with {Numbers.Count(StartsLost, "start", "starts")} fewer."
            );
        }

        if (Again.Count > 0)
        {
            said.Add($"{words.Say(AgainLength)} is stitched twice.");
        }

        if (Crossed.Count > 0)
        {
            said.Add($"The path crosses itself {Numbers.Times(Crossed.Count)}.");
        }

        return string.Join(' ', said);
    }

    /// <summary>How the moves stand on the block's lines.</summary>
    internal static PathStanding Of(BlockLines lines, IReadOnlyList<DrawnMove> moves)
    {
        Dictionary<string, (string A, string B)> all = new(StringComparer.Ordinal);
        foreach (Seam s in lines.ToStitch)
        {
            all[s.Id] = (s.From, s.To);
        }

        foreach (DrawnMove m in moves)
        {
            all.TryAdd(m.Line, (m.From, m.To));
        }

        HashSet<string> done = new(StringComparer.Ordinal);
        List<int> again = [];
        int starts = 0;
        int least = StartsFor(all.Values, null);
        int total = least;
        int? lostAt = null;
        for (int i = 0; i < moves.Count; i++)
        {
            if (!done.Add(moves[i].Line))
            {
                again.Add(i);
            }

            starts += moves[i].Starts ? 1 : 0;
            total = starts + StartsFor(all.Where(l => !done.Contains(l.Key)).Select(l => l.Value), moves[i].To);
            lostAt = total > least ? lostAt ?? i : null;
        }

        string[] left = [.. lines.ToStitch.Where(s => !done.Contains(s.Id)).Select(s => s.Id)];
        return new(
            left,
            Length.FromInches(left.Sum(id => lines.Map.EdgeOf(lines.Map.SeamOf(id)).Length)),
            again,
            Length.FromInches(again.Sum(i => moves[i].Path.Length)),
            [.. CrossingCounter.Find(DrawnRuns.Of(lines, moves)).Select(c => c.At)],
            starts,
            total - starts,
            total - least,
            lostAt
        );
    }

    // Euler: a connected piece takes half as many threads as points where an odd number of its lines meet, and one at least; the
    // thread in the needle is one of them where it stands at such a point, or anywhere on a piece that has none.
    private static int StartsFor(IEnumerable<(string A, string B)> rest, string? needle)
    {
        Dictionary<string, string> parent = new(StringComparer.Ordinal);
        Dictionary<string, int> degree = new(StringComparer.Ordinal);
        foreach ((string a, string b) in rest)
        {
            degree[a] = degree.GetValueOrDefault(a) + 1;
            degree[b] = degree.GetValueOrDefault(b) + 1;
            parent[Root(a)] = Root(b);
        }

        Dictionary<string, int> odd = new(StringComparer.Ordinal);
        foreach ((string v, int d) in degree)
        {
            odd[Root(v)] = odd.GetValueOrDefault(Root(v)) + (d & 1);
        }

        int starts = odd.Values.Sum(o => Math.Max(1, o / 2));
        return
            needle is not null
            && degree.TryGetValue(needle, out int here)
            && ((here & 1) == 1 || odd[Root(needle)] == 0)
            ? starts - 1
            : starts;

        string Root(string v)
        {
            while (parent.TryGetValue(v, out string? up) && up != v)
            {
                v = up;
            }

            return v;
        }
    }
}
