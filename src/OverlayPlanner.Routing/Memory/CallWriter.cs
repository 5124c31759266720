using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>Says a route as a short call.</summary>
public static class CallWriter
{
    // The interval recursion is cubic; 240 steps take about 20 ms. Longer threads are said piece by piece.
    internal const int MostExact = 240;

    private const int PieceSteps = 60;

    /// <summary>The shortest call of a route in the grammar of docs/CALL.md.</summary>
    /// <remarks>
    /// The route's own lines are the lines that a follower sees. Exact for threads of up to 240 steps; longer ones are cut where
    /// the block changes or after 60 steps, each part said as shortly as can be. O(s³) for s steps of one thread or part.
    /// </remarks>
    /// <param name="quilt">The map that the route was planned on.</param>
    /// <param name="candidate">The route.</param>
    /// <param name="cancellation">Looked at between threads.</param>
    public static RouteCall Write(QuiltMap quilt, RouteCandidate candidate, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        ArgumentNullException.ThrowIfNull(candidate);
        (CallLines lines, IReadOnlyList<int[]> runs) = FollowedRoute.Of(quilt, candidate);
        int plain = runs.Sum(r => r.Length);
        Told? best = null;
        foreach (ReachWords reach in Enum.GetValues<ReachWords>())
        {
            cancellation.ThrowIfCancellationRequested();
            Told told = Tell(lines, runs, reach);
            if (best is null || told.Length < best.Length)
            {
                best = told;
            }
        }

        (DefaultRule rule, int decisions) = DecisionPoints.Fewest(lines, runs);
        return new(
            best!.Threads,
            CallWords.Verses(quilt, lines, best.Threads, runs, BlockOf(candidate)),
            best.Length,
            plain,
            decisions,
            rule,
            best.Steps,
            best.IsShortest
        );
    }

    // The one block that all of it lies in, or null.
    private static string? BlockOf(RouteCandidate candidate)
    {
        string?[] blocks = [.. candidate.AllMoves.Select(m => m.Block).Distinct(StringComparer.Ordinal)];
        return blocks.Length == 1 ? blocks[0] : null;
    }

    /// <summary>The eight ways to face.</summary>
    internal static IReadOnlyList<Vector<ClothSpace>> Ways { get; } =
    [
        .. Enumerable
            .Range(0, 8)
            .Select(k => new Vector<ClothSpace>(Math.Sin(k * Math.PI / 4), -Math.Cos(k * Math.PI / 4))),
    ];

    private sealed record Told(IReadOnlyList<CallThread> Threads, int Length, int Steps, bool IsShortest);

    private static Told Tell(CallLines lines, IReadOnlyList<int[]> runs, ReachWords reach)
    {
        bool[] stitched = new bool[lines.LineCount];
        List<ThreadSteps> threads = new(runs.Count);
        foreach (int[] run in runs)
        {
            ThreadSteps steps = ThreadSteps.Read(lines, run, stitched);
            steps.Name(reach, 0);
            threads.Add(steps);
        }

        // Threads that do the same, or its mirror image, share a call; the first turn is left to the way one faces.
        Dictionary<string, List<(int Run, bool Mirrored)>> alike = new(StringComparer.Ordinal);
        List<string> order = [];
        for (int r = 0; r < threads.Count; r++)
        {
            string key = KeyOf(threads[r].Forward);
            string mirrored = KeyOf([.. threads[r].Forward.Select(CallCode.Mirrored)]);
            if (!alike.ContainsKey(key) && alike.TryGetValue(mirrored, out List<(int Run, bool Mirrored)>? others))
            {
                others.Add((r, true));
                continue;
            }

            if (!alike.TryGetValue(key, out List<(int Run, bool Mirrored)>? group))
            {
                alike[key] = group = [];
                order.Add(key);
            }

            group.Add((r, false));
        }

        List<CallThread> told = [];
        int length = runs.Count - 1;
        bool shortest = true;
        Queue<List<(int Run, bool Mirrored)>> groups = new(order.Select(k => alike[k]));
        while (groups.TryDequeue(out List<(int Run, bool Mirrored)>? group))
        {
            if (TellGroup(lines, reach, [.. group.Select(g => (threads[g.Run], g.Mirrored))]) is not { } t)
            {
                // One call does not lead them all, so each thread is told by itself.
                foreach ((int run, _) in group)
                {
                    groups.Enqueue([(run, false)]);
                }

                continue;
            }

            told.Add(
                new(
                    [
                        .. group.Select(
                            (g, i) =>
                                new CallStart(
                                    g.Run,
                                    lines.Along(threads[g.Run].FirstOf(0)).From,
                                    t.Facing[i],
                                    g.Mirrored
                                )
                        ),
                    ],
                    t.Items
                )
            );
            length += t.Length + (group.Count > 1 ? 1 + (t.Items.Count > 1 ? 1 : 0) : 0) + group.Count(g => g.Mirrored);
            shortest &= t.Exact;
        }

        return new(told, length, threads.Sum(t => t.Count), shortest);
    }

    private static string KeyOf(int[] codes) => string.Join(' ', codes);

    /// <summary>Chooses the ways to face, the same turn for all starts, so that the call is shortest.</summary>
    private static (IReadOnlyList<CallItem> Items, int Length, IReadOnlyList<Facing> Facing, bool Exact)? TellGroup(
        CallLines lines,
        ReachWords reach,
        IReadOnlyList<(ThreadSteps Steps, bool Mirrored)> starts
    )
    {
        ThreadSteps steps = starts[0].Steps;
        // For each turn that all starts can face, the ways to face: the first one nearest the first step's own way.
        Dictionary<int, Facing>[] turns =
        [
            .. starts.Select(s =>
            {
                Dictionary<int, Facing> of = [];
                foreach (
                    int k in Enumerable
                        .Range(0, 8)
                        .OrderBy(k =>
                            Math.Round(Math.Abs(Ways[k].AngleTo(lines.Along(s.Steps.FirstOf(0)).StartDirection)), 9)
                        )
                )
                {
                    int turn = lines.TurnFrom(Ways[k], s.Steps.FirstOf(0));
                    of.TryAdd(s.Mirrored ? CallCode.Mirrored(turn) : turn, (Facing)k);
                }

                return of;
            }),
        ];
        int[] shared = [.. turns[0].Keys.Where(t => turns.All(of => of.ContainsKey(t)))];
        if (shared.Length == 0)
        {
            return null;
        }

        int line = steps.Count == 0 ? 0 : steps.Forward[0] & ~CallCode.TurnBits;
        HashSet<int> known = [.. steps.Forward.Skip(1).SelectMany(c => new[] { c, CallCode.Mirrored(c) })];
        (IReadOnlyList<CallItem> Items, int Length, bool Exact, int Turn)? best = null;
        foreach (int turn in shared.Where((t, i) => i == 0 || known.Contains(t | line)))
        {
            steps.Name(reach, turn);
            (IReadOnlyList<CallItem> items, int length, bool exact) = Describe(steps);
            if (
                (best is null || length < best.Value.Length)
                && (reach == ReachWords.Pieces || starts.All(s => ShortestDescription.Leads(items, s.Steps.MovesOf)))
            )
            {
                best = (items, length, exact, turn);
            }
        }

        // Where a line's end lies differently far, said by pieces it always leads.
        return best is { } b ? (b.Items, b.Length, [.. turns.Select(of => of[b.Turn])], b.Exact)
            : starts.Count == 1 ? TellGroup(lines, ReachWords.Pieces, starts)
            : null;
    }

    private static (IReadOnlyList<CallItem> Items, int Length, bool Exact) Describe(ThreadSteps steps)
    {
        if (steps.Count <= MostExact)
        {
            ShortestDescription d = ShortestDescription.Of(steps);
            return (d.Write(), d.Length, true);
        }

        List<CallItem> items = [];
        int length = 0;
        for (int i = 0; i < steps.Count; )
        {
            int end = Math.Min(steps.Count, i + PieceSteps);
            ShortestDescription d = ShortestDescription.Of(steps, i, end);
            items.AddRange(d.Write());
            length += d.Length;
            i = end;
        }

        return (items, length, false);
    }
}
