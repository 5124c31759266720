using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>Another device on the network comes into the workroom, and what anyone else there gets.</summary>
public class NetworkDoorTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_tablet_comes_in_with_the_code_works_and_is_sent_away_when_the_door_is_shut()
    {
        await using Workroom room = await Workroom.StartAsync(Stop, null, "--lan");
        IPage desk = await room.OpenAsync(path: "/settings");
        (Uri address, string code) = await Shown(desk);
        await ScreenCheck.Look(desk, "network-desk-1440-light");
        IPage narrow = await room.OpenAsync(390, 844, ColorScheme.Dark, "/settings");
        await Shown(narrow);
        await ScreenCheck.Look(narrow, "network-desk-390-dark");

        IPage tablet = await Tablet(room);
        await tablet.GotoAsync(new Uri(address, "/settings").ToString());
        ILocator field = tablet.GetByLabel("The code");
        ILocator come = tablet.GetByRole(AriaRole.Button, new() { Name = "Come in" });
        await Assertions.Expect(tablet.Locator("script")).ToHaveCountAsync(0);
        await ScreenCheck.Look(tablet, "network-tablet-asked");
        await field.FillAsync("2345 6789");
        await come.ClickAsync();
        await Assertions.Expect(tablet.GetByRole(AriaRole.Alert)).ToContainTextAsync("That is not the code");
        await ScreenCheck.Look(tablet, "network-tablet-refused");

        // As the camera opens it: the code stands in the field, and nothing is tried before the button is pressed.
        await tablet.GotoAsync(new Uri(address, "/enter?code=" + code).ToString());
        await Assertions.Expect(field).ToHaveValueAsync(code);
        await come.ClickAsync();
        await tablet.GetByRole(AriaRole.Heading, new() { Level = 1 }).WaitForAsync();
        await tablet
            .GetByRole(AriaRole.Navigation)
            .GetByRole(AriaRole.Link, new() { Name = "Your machine and rulers" })
            .ClickAsync();
        await Assertions.Expect(tablet.Locator(".network")).ToContainTextAsync("sent away at the machine");
        await Assertions.Expect(tablet.Locator(".network button")).ToHaveCountAsync(0);
        await ScreenCheck.Look(tablet, "network-tablet-in");
        BrowserContextCookiesResult cookie = Assert.Single(
            await tablet.Context.CookiesAsync(),
            c => c.Name == "__Host-workroom"
        );
        Assert.True(cookie.HttpOnly);
        Assert.True(cookie.Secure);
        Assert.Equal(SameSiteAttribute.Strict, cookie.SameSite);

        // Session's, not kept by the browser; and not on our disk.
        Assert.Equal(-1, cookie.Expires);
        Assert.DoesNotContain(
            Directory
                .EnumerateFiles(room.Folder, "*", SearchOption.AllDirectories)
                .Where(f => !f.EndsWith(".lock", StringComparison.Ordinal)),
            f =>
                File.ReadAllText(f).Contains(cookie.Value, StringComparison.Ordinal)
                || File.ReadAllText(f).Contains(code, StringComparison.Ordinal)
        );

        await Assertions.Expect(desk.Locator(".who")).ToHaveTextAsync("One device is in.");
        await desk.GetByRole(AriaRole.Button, new() { Name = "Shut the door" }).ClickAsync();
        await Assertions.Expect(desk.Locator(".who")).ToContainTextAsync("The door is shut");

        // The live screen is cut at once, and the cookie opens nothing any more.
        await tablet
            .Locator("#components-reconnect-modal:not([hidden]), #components-reconnect-modal.components-reconnect-show")
            .WaitForAsync();
        await tablet.GotoAsync(address.ToString());
        await Assertions.Expect(tablet.Locator("h1")).ToHaveTextAsync("Come into the workroom");
        IAPIResponse live = await tablet.APIRequest.PostAsync(
            new Uri(address, "/_blazor/negotiate?negotiateVersion=1").ToString(),
            new() { Headers = new Dictionary<string, string> { ["Origin"] = Origin(address) } }
        );
        Assert.Equal(403, live.Status);
        await field.FillAsync(code);
        await come.ClickAsync();
        await Assertions.Expect(tablet.GetByRole(AriaRole.Alert)).ToContainTextAsync("No code is shown now");
    }

    [Fact]
    public async Task Without_the_code_the_network_gets_the_page_that_asks_for_it_and_foreign_pages_get_nothing()
    {
        await using Workroom room = await Workroom.StartAsync(Stop, null, "--lan");
        IPage desk = await room.OpenAsync(path: "/settings");
        (Uri address, string code) = await Shown(desk);
        using HttpClient stranger = Stranger();
        foreach (
            string path in new[]
            {
                "/",
                "/settings",
                "/files/none/quilt.json",
                "/fonts/bold.ttf",
                "/_framework/blazor.web.js",
            }
        )
        {
            HttpResponseMessage answer = await stranger.GetAsync(new Uri(address, path), Stop);
            Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
            Assert.Contains("name=\"code\"", await answer.Content.ReadAsStringAsync(Stop), StringComparison.Ordinal);
        }

        // The live screens, a photo that is sent, a foreign name for this machine, another site's page with the right code.
        await IsRefused(stranger, HttpMethod.Get, new(address, "/_blazor?id=x"), null, Origin(address));
        await IsRefused(stranger, HttpMethod.Post, new(address, "/_blazor/negotiate"), null, Origin(address));
        await IsRefused(stranger, HttpMethod.Post, new(address, "/bring"), null, Origin(address));
        await IsRefused(stranger, HttpMethod.Get, address, "quilts.example", null);
        await IsRefused(stranger, HttpMethod.Get, address, "localhost", null);
        HttpRequestMessage foreign = Entering(address, code, "https://quilts.example");
        Assert.Equal(HttpStatusCode.Forbidden, (await stranger.SendAsync(foreign, Stop)).StatusCode);
        Assert.Equal(
            HttpStatusCode.Forbidden,
            (await stranger.SendAsync(Entering(address, code, null), Stop)).StatusCode
        );

        // The machine's own screens know no name but its own, whatever is open to the network.
        await IsRefused(stranger, HttpMethod.Get, room.Address, address.Authority, null);
        using (HttpClient plain = Stranger())
        {
            await Assert.ThrowsAsync<HttpRequestException>(() =>
                plain.GetAsync(new UriBuilder(address) { Scheme = Uri.UriSchemeHttp }.Uri, Stop)
            );
        }

        // The code is alive after all this; five wrong ones kill it.
        await Assertions.Expect(desk.Locator(".who")).ToHaveTextAsync("No device is in.");
        HttpResponseMessage[] wrong = await Task.WhenAll(
            Enumerable
                .Range(0, 5)
                .Select(i => stranger.SendAsync(Entering(address, $"wrong{(char)('a' + i)}", Origin(address)), Stop))
        );
        Assert.All(wrong, w => Assert.Equal(HttpStatusCode.Forbidden, w.StatusCode));
        await Assertions.Expect(desk.Locator(".who")).ToContainTextAsync("Five wrong codes came");
        HttpResponseMessage late = await stranger.SendAsync(Entering(address, code, Origin(address)), Stop);
        Assert.Equal(HttpStatusCode.Forbidden, late.StatusCode);
        Assert.False(late.Headers.Contains("Set-Cookie"));

        // A new code at the machine lets in.
        await desk.GetByRole(AriaRole.Button, new() { Name = "Let a device in" }).ClickAsync();
        (_, string another) = await Shown(desk);
        HttpResponseMessage entered = await stranger.SendAsync(Entering(address, another, Origin(address)), Stop);
        Assert.Equal(HttpStatusCode.SeeOther, entered.StatusCode);
    }

    [Fact]
    public async Task Without_being_asked_for_nothing_listens_on_the_network()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage desk = await room.OpenAsync(path: "/settings");
        await Assertions.Expect(desk.Locator(".network")).ToHaveCountAsync(0);
        string own =
            (await Dns.GetHostAddressesAsync(Dns.GetHostName(), AddressFamily.InterNetwork, Stop))
                .FirstOrDefault(a => !IPAddress.IsLoopback(a))
                ?.ToString()
            ?? "";
        Assert.SkipWhen(own.Length == 0, "This machine's name has no address on a network.");
        using TcpClient line = new();
        await Assert.ThrowsAsync<SocketException>(async () => await line.ConnectAsync(own, room.Address.Port, Stop));
    }

    private static async Task<(Uri Address, string Code)> Shown(IPage desk)
    {
        string code = (await desk.Locator(".network .code").TextContentAsync())!;
        string address = (await desk.Locator(".network .mono").First.TextContentAsync())!.Trim();
        return (new(address), string.Concat(code.Where(c => !char.IsWhiteSpace(c))));
    }

    private static async Task<IPage> Tablet(Workroom room)
    {
        IBrowserContext context = await room.NewContextAsync(
            new()
            {
                ViewportSize = new() { Width = 1024, Height = 768 },
                IgnoreHTTPSErrors = true,
            }
        );
        return await context.NewPageAsync();
    }

    private static string Origin(Uri address) => address.GetLeftPart(UriPartial.Authority);

    private static HttpRequestMessage Entering(Uri address, string code, string? origin)
    {
        HttpRequestMessage request = new(HttpMethod.Post, new Uri(address, "/enter"))
        {
            Content = new FormUrlEncodedContent([new("code", code)]),
        };
        if (origin is not null)
        {
            request.Headers.Add("Origin", origin);
        }

        return request;
    }

    private static async Task IsRefused(HttpClient from, HttpMethod method, Uri address, string? host, string? origin)
    {
        using HttpRequestMessage request = new(method, address);
        request.Headers.Host = host;
        if (origin is not null)
        {
            request.Headers.Add("Origin", origin);
        }

        HttpResponseMessage answer = await from.SendAsync(request, Stop);
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
        Assert.DoesNotContain("<", await answer.Content.ReadAsStringAsync(Stop), StringComparison.Ordinal);
    }

    // No one vouches for it but itself; another name for it is what some of these requests try.
    private static HttpClient Stranger() =>
        new(
            new SocketsHttpHandler
            {
                UseProxy = false,
                UseCookies = false,
                AllowAutoRedirect = false,
                SslOptions = new SslClientAuthenticationOptions
                {
                    RemoteCertificateValidationCallback = (_, _, _, errors) =>
                        !errors.HasFlag(SslPolicyErrors.RemoteCertificateNotAvailable),
                },
            }
        );
}
