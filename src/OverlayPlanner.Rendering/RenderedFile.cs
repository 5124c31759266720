using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering;

/// <summary>What was drawn, ready to be written, and what a person should know about it.</summary>
/// <param name="Bytes">The whole file. The same input gives the same bytes: no dates, no random identifiers.</param>
/// <param name="Findings">What is imperfect; empty where nothing is.</param>
public sealed record RenderedFile(byte[] Bytes, IReadOnlyList<Finding> Findings);
