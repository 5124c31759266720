using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>One correction of a map by hand. Immutable; <see cref="Mender.Apply"/> carries it out.</summary>
public abstract record MapEdit
{
    private protected MapEdit() { }

    /// <summary>The word that files and messages use for this kind of edit.</summary>
    public abstract string Word { get; }

    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}

/// <summary>
/// Adds a seam between two places. Its ends go to a point, or else to a seam, that lies within <see cref="Snap"/>; it is split
/// where it meets or crosses what is there, and splits that.
/// </summary>
/// <param name="From">Where it begins, inches.</param>
/// <param name="To">Where it ends, inches.</param>
/// <param name="Bulge">0 for a line; see <see cref="Edge{TSpace}"/>; −2 to 2.</param>
public sealed record AddSeam(Point<ClothSpace> From, Point<ClothSpace> To, double Bulge = 0) : MapEdit
{
    /// <summary>How near an end must be to be drawn to a point or a seam, 0.005 to 1 in; 1/8 in where nobody says.</summary>
    public Length Snap { get; init; } = Length.FromInches(0.125);

    /// <summary>The id that the seam gets, its pieces with .1, .2 and so on; null for a fresh one.</summary>
    public string? Seam { get; init; }

    /// <inheritdoc/>
    public override string Word => "add";
}

/// <summary>Moves a point; its seams follow. Within 1/16 in of another point it becomes one with it, of a seam it joins it.</summary>
/// <param name="Point">Which point.</param>
/// <param name="To">Where to, inches. A point of the outline stays on its side.</param>
public sealed record MovePoint(Spot Point, Point<ClothSpace> To) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "move";
}

/// <summary>
/// Removes a seam. What then dangles goes too, and a point that is left on a straight run is taken out of it.
/// </summary>
/// <param name="Seam">Which seam; none of the outline's.</param>
public sealed record RemoveSeam(Spot Seam) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "remove";
}

/// <summary>Makes a seam an arc, or straight.</summary>
/// <param name="Seam">Which seam; none of the outline's.</param>
/// <param name="Bulge">The new bulge, −2 to 2, 0 for a line; not used where <see cref="Through"/> is given.</param>
public sealed record BendSeam(Spot Seam, double Bulge) : MapEdit
{
    /// <summary>A place that the arc runs through, inches; or null.</summary>
    public Point<ClothSpace>? Through { get; init; }

    /// <summary>Which way along the seam <see cref="Bulge"/> is meant; null for the seam's own way.</summary>
    public Vector<ClothSpace>? Along { get; init; }

    /// <inheritdoc/>
    public override string Word => "arc";
}

/// <summary>Says that a seam is there as the map has it; nobody need look at it again.</summary>
/// <param name="Seam">Which seam.</param>
public sealed record SureSeam(Spot Seam) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "sure";
}

/// <summary>Marks a patch as one to leave alone, or not.</summary>
/// <param name="Patch">Which patch.</param>
/// <param name="Alone">Whether nothing is to be added inside it.</param>
public sealed record LeavePatch(Spot Patch, bool Alone = true) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "leave";
}

/// <summary>The low side of a seam as a person says it.</summary>
public enum LowSide
{
    /// <summary>Left of the way.</summary>
    Left,

    /// <summary>Right of the way.</summary>
    Right,

    /// <summary>Pressed open: neither side is low.</summary>
    Open,
}

/// <summary>Says the low side of a seam, or of a part of it; that part is then split off.</summary>
/// <param name="Seam">Which seam.</param>
/// <param name="Side">The low side.</param>
public sealed record SayDitch(Spot Seam, LowSide Side) : MapEdit
{
    /// <summary>Which way along the seam <see cref="Side"/> is meant; null for the seam's own way.</summary>
    public Vector<ClothSpace>? Along { get; init; }

    /// <summary>The places on the seam, inches, between which it holds; null for the whole seam.</summary>
    public (Point<ClothSpace> From, Point<ClothSpace> To)? Part { get; init; }

    /// <inheritdoc/>
    public override string Word => "ditch";
}

/// <summary>How much of the outline an edit speaks of.</summary>
public enum OutlineReach
{
    /// <summary>One piece, from point to point.</summary>
    Seam,

    /// <summary>The whole straight side that the piece lies on.</summary>
    Side,
}

/// <summary>Says what the outline is.</summary>
/// <param name="Seam">Which seam of the outline.</param>
/// <param name="Kind">What it is.</param>
/// <param name="Reach">Whether this piece or its whole side.</param>
public sealed record SayEdge(Spot Seam, EdgeKind Kind, OutlineReach Reach = OutlineReach.Seam) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "edge";
}

/// <summary>What a person says of a block when she names it.</summary>
public enum BlockSaying
{
    /// <summary>What it is called.</summary>
    Name,

    /// <summary>How it is turned.</summary>
    Turn,

    /// <summary>That it is mirrored.</summary>
    Mirror,
}

/// <summary>Names a block.</summary>
/// <param name="Block">Which block.</param>
/// <param name="Pattern">Id or name of a library block; null for unknown.</param>
public sealed record NameBlock(Spot Block, string? Pattern) : MapEdit
{
    /// <summary>Quarter turns clockwise, 0 to 3; null leaves the turn as it is.</summary>
    public int? Turn { get; init; }

    /// <summary>Mirrored left to right before the turn; null leaves it as it is.</summary>
    public bool? Mirror { get; init; }

    /// <summary>The user's own word for a block that the library does not have, 1 to 60 characters; null for none.</summary>
    public string? Called { get; init; }

    /// <summary>What was meant to be said with it, for the words of undo; null for the name.</summary>
    public BlockSaying? About { get; init; }

    /// <inheritdoc/>
    public override string Word => "name";
}

/// <summary>Sets a block's corners; its seams stay where they are.</summary>
/// <param name="Block">Which block.</param>
/// <param name="Corners">Four, clockwise from the top left, inches.</param>
public sealed record SetCorners(Spot Block, IReadOnlyList<Point<ClothSpace>> Corners) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "corners";
}

/// <summary>What becomes of a block's seams.</summary>
public enum BlockSeams
{
    /// <summary>They stay as they are.</summary>
    Keep,

    /// <summary>They are drawn with the block, or go with it.</summary>
    Draw,
}

/// <summary>Adds a block; its sides, and its pattern's seams where one is named, are drawn unless they are to be kept.</summary>
/// <param name="Corners">Four, clockwise from the top left, inches.</param>
public sealed record AddBlock(IReadOnlyList<Point<ClothSpace>> Corners) : MapEdit
{
    /// <summary>Id or name of a library block; null for unknown.</summary>
    public string? Pattern { get; init; }

    /// <summary>Quarter turns clockwise, 0 to 3.</summary>
    public int Turn { get; init; }

    /// <summary>Mirrored left to right before the turn.</summary>
    public bool Mirror { get; init; }

    /// <summary>Whether seams are drawn.</summary>
    public BlockSeams Seams { get; init; } = BlockSeams.Draw;

    /// <summary>The id that the block gets; null for a fresh one.</summary>
    public string? Block { get; init; }

    /// <inheritdoc/>
    public override string Word => "block";
}

/// <summary>Takes a block off the map; the seams stay, or those inside it go.</summary>
/// <param name="Block">Which block.</param>
/// <param name="Seams">Draw: the seams inside go with it; its sides stay.</param>
public sealed record RemoveBlock(Spot Block, BlockSeams Seams = BlockSeams.Keep) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "unblock";
}

/// <summary>
/// Lays a block's inner seams into every other block of its pattern, by their corners alone; no picture is looked at.
/// </summary>
/// <param name="Block">The block that is right.</param>
public sealed record CopyBlock(Spot Block) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "copy";
}

/// <summary>
/// Fits every other copy of a block to its own pixels. It wants the picture, so <see cref="Mender.Apply"/> refuses it and
/// replaying a file of edits beside the picture hands it on.
/// </summary>
/// <param name="Block">The block that is right.</param>
public sealed record TeachBlock(Spot Block) : MapEdit
{
    /// <inheritdoc/>
    public override string Word => "teach";
}
