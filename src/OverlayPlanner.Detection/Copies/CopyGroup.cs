using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>Blocks of one kind in a top, and what they have in common.</summary>
/// <param name="Members">Their numbers among the top's blocks.</param>
/// <param name="Cells">Where they lie, evidence pixels.</param>
/// <param name="How">How each lies against the template.</param>
/// <param name="Template">Their seams.</param>
/// <param name="Draft">The draft that they are; null where they are none that is known.</param>
/// <param name="Trust">
/// For each piece of the template the log odds that a copy has it, before its own pixels are looked at.
/// </param>
internal sealed record CopyGroup(
    IReadOnlyList<int> Members,
    IReadOnlyList<PixelCell> Cells,
    IReadOnlyList<Orientation> How,
    BlockTemplate Template,
    BlockDraft? Draft,
    IReadOnlyList<double> Trust
)
{
    /// <summary>True where the template is a draft or a plain strip, not what the copies showed.</summary>
    public bool IsKnown { get; init; } = Draft is not null;
}
