using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>
/// The one way by which something on the local network reaches this machine. Shut but for a visit that the quilter asks for at the
/// desk; a new visit ends the one before.
/// </summary>
internal sealed class PhoneDoor(QuiltStore store, HeavyWork work, TimeProvider clock) : IAsyncDisposable
{
    private readonly SemaphoreSlim turn = new(1, 1);
    private PhoneVisit? visit;

    /// <summary>Opens it for one photo.</summary>
    /// <param name="quilt">Id of the quilt that is to have the photo; null for a new one.</param>
    /// <exception cref="InputException">There is no network, no such quilt, or nothing can listen.</exception>
    public async Task<PhoneVisit> OpenAsync(string? quilt)
    {
        if (quilt is not null)
        {
            store.Open(quilt);
        }

        await turn.WaitAsync();
        try
        {
            await ShutAsync();
            visit = await PhoneVisit.OpenAsync(store, work, clock, quilt);
            return visit;
        }
        finally
        {
            turn.Release();
        }
    }

    public async ValueTask DisposeAsync()
    {
        await ShutAsync();
        turn.Dispose();
    }

    private async Task ShutAsync()
    {
        if (visit is not null)
        {
            await visit.DisposeAsync();
            visit = null;
        }
    }
}
