using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>Edits and blocks in the words of a screen.</summary>
public static class MendingWords
{
    /// <summary>What an edit did: <c>took out a seam</c>.</summary>
    public static string Did(MapEdit edit) =>
        edit switch
        {
            AddSeam => "added a seam",
            MovePoint => "moved a point",
            RemoveSeam => "took out a seam",
            BendSeam { Bulge: 0, Through: null } => "made a seam straight",
            BendSeam => "made a seam an arc",
            SureSeam => "said that a seam is there",
            LeavePatch { Alone: true } => "marked a patch to leave alone",
            LeavePatch => "took the mark off a patch",
            SayDitch { Side: LowSide.Open } => "said that a seam is pressed open",
            SayDitch => "said the low side of a seam",
            SayEdge => "said what the outline is",
            NameBlock { About: BlockSaying.Turn } => "turned a block by a quarter",
            NameBlock { About: BlockSaying.Mirror } => "mirrored a block",
            NameBlock { Pattern: null, Called: null } => "took a block's name away",
            NameBlock => "named a block",
            SetCorners => "moved a block's corners",
            AddBlock => "added a block",
            RemoveBlock => "took a block off",
            CopyBlock => "made the copies of a block like it",
            TeachBlock => "fitted the copies of a block to the photo",
            _ => "mended the map",
        };

    /// <summary>A block's name, the library's or the user's own; null where it has none.</summary>
    public static string? NameOf(Block block)
    {
        ArgumentNullException.ThrowIfNull(block);
        if (block.Pattern is not { } pattern)
        {
            return block.Called;
        }

        try
        {
            return BlockLibrary.Find(pattern).Name;
        }
        catch (InputException)
        {
            return pattern;
        }
    }

    /// <summary>The edit that gives a block what a person typed: a library block where it is one, else her own word.</summary>
    /// <param name="block">The block's id.</param>
    /// <param name="typed">What she typed; blank takes the name away.</param>
    public static NameBlock Naming(string block, string? typed)
    {
        string word = (typed ?? "").Trim();
        BlockDraft? known = BlockLibrary.All.FirstOrDefault(d =>
            string.Equals(d.Name, word, StringComparison.OrdinalIgnoreCase) || d.Id == word
        );
        return known is not null ? new(new(block), known.Id)
            : word.Length > 0 ? new(new(block), null) { Called = word }
            : new(new(block), null);
    }

    /// <summary>The edit that turns a block's kind by a quarter clockwise; its seams stay.</summary>
    /// <exception cref="InputException">There is no such block.</exception>
    public static NameBlock Turning(QuiltMap map, string block)
    {
        Block b = BlockOf(map, block);
        return Saying(b, (b.Turn + 1) % 4, b.Mirror, BlockSaying.Turn);
    }

    /// <summary>The edit that mirrors a block's kind left to right as it lies on the screen; its seams stay.</summary>
    /// <exception cref="InputException">There is no such block.</exception>
    public static NameBlock Mirroring(QuiltMap map, string block)
    {
        // A mirror after a turn is the turn the other way after a mirror.
        Block b = BlockOf(map, block);
        return Saying(b, (4 - b.Turn % 4) % 4, !b.Mirror, BlockSaying.Mirror);
    }

    /// <summary>How a block lies against its kind as drafted.</summary>
    public static string LiesOf(Block block)
    {
        ArgumentNullException.ThrowIfNull(block);
        string turn = (block.Turn % 4) switch
        {
            1 => "turned a quarter to the right",
            2 => "turned upside down",
            3 => "turned a quarter to the left",
            _ => "",
        };
        return (turn, block.Mirror) switch
        {
            ("", false) => "upright",
            ("", true) => "mirrored",
            (_, false) => turn,
            _ => "mirrored, then " + turn,
        };
    }

    private static NameBlock Saying(Block block, int turn, bool mirror, BlockSaying about) =>
        new(new(block.Id), block.Pattern)
        {
            Called = block.Called,
            Turn = turn,
            Mirror = mirror,
            About = about,
        };

    private static Block BlockOf(QuiltMap map, string block)
    {
        ArgumentNullException.ThrowIfNull(map);
        return map.FindBlock(block)
            ?? throw new InputException("The block is not there any more", block, "Choose another block.");
    }

    /// <summary>The library's names that go with what was typed so far, those that begin with it first.</summary>
    /// <param name="typed">The beginning of a name, or a part of one.</param>
    public static IReadOnlyList<string> NamesLike(string? typed)
    {
        string word = (typed ?? "").Trim();
        return
        [
            .. BlockLibrary
                .All.Select(d => d.Name)
                .Where(n => n.Contains(word, StringComparison.OrdinalIgnoreCase))
                .OrderBy(n => !n.StartsWith(word, StringComparison.OrdinalIgnoreCase))
                .ThenBy(n => n, StringComparer.Ordinal),
        ];
    }

    /// <summary>The edit that makes a seam an arc of a rise that was typed.</summary>
    /// <param name="map">The map.</param>
    /// <param name="seam">The seam's id.</param>
    /// <param name="rise">How far its middle stands off the straight line between its ends.</param>
    /// <param name="toward">The side to which it rises.</param>
    /// <exception cref="InputException">There is no such seam.</exception>
    public static BendSeam Bending(QuiltMap map, string seam, Length rise, LowSide toward)
    {
        ArgumentNullException.ThrowIfNull(map);
        Seam bent =
            map.FindSeam(seam)
            ?? throw new InputException("The seam is not there any more", seam, "Choose another seam.");
        double bulge = 2 * rise.Inches / map.EdgeOf(bent).Chord;
        return new(new(seam), toward == LowSide.Left ? bulge : -bulge);
    }
}
