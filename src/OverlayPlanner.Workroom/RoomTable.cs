using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom;

/// <summary>What the quilter told of herself, for every screen that is open; kept beside her quilts.</summary>
internal sealed class RoomTable
{
    private readonly string root;

    public RoomTable(QuiltStore store)
    {
        root = store.Root;
        (Settings, Trouble) = RoomFile.Read(root);
    }

    public event EventHandler? Changed;

    public RoomSettings Settings { get; private set; }

    /// <summary>Why the settings that were kept could not be read, or null; until others are kept.</summary>
    public string? Trouble { get; private set; }

    /// <exception cref="InputException">A value can't be, or the folder can't be written; nothing was changed.</exception>
    public void Keep(RoomSettings settings, IReadOnlyList<OwnRuler>? rulers = null)
    {
        Settings = RoomFile.Write(root, settings, rulers);
        Trouble = null;
        Changed?.Invoke(this, EventArgs.Empty);
    }

    /// <summary>Ends the walk through for this sitting, whatever the disk says.</summary>
    public void StopWalking()
    {
        Settings = Settings with { Walking = false };
        Changed?.Invoke(this, EventArgs.Empty);
    }
}
