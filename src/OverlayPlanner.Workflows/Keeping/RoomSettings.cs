using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>What the quilter told of herself and her machine, kept beside her quilts and used for all of them.</summary>
public sealed record RoomSettings
{
    /// <summary>What lengths are read in.</summary>
    public LengthUnits Units { get; init; } = LengthUnits.Inches;

    /// <summary>Diameter of the ruler foot; null where she has not said.</summary>
    public Length? Foot { get; init; }

    /// <summary>Depth of the machine's throat, which bounds the reach; null where she has not said.</summary>
    public Length? Throat { get; init; }

    /// <summary>Her rulers as <see cref="PlanWishes.Rulers"/> takes them: a list's path, <c>none</c>, or null for the usual set.</summary>
    public string? Rulers { get; init; }

    /// <summary>Lengths in her words.</summary>
    public LengthWords Words => new(Units);
}
