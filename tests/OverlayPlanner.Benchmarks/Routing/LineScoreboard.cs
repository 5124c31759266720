using System.Diagnostics;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Benchmarks.Routing;

/// <summary>What is added to blocks: one thread, like patches alike, how even the fill is, how long it takes.</summary>
internal static class LineScoreboard
{
    // Up to this share of the stitched length may be gone over twice for the sake of like patches.
    private const double FairShare = 0.05;

    /// <summary>The rows.</summary>
    public static void Add(List<(string, string, string, bool)> rows, bool quick)
    {
        AddLibrary(rows);
        AddFill(rows);
        AddSpeed(rows, quick ? 5 : 15);
    }

    private static void AddLibrary(List<(string, string, string, bool)> rows)
    {
        int n = BlockLibrary.All.Count;
        int one = 0;
        int alike = 0;
        int fair = 0;
        int halves = 0;
        List<string> others = [];
        List<string> unlike = [];
        List<string> dear = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = Draft(block.Id);
            RouteCandidate free = Plan(map, new());
            bool done = free.Measures is { Starts: 1, Crossings: 0 } && free.Measures.Doubled == Length.Zero;
            Count(done, ref one, others, block.Id);
            if (done)
            {
                Count(IsAlike(free), ref alike, unlike, block.Id);
            }

            halves += IsHalfAPattern(free) ? 1 : 0;
            RouteCandidate thread = Plan(map, new() { Thread = ThreadChoice.One });
            bool isFair =
                IsAlike(thread)
                && thread.Measures is { Starts: 1, Crossings: 0 }
                && thread.Measures.Doubled.Inches <= FairShare * thread.Measures.Stitched.Inches;
            Count(isFair, ref fair, dear, block.Id);
        }

        rows.Add(
            (
                "library: one thread, nothing doubled, no crossing (melon patch's curves touch the sides at every corner)",
                Text($"{one} of {n}{Listed(others)}"),
                ">= 95 %",
                one >= 0.95 * n && n >= 60
            )
        );
        rows.Add(
            (
                "of those, matching patches all alike by their seams",
                Text($"{alike} of {one}{Listed(unlike)}"),
                ">= 80 %",
                alike >= 0.8 * one
            )
        );
        rows.Add(
            (
                "one thread, matching patches alike, backtracking <= 5 % of the length",
                Text($"{fair} of {n}{Listed(dear)}"),
                ">= 95 %",
                fair >= 0.95 * n
            )
        );
        rows.Add(("recommended designs that are half a pattern", Text($"{halves}"), "0", halves == 0));
    }

    private static void AddFill(List<(string, string, string, bool)> rows)
    {
        int reached = 0;
        int all = 0;
        List<string> others = [];
        foreach (
            string id in new[] { "nine-patch", "ohio-star", "sawtooth-star", "churn-dash", "four-patch", "snowball" }
        )
        {
            QuiltMap map = Draft(id);
            RouteCandidate c = Plan(map, new() { Fill = Length.FromInches(4) });
            all++;
            Count(WidestGap.Of(map, c)!.Diameter.Inches <= 4 + 1.0 / 32, ref reached, others, id);
        }

        rows.Add(
            (
                "filled evenly to 4 in, six 12 in blocks",
                Text($"{reached} of {all}{Listed(others)}"),
                "all",
                reached == all
            )
        );
    }

    private static void AddSpeed(List<(string, string, string, bool)> rows, int repeats)
    {
        double slowest = 0;
        string which = "";
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = Draft(block.Id);
            RoutePlanner.Plan(map, new());
            double[] times = new double[repeats];
            for (int i = 0; i < repeats; i++)
            {
                Stopwatch watch = Stopwatch.StartNew();
                RoutePlanner.Plan(map, new());
                times[i] = watch.Elapsed.TotalMilliseconds;
            }

            Array.Sort(times);
            if (times[repeats / 2] > slowest)
            {
                (slowest, which) = (times[repeats / 2], block.Id);
            }
        }

        rows.Add(
            (
                "one block with its candidates, the slowest of the library, median of its runs",
                Text($"{slowest:0} ms ({which})"),
                "<= 50 ms",
                slowest <= 50
            )
        );
    }

    private static bool IsAlike(RouteCandidate c) => c.Unknown.Values["likePatchesAlike"].GetBoolean();

    private static bool IsHalfAPattern(RouteCandidate c)
    {
        int kept = c.Unknown.Values["symmetryKept"].GetInt32();
        return kept < c.Unknown.Values["symmetryOf"].GetInt32() && kept <= 2;
    }

    private static void Count(bool met, ref int count, List<string> others, string id)
    {
        if (met)
        {
            count++;
        }
        else
        {
            others.Add(id);
        }
    }

    private static string Listed(List<string> others) => others.Count == 0 ? "" : $"; not {string.Join(", ", others)}";

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RouteCandidate Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes).Route.Candidates[0];

    private static string Text(FormattableString s) => FormattableString.Invariant(s);
}
