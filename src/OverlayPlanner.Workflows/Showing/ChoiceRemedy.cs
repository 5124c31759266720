using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>Why choices can't be planned as asked, and what to touch on the choices' own screen to mend it.</summary>
public static class ChoiceRemedy
{
    /// <summary>What the screen calls what is asked for, by <see cref="PlanWishes.Lines"/>.</summary>
    public static string LinesInWords(string lines) =>
        lines switch
        {
            "seams" => "in the ditch, nothing added",
            "curves" => "continuous curves instead of the ditch",
            _ => "in the ditch, with arcs where they help",
        };

    /// <summary>Refuses two wishes of one asking that can't both be met.</summary>
    /// <param name="ask">What is asked.</param>
    /// <param name="rulers">The rulers that it is planned with, as <see cref="PlanWishes.Rulers"/> takes them.</param>
    /// <exception cref="InputException">They contradict each other; what, where and remedy are the screen's words.</exception>
    public static void Require(ChoiceAsk ask, string? rulers)
    {
        ArgumentNullException.ThrowIfNull(ask);
        bool adds = ask.Lines == "seams+arcs";
        if (ask.Lines == "curves" && rulers == "none")
        {
            throw Clash(
                "Continuous curves are all arcs, and a straight ruler makes none",
                ask.Rulers == "none"
                    ? "Choose your own rulers under Rulers, or another way under Stitch."
                    : $"Choose another way under Stitch, or say which curved rulers you own, under Your machine and rulers."
            );
        }

        if (ask.Fill.Length > 0 && !adds)
        {
            throw Clash(
                $"An even filling takes added lines, and “{LinesInWords(ask.Lines)}” has no room for more",
                $"Choose “{LinesInWords("seams+arcs")}” under Stitch, or “as it comes” under Filling."
            );
        }

        if (ask.Threads == "two" && !adds)
        {
            throw Clash(
                $"A second thread is for added lines beside the ditch, and “{LinesInWords(ask.Lines)}” has none",
                $"Choose “{LinesInWords("seams+arcs")}” under Stitch, or the same thread all over under Threads."
            );
        }

        if (ask.Threads == "two" && ask.Round != "any")
        {
            throw Clash(
                "With two threads all seams come first, so the ditch round the block can't be moved",
                "Choose “in any order” under Round the block, or the same thread all over under Threads."
            );
        }
    }

    /// <summary>A refusal as the choices' screen says it.</summary>
    /// <param name="refusal">What the planner or the quilt's folder refused.</param>
    /// <param name="ask">What was asked.</param>
    /// <param name="points">The block's points, for their names; null for the whole quilt.</param>
    /// <param name="words">How lengths are said.</param>
    public static string Say(InputException refusal, ChoiceAsk ask, BlockPoints? points, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(refusal);
        ArgumentNullException.ThrowIfNull(ask);
        ArgumentNullException.ThrowIfNull(words);
        if (refusal.Where == Wishes)
        {
            return $"{refusal.What}. {refusal.Remedy}";
        }

        bool end = refusal.Where.StartsWith("--end", StringComparison.Ordinal);
        if (end || refusal.Where.StartsWith("--start", StringComparison.Ordinal))
        {
            string? id = end ? ask.End : ask.Start;
            string point = points?.Points.FirstOrDefault(p => p.Id == id)?.Words ?? "that point";
            string touch = end ? "Touch another point for the end" : "Touch another point for the start";
            return ask.Lines == "curves"
                    ? $"No curve passes through {point}. {touch}, or choose “{LinesInWords("seams+arcs")}” under Stitch."
                : ask.Outline == "none"
                    ? $"Nothing that is stitched meets {point}: it lies on the quilt's edge, which is left alone. {touch}, or choose to stitch the quilt's edge."
                : $"Nothing that is stitched meets {point}. {touch}.";
        }

        if (refusal.What.StartsWith("There is nothing to stitch", StringComparison.Ordinal))
        {
            return ask.Outline == "none"
                ? "There is nothing to stitch: no seam lies inside, and no arc has room. Choose another block under For, or choose to stitch the quilt's edge."
                : "There is nothing to stitch: no seam lies inside, and no arc has room. Choose another block under For.";
        }

        if (refusal.Where == "--lines curves")
        {
            return $"Your rulers make no arc along each side of any patch here. Choose another way under Stitch.{Advice(refusal, words)}";
        }

        return words.Tell(ScreenWords.Of(refusal));
    }

    private const string Wishes = "the wishes above";

    // Which ruler would serve is worth keeping; what to type is not.
    private static string Advice(InputException refusal, LengthWords words)
    {
        const string Typed = "or --lines seams. ";
        int at = refusal.Remedy.IndexOf(Typed, StringComparison.Ordinal);
        return at < 0 ? "" : " " + words.Tell(ScreenWords.Plain(refusal.Remedy[(at + Typed.Length)..]));
    }

    private static InputException Clash(string what, string remedy) => new(what, Wishes, remedy);
}
