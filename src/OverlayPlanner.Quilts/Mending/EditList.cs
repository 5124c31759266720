namespace OverlayPlanner.Quilts.Mending;

/// <summary>A file of edits.</summary>
/// <param name="Edits">In the order in which they were made.</param>
public sealed record EditList(IReadOnlyList<MapEdit> Edits)
{
    /// <summary>Unknown fields of the file.</summary>
    public UnknownFields Unknown { get; init; } = UnknownFields.None;
}
