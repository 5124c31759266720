using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>What a step runs along, whether it was stitched before or not.</summary>
public enum CallLine
{
    /// <summary>A seam inside, a block's boundary among them.</summary>
    Seam,

    /// <summary>The map's own outline.</summary>
    Outline,

    /// <summary>A curved line added inside a patch.</summary>
    Arc,

    /// <summary>A straight line added inside a patch.</summary>
    Line,
}

/// <summary>How far the hand turns at a point, from the way it arrives to the way it leaves.</summary>
/// <remarks>
/// The bounds lie away from the angles of traditional drafts (multiples of 15° and 22.5°, and those of the 1 : 2 and 2 : 3
/// slopes), so that a block which is a few tenths of a degree off reads the same.
/// </remarks>
public enum TurnSize
{
    /// <summary>Less than 20°.</summary>
    Straight,

    /// <summary>20° to 65°.</summary>
    Bear,

    /// <summary>65° to 115°.</summary>
    Turn,

    /// <summary>115° to 175°.</summary>
    Sharp,

    /// <summary>More than 175°: back the way it came, or beside it.</summary>
    Back,
}

/// <summary>A turn at a point, and which of several lines it means.</summary>
/// <param name="Size">How far.</param>
/// <param name="Side">To which side; null for <see cref="TurnSize.Straight"/> and <see cref="TurnSize.Back"/> unless several lines fit.</param>
/// <param name="Pick">
/// Of several lines of one kind and bow that turn so: 0 for the least turn, 1 for the next, and so on. At
/// <see cref="TurnSize.Back"/> counted from the way back outwards.
/// </param>
public readonly record struct CallTurn(TurnSize Size, Side? Side, int Pick)
{
    /// <summary>The same seen in a mirror.</summary>
    public CallTurn Mirror() => this with { Side = Side.Mirrored() };
}

/// <summary>One of the eight ways to face before the first step, as seen on the page.</summary>
public enum Facing
{
    /// <summary>Up the page.</summary>
    Up,

    /// <summary>Up and to the right.</summary>
    UpRight,

    /// <summary>To the right.</summary>
    Right,

    /// <summary>Down and to the right.</summary>
    DownRight,

    /// <summary>Down the page.</summary>
    Down,

    /// <summary>Down and to the left.</summary>
    DownLeft,

    /// <summary>To the left.</summary>
    Left,

    /// <summary>Up and to the left.</summary>
    UpLeft,
}

/// <summary>How a part of a call is said again.</summary>
public enum AgainKind
{
    /// <summary>With left and right exchanged.</summary>
    Mirrored,

    /// <summary>
    /// The same steps from last to first, turns and bows named as before: on the cloth the mirror image, travelled the other
    /// way.
    /// </summary>
    Backwards,

    /// <summary>From last to first with left and right exchanged: the way itself, travelled back.</summary>
    BackwardsMirrored,
}

/// <summary>A part of a call: a step, or parts said again.</summary>
public abstract record CallItem;

/// <summary>One step: turn, then run along a line.</summary>
/// <param name="Turn">The turn into it, against the way the last step arrived.</param>
/// <param name="Line">What it runs along.</param>
/// <param name="Bow">To which side of travel it bows; null where it is straight.</param>
/// <param name="Pieces">
/// How many pieces of line it takes, so one more than the points that it passes; null for as many as run straight on to the
/// line's end.
/// </param>
/// <param name="StepsAcross">The line runs straight on from the last step, but the ruler must change its side.</param>
public sealed record CallStep(CallTurn Turn, CallLine Line, Side? Bow, int? Pieces, bool StepsAcross) : CallItem
{
    /// <summary>The same seen in a mirror.</summary>
    public CallStep Mirror() => this with { Turn = Turn.Mirror(), Bow = Bow.Mirrored() };
}

/// <summary>Parts said several times.</summary>
/// <param name="Times">Two or more.</param>
/// <param name="Items">What is said, in order.</param>
public sealed record CallRepeat(int Times, IReadOnlyList<CallItem> Items) : CallItem;

/// <summary>Parts said once, then perhaps others, then the first parts again in another way.</summary>
/// <param name="Kind">In which way.</param>
/// <param name="Items">What is said again, in order.</param>
/// <param name="Between">What is said between the two, in order; often nothing.</param>
/// <param name="Turn">For the backward kinds: the turn into the first step backwards. Null for a mirror.</param>
/// <param name="StepsAcross">For the backward kinds: the ruler steps across there.</param>
public sealed record CallAgain(
    AgainKind Kind,
    IReadOnlyList<CallItem> Items,
    IReadOnlyList<CallItem> Between,
    CallTurn? Turn,
    bool StepsAcross
) : CallItem;

/// <summary>Where one thread starts and which way one faces before its first step.</summary>
/// <param name="Run">Index of the run.</param>
/// <param name="At">The place, inches.</param>
/// <param name="Facing">The way one faces; the first step's turn is against it.</param>
/// <param name="Mirrored">True where this thread goes by the call with left and right exchanged.</param>
public sealed record CallStart(int Run, Point<ClothSpace> At, Facing Facing, bool Mirrored);

/// <summary>What one thread does, or several of which each does the same.</summary>
/// <param name="Starts">Where each of them starts.</param>
/// <param name="Items">What it does, in order.</param>
public sealed record CallThread(IReadOnlyList<CallStart> Starts, IReadOnlyList<CallItem> Items);

/// <summary>Where to go at a point that is reached again, unless the call says otherwise.</summary>
public enum DefaultRule
{
    /// <summary>The line furthest to the left that is not stitched yet.</summary>
    KeepLeft,

    /// <summary>The line furthest to the right that is not stitched yet.</summary>
    KeepRight,

    /// <summary>The line not stitched yet that turns least.</summary>
    StraightOn,
}

/// <summary>
/// A route said shortly, so that a finger can follow it without a picture; the grammar is in docs/CALL.md.
/// </summary>
/// <param name="Threads">What each thread does.</param>
/// <param name="Verses">The same in words, one sentence or a few to a verse.</param>
/// <param name="DescriptionLength">
/// Each step 1, each repeat count 1, each bracket pair 1, each mark (mirrored, backwards) 1, each start after the first 1.
/// </param>
/// <param name="PlainLength">Moves of the route: the list that says nothing again.</param>
/// <param name="DecisionPoints">
/// How often a point is reached again where <see cref="Rule"/> does not say where the route goes.
/// </param>
/// <param name="Rule">The rule of the three that leaves the fewest decision points.</param>
/// <param name="Steps">Ruler placements.</param>
/// <param name="IsShortest">True where no call in the grammar is shorter; false for very long routes.</param>
public sealed record RouteCall(
    IReadOnlyList<CallThread> Threads,
    IReadOnlyList<string> Verses,
    int DescriptionLength,
    int PlainLength,
    int DecisionPoints,
    DefaultRule Rule,
    int Steps,
    bool IsShortest
)
{
    /// <summary>What a follower does at a point reached again, in a sentence or two.</summary>
    public string RuleInWords
    {
        get
        {
            string rule = Rule switch
            {
                DefaultRule.KeepLeft => "keep left",
                DefaultRule.KeepRight => "keep right",
                _ => "go as straight on as you can",
            };
            string but = DecisionPoints switch
            {
                0 => "That is always right",
                1 => "Once the call says otherwise",
                2 => "Twice the call says otherwise",
                _ => string.Create(CultureInfo.InvariantCulture, $"The call says otherwise {DecisionPoints} times"),
            };
            string backwards = Verses.Any(v => v.Contains("backwards", StringComparison.Ordinal))
                ? "Backwards is from the last line to the first; the turn between two lines keeps its name. "
                : "";
            return $"A line runs to the next point unless more is said. {backwards}"
                + $"At a point where you have been before, {rule} among the lines not stitched yet. {but}.";
        }
    }
}

/// <summary>What the hands feel on a route.</summary>
/// <param name="Turns">Changes of direction by 20° or more, between two steps of one thread.</param>
/// <param name="SharpStops">Those of 115° or more, where the needle stops or the point rounds (handbook 3.2).</param>
/// <param name="HandMoves">How often the hand must move along the ruler within a step.</param>
/// <param name="LongestReach">The longest way between two places where the hand may move.</param>
/// <param name="Rulers">Different rulers: the straight edge is one, each stitched radius one.</param>
/// <param name="RulerChanges">How often another ruler is taken.</param>
/// <param name="StepsAcross">How often the low side flips along a line.</param>
/// <param name="CrossHanded">Steps whose ruler lies on the side away from the hand that holds it.</param>
/// <param name="Effort">The length weighted by the direction's comfort, inches; equal to the length where all ways feel alike.</param>
public sealed record RouteEase(
    int Turns,
    int SharpStops,
    int HandMoves,
    Length LongestReach,
    int Rulers,
    int RulerChanges,
    int StepsAcross,
    int CrossHanded,
    double Effort
);

/// <summary>Left and right exchanged.</summary>
public static class Sides
{
    /// <summary>The other side; null stays null.</summary>
    public static Side? Mirrored(this Side? side) =>
        side switch
        {
            Side.Left => Side.Right,
            Side.Right => Side.Left,
            _ => null,
        };
}
