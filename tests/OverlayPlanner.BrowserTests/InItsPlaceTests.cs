using System.Globalization;
using Microsoft.Playwright;
using OverlayPlanner.Workflows.Keeping;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.BrowserTests;

/// <summary>A choice among its neighbours, on tops in the settings that quilts are sewn in.</summary>
public class InItsPlaceTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact(Explicit = true)]
    public async Task A_choice_lies_in_each_neighbour_of_its_kind_and_the_quilts_edge_is_seen()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        // In the middle of three by three it lies in all nine, at the corner in the four there are. On point the corner block has one
        // block along its side and two at its corners. Where two kinds take turns, four of eight neighbours are of the same kind.
        (KeptQuilt Quilt, string Block, int Copies, string Words)[] tops =
        [
            (SewnQuilt.Sashed(room.Folder), "b1", 4, "Stitched alike in 4 blocks"),
            (SewnQuilt.Sashed(room.Folder), "b5", 9, "Stitched alike in 9 blocks"),
            (SewnQuilt.OnPoint(room.Folder), "b1", 4, "Stitched alike in 4 blocks"),
            (SewnQuilt.OnPoint(room.Folder), "b7", 9, "Stitched alike in 9 blocks"),
            (SewnQuilt.WithPlain(room.Folder), "b5", 5, "4 neighbours are of another kind"),
            (SewnQuilt.WithOthers(room.Folder), "b5", 5, "4 neighbours are of another kind"),
        ];
        IPage page = await room.OpenAsync();
        foreach ((KeptQuilt quilt, string block, int copies, string words) in tops)
        {
            // Kept as the screen keeps it: this block is planned at once.
            QuiltStore store = new(room.Folder);
            new ChoiceAsk { Block = block }.Keep(store, store.Open(quilt.Id));
            await page.GotoAsync(new Uri(room.Address, $"/quilt/{quilt.Id}/choices").ToString());
            await page.Locator(".choices img").First.WaitForAsync();
            await page.GetByRole(AriaRole.Button, new() { Name = "In its place" }).ClickAsync();
            ILocator place = page.Locator("svg.place").First;
            await Assertions.Expect(place.Locator("path.way")).ToHaveCountAsync(copies);
            await Assertions.Expect(page.Locator(".choices li").First).ToContainTextAsync(words);
            await Assertions
                .Expect(page.Locator(".choices li").First)
                .ToContainTextAsync("The dark line is the quilt's edge.");
            foreach (int width in new[] { 1440, 1024, 390 })
            {
                await page.SetViewportSizeAsync(width, 900);
                await Workroom.Show(
                    page,
                    string.Create(CultureInfo.InvariantCulture, $"place-{quilt.Id}-{block}-{width}")
                );
            }
        }
    }

    // Every wish and answer in its words: run by the scoreboard alone.
    [Fact(Explicit = true)]
    public async Task Nothing_is_said_in_inches_where_millimetres_are_read()
    {
        string folder = Directory.CreateTempSubdirectory("overlayplanner-metric-").FullName;
        RoomFile.Write(folder, new() { Units = LengthUnits.Millimeters, Asked = true });
        string id = SewnQuilt.OnPoint(folder).Id;
        await using Workroom room = await Workroom.StartAsync(Stop, folder);
        IPage page = await room.OpenAsync(path: $"/quilt/{id}/choices");
        await page.Locator(".choices img").First.WaitForAsync();
        await page.EvaluateAsync("() => document.querySelectorAll('details').forEach(d => d.open = true)");
        await page.Locator("#wish").SelectOptionAsync(nameof(ChoiceWish.FilledEvenly));
        await page.GetByRole(AriaRole.Button, new() { Name = "Watch the needle on choice A" }).ClickAsync();
        await page.Locator(".player[data-ready=yes]").WaitForAsync();
        await Workroom.Show(page, "choices-metric");
        await RequireMetricAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await page.Locator(".previews img").First.WaitForAsync();
        await Workroom.Show(page, "print-metric");
        await page.Locator("#paper").SelectOptionAsync("own");
        await page.Locator("#paper-width").FillAsync("330");
        await page.Locator("#paper-height").FillAsync("480");
        await page.Locator("#paper-height").PressAsync("Tab");
        await page.GetByRole(AriaRole.Button, new() { Name = "Make the sheets and the stitch card" }).ClickAsync();
        await page.GetByRole(AriaRole.Heading, new() { Name = "Ready" }).WaitForAsync();
        await page.EvaluateAsync("() => document.querySelectorAll('details').forEach(d => d.open = true)");
        await RequireMetricAsync(page);
        await Assertions.Expect(page.Locator(".count")).ToContainTextAsync("One sheet of 330 × 480 mm");
        await Assertions.Expect(page.Locator(".steps li").Nth(2)).ToContainTextAsync("(done)");
        await Workroom.Show(page, "print-ready");
    }

    // All that is read, and all that is only heard.
    private static async Task RequireMetricAsync(IPage page)
    {
        string said = await page.EvaluateAsync<string>(
            """
            () => [document.querySelector('main').textContent,
                   ...[...document.querySelectorAll('main [aria-label], main [placeholder]')].map(e => `${e.ariaLabel} ${e.placeholder ?? ''}`)].join(' | ')
            """
        );
        Assert.Contains(" mm", said, StringComparison.Ordinal);
        Assert.DoesNotMatch(@"\d in\b(?! (all|the)\b)|\binch", said);
    }
}
