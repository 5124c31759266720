using OverlayPlanner.Quilts;

namespace OverlayPlanner.Rendering.Practice;

/// <summary>What is handed out.</summary>
public enum PracticeKind
{
    /// <summary>One page: the block several times, the path fading from full to blank, for pencil.</summary>
    Sheet,

    /// <summary>The sheet, one large block in three levels, the answers and the sizes of a practice sandwich.</summary>
    ClassPack,

    /// <summary>The path growing picture by picture, for a wall or to cut apart.</summary>
    Strip,
}

/// <summary>How practice pages are wanted.</summary>
public sealed record PracticeWishes
{
    /// <summary>What is handed out.</summary>
    public PracticeKind Kind { get; init; }

    /// <summary>The paper; Letter by default.</summary>
    public PaperSize Paper { get; init; } = PaperSize.Letter;

    /// <summary>The block's id, or null for the first that the route names.</summary>
    public string? Block { get; init; }

    /// <summary>The hand that holds the pencil: what is copied from stands on the other side, where the hand does not cover it.</summary>
    public Side Hand { get; init; } = Side.Right;
}
