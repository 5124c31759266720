using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom;

/// <summary>What the quilter told of herself, for every screen that is open.</summary>
internal sealed class RoomTable
{
    public event EventHandler? Changed;

    public RoomSettings Settings { get; private set; } = new();

    public void Keep(RoomSettings settings)
    {
        Settings = settings;
        Changed?.Invoke(this, EventArgs.Empty);
    }
}
