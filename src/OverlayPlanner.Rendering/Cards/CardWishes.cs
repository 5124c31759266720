namespace OverlayPlanner.Rendering.Cards;

/// <summary>How a stitch card is wanted.</summary>
public sealed record CardWishes
{
    /// <summary>The paper; Letter by default.</summary>
    public PaperSize Paper { get; init; } = PaperSize.Letter;

    /// <summary>What the card is called, or null: then the block's or the map's own name.</summary>
    public string? Title { get; init; }

    /// <summary>Which side of the quilt is up; directions and pictures are as it lies then.</summary>
    public LoadedUp Up { get; init; }

    /// <summary>How large the words are.</summary>
    public CardPrint Print { get; init; }
}

/// <summary>How large the words of a card are.</summary>
public enum CardPrint
{
    /// <summary>To be read at half a metre.</summary>
    Usual,

    /// <summary>At least 14 points: for tired eyes and from farther off. The card has more pages.</summary>
    Large,
}
