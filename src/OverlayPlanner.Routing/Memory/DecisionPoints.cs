using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>Counts the points where a follower who keeps to one simple rule would go astray.</summary>
/// <remarks>
/// A step's end counts each time it is a point reached again (the start, and passing by, count as having been there) with two
/// lines or more not stitched yet, where the rule's line is not the route's; with one, where the route goes back over another
/// instead; with none, where it does not go back the way it came. A line that runs straight on is followed without deciding.
/// </remarks>
internal static class DecisionPoints
{
    /// <summary>The rule with the fewest such points, keeping left before keeping right before going straight on.</summary>
    public static (DefaultRule Rule, int Count) Fewest(CallLines lines, IReadOnlyList<int[]> runs)
    {
        (DefaultRule Rule, int Count) best = (DefaultRule.KeepLeft, int.MaxValue);
        foreach (DefaultRule rule in Enum.GetValues<DefaultRule>())
        {
            int count = CountUnder(rule, lines, runs);
            if (count < best.Count)
            {
                best = (rule, count);
            }
        }

        return best;
    }

    /// <summary>How many points the rule leaves undecided.</summary>
    public static int CountUnder(DefaultRule rule, CallLines lines, IReadOnlyList<int[]> runs)
    {
        bool[] stitched = new bool[lines.LineCount];
        bool[] visited = new bool[lines.NodeCount];
        int count = 0;
        foreach (int[] run in runs)
        {
            int begun = run.Length == 0 ? 0 : run[0];
            for (int i = 0; i < run.Length; i++)
            {
                int at = lines.NodeOf(run[i]);
                if (i > 0 && !lines.RunsOn(begun, run[i - 1], run[i]))
                {
                    begun = run[i];
                    count += visited[at] && !Agrees(rule, lines, stitched, run[i - 1] ^ 1, run[i]) ? 1 : 0;
                }

                visited[at] = true;
                stitched[run[i] >> 1] = true;
            }

            if (run.Length > 0)
            {
                visited[lines.NodeOf(run[^1] ^ 1)] = true;
            }
        }

        return count;
    }

    private static bool Agrees(DefaultRule rule, CallLines lines, bool[] stitched, int arrived, int taken)
    {
        int best = -1;
        int open = 0;
        double least = double.PositiveInfinity;
        foreach (int h in lines.Around(lines.NodeOf(taken)))
        {
            if (stitched[h >> 1])
            {
                continue;
            }

            open++;
            double right = lines.SignedAngleOf(arrived, h);
            double key = rule switch
            {
                DefaultRule.KeepLeft => right,
                DefaultRule.KeepRight => -right,
                _ => Math.Abs(right),
            };
            if (key < least)
            {
                (best, least) = (h, key);
            }
        }

        return taken == (open == 0 ? arrived : best);
    }
}
