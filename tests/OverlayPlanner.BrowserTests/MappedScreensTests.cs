using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>What holds on all screens of a quilt that has its map.</summary>
public class MappedScreensTests(MappedSample sample)
{
    [Fact]
    public async Task A_screen_that_is_left_before_its_scripts_have_come_does_not_take_the_next_with_it()
    {
        await using Workroom room = await Workroom.StartAsync(TestContext.Current.CancellationToken);
        string id = sample.CopyPlannedTo(room.Folder);
        IPage page = await room.OpenAsync();
        page.SetDefaultTimeout(30_000);
        await page.RouteAsync(
            "**/_content/OverlayPlanner.Workroom/*.js",
            async route =>
            {
                await Task.Delay(1_500);
                await route.ContinueAsync();
            }
        );
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/map").ToString());
        await page.GetByRole(AriaRole.Link, new() { Name = "See the choices" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).WaitForAsync();
        await page.WaitForTimeoutAsync(2_000);
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await page.Locator(".previews img").First.WaitForAsync();
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task In_millimetres_no_screen_says_an_inch()
    {
        await using Workroom room = await Workroom.StartAsync(TestContext.Current.CancellationToken);
        string id = sample.CopyPlannedTo(room.Folder);
        IPage page = await room.OpenAsync(path: "/settings");
        await page.GetByLabel("millimetres").CheckAsync();
        await page.GetByText("Lengths are shown so on every screen.").WaitForAsync();
        await NoInches(page);
        await page.GotoAsync(room.Address.ToString());
        await page.Locator(".shelf").WaitForAsync();
        await NoInches(page);
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/photo").ToString());

        // The sample's 36 × 24 in; a bare number is millimetres now.
        await Assertions.Expect(page.Locator("#width")).ToHaveValueAsync("914.4 mm");
        await page.Locator("#width").FillAsync("9144");
        await page.Locator("#height").FillAsync("6096");
        await page.Locator("#height").PressAsync("Tab");
        await Assertions.Expect(page.Locator(".at-pins")).ToContainTextAsync("pixels to the centimetre");
        await NoInches(page);
        await page.Locator("#width").FillAsync("a yard");
        await page.GetByRole(AriaRole.Button, new() { Name = "Find the seams" }).ClickAsync();
        await Assertions.Expect(page.Locator(".refusal")).ToContainTextAsync("in millimetres: 305");
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/map").ToString());
        await page.GetByRole(AriaRole.Link, new() { Name = "See the choices" }).WaitForAsync();
        await NoInches(page);
        await page.GetByRole(AriaRole.Link, new() { Name = "See the choices" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).WaitForAsync();
        foreach (ILocator details in await page.Locator("main details").AllAsync())
        {
            await details.EvaluateAsync("d => { d.open = true; }");
        }

        await NoInches(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await page.Locator(".previews img").First.WaitForAsync();
        string print = await page.Locator("main").InnerTextAsync();
        Assert.Contains("216 × 279 mm", print, StringComparison.Ordinal);
        await NoInches(page);
    }

    // A number before the unit; "7 in the list" is a place.
    private static async Task NoInches(IPage page) =>
        Assert.DoesNotMatch(@"\d ?(in|inch|inches)\b(?! the)", await page.Locator("main").InnerTextAsync());
}
