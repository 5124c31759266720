[assembly: AssemblyFixture(typeof(OverlayPlanner.BrowserTests.SharedRoom))]

namespace OverlayPlanner.BrowserTests;

/// <summary>One workroom for all tests that need none of their own. Started by the first that asks; ended with the last test.</summary>
public sealed class SharedRoom : IAsyncDisposable
{
    private static Lazy<Task<Workroom>> started = New();

    internal static Task<Workroom> GetAsync() => started.Value;

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        // Where no browser is there every test is skipped, and there is no room to end.
        if (started is { IsValueCreated: true, Value.IsCompletedSuccessfully: true })
        {
            await (await started.Value).DisposeAsync();
            started = New();
        }
    }

    private static Lazy<Task<Workroom>> New() => new(() => Workroom.StartAsync(CancellationToken.None));
}
