namespace OverlayPlanner.Workroom;

/// <summary>One heavy job at a time, off the screen's own thread; who comes second waits its turn.</summary>
internal sealed class HeavyWork : IDisposable
{
    private readonly SemaphoreSlim turn = new(1, 1);

    public async Task<T> RunAsync<T>(Func<T> work, CancellationToken cancellation = default)
    {
        await turn.WaitAsync(cancellation);
        try
        {
            return await Task.Run(work, cancellation);
        }
        finally
        {
            turn.Release();
        }
    }

    public void Dispose() => turn.Dispose();
}
