using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>What is said where no planned choice meets a wish, and how to plan again for it.</summary>
/// <param name="Words">A sentence or two.</param>
/// <param name="Again">What to ask instead, or null where planning again would not help.</param>
/// <param name="AgainWords">What the button for it says; empty without one.</param>
public sealed record ChoiceAnswer(string Words, ChoiceAsk? Again, string AgainWords)
{
    // The planner takes up to this much more as reached, and no length is said finer.
    private static readonly Length Said = Length.FromInches(1 / 16.0);

    /// <summary>The answer to a wish.</summary>
    /// <param name="route">The planned choices.</param>
    /// <param name="ask">What they were planned for.</param>
    /// <param name="wish">What is wished of them.</param>
    /// <param name="judged">The choices that meet it, from <see cref="ChoiceWishes.Judge"/>.</param>
    /// <param name="points">The block's points; null for the whole quilt.</param>
    /// <param name="words">How lengths are said.</param>
    /// <returns>Null where a choice meets the wish.</returns>
    public static ChoiceAnswer? To(
        Route route,
        ChoiceAsk ask,
        ChoiceWish wish,
        IReadOnlyList<JudgedChoice> judged,
        BlockPoints? points,
        LengthWords words
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(ask);
        ArgumentNullException.ThrowIfNull(judged);
        ArgumentNullException.ThrowIfNull(words);
        return wish switch
        {
            ChoiceWish.NothingAdded when judged.Count == 0 => NothingAdded(ask),
            ChoiceWish.FilledEvenly => Filled(route, ask, judged, words),
            ChoiceWish.EasiestToRemember when judged.Count == 0 => Alone(
                ask.OnlyBlock is null
                    ? "A whole quilt has no call that could be said by heart. Choose one block under For."
                    : "None of these is short enough to be said by heart."
            ),
            ChoiceWish.EndsAtTheRight when judged.Count == 0 => ToTheRight(route, ask, points),
            ChoiceWish.FewestRulers => Straight(ask, judged),
            _ => null,
        };
    }

    private static ChoiceAnswer NothingAdded(ChoiceAsk ask) =>
        new(
            "Each of these choices stitches more than the seams.",
            ask with
            {
                Lines = "seams",
                Fill = "",
                Threads = "same",
            },
            "Plan again with nothing added"
        );

    private static ChoiceAnswer? Filled(
        Route route,
        ChoiceAsk ask,
        IReadOnlyList<JudgedChoice> judged,
        LengthWords words
    )
    {
        if (judged.Count == 0 || WidestGap.Of(route.Quilt, judged[0].Choice, ask.OnlyBlock) is not { } gap)
        {
            return Alone("No patch here is to be filled.");
        }

        Length asked = ask.WidestGap(route.Quilt) ?? ChoiceWishes.EvenGap(route.Quilt, ask.OnlyBlock);
        if (gap.Diameter <= asked + Said)
        {
            return null;
        }

        string found =
            $"None of these is filled evenly: the evenest leaves an open circle of {words.Say(gap.Diameter)}, and even would be {words.Say(asked)} at most.";
        return ask.Fill.Length > 0
            ? Alone(
                found
                    + " They were planned for that already; more rulers, or lines that you draw yourself, would fill it."
            )
            : new(
                found,
                ask with
                {
                    Fill = ChoiceAsk.Evenly,
                    Lines = "seams+arcs",
                },
                $"Plan again with no open circle wider than {words.Say(asked)}"
            );
    }

    private static ChoiceAnswer ToTheRight(Route route, ChoiceAsk ask, BlockPoints? points)
    {
        if (ask.OnlyBlock is not { } block || points is null)
        {
            return Alone("A whole quilt has no neighbour. Choose one block under For.");
        }

        BlockPoint[] right = [.. points.Points.Where(p => p.IsOnRight).OrderBy(p => p.Down)];
        if (right.Length == 0 || !ChoiceWishes.HasNeighbourOnTheRight(route.Quilt, block))
        {
            return Alone("No block lies to the right of this one, so no choice ends there.");
        }

        return ask.End is { } end && right.Any(p => p.Id == end)
            ? Alone("They were planned to end on the right side, and none can. What stands in the way is said below.")
            : new(
                "None of these choices ends at the right-hand neighbour.",
                ask with
                {
                    End = right[right.Length / 2].Id,
                },
                "Plan again to end on the right side"
            );
    }

    private static ChoiceAnswer? Straight(ChoiceAsk ask, IReadOnlyList<JudgedChoice> judged)
    {
        if (judged.Count == 0)
        {
            return Alone("How many rulers these choices take is not known.");
        }

        return ask.Rulers == "none" || judged.Any(j => j.Choice.AllMoves.All(m => m.Path.IsLine))
            ? null
            : new(
                "None of these choices does with a straight ruler alone.",
                ask with
                {
                    Rulers = "none",
                    Lines = ask.Lines == "curves" ? "seams+arcs" : ask.Lines,
                },
                "Plan again with the straight ruler only"
            );
    }

    private static ChoiceAnswer Alone(string words) => new(words, null, "");
}
