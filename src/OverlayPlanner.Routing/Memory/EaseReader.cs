using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Memory;

/// <summary>Says what the hands feel on a route.</summary>
public static class EaseReader
{
    // Two stitched radii this near are one ruler.
    private const double SameRadius = 1e-3;

    /// <summary>The ease of a route for one quilter's taste. O(moves).</summary>
    /// <exception cref="InputException">The taste is out of range.</exception>
    public static RouteEase Read(QuiltMap quilt, RouteCandidate candidate, EaseTaste taste)
    {
        ArgumentNullException.ThrowIfNull(quilt);
        ArgumentNullException.ThrowIfNull(candidate);
        ArgumentNullException.ThrowIfNull(taste);
        taste.Require();
        (CallLines lines, IReadOnlyList<int[]> runs) = FollowedRoute.Of(quilt, candidate);
        return Read(lines, runs, taste);
    }

    internal static RouteEase Read(CallLines lines, IReadOnlyList<int[]> runs, EaseTaste taste)
    {
        bool[] stitched = new bool[lines.LineCount];
        int turns = 0;
        int sharp = 0;
        int handMoves = 0;
        double longest = 0;
        List<double> radii = [];
        int changes = 0;
        int across = 0;
        int crossHanded = 0;
        double effort = 0;
        int ruler = -1;
        foreach (int[] run in runs)
        {
            ThreadSteps steps = ThreadSteps.Read(lines, run, stitched);
            int at = 0;
            for (int i = 0; i < steps.Count; i++)
            {
                int first = steps.FirstOf(i);
                if (i > 0)
                {
                    TurnSize size = CallLines.SizeOf(lines.AngleOf(steps.LastOf(i - 1) ^ 1, first));
                    turns += size == TurnSize.Straight ? 0 : 1;
                    sharp += size is TurnSize.Sharp or TurnSize.Back ? 1 : 0;
                }

                double length = 0;
                for (int m = 0; m < steps.MovesOf(i); m++, at++)
                {
                    length += lines.Along(run[at]).Length;
                    effort += EffortOf(lines.Along(run[at]), taste);
                }

                // The hand moves after each full reach, where the line still goes on.
                handMoves += Math.Max(0, (int)Math.Ceiling(length / taste.Reach.Inches - 1e-9) - 1);
                longest = Math.Max(longest, Math.Min(length, taste.Reach.Inches));
                across += steps.StepsAcross(i) ? 1 : 0;
                int next = RulerOf(lines.Along(first).Radius, radii);
                changes += ruler >= 0 && next != ruler ? 1 : 0;
                ruler = next;
                crossHanded += IsCrossHanded(lines, first, taste) ? 1 : 0;
            }
        }

        return new(
            turns,
            sharp,
            handMoves,
            Length.FromInches(longest),
            radii.Count,
            changes,
            across,
            crossHanded,
            effort
        );
    }

    private static int RulerOf(double radius, List<double> radii)
    {
        int known = radii.FindIndex(r => r.Equals(radius) || Math.Abs(r - radius) <= SameRadius);
        if (known < 0)
        {
            radii.Add(radius);
            known = radii.Count - 1;
        }

        return known;
    }

    /// <summary>Length weighted by direction, inches; an arc is read at eight places.</summary>
    internal static double EffortOf(Edge<ClothSpace> e, EaseTaste taste)
    {
        if (e.IsLine)
        {
            return e.Length * taste.CostOf(e.To - e.From);
        }

        const int Places = 8;
        double sum = 0;
        for (int i = 0; i < Places; i++)
        {
            sum += taste.CostOf(e.DirectionAt((i + 0.5) / Places));
        }

        return e.Length * sum / Places;
    }

    // The ruler lies on the low side. Seen on the page, the hand that holds it comes from its own side, or from below.
    private static bool IsCrossHanded(CallLines lines, int h, EaseTaste taste)
    {
        if (lines.LowOf(h) is not { } low)
        {
            return false;
        }

        Vector<ClothSpace> left = lines.Along(h).StartDirection.TurnedLeft;
        double x = low == Side.Left ? left.X : -left.X;
        return taste.Hand == Hand.Right ? x > 0.5 : x < -0.5;
    }
}
