using Microsoft.Playwright;

[assembly: AssemblyFixture(typeof(OverlayPlanner.BrowserTests.SharedBrowser))]

namespace OverlayPlanner.BrowserTests;

/// <summary>One browser for all tests: each has contexts of its own, which share nothing. Started by the first that needs it.</summary>
public sealed class SharedBrowser : IAsyncDisposable
{
    private static Lazy<Task<(IPlaywright Driver, IBrowser Browser)>> started = New();

    internal static async Task<IBrowser> GetAsync()
    {
        string chromium = Chromium.Find() ?? "";
        Assert.SkipWhen(chromium.Length == 0, Chromium.Missing);
        return (await started.Value).Browser;
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        if (started.IsValueCreated)
        {
            (IPlaywright driver, IBrowser browser) = await started.Value;
            await browser.DisposeAsync();
            driver.Dispose();
            started = New();
        }
    }

    private static Lazy<Task<(IPlaywright Driver, IBrowser Browser)>> New() =>
        new(async () =>
        {
            IPlaywright driver = await Playwright.CreateAsync();
            IBrowser browser = await driver.Chromium.LaunchAsync(
                new() { ExecutablePath = Chromium.Find(), Args = ["--no-sandbox"] }
            );
            return (driver, browser);
        });
}
