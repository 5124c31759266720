using System.Net;
using System.Text;
using Microsoft.Playwright;
using UglyToad.PdfPig;

namespace OverlayPlanner.BrowserTests;

/// <summary>The workroom used as a quilter would, in a real browser.</summary>
public class WorkroomTests(MappedSample sample)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task From_the_sample_photo_to_sheets_in_at_most_twelve_actions()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync();
        int actions = 0;
        System.Diagnostics.Stopwatch waiting = new();
        async Task Press(string name)
        {
            actions++;
            waiting.Start();
            await page.GetByRole(AriaRole.Button, new() { Name = name, Exact = true })
                .Or(page.GetByRole(AriaRole.Link, new() { Name = name, Exact = true }))
                .ClickAsync();
        }

        await Workroom.Show(page, "1-home");
        await Press("Try the sample quilt");
        await Heading(page, "Sample: six stars: how large is it?");
        await page.Locator(".pin").First.WaitForAsync();
        await Workroom.Show(page, "2-photo");
        await Press("Find the seams");
        await Heading(page, "Sample: six stars: what was found");
        await Workroom.Show(page, "3-map");
        Assert.Equal("6", await page.Locator("dt:text-is('Blocks') + dd").TextContentAsync());
        await Press("See the choices");
        await Heading(page, "Sample: six stars: choose a path");
        await page.Locator(".choices img").First.WaitForAsync();
        await Workroom.Show(page, "4-choices");
        await Press("Use choice A");
        await Heading(page, "Sample: six stars: choice A on paper");
        await Press("Make the sheets and the stitch card");
        await page.GetByText("Trace sheets (PDF, true size)").WaitForAsync();
        waiting.Stop();
        await Workroom.Show(page, "5-print");
        Assert.InRange(actions, 1, 12);
        Figures.Note(
            "sample photo to printed sheets, actions",
            actions.ToString(System.Globalization.CultureInfo.InvariantCulture),
            "≤ 12",
            actions <= 12
        );
        Figures.Note(
            "sample photo to printed sheets, waiting in all",
            string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{waiting.Elapsed.TotalSeconds:0.0} s"),
            "≤ 60 s",
            waiting.Elapsed.TotalSeconds <= 60
        );

        string link = (await page.GetByText("Trace sheets (PDF, true size)").GetAttributeAsync("href"))!;
        IAPIResponse pdf = await page.APIRequest.GetAsync(new Uri(room.Address, link).ToString());
        using PdfDocument sheets = PdfDocument.Open(await pdf.BodyAsync());
        Assert.True(sheets.NumberOfPages >= 1);

        // Kept: another browser that opens the workroom finds the quilt as far as it went.
        IPage other = await room.OpenAsync();
        await other.Locator(".quilt-name").ClickAsync();
        await Heading(other, "Sample: six stars: choice A on paper");
    }

    [Theory]
    [InlineData(1440, 900, ColorScheme.Light, Explicit = true)]
    [InlineData(390, 844, ColorScheme.Dark)]
    [InlineData(1024, 768, ColorScheme.Dark, Explicit = true)]
    public async Task Every_screen_passes_axe_and_fits_its_width(int width, int height, ColorScheme scheme)
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync(width, height, scheme);
        string name = string.Create(
            System.Globalization.CultureInfo.InvariantCulture,
            $"{width}-{scheme.ToString().ToLowerInvariant()}"
        );
        await ScreenCheck.Look(page, $"{name}-home");
        string id = sample.CopyPlannedTo(room.Folder);
        async Task Open(string screen, string seen)
        {
            await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/{screen}").ToString());
            await page.Locator(seen).First.WaitForAsync();
            await ScreenCheck.Look(page, $"{name}-{screen}");
        }

        await Open("photo", ".pin");
        await Open("map", "a:has-text('See the choices')");
        await Open("choices", ".choices img");
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Make the sheets and the stitch card" }).ClickAsync();
        await page.GetByText("Trace sheets (PDF, true size)").WaitForAsync();
        await ScreenCheck.Look(page, $"{name}-print");
    }

    [Fact]
    public async Task The_whole_way_goes_by_keyboard_alone()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync();
        await Reach(page, "Try the sample quilt");
        await page.Keyboard.PressAsync("Enter");
        await page.Locator(".pin").First.WaitForAsync();

        // A pin moves by arrow keys; its place is said in its label.
        await page.Locator(".picker[data-ready=yes]").WaitForAsync();
        await Reach(page, "Pin 1, top left");
        string before = (await page.Locator(".pin").First.GetAttributeAsync("aria-label"))!;
        await page.Keyboard.PressAsync("ArrowRight");
        await Assertions.Expect(page.Locator(".pin").First).Not.ToHaveAttributeAsync("aria-label", before);
        await page.Keyboard.PressAsync("ArrowLeft");
        await Assertions.Expect(page.Locator(".pin").First).ToHaveAttributeAsync("aria-label", before);
        await Reach(page, "Find the seams");
        await page.Keyboard.PressAsync("Enter");
        await page.GetByRole(AriaRole.Link, new() { Name = "See the choices" }).WaitForAsync();
        await Reach(page, "See the choices");
        await page.Keyboard.PressAsync("Enter");
        await page.Locator(".choices img").First.WaitForAsync();
        await Reach(page, "Use choice A");
        await page.Keyboard.PressAsync("Enter");
        await Heading(page, "Sample: six stars: choice A on paper");
        await Reach(page, "Make the sheets and the stitch card");
        await page.Keyboard.PressAsync("Enter");
        await page.GetByText("Stitch card (PDF)").WaitForAsync();
    }

    [Fact]
    public async Task A_quilt_is_renamed_copied_put_away_brought_back_saved_as_one_file_and_opened_again()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Try the sample quilt" }).ClickAsync();
        await page.Locator(".pin").First.WaitForAsync();
        await page.GotoAsync(room.Address.ToString());
        await page.Locator(".shelf summary").ClickAsync();
        await page.Locator(".shelf input").FillAsync("For the guild");
        await page.Locator(".shelf input").PressAsync("Tab");
        await Assertions.Expect(page.Locator(".quilt-name")).ToHaveTextAsync("For the guild");
        await page.GetByRole(AriaRole.Button, new() { Name = "Copy For the guild" }).ClickAsync();
        await Assertions.Expect(page.Locator(".quilt-name")).ToHaveCountAsync(2);

        IAPIResponse parcel = await page.APIRequest.GetAsync(
            new Uri(room.Address, "/export/sample-six-stars").ToString()
        );
        Assert.True(parcel.Ok);
        byte[] zip = await parcel.BodyAsync();

        await page.GetByRole(AriaRole.Button, new() { Name = "Put For the guild away", Exact = true }).ClickAsync();
        await Assertions.Expect(page.Locator(".quilt-name")).ToHaveCountAsync(1);
        await page.GetByRole(AriaRole.Button, new() { Name = "Bring it back" }).ClickAsync();
        await Assertions.Expect(page.Locator(".quilt-name")).ToHaveCountAsync(2);

        await page.GetByText("Open a quilt that was saved as one file").ClickAsync();
        await page.Locator("#zip")
            .SetInputFilesAsync(
                new FilePayload
                {
                    Name = "guild.zip",
                    MimeType = "application/zip",
                    Buffer = zip,
                }
            );
        await page.GetByRole(AriaRole.Button, new() { Name = "Open it" }).ClickAsync();
        await Assertions.Expect(page.Locator(".quilt-name")).ToHaveCountAsync(3);
        await Workroom.Show(page, "6-shelf");
    }

    [Fact]
    public async Task A_file_that_is_no_photo_is_refused_in_words_and_leaves_no_quilt()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync();
        await page.Locator("#photo")
            .SetInputFilesAsync(
                new FilePayload
                {
                    Name = "holiday.jpg",
                    MimeType = "image/jpeg",
                    Buffer = Encoding.ASCII.GetBytes("MZ this is a program, not a picture"),
                }
            );
        await page.GetByRole(AriaRole.Button, new() { Name = "Use this photo" }).ClickAsync();
        await page.Locator(".refusal").WaitForAsync();
        Assert.NotEmpty((await page.Locator(".refusal").TextContentAsync())!);
        Assert.Equal(0, await page.Locator(".shelf li").CountAsync());
        Assert.DoesNotContain(Directory.EnumerateDirectories(room.Folder), d => !Path.GetFileName(d).StartsWith('.'));
    }

    [Fact]
    public async Task A_side_without_a_length_is_said_and_nothing_is_lost()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Try the sample quilt" }).ClickAsync();
        await page.Locator("#width").FillAsync("a yard and a bit");
        await page.GetByRole(AriaRole.Button, new() { Name = "Find the seams" }).ClickAsync();
        await Assertions.Expect(page.Locator(".refusal")).ToContainTextAsync("is no length");
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Find the seams" })).ToBeEnabledAsync();
    }

    [Fact]
    public async Task Foreign_names_and_foreign_pages_get_nothing()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        using HttpClient client = new();
        async Task<HttpStatusCode> Ask(HttpMethod method, string path, string? host, string? origin)
        {
            using HttpRequestMessage request = new(method, new Uri(room.Address, path));
            if (host is not null)
            {
                request.Headers.Host = host;
            }

            if (origin is not null)
            {
                request.Headers.Add("Origin", origin);
            }

            if (method == HttpMethod.Post)
            {
                request.Content = new MultipartFormDataContent { { new ByteArrayContent([1]), "photo", "x.jpg" } };
            }

            using HttpResponseMessage answer = await client.SendAsync(request, Stop);
            return answer.StatusCode;
        }

        string own = room.Address.GetLeftPart(UriPartial.Authority);
        Assert.Equal(HttpStatusCode.OK, await Ask(HttpMethod.Get, "/", null, null));
        Assert.Equal(HttpStatusCode.Forbidden, await Ask(HttpMethod.Get, "/", "quilts.example", null));
        Assert.Equal(HttpStatusCode.Forbidden, await Ask(HttpMethod.Post, "/bring", null, "http://quilts.example"));
        Assert.Equal(HttpStatusCode.Forbidden, await Ask(HttpMethod.Post, "/bring", null, null));
        Assert.Equal(
            HttpStatusCode.Forbidden,
            await Ask(HttpMethod.Post, "/_blazor/negotiate", null, "http://quilts.example")
        );
        Assert.NotEqual(HttpStatusCode.Forbidden, await Ask(HttpMethod.Post, "/bring", null, own));
        Assert.Equal(HttpStatusCode.NotFound, await Ask(HttpMethod.Get, "/files/none/quilt.json", null, null));
        Assert.Equal(
            HttpStatusCode.NotFound,
            await Ask(HttpMethod.Get, "/files/%2e%2e/quilt.settings.json", null, null)
        );
    }

    private static Task Heading(IPage page, string text) =>
        page.GetByRole(
                AriaRole.Heading,
                new()
                {
                    Name = text,
                    Exact = true,
                    Level = 1,
                }
            )
            .WaitForAsync();

    // Tab until a control of this name has the focus, as someone without a pointer does.
    private static async Task Reach(IPage page, string name)
    {
        for (int i = 0; i < 60; i++)
        {
            string focused = await page.EvaluateAsync<string>(
                "() => document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? ''"
            );
            if (focused.Trim().StartsWith(name, StringComparison.Ordinal))
            {
                return;
            }

            await page.Keyboard.PressAsync("Tab");
        }

        Assert.Fail($"\"{name}\" can't be reached by the Tab key.");
    }
}
