using System.Diagnostics;
using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>The workroom as a user starts it: the program itself, with a folder of its own, and a browser before it.</summary>
internal sealed partial class Workroom : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private readonly IBrowser browser;
    private readonly List<IBrowserContext> contexts = [];
    private Process server;
    private bool isLent;

    // A busy machine is slow; what is expected comes all the same.
    static Workroom() => Assertions.SetDefaultExpectTimeout(60_000);

    private Workroom(Process server, Uri address, string folder, IBrowser browser)
    {
        this.server = server;
        this.browser = browser;
        Address = address;
        Folder = folder;
    }

    public Uri Address { get; private set; }

    public string Folder { get; }

    public static async Task<Workroom> StartAsync(
        CancellationToken cancellation,
        string? quilts = null,
        params string[] more
    )
    {
        IBrowser shared = await SharedBrowser.GetAsync();
        string folder = quilts ?? Path.Combine(Path.GetTempPath(), $"overlayplanner-room-{Guid.NewGuid():N}");
        (Process started, Uri address) = await ServeAsync(folder, more, cancellation);
        return new(started, address, folder, shared);
    }

    /// <summary>
    /// One room that many tests use at once, each with quilts and contexts of its own: for those that ask nothing of the list of quilts,
    /// the settings or the program's life.
    /// </summary>
    public static async Task<Workroom> ShareAsync(CancellationToken cancellation)
    {
        Workroom whole = await SharedRoom.GetAsync().WaitAsync(cancellation);
        return new(whole.server, whole.Address, whole.Folder, whole.browser) { isLent = true };
    }

    /// <summary>Ends the program at once, as a power cut would.</summary>
    public void Kill()
    {
        server.Kill(entireProcessTree: true);
        server.WaitForExit();
    }

    /// <summary>Starts the program again on the same quilts, at an address of its own, after it was killed.</summary>
    public async Task RestartAsync(CancellationToken cancellation)
    {
        server.Dispose();
        (server, Address) = await ServeAsync(Folder, [], cancellation);
    }

    private static async Task<(Process Server, Uri Address)> ServeAsync(
        string folder,
        string[] more,
        CancellationToken cancellation
    )
    {
        Process started =
            Process.Start(
                new ProcessStartInfo(Program(), ["workroom", "--port", "0", "--quilts", folder, .. more])
                {
                    RedirectStandardOutput = true,
                    UseShellExecute = false,
                }
            ) ?? throw new InvalidOperationException("The workroom did not start.");
        string said =
            await started.StandardOutput.ReadLineAsync(cancellation).AsTask().WaitAsync(Patience, cancellation) ?? "";
        return (started, new(AddressIn().Match(said).Value));
    }

    /// <summary>A page at the size of a desk, a tablet or a phone; its console's errors become failures of the caller's choosing.</summary>
    public async Task<IPage> OpenAsync(
        int width = 1440,
        int height = 900,
        ColorScheme scheme = ColorScheme.Light,
        string path = "/"
    )
    {
        IPage page = await EmptyPageAsync(width, height, scheme);
        await GoAsync(page, path);
        return page;
    }

    /// <summary>A browser with nothing in it yet.</summary>
    public async Task<IPage> EmptyPageAsync(int width = 1440, int height = 900, ColorScheme scheme = ColorScheme.Light)
    {
        IBrowserContext context = await NewContextAsync(
            new()
            {
                ViewportSize = new() { Width = width, Height = height },
                ColorScheme = scheme,
                ReducedMotion = ReducedMotion.Reduce,
            }
        );
        return await context.NewPageAsync();
    }

    /// <summary>Takes a page to a place of the workroom and waits for its heading.</summary>
    public async Task GoAsync(IPage page, string path = "/")
    {
        await page.GotoAsync(new Uri(Address, path).ToString());
        await page.Locator("h1").WaitForAsync();
    }

    /// <summary>A browser of its own as far as a page can tell: cookies, cache and all; closed with the room.</summary>
    public async Task<IBrowserContext> NewContextAsync(BrowserNewContextOptions? options = null)
    {
        IBrowserContext context = await browser.NewContextAsync(options);

        // A map of twelve megapixels beside three other tests on two cores takes its time; how long is the scoreboard's to say.
        context.SetDefaultTimeout(90_000);
        contexts.Add(context);
        return context;
    }

    /// <summary>Where pictures of the screens are written, so that anyone can look.</summary>
    public static string Pictures { get; } =
        Directory.CreateDirectory(Path.Combine(AppContext.BaseDirectory, "screens")).FullName;

    public static Task Show(IPage page, string name) =>
        page.ScreenshotAsync(new() { Path = Path.Combine(Pictures, name + ".png"), FullPage = true });

    public async ValueTask DisposeAsync()
    {
        foreach (IBrowserContext context in contexts)
        {
            await context.DisposeAsync();
        }

        if (isLent)
        {
            return;
        }

        if (!server.HasExited)
        {
            server.Kill(entireProcessTree: true);
            await server.WaitForExitAsync();
        }

        server.Dispose();
        if (Directory.Exists(Folder))
        {
            Directory.Delete(Folder, recursive: true);
        }
    }

    // The program where it is built, with the files of its pages beside it.
    private static string Program()
    {
        DirectoryInfo? at = new(AppContext.BaseDirectory);
        string tail = Path.GetRelativePath(
            Path.Combine(AppContext.BaseDirectory, "..", "..", ".."),
            AppContext.BaseDirectory
        );
        while (at is not null && !File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
        {
            at = at.Parent;
        }

        string folder = Path.Combine(at?.FullName ?? "", "src", "OverlayPlanner.Cli", "bin", tail);
        string program = Path.Combine(folder, OperatingSystem.IsWindows() ? "overlayplanner.exe" : "overlayplanner");
        return File.Exists(program)
            ? program
            : throw new FileNotFoundException("The program is not built beside the tests.", program);
    }

    [GeneratedRegex(@"http://127\.0\.0\.1:\d+/", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex AddressIn();
}
