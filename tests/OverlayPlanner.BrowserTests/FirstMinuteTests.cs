using System.Globalization;
using Microsoft.Playwright;
using UglyToad.PdfPig;

namespace OverlayPlanner.BrowserTests;

/// <summary>The first minute in an empty workroom, the settings, the walk through and the preview of what is printed.</summary>
public class FirstMinuteTests(MappedSample sample)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task The_walk_goes_from_an_empty_room_to_sheets_in_five_presses_and_says_each_one()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await OpenAsync(room);
        int presses = 0;
        async Task Press(string name)
        {
            presses++;
            await Named(page, name).ClickAsync();
        }

        await Press("Walk me through");
        foreach (string next in new[] { "Find the seams", "See the choices", "Use choice A" })
        {
            // What the line says to press is there to be pressed.
            await Assertions.Expect(page.Locator("aside.walk")).ToContainTextAsync($"“{next}”");
            await Workroom.Show(page, FormattableString.Invariant($"walk-{presses}"));
            await Press(next);
        }

        await Assertions.Expect(page.Locator("aside.walk")).ToContainTextAsync("“Make the sheets and the stitch card”");
        await Press("Make the sheets and the stitch card");
        await page.GetByText("Trace sheets (PDF, true size)").WaitForAsync();
        Assert.Equal(5, presses);
        await Named(page, "Finish the walk through").ClickAsync();
        await Assertions.Expect(page.Locator("aside.walk")).ToHaveCountAsync(0);
    }

    [Fact(Explicit = true)]
    public async Task The_walk_can_be_left_anywhere_and_is_taken_up_again_from_home()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await OpenAsync(room);
        await Named(page, "Walk me through").ClickAsync();
        await page.Locator(".pin").First.WaitForAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Your quilts", Exact = true }).ClickAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Go on where you were" }).ClickAsync();
        await page.Locator(".pin").First.WaitForAsync();
        await Named(page, "Leave the walk through").ClickAsync();
        await Assertions.Expect(page.Locator("aside.walk")).ToHaveCountAsync(0);
        await page.GetByRole(AriaRole.Link, new() { Name = "Your quilts", Exact = true }).ClickAsync();
        await Assertions.Expect(Named(page, "Walk me through")).ToBeVisibleAsync();
    }

    [Fact]
    public async Task The_first_visit_s_questions_go_with_one_press_and_stay_away()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await OpenAsync(room);
        await Named(page, "Skip for now").ClickAsync();
        await Assertions.Expect(page.Locator(".first")).ToHaveCountAsync(0);
        IPage other = await OpenAsync(room);
        await Assertions.Expect(Named(other, "Walk me through")).ToBeVisibleAsync();
        Assert.Equal(0, await other.Locator(".first").CountAsync());
    }

    [Fact]
    public async Task Answers_rulers_and_units_outlive_the_program()
    {
        string kept = Path.Combine(Path.GetTempPath(), $"overlayplanner-kept-{Guid.NewGuid():N}");
        Directory.CreateDirectory(kept);
        await using (Workroom room = await Workroom.StartAsync(Stop))
        {
            IPage page = await OpenAsync(room, path: "/settings");
            await page.GetByLabel("Foot, straight across").FillAsync("9/16");
            await page.GetByLabel("Throat, needle to machine body").FillAsync("18");
            await page.GetByLabel("Only those that I tick").CheckAsync();
            await page.GetByLabel("6 in circle").CheckAsync();
            await page.GetByText("Add a ruler of mine by measuring it").ClickAsync();
            await page.GetByLabel("What you call it").FillAsync("Grandma's curve");
            await page.GetByLabel("1, end to end").FillAsync("8");
            await page.GetByLabel("2, height over the middle").FillAsync("5");
            await Named(page, "Add this ruler").ClickAsync();

            // No arc is higher than half its chord.
            await Assertions.Expect(page.Locator(".add .refusal")).ToContainTextAsync("at most half");
            await page.GetByLabel("2, height over the middle").FillAsync("1 1/4");
            await Named(page, "Add this ruler").ClickAsync();
            await Assertions.Expect(page.GetByText("2 rulers ticked.")).ToBeVisibleAsync();
            await Workroom.Show(page, "settings-own");
            await Named(page, "Keep these settings").ClickAsync();
            await page.GetByText("Kept. The next plan uses them.").WaitForAsync();
            await page.GetByLabel("millimetres").CheckAsync();
            await Assertions.Expect(page.GetByLabel("Foot, straight across")).ToHaveValueAsync("14.29 mm");
            foreach (string file in new[] { "room.json", "rulers.json" })
            {
                File.Copy(Path.Combine(room.Folder, file), Path.Combine(kept, file));
            }
        }

        await using Workroom again = await Workroom.StartAsync(Stop, kept);
        IPage after = await OpenAsync(again, path: "/settings");
        await Assertions.Expect(after.GetByLabel("millimetres")).ToBeCheckedAsync();
        await Assertions.Expect(after.GetByLabel("Foot, straight across")).ToHaveValueAsync("14.29 mm");
        await Assertions.Expect(after.GetByLabel("Throat, needle to machine body")).ToHaveValueAsync("457.2 mm");
        await Assertions.Expect(after.GetByLabel("152 mm circle")).ToBeCheckedAsync();
        await Assertions.Expect(after.GetByLabel("Grandma's curve")).ToBeCheckedAsync();
        await Assertions.Expect(after.GetByText("203 mm from end to end, 32 mm high")).ToBeVisibleAsync();
    }

    [Fact]
    public async Task Settings_that_can_t_be_are_refused_in_words_and_a_damaged_file_does_not_stop_the_room()
    {
        string kept = Path.Combine(Path.GetTempPath(), $"overlayplanner-kept-{Guid.NewGuid():N}");
        Directory.CreateDirectory(kept);
        await File.WriteAllTextAsync(Path.Combine(kept, "room.json"), "{ half a fi", Stop);
        await using Workroom room = await Workroom.StartAsync(Stop, kept);
        IPage page = await OpenAsync(room);
        await Assertions
            .Expect(page.Locator(".refusal:visible").First)
            .ToContainTextAsync("Your settings can't be read");
        await page.GotoAsync(new Uri(room.Address, "/settings").ToString());
        foreach ((string foot, string said) in new[] { ("2", "A foot of 2 in can't be"), ("wide", "is no length") })
        {
            await page.GetByLabel("Foot, straight across").FillAsync(foot);
            await Named(page, "Keep these settings").ClickAsync();
            await Assertions.Expect(page.Locator(".refusal")).ToContainTextAsync(said);
        }

        await page.GetByLabel("Foot, straight across").FillAsync("1/2");
        await Named(page, "Keep these settings").ClickAsync();
        await page.GetByText("Kept. The next plan uses them.").WaitForAsync();
        Assert.Equal("{ half a fi", await File.ReadAllTextAsync(Path.Combine(kept, "room-put-aside-1.json"), Stop));
    }

    [Fact(Explicit = true)]
    public async Task The_preview_shows_the_pages_that_the_pdf_then_has()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await OpenAsync(room);
        await ToPrint(room, page);
        foreach (
            (string paper, string each) in new[]
            {
                ("letter", "top"),
                ("tabloid", "top"),
                ("own", "top"),
                ("a4", "blocks"),
            }
        )
        {
            string before = (await page.Locator(".previews img").First.GetAttributeAsync("src"))!;
            await page.GetByLabel("Sheets of").SelectOptionAsync(each);
            await page.GetByLabel("Paper", new() { Exact = true }).SelectOptionAsync(paper);
            if (paper == "own")
            {
                await page.GetByLabel("Wide").FillAsync("13");
                await page.GetByLabel("High").FillAsync("482.6mm");
                await page.GetByLabel("High").PressAsync("Tab");
            }

            if (paper != "letter")
            {
                await Assertions.Expect(page.Locator(".previews img").First).Not.ToHaveAttributeAsync("src", before);
            }

            await Named(page, "Make the sheets and the stitch card").ClickAsync();
            await page.GetByText("Done.").WaitForAsync();
            string link = (await page.GetByText("Trace sheets (PDF, true size)").GetAttributeAsync("href"))!;
            IAPIResponse pdf = await page.APIRequest.GetAsync(new Uri(room.Address, link).ToString());
            using PdfDocument sheets = PdfDocument.Open(await pdf.BodyAsync());
            Assert.Equal(sheets.NumberOfPages, await page.Locator(".previews li").CountAsync());
            for (int n = 1; n <= sheets.NumberOfPages; n++)
            {
                ILocator picture = page.Locator(".previews img").Nth(n - 1);
                await picture.ScrollIntoViewIfNeededAsync();
                await page.WaitForFunctionAsync(
                    "e => e.complete && e.naturalWidth > 0",
                    await picture.ElementHandleAsync()
                );
                double aspect = await picture.EvaluateAsync<double>("e => e.naturalWidth / e.naturalHeight");
                Assert.Equal(sheets.GetPage(n).Width / sheets.GetPage(n).Height, aspect, 0.005);
            }
        }

        // Kept with the quilt.
        await page.ReloadAsync();
        await Assertions.Expect(page.GetByLabel("Paper", new() { Exact = true })).ToHaveValueAsync("a4");
        await Assertions.Expect(page.GetByLabel("Sheets of")).ToHaveValueAsync("blocks");
    }

    [Theory]
    [InlineData(1440, 900, ColorScheme.Light, Explicit = true)]
    [InlineData(1024, 768, ColorScheme.Dark, Explicit = true)]
    [InlineData(390, 844, ColorScheme.Light, Explicit = true)]
    public async Task These_screens_pass_axe_and_fit_their_width(int width, int height, ColorScheme scheme)
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await OpenAsync(room, width, height, scheme);
        string name = string.Create(CultureInfo.InvariantCulture, $"first-{width}");
        await ScreenCheck.Look(page, $"{name}-empty");
        await page.GotoAsync(new Uri(room.Address, "/settings").ToString());
        await page.GetByLabel("Only those that I tick").CheckAsync();
        await page.GetByLabel("4 in shallow arc").CheckAsync();
        await page.GetByText("Add a ruler of mine by measuring it").ClickAsync();
        await ScreenCheck.Look(page, $"{name}-settings");
        await page.GotoAsync(room.Address.ToString());
        await Named(page, "Walk me through").ClickAsync();
        await page.Locator(".pin").First.WaitForAsync();
        await ScreenCheck.Look(page, $"{name}-walk");
        await page.GotoAsync(room.Address.ToString());
        await page.Locator(".shelf").WaitForAsync();
        await ScreenCheck.Look(page, $"{name}-shelf");
        await page.Locator(".quilt-name").ClickAsync();
        await page.Locator(".pin").First.WaitForAsync();
        await FromPhotoToPrint(page);
        await page.WaitForFunctionAsync("() => document.querySelector('.previews img').complete");
        await ScreenCheck.Look(page, $"{name}-print");
    }

    [Fact]
    public async Task The_settings_are_made_by_keyboard_alone()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        IPage page = await OpenAsync(room, path: "/settings");
        await Reach(page, "#foot");
        await page.Keyboard.TypeAsync("1/2");
        await Reach(page, "[name=rulers]");
        await page.Keyboard.PressAsync("ArrowDown");
        await Assertions.Expect(page.GetByLabel("Only those that I tick")).ToBeCheckedAsync();
        await page.GetByLabel("2 in circle", new() { Exact = false }).First.WaitForAsync();
        await Reach(page, ".rack input");
        await page.Keyboard.PressAsync("Space");
        await Assertions.Expect(page.GetByText("1 ruler ticked.")).ToBeVisibleAsync();
        await Reach(page, ".go button");
        await page.Keyboard.PressAsync("Enter");
        await page.GetByText("Kept. The next plan uses them.").WaitForAsync();
    }

    // Finding seams takes a minute where the machine is busy with other work.
    private static async Task<IPage> OpenAsync(
        Workroom room,
        int width = 1440,
        int height = 900,
        ColorScheme scheme = ColorScheme.Light,
        string path = "/"
    )
    {
        IPage page = await room.OpenAsync(width, height, scheme, path);
        page.SetDefaultTimeout(180_000);
        return page;
    }

    private static ILocator Named(IPage page, string name) =>
        page.GetByRole(AriaRole.Button, new() { Name = name, Exact = true })
            .Or(page.GetByRole(AriaRole.Link, new() { Name = name, Exact = true }));

    // What is mapped and planned already, to its sheets.
    private async Task ToPrint(Workroom room, IPage page)
    {
        string id = sample.CopyPlannedTo(room.Folder);
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/choices").ToString());
        await Named(page, "Use choice A").ClickAsync();
        await page.Locator(".previews img").First.WaitForAsync();
    }

    private static async Task FromPhotoToPrint(IPage page)
    {
        await Named(page, "Find the seams").ClickAsync();
        await Named(page, "See the choices").ClickAsync();
        await Named(page, "Use choice A").ClickAsync();
        await page.Locator(".previews img").First.WaitForAsync();
    }

    // Tab until this has the focus, as someone without a pointer does.
    private static async Task Reach(IPage page, string selector)
    {
        for (int i = 0; i < 120; i++)
        {
            if (await page.EvaluateAsync<bool>("s => document.activeElement?.matches(s) ?? false", selector))
            {
                return;
            }

            await page.Keyboard.PressAsync("Tab");
        }

        Assert.Fail($"{selector} can't be reached by the Tab key.");
    }
}
