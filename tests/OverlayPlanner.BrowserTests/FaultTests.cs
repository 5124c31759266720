using Microsoft.Playwright;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>An error that nobody foresaw.</summary>
public class FaultTests(MappedSample sample)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_screen_that_fails_says_so_with_the_id_that_the_log_has_and_the_way_on_stays_open()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);

        // A file that no save of ours leaves so, and that the map's screen takes on trust.
        KeptQuilt quilt = new QuiltStore(room.Folder).Open(sample.CopyTo(room.Folder));
        string place = quilt.PathOf(QuiltSteps.FoundFile);
        byte[] whole = await File.ReadAllBytesAsync(place, Stop);
        await File.WriteAllTextAsync(place, "{\"width\":", Stop);

        IPage page = await room.OpenAsync(390, 844, path: $"/quilt/{quilt.Id}/map");
        await Assertions.Expect(page.Locator("h1")).ToHaveTextAsync("Something went wrong on this screen");
        await ScreenCheck.Look(page, "fault-390-light");
        string id = (await page.Locator(".error-id").TextContentAsync())!;
        string line = (await File.ReadAllLinesAsync(Path.Combine(room.Folder, "workroom.log"), Stop)).Single(l =>
            l.Contains($" error {id} ", StringComparison.Ordinal)
        );
        Assert.Contains($"screen /quilt/{quilt.Id}/map", line, StringComparison.Ordinal);
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();

        // The same line goes on: to another screen and, once the file is whole, to this one.
        await page.GetByRole(AriaRole.Navigation)
            .GetByRole(AriaRole.Link, new() { Name = "Your machine and rulers" })
            .ClickAsync();
        await Assertions.Expect(page.Locator("h1")).ToHaveTextAsync("Your machine and rulers");
        await page.GoBackAsync();
        await Assertions.Expect(page.Locator("h1")).ToHaveTextAsync("Something went wrong on this screen");
        await File.WriteAllBytesAsync(place, whole, Stop);
        await page.GetByRole(AriaRole.Button, new() { Name = "Open the screen again" }).ClickAsync();
        await page.Locator(".quilt-view .cloth").First.WaitForAsync();
    }
}
