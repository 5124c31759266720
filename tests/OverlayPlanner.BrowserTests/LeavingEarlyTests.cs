using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>Whoever goes on before a screen's scripts have come finds the next screen whole.</summary>
public class LeavingEarlyTests(MappedSample sample) : IClassFixture<MappedSample>
{
    [Fact]
    public async Task A_screen_that_is_left_before_its_scripts_have_come_does_not_take_the_next_with_it()
    {
        await using Workroom room = await Workroom.StartAsync(TestContext.Current.CancellationToken);
        sample.CopyTo(room.Folder);
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
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{sample.Id}/map").ToString());
        await page.GetByRole(AriaRole.Link, new() { Name = "See the choices" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).WaitForAsync();
        await page.WaitForTimeoutAsync(2_000);
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await page.Locator(".previews img").First.WaitForAsync();
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
    }
}
