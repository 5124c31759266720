using System.Globalization;
using System.Net;
using System.Text.Json;
using Microsoft.Playwright;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.BrowserTests;

/// <summary>The view of the cloth with its seams, by mouse, fingers and keys.</summary>
public class QuiltViewTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    // Cutting fifty megapixels takes longer than all else here: run by the scoreboard alone.
    [Fact(Explicit = true)]
    public async Task Fifty_megapixels_and_five_thousand_seams_pan_and_zoom()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        KeptQuilt quilt = MadeQuilt.Keep(room.Folder, 50, 50);
        await using IBrowserContext context = await room.NewContextAsync(
            new()
            {
                ViewportSize = new() { Width = 1440, Height = 900 },
            }
        );
        await PanAndZoom.WatchAsync(context);
        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{quilt.Id}/map").ToString());
        await page.Locator(".quilt-view .cloth").WaitForAsync();
        Assert.True(await Drawn(page), "nothing is drawn");

        // Cutting fifty megapixels is no part of panning; the overview stands there meanwhile.
        for (int i = 0; i < 600 && !ClothTiles.AreCut(quilt); i++)
        {
            await Task.Delay(200, Stop);
        }

        Assert.True(ClothTiles.AreCut(quilt), "the tiles are not cut");
        PanAndZoomTimes times = await PanAndZoom.MeasureAsync(page);
        TestContext.Current.TestOutputHelper?.WriteLine(times.ToString());
        await File.WriteAllTextAsync(Path.Combine(Workroom.Pictures, "pan-and-zoom.txt"), times.ToString(), Stop);
        await Workroom.Show(page, "view-50mp");
        const string What = "pan and zoom at 50 MP with 5,100 seams";
        Figures.Note(
            $"{What}: script a frame, P95",
            string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{times.ScriptP95:0.0} ms"),
            "≤ 4 ms",
            times.ScriptP95 <= 4
        );
        Figures.Note(
            $"{What}: longest task over 50 ms",
            string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{times.LongestTask:0} ms"),
            "0 ms",
            times.LongestTask <= 50
        );
        Figures.Note(
            $"{What}: frames painted a second, no graphics card",
            string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{times.PaintsPerSecond:0.0}"),
            "-",
            true
        );

        // The clocks saw the view at work; how long it took belongs to no test.
        Assert.True(times.Frames > 20, times.ToString());
        Assert.True(times.Painted > 5, times.ToString());
    }

    [Theory]
    [InlineData(1440, 900, ColorScheme.Light, Explicit = true)]
    [InlineData(1024, 768, ColorScheme.Dark, Explicit = true)]
    [InlineData(390, 844, ColorScheme.Light, Explicit = true)]
    public async Task Seams_are_chosen_by_a_touch_and_by_keys_and_the_screen_passes_axe(
        int width,
        int height,
        ColorScheme scheme
    )
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        KeptQuilt quilt = MadeQuilt.Keep(room.Folder, 6, 2);
        IPage page = await room.OpenAsync(width, height, scheme, $"/quilt/{quilt.Id}/map");
        ILocator cloth = page.Locator(".quilt-view .cloth");
        Assert.True(await Drawn(page), "nothing is drawn");
        ILocator said = page.Locator(".quilt-view .saying");
        LocatorBoundingBoxResult box = (await cloth.BoundingBoxAsync())!;

        // The middle of the quilt is the corner of four squares: a point.
        await page.Mouse.ClickAsync(box.X + box.Width / 2, box.Y + box.Height / 2);
        await Assertions.Expect(said).ToContainTextAsync("Point where 4 seams meet, 6 in across and 6 in down");
        await page.WaitForTimeoutAsync(400);

        // Half a square to the right: a seam; half a square further down: a patch.
        float half = Math.Min(box.Width, box.Height) / 14;
        await page.Mouse.ClickAsync(box.X + box.Width / 2 + half, box.Y + box.Height / 2);
        await Assertions.Expect(said).ToContainTextAsync("Seam: 2 in long");
        await page.WaitForTimeoutAsync(400);
        await page.Mouse.ClickAsync(box.X + box.Width / 2 + half, box.Y + box.Height / 2 + half);
        await Assertions.Expect(said).ToContainTextAsync("Patch with 4 seams round it");
        string name = string.Create(CultureInfo.InvariantCulture, $"view-{width}-{scheme}");
        await ScreenCheck.Look(page, name);

        // By keys: from seam to seam, in reading order from the top left, and let go.
        await cloth.PressAsync("n");
        await Assertions.Expect(said).ToContainTextAsync("its middle 1 in across and 0 in down");
        await cloth.PressAsync("n");
        await Assertions.Expect(said).ToContainTextAsync("its middle 3 in across and 0 in down");
        await page.Keyboard.PressAsync("p");
        await Assertions.Expect(said).ToContainTextAsync("its middle 1 in across and 0 in down");
        await page.Keyboard.PressAsync("Escape");
        await Assertions.Expect(said).ToContainTextAsync("Nothing chosen");
        await page.Keyboard.PressAsync("+");
        await Assertions.Expect(page.Locator(".quilt-view .zoomed")).ToContainTextAsync("times the whole");

        // By buttons, without a drag.
        await page.GetByLabel("What previous and next go through").SelectOptionAsync("Point");
        await page.GetByRole(AriaRole.Button, new() { Name = "Previous" }).ClickAsync();
        await Assertions.Expect(said).ToContainTextAsync("12 in across and 12 in down");
        await Workroom.Show(page, name + "-near");
        await page.GetByRole(AriaRole.Button, new() { Name = "Whole quilt" }).ClickAsync();
        await Assertions.Expect(page.Locator(".quilt-view .zoomed")).ToHaveTextAsync("The whole quilt");
    }

    [Theory]
    [InlineData("worker")]
    [InlineData("page", Explicit = true)]
    public async Task Two_fingers_pinch_a_place_is_given_by_tap_and_by_keys_and_a_point_is_dragged(string painter)
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        KeptQuilt quilt = MadeQuilt.Keep(room.Folder, 6, 2);
        await using IBrowserContext context = await room.NewContextAsync(
            new()
            {
                ViewportSize = new() { Width = 1024, Height = 768 },
                HasTouch = true,
            }
        );
        if (painter == "page")
        {
            // As in a browser that can't let a worker paint.
            await context.AddInitScriptAsync("delete HTMLCanvasElement.prototype.transferControlToOffscreen");
        }

        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{quilt.Id}/map").ToString());
        await page.Locator(".quilt-view .cloth").WaitForAsync();
        Assert.True(await Drawn(page), "nothing is drawn");
        Assert.Equal(painter == "worker" ? 1 : 0, page.Workers.Count);

        // The same script on a view of its own, whose words to the page are kept here.
        await page.EvaluateAsync(
            """
            async (text) => {
                const old = document.querySelector(".quilt-view");
                const place = old.cloneNode(true);
                old.replaceWith(place);
                const { open } = await import("/_content/OverlayPlanner.Workroom/quilt-view.js");
                globalThis.heard = [];
                globalThis.tried = open(place, { invokeMethodAsync: (...words) => { heard.push(words); } },
                    { left: -1, top: -1, inchesWide: 14, inchesHigh: 14, width: 1414, height: 1414, levels: 0, side: 512, at: "", tiles: "", overview: "/files/none/none" });
                tried.setMap(JSON.parse(text));
                tried.setState({ chosen: null, marked: [], trial: null });
                await new Promise((done) => setTimeout(done, 100));
            }
            """,
            JsonSerializer.Serialize(ClothDrawing.Of(MadeQuilt.Map(6)), JsonSerializerOptions.Web)
        );
        LocatorBoundingBoxResult box = (await page.Locator(".quilt-view .cloth").BoundingBoxAsync())!;
        (double x, double y) = (box.X + box.Width / 2, box.Y + box.Height / 2);
        Task<double> Number(string of) => page.EvaluateAsync<double>($"() => {of}");
        Task State(string tool, string chosen) =>
            page.EvaluateAsync(
                $"() => {{ document.querySelector('.quilt-view .cloth').dataset.tool = '{tool}'; tried.setState({{ chosen: {chosen}, marked: [], trial: null }}); }}"
            );

        // Two fingers, 80 and then 240 pixels apart: three times as large, and what lay between them stays there.
        ICDPSession fingers = await context.NewCDPSessionAsync(page);
        double before = await Number("tried.view.k");
        await Touch(fingers, "touchStart", (x - 40, y), (x + 40, y));
        for (int apart = 50; apart <= 120; apart += 10)
        {
            await Touch(fingers, "touchMove", (x - apart, y), (x + apart, y));
        }

        await Touch(fingers, "touchEnd");
        Assert.InRange(await Number("tried.view.k") / before, 2.8, 3.2);
        Assert.InRange(await Number("tried.view.x + tried.view.w / tried.view.k / 2"), 5.8, 6.2);
        Assert.Equal(0, await Number("heard.length"));

        // One finger pans.
        double left = await Number("tried.view.x");
        double k = await Number("tried.view.k");
        await Touch(fingers, "touchStart", (x, y));
        for (int i = 1; i <= 6; i++)
        {
            await Touch(fingers, "touchMove", (x - 10 * i, y));
        }

        await Touch(fingers, "touchEnd");
        Assert.Equal(left + 60 / k, await Number("tried.view.x"), 0.2);
        await page.EvaluateAsync("() => { tried.whole(); heard.length = 0; }");

        // A double tap zooms.
        before = await Number("tried.view.k");
        await page.Touchscreen.TapAsync((float)x, (float)y);
        await page.Touchscreen.TapAsync((float)x, (float)y);
        Assert.Equal(2, await Number("tried.view.k") / before, 0.01);
        await page.EvaluateAsync("() => { tried.whole(); heard.length = 0; }");

        // A place by tap: the middle of the quilt. And by keys, eight pixels further at each press.
        await State("Place", "null");
        await page.Touchscreen.TapAsync((float)x, (float)y);
        Assert.Equal("Placed", await page.EvaluateAsync<string>("() => heard[0][0]"));
        Assert.Equal(6, await Number("heard[0][1]"), 0.05);
        await page.EvaluateAsync("() => { document.activeElement.blur(); heard.length = 0; }");
        await page.Locator(".quilt-view .tool").First.FocusAsync();
        await page.Keyboard.PressAsync("Shift+Tab");
        await page.Keyboard.PressAsync("ArrowRight");
        await page.Keyboard.PressAsync("ArrowRight");
        await page.Keyboard.PressAsync("Enter");
        k = await Number("tried.view.k");
        Assert.Equal(6 + 16 / k, await Number("heard.find((h) => h[0] === 'Placed')[1]"), 0.02);
        await Workroom.Show(page, "view-place-" + painter);

        // The chosen point is dragged a square to the right, or sent there by one tap on a patch.
        await State("Move", "{ kind: 'Point', id: 'p3x3' }");

        // The focus on a button below may have scrolled the page.
        box = (await page.Locator(".quilt-view .cloth").BoundingBoxAsync())!;
        (x, y) = (box.X + box.Width / 2, box.Y + box.Height / 2);
        await page.EvaluateAsync("() => { heard.length = 0; }");
        await page.Mouse.MoveAsync((float)x, (float)y);
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync((float)(x + 1.5 * k), (float)y, new() { Steps = 5 });
        await page.Mouse.UpAsync();
        Assert.Equal("Moved", await page.EvaluateAsync<string>("() => heard[0][0]"));
        Assert.Equal("p3x3", await page.EvaluateAsync<string>("() => heard[0][1]"));
        Assert.Equal(7.5, await Number("heard[0][2]"), 0.1);
        await page.EvaluateAsync("() => { heard.length = 0; }");
        await page.Touchscreen.TapAsync((float)(x + k), (float)(y + k));
        Assert.Equal("Moved", await page.EvaluateAsync<string>("() => heard[0][0]"));
        Assert.Equal(7, await Number("heard[0][2]"), 0.1);
    }

    [Fact]
    public async Task Tiles_are_served_by_numbers_alone_and_cut_anew_where_they_are_missing()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        KeptQuilt quilt = MadeQuilt.Keep(room.Folder, 6, 2);
        using HttpClient client = new();
        async Task<HttpResponseMessage> Ask(string path) => await client.GetAsync(new Uri(room.Address, path), Stop);

        HttpResponseMessage first = await Ask($"/tiles/{quilt.Id}/0/0/0?at=1");
        Assert.Equal(HttpStatusCode.OK, first.StatusCode);
        Assert.Equal("image/jpeg", first.Content.Headers.ContentType?.MediaType);
        byte[] bytes = await first.Content.ReadAsByteArrayAsync(Stop);
        foreach (string folder in Directory.EnumerateDirectories(quilt.Folder, ".tiles-*").ToArray())
        {
            Directory.Delete(folder, recursive: true);
        }

        Assert.False(ClothTiles.AreCut(quilt));
        Assert.Equal(bytes, await (await Ask($"/tiles/{quilt.Id}/0/0/0")).Content.ReadAsByteArrayAsync(Stop));
        foreach (string none in new[] { "0/99/0", "9/0/0", "-1/0/0", "0/0/x", "0/0/..%2f..%2fquilt.json" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await Ask($"/tiles/{quilt.Id}/{none}")).StatusCode);
        }

        Assert.Equal(HttpStatusCode.NotFound, (await Ask("/tiles/..%2f/0/0/0")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await Ask("/tiles/none/0/0/0")).StatusCode);
    }

    // The canvas shows dark lines and light casings over the cloth: many colours, not one. Read from the screen as a picture.
    private static async Task<bool> Drawn(IPage page)
    {
        for (int i = 0; i < 60; i++)
        {
            byte[] png = await page.Locator(".quilt-view canvas").ScreenshotAsync();

            // A flat picture of this size is a few kilobytes; cloth is no flat picture.
            if (png.Length > 60_000)
            {
                return true;
            }

            await page.WaitForTimeoutAsync(250);
        }

        return false;
    }

    private static Task Touch(ICDPSession fingers, string type, params (double X, double Y)[] at) =>
        fingers.SendAsync(
            "Input.dispatchTouchEvent",
            new Dictionary<string, object>
            {
                ["type"] = type,
                ["touchPoints"] = at.Select(
                        (p, i) =>
                            new
                            {
                                x = p.X,
                                y = p.Y,
                                id = i,
                            }
                    )
                    .ToArray(),
            }
        );
}
