using System.Globalization;
using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text;
using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>A photo from the phone to the desk, and what anyone else on the network gets.</summary>
public class PhoneTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_photo_sent_from_the_phone_comes_up_on_the_desk_by_itself()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage desk = await room.OpenAsync();
        Uri address = await Open(desk);
        await ScreenCheck.Look(desk, "phone-desk-1440-light");
        IPage phone = await Phone(room, ColorScheme.Light);
        await phone.GotoAsync(address.ToString());
        await phone.Locator("#photo").SetInputFilesAsync(Sample());
        await phone.GetByRole(AriaRole.Button, new() { Name = "Send the photo" }).ClickAsync();
        await phone.GetByRole(AriaRole.Heading, new() { Name = "It is on the big screen now." }).WaitForAsync();
        await ScreenCheck.Look(phone, "phone-390-light-sent");
        await desk.Locator(".pin").First.WaitForAsync();
        await Assertions.Expect(desk.Locator("h1")).ToContainTextAsync("Phone photo of");
        await IsShut(address);
    }

    [Theory]
    [InlineData(ColorScheme.Light)]
    [InlineData(ColorScheme.Dark, Explicit = true)]
    public async Task The_phone_s_page_and_the_desk_s_card_pass_axe_and_refuse_in_words(ColorScheme scheme)
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        string name = scheme.ToString().ToLowerInvariant();
        IPage desk = await room.OpenAsync(scheme == ColorScheme.Dark ? 1024 : 390, 844, scheme);
        Uri address = await Open(desk);
        await ScreenCheck.Look(desk, $"phone-desk-{name}");
        IPage phone = await Phone(room, scheme);
        await phone.GotoAsync(address.ToString());
        await ScreenCheck.Look(phone, $"phone-390-{name}");

        // The camera at the back, and no script at all.
        await Assertions.Expect(phone.Locator("#photo")).ToHaveAttributeAsync("capture", "environment");
        await Assertions.Expect(phone.Locator("script")).ToHaveCountAsync(0);
        await phone.GetByRole(AriaRole.Button, new() { Name = "Send the photo" }).ClickAsync();
        await Assertions.Expect(phone.GetByRole(AriaRole.Alert)).ToContainTextAsync("No photo came");
        await phone
            .Locator("#photo")
            .SetInputFilesAsync(
                new FilePayload
                {
                    Name = "holiday.jpg",
                    MimeType = "image/jpeg",
                    Buffer = Encoding.ASCII.GetBytes("MZ this is a program, not a picture"),
                }
            );
        await phone.GetByRole(AriaRole.Button, new() { Name = "Send the photo" }).ClickAsync();
        await Assertions.Expect(phone.GetByRole(AriaRole.Alert)).Not.ToContainTextAsync("No photo came");
        Assert.NotEmpty((await phone.GetByRole(AriaRole.Alert).TextContentAsync())!.Trim());
        await ScreenCheck.Look(phone, $"phone-390-{name}-refused");
        Assert.DoesNotContain(Directory.EnumerateDirectories(room.Folder), d => !Path.GetFileName(d).StartsWith('.'));

        // The same code still takes the right photo, one that lay on the phone already.
        await phone.GetByText("Or a photo that is on the phone already").ClickAsync();
        await phone.Locator("#earlier").SetInputFilesAsync(Sample());
        await phone.GetByRole(AriaRole.Button, new() { Name = "Send the photo" }).ClickAsync();
        await desk.Locator(".pin").First.WaitForAsync();
    }

    [Fact]
    public async Task Without_the_code_nothing_is_got_and_after_five_wrong_ones_the_right_one_is_dead()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage desk = await room.OpenAsync();
        Uri address = await Open(desk);
        using HttpClient stranger = Stranger();
        Assert.Equal(HttpStatusCode.OK, (await stranger.GetAsync(address, Stop)).StatusCode);

        // Other paths, the workroom's own too, with the right code and without; other methods; no code.
        foreach (
            string path in new[]
            {
                "/",
                "/bring",
                "/_blazor",
                "/files/none/quilt.json",
                "/send/",
                "/SEND",
                "/favicon.ico",
            }
        )
        {
            await IsNothing(await stranger.GetAsync(new Uri(address, path), Stop));
            await IsNothing(await stranger.GetAsync(new Uri(address, path + address.Query), Stop));
        }

        await IsNothing(await stranger.GetAsync(new Uri(address, "/send"), Stop));
        await IsNothing(await stranger.DeleteAsync(address, Stop));

        // Five wrong codes side by side, reading and sending, whoever asks.
        HttpResponseMessage[] answers = await Task.WhenAll(
            Enumerable
                .Range(0, 5)
                .Select(async i =>
                {
                    using HttpClient other = Stranger();
                    Uri wrong = new(address, $"/send?code=wrong{(char)('a' + i)}");
                    using MultipartFormDataContent form = new()
                    {
                        { new ByteArrayContent(await File.ReadAllBytesAsync(Sample(), Stop)), "photo", "x.jpg" },
                    };
                    return i % 2 == 0 ? await other.GetAsync(wrong, Stop) : await other.PostAsync(wrong, form, Stop);
                })
        );
        foreach (HttpResponseMessage answer in answers)
        {
            await IsNothing(answer);
        }

        await Assertions.Expect(desk.Locator(".phone-state")).ToContainTextAsync("Five wrong codes came");
        await IsShut(address);
        Assert.DoesNotContain(Directory.EnumerateDirectories(room.Folder), d => !Path.GetFileName(d).StartsWith('.'));
    }

    [Fact]
    public async Task The_certificate_shown_is_the_one_served_and_the_door_shuts_with_the_card()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage desk = await room.OpenAsync();
        Uri address = await Open(desk);
        string shown = (await desk.Locator(".fingerprint").TextContentAsync())!;
        using (TcpClient line = new())
        {
            await line.ConnectAsync(address.Host, address.Port, Stop);
            await using SslStream tls = new(line.GetStream(), false, (_, _, _, errors) => OnlySelfSigned(errors));
            await tls.AuthenticateAsClientAsync(new SslClientAuthenticationOptions { TargetHost = address.Host }, Stop);
            using X509Certificate2 served = new(tls.RemoteCertificate!);
            Assert.Equal(
                Convert.ToHexString(SHA256.HashData(served.RawData)),
                string.Concat(shown.Where(c => !char.IsWhiteSpace(c)))
            );
            Assert.True(served.MatchesHostname(address.Host));
        }

        await desk.GetByRole(AriaRole.Button, new() { Name = "Close", Exact = true }).ClickAsync();
        await Assertions.Expect(desk.Locator(".phone-state")).ToContainTextAsync("Closed");
        await Assertions
            .Expect(desk.GetByRole(AriaRole.Button, new() { Name = "Send from a phone" }))
            .ToBeFocusedAsync();
        await IsShut(address);

        // Leaving the screen shuts it too; the next one shows the same fingerprint, and another code.
        Uri second = await Open(desk);
        Assert.NotEqual(address.Query, second.Query);
        await Assertions.Expect(desk.Locator(".fingerprint")).ToHaveTextAsync(shown);
        await desk.EvaluateAsync("() => Blazor.navigateTo('/not-a-screen')");
        await Assertions.Expect(desk.Locator(".fingerprint")).ToHaveCountAsync(0);
        await IsShut(second);
    }

    [Fact]
    public async Task A_photo_that_is_coming_when_the_card_is_closed_is_kept_and_nobody_else_comes_in()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage desk = await room.OpenAsync();
        Uri address = await Open(desk);

        // As many lines as are taken but one, held open by someone who says nothing; the phone comes last, and slowly.
        List<TcpClient> silent = [];
        for (int n = 0; n < 31; n++)
        {
            silent.Add(new TcpClient());
            await silent[n].ConnectAsync(address.Host, address.Port, Stop);
        }

        byte[] photo = await File.ReadAllBytesAsync(Sample(), Stop);
        byte[] head = Encoding.ASCII.GetBytes(
            "--cut\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a.jpg\"\r\n\r\n"
        );
        byte[] body = [.. head, .. photo, .. Encoding.ASCII.GetBytes("\r\n--cut--\r\n")];
        using TcpClient line = new();
        await line.ConnectAsync(address.Host, address.Port, Stop);
        await using SslStream tls = new(line.GetStream(), false, (_, _, _, errors) => OnlySelfSigned(errors));
        await tls.AuthenticateAsClientAsync(new SslClientAuthenticationOptions { TargetHost = address.Host }, Stop);
        await tls.WriteAsync(
            Encoding.ASCII.GetBytes(
                $"POST {address.PathAndQuery} HTTP/1.1\r\nHost: {address.Authority}\r\nContent-Type: multipart/form-data; boundary=cut\r\nContent-Length: {body.Length.ToString(CultureInfo.InvariantCulture)}\r\n\r\n"
            ),
            Stop
        );
        await tls.WriteAsync(body.AsMemory(0, body.Length / 2), Stop);
        await Assertions.Expect(desk.Locator(".phone-state")).ToContainTextAsync("A photo is coming");

        await desk.GetByRole(AriaRole.Button, new() { Name = "Close", Exact = true }).ClickAsync();
        await Assertions.Expect(desk.Locator(".phone-state")).ToContainTextAsync("still coming");
        await IsShut(address);
        await tls.WriteAsync(body.AsMemory(body.Length / 2), Stop);
        using StreamReader reader = new(tls, Encoding.UTF8);
        Assert.Equal("HTTP/1.1 200 OK", await reader.ReadLineAsync(Stop));
        await Assertions.Expect(desk.Locator(".phone-state")).ToContainTextAsync("The photo is here.");
        await ScreenCheck.Look(desk, "phone-desk-late");
        await desk.GetByRole(AriaRole.Link, new() { Name = "Open it" }).ClickAsync();
        await desk.Locator(".pin").First.WaitForAsync();
        Assert.Equal(photo.Length, new FileInfo(Assert.Single(Photos(room))).Length);
        silent.ForEach(s => s.Dispose());
    }

    private static IEnumerable<string> Photos(Workroom room) =>
        Directory
            .EnumerateDirectories(room.Folder)
            .Where(d => !Path.GetFileName(d).StartsWith('.'))
            .SelectMany(d => Directory.EnumerateFiles(d, "photo.*"));

    private static async Task<Uri> Open(IPage desk)
    {
        await desk.GetByRole(AriaRole.Button, new() { Name = "Send from a phone" }).ClickAsync();
        Uri address = new((await desk.Locator(".address").First.TextContentAsync())!.Trim());
        Assert.Equal(Uri.UriSchemeHttps, address.Scheme);
        await Assertions.Expect(desk.Locator("#phone-title")).ToBeFocusedAsync();
        return address;
    }

    private static async Task<IPage> Phone(Workroom room, ColorScheme scheme)
    {
        IBrowserContext context = await room.NewContextAsync(
            new()
            {
                ViewportSize = new() { Width = 390, Height = 844 },
                ColorScheme = scheme,
                IgnoreHTTPSErrors = true,
            }
        );
        return await context.NewPageAsync();
    }

    // No one vouches for it but itself; the address must be named in it all the same.
    private static bool OnlySelfSigned(SslPolicyErrors errors) =>
        errors == SslPolicyErrors.RemoteCertificateChainErrors;

    private static HttpClient Stranger() =>
        new(
            new SocketsHttpHandler
            {
                UseProxy = false,
                SslOptions = new SslClientAuthenticationOptions
                {
                    RemoteCertificateValidationCallback = (_, _, _, errors) => OnlySelfSigned(errors),
                },
            }
        );

    private static async Task IsNothing(HttpResponseMessage answer)
    {
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        Assert.Empty(await answer.Content.ReadAsByteArrayAsync(Stop));
        Assert.False(answer.Headers.Contains("Server"));
    }

    // Nothing listens there any more; the listener's end comes a moment after the screen's.
    private static async Task IsShut(Uri address)
    {
        for (int tries = 0; ; tries++)
        {
            try
            {
                using TcpClient line = new();
                await line.ConnectAsync(address.Host, address.Port, Stop);
            }
            catch (SocketException)
            {
                return;
            }

            Assert.True(tries < 100, "The phone's port is still open.");
            await Task.Delay(200, Stop);
        }
    }

    private static string Sample()
    {
        DirectoryInfo? at = new(AppContext.BaseDirectory);
        while (at is not null && !File.Exists(Path.Combine(at.FullName, "OverlayPlanner.sln")))
        {
            at = at.Parent;
        }

        return Path.Combine(at?.FullName ?? "", "samples", "sampler-top.jpg");
    }
}
