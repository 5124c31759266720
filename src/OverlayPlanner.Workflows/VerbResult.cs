using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows;

/// <summary>What a workflow that writes files did.</summary>
/// <param name="Paths">Paths as the user gave them, in order.</param>
/// <param name="Findings">What a person should know.</param>
public sealed record Written(IReadOnlyList<string> Paths, IReadOnlyList<Finding> Findings);
