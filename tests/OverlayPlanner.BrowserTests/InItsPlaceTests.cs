using System.Globalization;
using Microsoft.Playwright;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>A choice among its neighbours, on tops in the settings that quilts are sewn in.</summary>
public class InItsPlaceTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_choice_lies_in_each_neighbour_as_that_one_is_sewn()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        (KeptQuilt Quilt, string Block, int Copies)[] tops =
        [
            (SewnQuilt.Sashed(room.Folder), "b5", 9),
            (SewnQuilt.Sashed(room.Folder), "b1", 4),
            (SewnQuilt.OnPoint(room.Folder), "b7", 9),
            (SewnQuilt.OnPoint(room.Folder), "b1", 2),
            (SewnQuilt.WithPlain(room.Folder), "b5", 5),
            (SewnQuilt.WithOthers(room.Folder), "b5", 5),
        ];
        IPage page = await room.OpenAsync();
        foreach ((KeptQuilt quilt, string block, int copies) in tops)
        {
            await page.SetViewportSizeAsync(1440, 900);
            await page.GotoAsync(new Uri(room.Address, $"/quilt/{quilt.Id}/choices").ToString());
            await page.Locator(".choices img").First.WaitForAsync();
            if (block != "b1")
            {
                await page.Locator("#block").SelectOptionAsync(block);
                await page.Locator("[aria-label=Planning]").WaitForAsync(new() { State = WaitForSelectorState.Detached });
            }

            await page.GetByRole(AriaRole.Button, new() { Name = "In its place" }).ClickAsync();
            await page.Locator("svg.place").First.WaitForAsync();
            foreach (int width in new[] { 1440, 1024, 390 })
            {
                await page.SetViewportSizeAsync(width, 900);
                await Workroom.Show(
                    page,
                    string.Create(CultureInfo.InvariantCulture, $"place-{quilt.Id}-{block}-{width}")
                );
            }
            TestContext.Current.SendDiagnosticMessage(
                $"{quilt.Name} {block} {await page.Locator("svg.place").First.Locator("path.way").CountAsync()} {copies}"
            );
        }
    }
}
