using System.Globalization;
using Microsoft.Playwright;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>A photo dropped on the screen, followed on its way, stopped, and told what is wrong with it.</summary>
public class BringPhotoTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_photo_is_dropped_anywhere_and_what_is_wrong_with_it_is_said_before_the_pins()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync();
        await Script(page);
        await DropAsync(page, SmallPhotos.BlurredAndDark(1_600, 1_200), "evening.jpg", "footer");
        await page.Locator(".quality").WaitForAsync();
        string said = await page.Locator(".quality").InnerTextAsync();
        Assert.Contains("blurred", said, StringComparison.Ordinal);
        Assert.Contains("rest it on the rail", said, StringComparison.Ordinal);
        Assert.Contains("too dark", said, StringComparison.Ordinal);
        foreach ((int width, int height) in new[] { (1440, 900), (1024, 768), (390, 844) })
        {
            await page.SetViewportSizeAsync(width, height);
            await ScreenCheck.Look(page, string.Create(CultureInfo.InvariantCulture, $"bring-quality-{width}"));
        }

        await page.SetViewportSizeAsync(1440, 900);
        await page.GetByRole(AriaRole.Button, new() { Name = "Take it again" }).ClickAsync();
        await Assertions.Expect(page.Locator("#another")).ToBeFocusedAsync();
        await ScreenCheck.Look(page, "bring-again");
        await page.GetByRole(AriaRole.Button, new() { Name = "Keep this photo" }).ClickAsync();

        // Pins as they lie, 960 px apart: 96 in wide that is 10 to the inch.
        await page.Locator("#width").FillAsync("96");
        await page.Locator("#height").FillAsync("72");
        await page.Locator("#height").PressAsync("Tab");
        await Assertions.Expect(page.Locator(".at-pins")).ToContainTextAsync("10 pixels to the inch");
        await ScreenCheck.Look(page, "bring-far");
        await page.GetByRole(AriaRole.Button, new() { Name = "Go on with this photo" }).ClickAsync();
        await Assertions.Expect(page.Locator(".quality")).ToHaveCountAsync(0);
        await page.ReloadAsync();
        await page.Locator(".pin").First.WaitForAsync();
        Assert.Equal(0, await page.Locator(".quality").CountAsync());
        Assert.Equal("evening", Assert.Single(new QuiltStore(room.Folder).List()).Name);
    }

    [Fact(Explicit = true)]
    public async Task A_photo_on_its_way_shows_how_far_it_is_and_can_be_stopped()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await room.OpenAsync(390, 844);
        await Script(page);

        // A slow line: the three megabytes would take half a minute.
        ICDPSession line = await page.Context.NewCDPSessionAsync(page);
        await line.SendAsync("Network.enable");
        await line.SendAsync(
            "Network.emulateNetworkConditions",
            new()
            {
                ["offline"] = false,
                ["latency"] = 0,
                ["downloadThroughput"] = -1,
                ["uploadThroughput"] = 100_000,
            }
        );
        byte[] noise = new byte[3_000_000];
        new Random(4).NextBytes(noise);
        await page.Locator("#photo")
            .SetInputFilesAsync(
                new FilePayload
                {
                    Name = "long.jpg",
                    MimeType = "image/jpeg",
                    Buffer = noise,
                }
            );
        await page.GetByRole(AriaRole.Button, new() { Name = "Use this photo" }).ClickAsync();
        ILocator stop = page.GetByRole(AriaRole.Button, new() { Name = "Stop", Exact = true });
        await Assertions.Expect(stop).ToBeFocusedAsync();
        await Assertions.Expect(page.Locator(".sending-words")).ToContainTextAsync(" %");
        await page.WaitForFunctionAsync(
            "() => { const v = document.querySelector('.sending progress').value; return v > 0 && v < 100; }"
        );
        await ScreenCheck.Look(page, "bring-sending-390");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".bring-said")).ToHaveTextAsync("Stopped. Nothing was kept.");
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Use this photo" })).ToBeFocusedAsync();
        Assert.Empty(new QuiltStore(room.Folder).List());

        // The plain form does the same without its script.
        IPage plain = await room.OpenAsync();
        await plain
            .Locator("#photo")
            .SetInputFilesAsync(
                new FilePayload
                {
                    Name = "plain.jpg",
                    MimeType = "image/jpeg",
                    Buffer = SmallPhotos.Plain(1_600, 1_200),
                }
            );
        await plain.EvaluateAsync("() => document.querySelector('.bring-form').submit()");
        await plain.Locator(".pin").First.WaitForAsync();
    }

    // What is dropped before the script has come goes the browser's own way.
    private static Task Script(IPage page) =>
        page.WaitForFunctionAsync(
            "() => performance.getEntriesByType('resource').some(r => r.name.includes('bring-photo'))"
        );

    private static async Task DropAsync(IPage page, byte[] photo, string name, string onto)
    {
        IJSHandle data = await page.EvaluateHandleAsync(
            """
            ([bytes, name]) => {
                const data = new DataTransfer();
                const binary = atob(bytes);
                data.items.add(new File([Uint8Array.from(binary, c => c.charCodeAt(0))], name, { type: "image/jpeg" }));
                return data;
            }
            """,
            new[] { Convert.ToBase64String(photo), name }
        );
        await page.DispatchEventAsync(onto, "dragenter", new { dataTransfer = data });
        await Assertions.Expect(page.Locator(".bring-form.over")).ToHaveCountAsync(1);
        await page.DispatchEventAsync(onto, "drop", new { dataTransfer = data });
    }
}
