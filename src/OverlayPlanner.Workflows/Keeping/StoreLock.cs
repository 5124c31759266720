using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <summary>
/// Held while quilts are changed, so that two tabs, and two programs, change them one after the other. It is a file that is opened
/// for one alone; the operating system lets it go when the program ends, however it ends.
/// </summary>
internal sealed class StoreLock : IDisposable
{
    /// <summary>Name of the file in the store's folder.</summary>
    public const string FileName = ".lock";

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);
    private readonly FileStream? stream;

    private StoreLock(FileStream? stream) => this.stream = stream;

    /// <summary>Waits for the lock.</summary>
    /// <exception cref="InputException">Another program holds it for half a minute, or the folder can't be written.</exception>
    public static StoreLock Take(string root) =>
        Try(root, out Exception? refusal)
        ?? throw new InputException(
            "The folder of the quilts can't be written",
            root,
            "Mend its rights, or keep the quilts in another place.",
            refusal!
        );

    /// <summary>The same for one who only reads: where the folder can't be written, nobody changes it, and no lock is needed.</summary>
    /// <exception cref="InputException">Another program holds it for half a minute.</exception>
    public static StoreLock TakeToRead(string root) => Try(root, out _) ?? new(null);

    /// <inheritdoc/>
    public void Dispose() => stream?.Dispose();

    private static StoreLock? Try(string root, out Exception? refusal)
    {
        refusal = null;
        long end = Environment.TickCount64 + (long)Patience.TotalMilliseconds;
        while (true)
        {
            try
            {
                return new(
                    new FileStream(
                        Path.Combine(root, FileName),
                        FileMode.OpenOrCreate,
                        FileAccess.ReadWrite,
                        FileShare.None
                    )
                );
            }
            catch (IOException e) when (IsHeldByAnother(e))
            {
                if (Environment.TickCount64 > end)
                {
                    throw new InputException(
                        "Another program is changing the quilts",
                        root,
                        "Wait until it is done, or end it, and try again.",
                        e
                    );
                }

                Thread.Sleep(5);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                refusal = e;
                return null;
            }
        }
    }

    // EAGAIN of Linux and of macOS; sharing and lock violation of Windows.
    private static bool IsHeldByAnother(IOException e) =>
        OperatingSystem.IsWindows() ? (e.HResult & 0xFFFF) is 32 or 33
        : OperatingSystem.IsMacOS() ? e.HResult == 35
        : e.HResult == 11;
}
