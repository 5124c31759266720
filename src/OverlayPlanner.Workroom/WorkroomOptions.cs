namespace OverlayPlanner.Workroom;

/// <summary>How the workroom is started.</summary>
/// <param name="Port">TCP port on this machine, 1 to 65535, or 0 for any free one.</param>
/// <param name="Quilts">Folder in which quilts are kept.</param>
public sealed record WorkroomOptions(int Port, string Quilts);
