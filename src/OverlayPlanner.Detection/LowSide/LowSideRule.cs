namespace OverlayPlanner.Detection.LowSide;

/// <summary>How the low side of a seam is come by.</summary>
public enum LowSideRule
{
    /// <summary>What the light in the picture shows.</summary>
    Light,

    /// <summary>Allowances lie under the darker cloth; the low side is the lighter one.</summary>
    Dark,

    /// <summary>Along sashing: allowances lie under the sashing; the low side is the block's.</summary>
    Sashing,

    /// <summary>Along sashing: allowances lie under the block; the low side is the sashing's.</summary>
    Block,

    /// <summary>Upright seams of a row lie to one side, those of the next row to the other, so that they nest.</summary>
    Alternate,

    /// <summary>Pressed open: no side is low.</summary>
    Open,
}

/// <summary>Reasons as they stand on a seam.</summary>
public static class LowSideWords
{
    /// <summary>Seen in the picture.</summary>
    public const string Light = "the light";

    /// <summary>Told by the user; nothing else changes it.</summary>
    public const string User = "you";

    /// <summary>Pressed open: no side is low, and that is known.</summary>
    public const string Open = "pressed open";

    internal const string Dark = "toward the dark";
    internal const string Sashing = "toward the sashing";
    internal const string Block = "toward the block";
    internal const string Alternate = "rows alternating";
    internal const string TaughtBy = "taught by ";
}
