using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>What a quilter may want most of a choice.</summary>
public enum ChoiceWish
{
    /// <summary>As planned, the least time first.</summary>
    LeastTime,

    /// <summary>No line beside the seams.</summary>
    NothingAdded,

    /// <summary>The smallest widest open gap first.</summary>
    FilledEvenly,

    /// <summary>The shortest call first.</summary>
    EasiestToRemember,

    /// <summary>The thread ends on the side where the next block begins.</summary>
    EndsAtTheRight,

    /// <summary>Fewest different rulers first.</summary>
    FewestRulers,
}

/// <summary>A choice as a wish judges it.</summary>
/// <param name="Choice">The choice.</param>
/// <param name="Words">The number that it is judged by, in words; empty for the least time.</param>
public sealed record JudgedChoice(RouteCandidate Choice, string Words);

/// <summary>Sorts out planned choices by what is wished most.</summary>
public static class ChoiceWishes
{
    // As near to a block's side as a sewn point lies to it.
    private const double OnSide = 0.125;

    /// <summary>The choices that meet a wish, best first; choices that are equally good stay as they were planned.</summary>
    /// <param name="route">The planned choices.</param>
    /// <param name="block">Id of the block that they were planned on, or null for the whole quilt.</param>
    /// <param name="wish">What is wished.</param>
    /// <param name="words">How lengths are said.</param>
    /// <returns>Empty where none meets it.</returns>
    public static IReadOnlyList<JudgedChoice> Judge(Route route, string? block, ChoiceWish wish, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(words);
        IReadOnlyList<RouteCandidate> all = route.Candidates;
        return wish switch
        {
            ChoiceWish.NothingAdded =>
            [
                .. all.Where(c => c.Measures.Added == Length.Zero).Select(c => new JudgedChoice(c, "adds nothing")),
            ],
            ChoiceWish.FilledEvenly =>
            [
                .. all.Select(c => (Choice: c, Gap: WidestGap.Of(route.Quilt, c, block)))
                    .Where(c => c.Gap is not null)
                    .OrderBy(c => c.Gap!.Diameter.Inches)
                    .Select(c => new JudgedChoice(c.Choice, $"widest open gap {words.Say(c.Gap!.Diameter)}")),
            ],
            ChoiceWish.EasiestToRemember =>
            [
                .. all.Where(c => c.Call is not null)
                    .OrderBy(c => c.Call!.Steps)
                    .Select(c => new JudgedChoice(c, Counted(c.Call!.Steps, "step") + " to remember")),
            ],
            ChoiceWish.EndsAtTheRight =>
            [
                .. all.Where(c => EndsAtTheRight(route.Quilt, c, block))
                    .Select(c => new JudgedChoice(c, "ends at the right-hand neighbour")),
            ],
            ChoiceWish.FewestRulers =>
            [
                .. all.Where(c => c.Ease is not null)
                    .OrderBy(c => c.Ease!.Rulers)
                    .Select(c => new JudgedChoice(
                        c,
                        c.AllMoves.All(m => m.Path.IsLine)
                            ? "straight ruler only"
                            : $"{Counted(c.Ease!.Rulers, "ruler")}, {Counted(c.Ease.RulerChanges, "change")}"
                    )),
            ],
            _ => [.. all.Select(c => new JudgedChoice(c, ""))],
        };
    }

    /// <summary>True where the last stitch lies on the right side of its block, with a block beyond that side.</summary>
    public static bool EndsAtTheRight(QuiltMap map, RouteCandidate choice, string? block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(choice);
        return block is not null
            && map.FindBlock(block) is { } own
            && choice.AllMoves.LastOrDefault() is { } last
            && new Edge<ClothSpace>(own.Corners[1], own.Corners[2]).Nearest(last.Path.To).Distance <= OnSide
            && HasNeighbourOnTheRight(map, block);
    }

    /// <summary>True where a block lies beyond the right side of a block.</summary>
    public static bool HasNeighbourOnTheRight(QuiltMap map, string block)
    {
        ArgumentNullException.ThrowIfNull(map);
        if (map.FindBlock(block) is not { } own)
        {
            return false;
        }

        Vector<ClothSpace> across = own.Corners[1] - own.Corners[0];
        Vector<ClothSpace> down = own.Corners[3] - own.Corners[0];
        Point<ClothSpace> middle = own.Corners[0].Toward(own.Corners[2], 0.5);
        return SettingPicture
            .Round(map, own)
            .Select(b => b.Corners[0].Toward(b.Corners[2], 0.5) - middle)
            .Any(off => off.Dot(across) > across.Dot(across) / 2 && Math.Abs(off.Dot(down)) < down.Dot(down) / 2);
    }

    /// <summary>
    /// The widest open circle that a block still looks evenly filled with: a quarter of its side (common practice, no source); of the
    /// blocks' mean side for a whole quilt, and 3 in where it has none.
    /// </summary>
    public static Length EvenGap(QuiltMap map, string? block)
    {
        ArgumentNullException.ThrowIfNull(map);
        Block[] blocks = block is null ? [.. map.Blocks] : [.. map.Blocks.Where(b => b.Id == block)];
        double side = blocks.Length == 0 ? 12 : blocks.Average(b => new BlockFrame(b).Side);

        // To the quarter inch, as it is said and read; the planner's bounds are far off.
        return Length.FromInches(Math.Clamp(Math.Round(side) / 4, 0.5, 100));
    }

    private static string Counted(int count, string what) =>
        string.Create(CultureInfo.InvariantCulture, $"{count} {what}{(count == 1 ? "" : "s")}");
}
