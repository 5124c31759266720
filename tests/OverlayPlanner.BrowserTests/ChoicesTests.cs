using System.Globalization;
using Microsoft.Playwright;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.BrowserTests;

/// <summary>The choices as a quilter looks through them, in a real browser.</summary>
public class ChoicesTests(MappedSample sample)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData(1440, 900, ColorScheme.Light)]
    [InlineData(1024, 768, ColorScheme.Dark, Explicit = true)]
    [InlineData(390, 844, ColorScheme.Light, Explicit = true)]
    public async Task Choices_in_their_place_pass_axe_and_fit(int width, int height, ColorScheme scheme)
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        IPage page = await room.OpenAsync(width, height, scheme);
        await ToChoices(room, page);
        await page.GetByRole(AriaRole.Button, new() { Name = "In its place" }).ClickAsync();
        await page.Locator(".choices svg.place").First.WaitForAsync();
        await page.GetByText("Where to start and end").ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Watch the needle on choice A" }).ClickAsync();
        await page.Locator(".player[data-ready=yes]").WaitForAsync();

        // The sample has two rows of three: the first block has three blocks round it, all of its kind.
        Assert.True(await page.Locator("svg.place").First.Locator("path.way").CountAsync() > 1);
        await ScreenCheck.Look(page, string.Create(CultureInfo.InvariantCulture, $"choices-{width}"));
    }

    [Theory]
    [InlineData(ReducedMotion.NoPreference)]
    [InlineData(ReducedMotion.Reduce)]
    public async Task Play_moves_the_needle_to_the_end_and_back(ReducedMotion motion)
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        IPage page = await room.OpenAsync();
        await page.EmulateMediaAsync(new() { ReducedMotion = motion });
        await ToChoices(room, page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Watch the needle on choice A" }).ClickAsync();
        ILocator player = page.Locator(".player[data-ready=yes]");
        await player.WaitForAsync();
        await player.Locator(".speed").FillAsync("4");
        await page.EvaluateAsync(
            """
            () => {
                window.heard = [];
                const place = document.querySelector('.player .heard');
                new MutationObserver(() => window.heard.push(place.textContent)).observe(place, { childList: true });
            }
            """
        );
        await player.Locator("[data-do=play]").ClickAsync();
        await page.WaitForFunctionAsync("() => Number(document.querySelector('.player').dataset.at) > 1");
        await page.WaitForFunctionAsync(
            "() => document.querySelector('.place[type=range]').value === '1000'",
            null,
            new() { Timeout = 120_000 }
        );

        // At the end the key plays again, and every line lies there.
        await Assertions.Expect(player.Locator("[data-do=play]")).ToHaveTextAsync("Play");
        Assert.True(
            await page.EvaluateAsync<bool>(
                "() => [...document.querySelectorAll('.player path.step')].every(p => p.style.visibility === 'visible')"
            )
        );

        // Who listens hears that it went quiet and where it came to stand, not every step between.
        string[] heard = await page.EvaluateAsync<string[]>("() => window.heard.filter(t => t !== '')");
        Assert.StartsWith("Step ", Assert.Single(heard), StringComparison.Ordinal);
        double end = await At(page);
        await player.Locator("[data-do=reverse]").ClickAsync();
        await page.WaitForFunctionAsync("e => Number(document.querySelector('.player').dataset.at) < e - 1", end);
    }

    [Fact]
    public async Task The_needle_goes_by_keys_alone()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        IPage page = await room.OpenAsync();
        await ToChoices(room, page);
        await page.GetByRole(AriaRole.Button, new() { Name = "Watch the needle on choice A" }).FocusAsync();
        await page.Keyboard.PressAsync("Enter");
        await page.Locator(".player[data-ready=yes]").WaitForAsync();
        await page.Keyboard.PressAsync("Tab");
        await page.Keyboard.PressAsync("ArrowRight");
        double one = await At(page);
        Assert.True(one > 0);
        await page.Keyboard.PressAsync("ArrowRight");
        Assert.True(await At(page) > one);
        await page.Keyboard.PressAsync("ArrowLeft");
        Assert.Equal(one, await At(page), 1e-3);
        await page.Keyboard.PressAsync("End");
        Assert.Equal("1000", await page.Locator(".player .place").InputValueAsync());
        await page.Keyboard.PressAsync("Home");
        Assert.Equal(0, await At(page));
        await page.Keyboard.PressAsync("+");
        await Assertions.Expect(page.Locator(".player .pace")).ToHaveTextAsync("1.41 times the usual");
        await page.Keyboard.PressAsync("-");
        await page.Keyboard.PressAsync("End");
        double last = await At(page);
        await page.Keyboard.PressAsync("Shift+Space");
        await page.WaitForFunctionAsync("e => Number(document.querySelector('.player').dataset.at) < e", last);
        await page.Keyboard.PressAsync("Shift+Space");
        await Assertions.Expect(page.Locator(".player .heard")).ToContainTextAsync("Step ");
    }

    [Fact]
    public async Task A_touched_start_plans_again_and_is_said()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        IPage page = await room.OpenAsync();
        await ToChoices(room, page);
        await page.GetByText("Where to start and end").ClickAsync();
        await page.Locator(".point").First.ClickAsync();

        // The first point is a corner of the quilt, whose edge is left alone: said, with what to do.
        await Assertions.Expect(page.Locator(".refusal")).ToContainTextAsync("choose to stitch the quilt's edge");
        await Assertions.Expect(page.Locator(".doing")).ToContainTextAsync("as planned before that wish");
        await page.GetByText("More wishes").ClickAsync();
        await Planned(page, () => page.Locator("#outline").SelectOptionAsync("any"));
        await Assertions.Expect(page.Locator(".points summary")).ToContainTextAsync("start at point 1");
        await Assertions.Expect(page.Locator(".point").First).ToHaveTextAsync("S");
        await Assertions.Expect(page.Locator(".refusal")).ToHaveCountAsync(0);
        await Assertions.Expect(page.Locator(".more summary")).ToContainTextAsync("the quilt's edge too");

        // The end by touch; the point keeps the focus, so that the next one is a step away by keys.
        await page.GetByRole(AriaRole.Button, new() { Name = "Touch the end" }).ClickAsync();
        await Planned(page, () => page.Locator(".point").Nth(1).PressAsync("Enter"));
        await Assertions.Expect(page.Locator(".points summary")).ToContainTextAsync("end at point 2");
        await Assertions.Expect(page.Locator(".point").Nth(1)).ToBeFocusedAsync();

        // What was asked stands there again when the screen is opened anew.
        await page.ReloadAsync();
        await page.Locator(".choices img").First.WaitForAsync();
        await Assertions.Expect(page.Locator(".points summary")).ToContainTextAsync("start at point 1");
        Assert.Equal("any", await page.Locator("#outline").InputValueAsync());
    }

    [Fact]
    public async Task A_choice_does_not_overwrite_what_another_window_did()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        IPage page = await room.OpenAsync();
        await ToChoices(room, page);
        IPage other = await room.OpenAsync(path: new Uri(page.Url).AbsolutePath);
        await other.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await other.GetByRole(AriaRole.Button, new() { Name = "Make the sheets and the stitch card" }).WaitForAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Use choice A" }).ClickAsync();
        await Assertions.Expect(page.Locator(".refusal")).ToContainTextAsync("changed in another window");
    }

    // Plans once for each wish: run by the scoreboard alone.
    [Fact(Explicit = true)]
    public async Task Every_wish_is_met_or_answered_and_planned_again()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        string quilt = SewnQuilt.Sashed(room.Folder).Id;
        IPage page = await room.OpenAsync(path: $"/quilt/{quilt}/choices");
        await page.Locator(".choices img").First.WaitForAsync();
        await Planned(page, () => page.Locator("#lines").SelectOptionAsync("curves"));
        await AskAgain(ChoiceWish.FewestRulers, "Plan again with the straight ruler only", "Straight ruler only");

        // What was planned again stands among the wishes, and is taken back there.
        await Assertions.Expect(page.Locator(".more summary")).ToContainTextAsync("straight ruler only");
        await Planned(page, () => page.Locator("#rulers").SelectOptionAsync("own"));
        await Assertions.Expect(page.Locator(".more summary")).Not.ToContainTextAsync("straight ruler only");
        await Planned(page, () => page.Locator("#lines").SelectOptionAsync("curves"));
        await AskAgain(ChoiceWish.NothingAdded, "Plan again with nothing added", "Adds nothing");
        await AskAgain(
            ChoiceWish.EndsAtTheRight,
            "Plan again to end on the right side",
            "Ends at the right-hand neighbour"
        );
        await AskAgain(ChoiceWish.FilledEvenly, "Plan again with no open circle wider than 2 in", "Widest open gap");
        await page.Locator("#wish").SelectOptionAsync(nameof(ChoiceWish.LeastTime));
        await Planned(page, () => page.Locator("#threads").SelectOptionAsync("two"));
        await Assertions.Expect(page.Locator(".choices").GetByText("in two threads").First).ToBeVisibleAsync();
        await page.Locator("#round").SelectOptionAsync("last");
        await Assertions.Expect(page.Locator(".refusal")).ToContainTextAsync("the same thread all over under Threads");
        await Planned(page, () => page.Locator("#threads").SelectOptionAsync("same"));
        await Assertions.Expect(page.Locator(".refusal")).ToHaveCountAsync(0);
        await Planned(page, () => page.Locator("#block").SelectOptionAsync(""));
        await page.Locator("#wish").SelectOptionAsync("EndsAtTheRight");
        await Assertions.Expect(page.Locator(".answer")).ToContainTextAsync("Choose one block under For.");
        Assert.DoesNotContain("--", await page.Locator("main").InnerTextAsync(), StringComparison.Ordinal);

        async Task AskAgain(ChoiceWish wish, string again, string met)
        {
            await page.Locator("#wish").SelectOptionAsync(wish.ToString());
            await Assertions.Expect(page.Locator(".answer p")).ToContainTextAsync("of these");
            ILocator button = page.GetByRole(AriaRole.Button, new() { Name = again });
            await Planned(page, () => button.ClickAsync());
            await Assertions.Expect(page.Locator(".refusal")).ToHaveCountAsync(0);
            await Assertions.Expect(page.Locator(".choices .judged").First).ToContainTextAsync(met);
            await Assertions.Expect(button).ToHaveCountAsync(0);
        }
    }

    private static async Task Planned(IPage page, Func<Task> touch)
    {
        string before = await page.Locator(".choices").GetAttributeAsync("data-plans") ?? "";
        await touch();
        await Assertions
            .Expect(page.Locator(".choices"))
            .Not.ToHaveAttributeAsync("data-plans", before, new() { Timeout = 60_000 });
        await page.Locator(".choices li").First.WaitForAsync();
    }

    private async Task ToChoices(Workroom room, IPage page)
    {
        string id = sample.CopyPlannedTo(room.Folder);
        await page.GotoAsync(new Uri(room.Address, $"/quilt/{id}/choices").ToString());
        await page.Locator(".choices img").First.WaitForAsync();
    }

    private static Task<double> At(IPage page) =>
        page.EvaluateAsync<double>("() => Number(document.querySelector('.player').dataset.at)");
}
