using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workroom.Log;

namespace OverlayPlanner.Workroom.Phone;

/// <summary>
/// The one way by which something on the local network reaches this machine. Shut but for a visit that the quilter asks for at the
/// desk; a new visit ends the one before, but for a photo that is coming in there: it is kept.
/// </summary>
internal sealed class PhoneDoor(QuiltStore store, HeavyWork work, TimeProvider clock, RoomLog log) : IAsyncDisposable
{
    private readonly SemaphoreSlim turn = new(1, 1);
    private readonly List<PhoneVisit> visits = [];

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
            visits.RemoveAll(v => v.Over);
            foreach (PhoneVisit earlier in visits)
            {
                earlier.Leave();
            }

            PhoneVisit visit = await PhoneVisit.OpenAsync(store, work, clock, log, quilt);
            visits.Add(visit);
            return visit;
        }
        finally
        {
            turn.Release();
        }
    }

    /// <summary>Ends every visit at once, with the program.</summary>
    public async ValueTask DisposeAsync()
    {
        foreach (PhoneVisit visit in visits)
        {
            await visit.DisposeAsync();
        }

        turn.Dispose();
    }
}
