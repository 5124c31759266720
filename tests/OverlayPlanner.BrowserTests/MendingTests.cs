using System.Globalization;
using Microsoft.Playwright;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>A map put right in the workroom, by mouse, by touch and by keyboard.</summary>
public class MendingTests(MappedSample mapped)
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact(Explicit = true)]
    public async Task Ten_wrong_seams_are_mended_by_mouse_in_at_most_thirty_actions()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.TenWrong);
        IPage page = await room.OpenAsync(path: sample.Path);
        Hand hand = new(page, sample);
        await Workroom.Show(page, "mend-1-spoiled");
        System.Diagnostics.Stopwatch watch = System.Diagnostics.Stopwatch.StartNew();

        // What is doubtful is asked; false seams go with one press each.
        await hand.Press("Walk through them");
        await page.GetByRole(AriaRole.Button, new() { Name = "Skip" }).WaitForAsync();
        while (await page.GetByRole(AriaRole.Button, new() { Name = "Skip" }).CountAsync() > 0)
        {
            string before = (await page.Locator(".look").TextContentAsync())!;
            bool isFalse = await sample.AskedIsFalseAsync(page);
            await hand.Press(isFalse ? "Take it out" : "It is there");
            await Assertions.Expect(page.Locator(".look")).Not.ToHaveTextAsync(before);
        }

        await Workroom.Show(page, "mend-2-walked");
        await hand.Press("Whole quilt");
        foreach (Edge<ClothSpace> wrong in sample.SureFalse)
        {
            await hand.Touch(wrong.PointAt(0.5));
            await hand.Press("Take this seam out");
            await hand.Said("Took out a seam");
        }

        foreach ((Point<ClothSpace> now, Point<ClothSpace> right) in sample.Moved)
        {
            await hand.Touch(now);
            await page.WaitForTimeoutAsync(700);
            await hand.Press("Move this point");
            await hand.Touch(right);
            await hand.Said("Moved a point");
        }

        await hand.Touch(sample.Arc.From.Toward(sample.Arc.To, 0.5));
        await hand.Press("Make it an arc");
        await hand.Touch(sample.Arc.PointAt(0.5));
        await hand.Said("Made a seam an arc");

        await hand.Press("Add a seam");
        for (int i = 0; i < sample.Missed.Count; i++)
        {
            await hand.Touch(sample.Missed[i].From);
            await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("ends");
            await hand.Touch(sample.Missed[i].To);
            await hand.Said("Added a seam");
        }

        await hand.Press("Stop placing");
        watch.Stop();
        await Workroom.Show(page, "mend-3-mended");
        Assert.InRange(hand.Actions, 10, 30);
        Figures.Note(
            "ten wrong seams mended, actions",
            hand.Actions.ToString(CultureInfo.InvariantCulture),
            "≤ 30",
            hand.Actions <= 30
        );

        // A person looks and aims for longer than a program does: four seconds each are added. Ours, no source.
        double minutes = (watch.Elapsed.TotalSeconds + 4 * hand.Actions) / 60;
        Figures.Note(
            "ten wrong seams mended, time with 4 s of thought an action",
            string.Create(CultureInfo.InvariantCulture, $"{minutes:0.0} min"),
            "≤ 3 min",
            minutes <= 3
        );
        TestContext.Current.TestOutputHelper?.WriteLine(FormattableString.Invariant($"{hand.Actions} actions"));

        // Saved as it went: another browser has the true map.
        AssertSame(sample.True, sample.Kept());
        IPage other = await room.OpenAsync(path: sample.Path);
        await Assertions
            .Expect(other.Locator("dt:text-is('Seams') + dd"))
            .ToHaveTextAsync(sample.True.Seams.Count.ToString(CultureInfo.InvariantCulture));
    }

    [Fact]
    public async Task A_doubtful_seam_is_taken_out_and_brought_back_by_keyboard_alone()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.TenWrong);
        IPage page = await room.OpenAsync(path: sample.Path);
        byte[] before = sample.Bytes();
        await Reach(page, "Walk through them");
        await page.Keyboard.PressAsync("Enter");
        await Reach(page, "Take it out");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Took out a seam");
        Assert.NotEqual(before, sample.Bytes());
        await page.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Undone: took out a seam");
        Assert.Equal(before, sample.Bytes());
        await page.Keyboard.PressAsync("Control+Shift+Z");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Done again: took out a seam");
        await Reach(page, "Undo: took out a seam");
        await page.Keyboard.PressAsync("Enter");
        await Assertions
            .Expect(page.GetByRole(AriaRole.Button, new() { Name = "Redo: took out a seam" }))
            .ToBeEnabledAsync();
        Assert.Equal(before, sample.Bytes());
    }

    [Fact]
    public async Task A_seam_is_added_by_the_cross_and_the_keys_alone()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.AsFound);
        IPage page = await room.OpenAsync(path: sample.Path);
        byte[] before = sample.Bytes();
        await Reach(page, "Add a seam");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Touch where the seam begins");
        await Reach(page, "The cloth of");

        // From the middle of the quilt, a point, to a place between two others.
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("ends");
        await page.Keyboard.PressAsync("Shift+ArrowDown");
        await page.Keyboard.PressAsync("Shift+ArrowRight");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Added a seam");
        Assert.NotEqual(before, sample.Bytes());
        Assert.True(sample.Kept().Seams.Count > sample.True.Seams.Count);
        await page.Keyboard.PressAsync("Control+z");
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Undone: added a seam");
        Assert.Equal(before, sample.Bytes());
    }

    [Fact]
    public async Task A_seam_is_taken_out_by_touch_on_a_phone()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.TenWrong);
        IBrowserContext context = await room.NewContextAsync(
            new()
            {
                ViewportSize = new() { Width = 390, Height = 844 },
                HasTouch = true,
                IsMobile = true,
            }
        );
        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(room.Address, sample.Path).ToString());
        await page.GetByRole(AriaRole.Button, new() { Name = "Walk through them" }).TapAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Take it out" }).TapAsync();
        await Assertions.Expect(page.Locator(".tell")).ToContainTextAsync("Took out a seam");
        int seams = sample.Kept().Seams.Count;
        Edge<ClothSpace> wrong = sample.SureFalse[0];
        Hand hand = new(page, sample);
        await page.GetByRole(AriaRole.Button, new() { Name = "Whole quilt" }).TapAsync();
        await hand.Touch(wrong.PointAt(0.5), tap: true);
        await page.GetByRole(AriaRole.Button, new() { Name = "Take this seam out" }).TapAsync();
        await Assertions
            .Expect(page.Locator("dt:text-is('Seams') + dd"))
            .Not.ToHaveTextAsync(seams.ToString(CultureInfo.InvariantCulture));
        Assert.True(sample.Kept().Seams.Count < seams);
        await Workroom.Show(page, "mend-touch");
    }

    [Fact]
    public async Task A_second_tab_is_refused_in_words_and_opens_the_quilt_again()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.TenWrong);
        IPage one = await room.OpenAsync(path: sample.Path);
        IPage two = await room.OpenAsync(path: sample.Path);
        foreach (IPage page in new[] { one, two })
        {
            await page.GetByRole(AriaRole.Button, new() { Name = "Walk through them" }).ClickAsync();
        }

        await one.GetByRole(AriaRole.Button, new() { Name = "Take it out" }).ClickAsync();
        await Assertions.Expect(one.Locator(".tell")).ToContainTextAsync("Saved");
        byte[] saved = sample.Bytes();
        await two.GetByRole(AriaRole.Button, new() { Name = "Take it out" }).ClickAsync();
        await Assertions.Expect(two.Locator(".refusal")).ToContainTextAsync("changed in another window");
        await Workroom.Show(two, "mend-two-tabs");
        Assert.Equal(saved, sample.Bytes());
        await two.GetByRole(AriaRole.Button, new() { Name = "Open it again" }).ClickAsync();
        await Assertions.Expect(two.Locator(".refusal")).ToHaveCountAsync(0);
        await two.GetByRole(AriaRole.Button, new() { Name = "Undo: took out a seam" }).ClickAsync();
        await Assertions.Expect(two.Locator(".tell")).ToContainTextAsync("Undone");
        Assert.NotEqual(saved, sample.Bytes());
    }

    [Fact]
    public async Task One_block_is_named_and_taught_to_its_copies_and_sizes_are_said_with_their_error()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.AsFound);
        IPage page = await room.OpenAsync(path: sample.Path);
        Hand hand = new(page, sample);
        await hand.ChooseBlock();
        await Assertions.Expect(page.Locator(".part dl")).ToContainTextAsync("within");
        QuiltMap before = sample.Kept();
        int copies = before.Blocks.Count(b => b.Pattern == before.Blocks[0].Pattern) - 1;
        string teach =
            copies == 1
                ? "Make the other copy like this one"
                : FormattableString.Invariant($"Make the other {copies} copies like this one");
        await Workroom.Show(page, "mend-block");
        byte[] untaught = sample.Bytes();
        await hand.Press(teach);
        await hand.Said("Fitted the copies of a block to the photo");
        byte[] taught = sample.Bytes();
        QuiltMap fitted = sample.Kept();
        Assert.Equal(before.Blocks.Select(b => b.Id), fitted.Blocks.Select(b => b.Id));
        AssertSame(before, fitted);

        // Whole, even where the program was ended in between: another visit finds it again without the picture.
        await page.ReloadAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Undo: fitted the copies of a block to the photo" })
            .ClickAsync();
        await hand.Said("Undone: fitted the copies of a block to the photo");
        Assert.Equal(untaught, sample.Bytes());
        await page.GetByRole(AriaRole.Button, new() { Name = "Redo: fitted the copies of a block to the photo" })
            .ClickAsync();
        await hand.Said("Done again: fitted the copies of a block to the photo");
        Assert.Equal(taught, sample.Bytes());
        await hand.ChooseBlock();
        await hand.Press("Turn a quarter");
        await hand.Said("Turned a block by a quarter");
        await Workroom.Show(page, "mend-turned");
        await hand.Press("Mirror");
        await hand.Said("Mirrored a block");
        Assert.Contains(sample.Kept().Blocks, b => b is { Turn: 3, Mirror: true });
        await hand.Press("Undo: mirrored a block");
        await hand.Said("Undone: mirrored a block");
        await hand.Press("Undo: turned a block by a quarter");
        await hand.Said("Undone: turned a block by a quarter");
        Assert.Equal(taught, sample.Bytes());
        await page.GetByLabel("Its name, the library's or your own").FillAsync("Aunt May's star");
        await hand.Press("Name it");
        await hand.Said("Named a block");
        Assert.Contains(sample.Kept().Blocks, b => b.Called == "Aunt May's star");
        await Assertions.Expect(page.Locator("#part-title")).ToHaveTextAsync("Aunt May's star");
    }

    [Fact]
    public async Task A_block_is_outlined_by_four_touches_and_by_keys_and_what_is_doubtful_is_in_view_on_a_phone()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.AsFound);
        IPage page = await room.OpenAsync(path: sample.Path);
        Hand hand = new(page, sample);
        Block block = sample.Kept().Blocks[0];
        int blocks = sample.Kept().Blocks.Count;
        await hand.ChooseBlock();
        await hand.Press("It is no block");
        await hand.Said("Took a block off");
        byte[] without = sample.Bytes();
        await hand.Press("Whole quilt");
        await hand.Press("Outline a block");
        foreach (int corner in new[] { 2, 0, 3, 1 })
        {
            await hand.Touch(block.Corners[corner]);
            await Workroom.Show(page, "mend-outline");
        }

        await hand.Said("Added a block");
        QuiltMap outlined = sample.Kept();
        Assert.Equal(blocks, outlined.Blocks.Count);
        Assert.Equal(block.Corners, outlined.Blocks[^1].Corners);
        await hand.Press("Undo: added a block");
        await hand.Said("Undone: added a block");
        Assert.Equal(without, sample.Bytes());

        // By keys: the cross begins in the middle of the view; four places about it, wherever they are, make a block.
        await hand.Press("Outline a block");
        await page.Locator(".quilt-view .cloth").FocusAsync();
        foreach (string arrow in new[] { "ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp" })
        {
            for (int i = 0; i < 12; i++)
            {
                await page.Keyboard.PressAsync(arrow);
            }

            await page.Keyboard.PressAsync("Enter");
        }

        await hand.Said("Added a block");
        Assert.Equal(blocks, sample.Kept().Blocks.Count);

        // On a phone, what to look at first is seen without scrolling.
        IPage phone = await room.OpenAsync(390, 844, path: sample.Path);
        LocatorBoundingBoxResult look = (await phone.Locator(".look").BoundingBoxAsync())!;
        await Workroom.Show(phone, "mend-390-first");
        Assert.InRange(look.Y + look.Height, 0, 844);
    }

    [Theory]
    [InlineData(1440, 900, ColorScheme.Light, Explicit = true)]
    [InlineData(390, 844, ColorScheme.Dark, Explicit = true)]
    [InlineData(1024, 768, ColorScheme.Dark, Explicit = true)]
    public async Task Every_state_of_the_map_passes_axe_and_fits_its_width(int width, int height, ColorScheme scheme)
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Spoiled sample = Spoil(room, SpoiledMap.TenWrong);
        IPage page = await room.OpenAsync(width, height, scheme, sample.Path);
        string name = string.Create(
            CultureInfo.InvariantCulture,
            $"mend-{width}-{scheme.ToString().ToLowerInvariant()}"
        );
        Hand hand = new(page, sample);
        await ScreenCheck.Look(page, $"{name}-map");
        await hand.Press("Walk through them");
        await ScreenCheck.Look(page, $"{name}-walk");
        await hand.Press("Take it out");
        await hand.Said("Took out a seam");
        await hand.Press("Make it an arc");
        await page.GetByLabel("Rise, such as 1/2 in").WaitForAsync();
        await ScreenCheck.Look(page, $"{name}-arc");
        await hand.ChooseBlock();
        await ScreenCheck.Look(page, $"{name}-block");
        await hand.Press("Add a seam");
        await ScreenCheck.Look(page, $"{name}-add");
    }

    private static void AssertSame(QuiltMap expected, QuiltMap actual)
    {
        Assert.Equal(expected.Patches.Count, actual.Patches.Count);
        Assert.Equal(expected.Seams.Count, actual.Seams.Count);
        foreach ((QuiltMap one, QuiltMap other) in new[] { (expected, actual), (actual, expected) })
        {
            foreach (Seam seam in one.Seams)
            {
                Edge<ClothSpace> path = one.EdgeOf(seam);
                Assert.All(
                    [0.1, 0.5, 0.9],
                    t =>
                        Assert.True(
                            other.Seams.Min(s => other.EdgeOf(s).Nearest(path.PointAt(t)).Distance) < 0.125,
                            $"{seam.Id} at {path.PointAt(t)}"
                        )
                );
            }
        }
    }

    private Spoiled Spoil(Workroom room, SpoiledMap how)
    {
        string id = mapped.CopyTo(room.Folder);
        return Spoiled.Make(new QuiltStore(room.Folder), id, how);
    }

    // Tab until a control of this name has the focus, as someone without a pointer does.
    private static async Task Reach(IPage page, string name)
    {
        for (int i = 0; i < 80; i++)
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

    /// <summary>A hand at the mouse that counts what it does.</summary>
    private sealed class Hand(IPage page, Spoiled sample)
    {
        public int Actions { get; private set; }

        public async Task Press(string name)
        {
            Actions++;
            await page.GetByRole(AriaRole.Button, new() { Name = name, Exact = true }).First.ClickAsync();
            string? tool = name switch
            {
                "Move this point" or "Make it an arc" or "Add a seam" or "Outline a block" => "Place",
                "Stop placing" => "Look",
                _ => null,
            };
            if (tool is not null)
            {
                // A program is faster than the view; a hand is not.
                await page.Locator($".quilt-view [data-tool={tool}]").WaitForAsync();
            }
        }

        public async Task Touch(Point<ClothSpace> at, bool tap = false)
        {
            Actions++;
            ILocator view = page.Locator(".quilt-view .cloth");
            await view.ScrollIntoViewIfNeededAsync();
            LocatorBoundingBoxResult box =
                await view.BoundingBoxAsync() ?? throw new InvalidOperationException("The view is not seen.");

            // The whole quilt is shown: as large as fits, in the middle.
            ClothPicture c = sample.Cloth;
            double k = Math.Min(box.Width / c.Width, box.Height / c.Height);
            float x = (float)(box.X + box.Width / 2 + k * (at.X - c.Left - c.Width / 2));
            float y = (float)(box.Y + box.Height / 2 + k * (at.Y - c.Top - c.Height / 2));
            if (tap)
            {
                await page.Touchscreen.TapAsync(x, y);
            }
            else
            {
                await page.Mouse.ClickAsync(x, y);
            }
        }

        // What is refused is shown at once and not waited for.
        public async Task Said(string words)
        {
            await page.Locator(".tell")
                .Filter(new() { HasText = words })
                .Or(page.Locator(".refusal, #blazor-error-ui:visible"))
                .First.WaitForAsync();
            Assert.Contains(
                words,
                await page.Locator(".tell, .refusal, #blazor-error-ui:visible")
                    .AllInnerTextsAsync()
                    .ContinueWith(t => string.Join(" | ", t.Result), Stop),
                StringComparison.Ordinal
            );
            if (words is "Moved a point" or "Made a seam an arc")
            {
                await page.Locator(".quilt-view [data-tool=Look]").WaitForAsync();
            }
        }

        public async Task ChooseBlock()
        {
            await page.GetByText("Blocks by name").ClickAsync();
            Actions++;
            await page.Locator(".kinds button").First.ClickAsync();
            Actions++;
            await page.Locator("#block-name").WaitForAsync();
        }
    }
}
