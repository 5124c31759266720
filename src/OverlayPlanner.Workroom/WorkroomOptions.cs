namespace OverlayPlanner.Workroom;

/// <summary>Who can reach the workroom.</summary>
public enum WorkroomReach
{
    /// <summary>Browsers on this machine.</summary>
    ThisMachine,

    /// <summary>Also devices on this machine's own networks, over HTTPS, each let in with a code that this machine shows.</summary>
    OwnNetworks,
}

/// <summary>How the workroom is started.</summary>
/// <param name="Port">TCP port on this machine, 1 to 65535, or 0 for any free one.</param>
/// <param name="Quilts">Folder in which quilts are kept.</param>
/// <param name="Reach">Who can reach it.</param>
public sealed record WorkroomOptions(int Port, string Quilts, WorkroomReach Reach = WorkroomReach.ThisMachine);

/// <summary>Where a started workroom is.</summary>
/// <param name="Address">On this machine.</param>
/// <param name="Network">On its networks; null where it is reached from this machine only.</param>
public sealed record WorkroomPlace(Uri Address, NetworkPlace? Network);

/// <summary>Where a started workroom is for other devices on this machine's networks.</summary>
/// <param name="Addresses">Its addresses there, the most likely first; at least one.</param>
/// <param name="Code">Lets one device in, within ten minutes and five tries.</param>
/// <param name="Fingerprint">SHA-256 of its certificate: 32 pairs of hexadecimal digits.</param>
/// <param name="Picture">The first address with the code as a QR code of text signs, line by line.</param>
public sealed record NetworkPlace(IReadOnlyList<Uri> Addresses, string Code, string Fingerprint, string Picture);
