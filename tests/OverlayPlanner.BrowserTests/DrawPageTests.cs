using System.Globalization;
using Microsoft.Playwright;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows;
using OverlayPlanner.Workflows.Drawing;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.BrowserTests;

/// <summary>A path drawn by hand in the workroom: mouse, finger, pen and keys in a real browser.</summary>
public class DrawPageTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    // The hand keeps its pace only on a quiet machine: run by the scoreboard alone.
    [Theory(Explicit = true)]
    [InlineData(nameof(PenKind.Pen))]
    [InlineData(nameof(PenKind.Mouse))]
    [InlineData(nameof(PenKind.Touch))]
    public async Task A_shaky_stroke_becomes_the_path_with_every_point_taken(string kind)
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        Easel easel = await Easel.SetAsync(room, "ohio-star");
        string[] trail = easel.Trail(1);
        PenLatency latency = new(easel.Page);
        PenLatencyResult result = await latency.MeasureAsync(await easel.OnPage(trail), Enum.Parse<PenKind>(kind));
        TestContext.Current.SendDiagnosticMessage($"{kind}: {result}");
        Figures.Note(
            $"pen move to snapped line on screen at 120 Hz, {kind.ToLowerInvariant()}, P95",
            string.Create(CultureInfo.InvariantCulture, $"{result.P95:0} ms"),
            "≤ 50 ms",
            result.P95 <= 50
        );
        Figures.Note(
            $"points dropped of a stroke at 120 Hz, {kind.ToLowerInvariant()}",
            string.Create(CultureInfo.InvariantCulture, $"{result.Sent - result.Taken} of {result.Sent}"),
            "0",
            result.Sent == result.Taken
        );
        await Workroom.Show(easel.Page, $"draw-{kind.ToLowerInvariant()}");
        Assert.Equal(result.Sent, result.Seen);
        Assert.Equal(result.Sent, result.Taken);
        await easel.ExpectMoves(trail.Length - 1);
        Assert.Equal(trail[1..], (await easel.Saved(trail.Length - 1)).Select(m => m.To));
    }

    // Minutes of drawing: run by hand, -explicit on.
    [Fact(Explicit = true)]
    public async Task Twenty_paths_of_which_five_go_wrong_and_five_are_finished()
    {
        await using Workroom room = await Workroom.StartAsync(Stop);
        string[] blocks = ["ohio-star", "sawtooth-star", "churn-dash", "pinwheel"];
        Easel[] easels = new Easel[blocks.Length];
        for (int b = 0; b < blocks.Length; b++)
        {
            easels[b] = await Easel.SetAsync(room, blocks[b]);
        }

        int remarks = 0;
        int understood = 0;
        for (int n = 0; n < 20; n++)
        {
            Easel easel = easels[n % blocks.Length];
            string[] trail = easel.Trail(100 + n);
            string name = string.Create(CultureInfo.InvariantCulture, $"path {n} on {blocks[n % blocks.Length]}");
            bool wrong = n % 4 == 1;
            bool stopped = n % 4 == 2;
            if (stopped)
            {
                trail = trail[..Math.Max(2, trail.Length / 2)];
            }

            // On purpose: back over the line just stitched.
            string[] drawn = wrong ? [.. trail, trail[^2]] : trail;
            await PenLatency.PlayAsync(
                easel.Page,
                PenLatency.Shaken(await easel.OnPage(drawn), 4, 10, seed: n),
                PenKind.Mouse,
                pointsPerSecond: 0
            );
            await easel.ExpectMoves(drawn.Length - 1, name);
            bool asMeant = drawn[1..].SequenceEqual((await easel.Saved(drawn.Length - 1)).Select(m => m.To));
            understood += asMeant ? 1 : 0;
            string remark = await easel.Remark();
            if (wrong)
            {
                Assert.Contains("is stitched twice", remark, StringComparison.Ordinal);
                remarks++;
                await easel.Press("Wipe back one");
                await easel.ExpectMoves(drawn.Length - 2, name);
                Assert.DoesNotContain("is stitched twice", await easel.Remark(), StringComparison.Ordinal);
            }
            else
            {
                Assert.DoesNotContain("is stitched twice", remark, StringComparison.Ordinal);
            }

            if (stopped && !remark.StartsWith("Everything", StringComparison.Ordinal))
            {
                await easel.Press("Finish from here");
                await Assertions
                    .Expect(easel.Page.Locator("#draw-remark"))
                    .ToContainTextAsync("Everything is stitched", new() { Timeout = 20_000 });
                Assert.Equal(drawn[1..], (await easel.Saved(null)).Take(drawn.Length - 1).Select(m => m.To));
                if (n < 4)
                {
                    await Workroom.Show(easel.Page, "draw-finished");
                }
            }

            await easel.Press("Rub it all out");
            await easel.ExpectMoves(0, name);
        }

        Figures.Note(
            "paths drawn by mouse, five wrong on purpose and five stopped half-way: understood exactly",
            string.Create(CultureInfo.InvariantCulture, $"{understood} of 20"),
            "20 of 20",
            understood == 20
        );
        Assert.Equal(5, remarks);
        Assert.Equal(20, understood);
    }

    [Fact]
    public async Task By_keys_alone_a_path_is_stitched_wiped_and_kept_for_printing()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Easel easel = await Easel.SetAsync(room, "ohio-star");
        IPage page = easel.Page;
        await easel.Focus();
        await page.Keyboard.PressAsync("ArrowRight");
        await page.Locator(".ring").WaitForAsync();
        await page.Keyboard.PressAsync("Enter");
        await page.Locator(".needle").WaitForAsync();
        foreach (string arrow in new[] { "ArrowRight", "ArrowDown", "ArrowDown", "ArrowRight" })
        {
            string before = await easel.MovesShown();
            await page.Keyboard.PressAsync(arrow);
            await page.Keyboard.PressAsync("Enter");
            await Assertions.Expect(page.Locator(".moves li").First).Not.ToHaveTextAsync(before);
        }

        int moves = await page.Locator(".moves li").CountAsync();
        Assert.True(moves >= 4);
        await page.Keyboard.PressAsync("Backspace");
        await easel.ExpectMoves(moves - 1);
        await Tab(page, "Finish from here");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("#draw-remark")).ToContainTextAsync("Everything is stitched");
        await Tab(page, "Keep this path");
        await page.Keyboard.PressAsync("Enter");
        await page.WaitForURLAsync("**/print");
        await page.GetByRole(AriaRole.Button, new() { Name = "Make the sheets and the stitch card" }).ClickAsync();
        await page.GetByText("Trace sheets (PDF, true size)").WaitForAsync();
        KeptQuilt quilt = new QuiltStore(room.Folder).Open(easel.Quilt);
        RouteCandidate kept = QuiltSteps.RouteOf(quilt)!.CandidateOf(QuiltSteps.ChoiceOf(quilt));
        Assert.StartsWith("drawn by hand", kept.Design, StringComparison.Ordinal);
        Assert.Equal(0, kept.Measures.Missed.Inches);
    }

    [Fact]
    public async Task Taps_arcs_and_the_list_of_moves_work_without_any_dragging()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Easel easel = await Easel.SetAsync(room, "ohio-star");
        string[] trail = easel.Trail(1);
        foreach ((double x, double y) in await easel.OnPage(trail[..5]))
        {
            await easel.Page.Mouse.ClickAsync((float)x + 5, (float)y - 4);
        }

        await easel.ExpectMoves(4);
        Assert.Equal(trail[1..5], (await easel.Saved(4)).Select(m => m.To));
        await easel.Page.GetByRole(AriaRole.Button, new() { Name = "Wipe back to move 2" }).ClickAsync();
        await easel.ExpectMoves(2);
        await easel.Page.Locator("#tap-way").SelectOptionAsync("ArcLeft");
        (double ax, double ay) = (await easel.OnPage([trail[3]]))[0];
        await easel.Page.Mouse.ClickAsync((float)ax, (float)ay);
        await easel.ExpectMoves(3);
        await Assertions.Expect(easel.Page.Locator(".moves li").First).ToContainTextAsync("an arc");
        await easel.Press("Rub it all out");
        await easel.ExpectMoves(0);
        await easel.Page.GetByRole(AriaRole.Button, new() { Name = "Bring it back" }).ClickAsync();
        await easel.ExpectMoves(3);
    }

    [Fact]
    public async Task A_cut_line_is_said_and_what_was_drawn_meanwhile_is_there_afterwards()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        List<IWebSocketRoute> sockets = [];
        bool down = false;
        Easel easel = await Easel.SetAsync(
            room,
            "ohio-star",
            before: async page =>
            {
                // Both ways in: the negotiation and the socket itself.
                await page.RouteAsync("**/_blazor/negotiate*", r => down ? r.AbortAsync() : r.ContinueAsync());
                await page.RouteWebSocketAsync(
                    "**/_blazor*",
                    socket =>
                    {
                        sockets.Add(socket);
                        socket.ConnectToServer();
                    }
                );
            }
        );
        string[] trail = easel.Trail(1);
        await easel.Draw(trail[..4]);
        await easel.ExpectMoves(3);
        Assert.NotEmpty(sockets);
        ILocator note = easel.Page.Locator("#components-reconnect-modal");
        await Assertions.Expect(note).ToBeHiddenAsync();
        down = true;
        await sockets[^1].CloseAsync(new() { Code = 1001 });
        await Assertions.Expect(note).ToBeVisibleAsync(new() { Timeout = 15_000 });
        await easel.Draw(trail[3..7]);
        await Assertions.Expect(easel.Page.Locator(".cut")).ToBeVisibleAsync(new() { Timeout = 15_000 });
        down = false;
        await Assertions.Expect(easel.Page.Locator(".moves li")).ToHaveCountAsync(6, new() { Timeout = 60_000 });
        await Assertions.Expect(easel.Page.Locator(".cut")).ToBeHiddenAsync();
        await Assertions.Expect(note).ToBeHiddenAsync();
        Assert.Equal(trail[1..7], (await easel.Saved(6)).Select(m => m.To));
    }

    [Fact]
    public async Task What_was_drawn_is_there_again_when_she_comes_back()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Easel easel = await Easel.SetAsync(room, "churn-dash");
        string[] trail = easel.Trail(3);
        await easel.Draw(trail[..4]);
        await easel.ExpectMoves(3);
        await easel.Saved(3);
        await easel.Page.ReloadAsync();
        await easel.Page.Locator(".board[data-ready]").WaitForAsync();
        await easel.ExpectMoves(3);
    }

    [Fact]
    public async Task Strokes_beside_the_block_and_numbers_that_are_none_break_nothing()
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Easel easel = await Easel.SetAsync(room, "ohio-star");
        IPage page = easel.Page;
        LocatorBoundingBoxResult box = (await page.Locator(".board").BoundingBoxAsync())!;

        // Pressed on the board's rim and dragged out of it, to where nothing is.
        await PenLatency.PlayAsync(
            page,
            PenLatency.Shaken([(box.X + 3, box.Y + 3), (box.X - 60, box.Y - 30)], 2, 4, seed: 1),
            PenKind.Mouse,
            pointsPerSecond: 0
        );
        await easel.ExpectMoves(0);

        // Thousands of points in one place, and coordinates that are no number: the page's own script with a spoilt matrix.
        await page.EvaluateAsync(
            """
            async () => {
                const board = document.querySelector('.board');
                const box = board.getBoundingClientRect();
                const at = (type, x, y) => board.dispatchEvent(new PointerEvent(type,
                    { clientX: x, clientY: y, pointerId: 1, isPrimary: true, button: type === 'pointermove' ? -1 : 0, bubbles: true }));
                board.setPointerCapture = () => {};
                at('pointerdown', box.left + 200, box.top + 200);
                for (let i = 0; i < 5000; i++) {
                    at('pointermove', box.left + 200 + (i % 2) * 0.01, box.top + 200);
                    if (i % 500 === 0) { await new Promise((on) => setTimeout(on, 5)); }
                }
                const real = DOMPoint.prototype.matrixTransform;
                DOMPoint.prototype.matrixTransform = () => new DOMPoint(NaN, NaN);
                await new Promise((on) => setTimeout(on, 5));
                at('pointermove', box.left + 250, box.top + 200);
                at('pointerup', box.left + 260, box.top + 200);
                DOMPoint.prototype.matrixTransform = real;
            }
            """
        );
        await page.WaitForTimeoutAsync(800);
        await Assertions.Expect(page.Locator("#blazor-error-ui")).ToBeHiddenAsync();
        string[] trail = easel.Trail(1);
        await easel.Draw(trail[..3]);
        await easel.ExpectMoves(2);
    }

    [Theory]
    [InlineData(1440, 900, ColorScheme.Light)]
    [InlineData(390, 844, ColorScheme.Dark, Explicit = true)]
    [InlineData(1024, 768, ColorScheme.Dark, Explicit = true)]
    [InlineData(390, 844, ColorScheme.Light, Explicit = true)]
    public async Task The_screen_passes_axe_and_fits_its_width(int width, int height, ColorScheme scheme)
    {
        await using Workroom room = await Workroom.ShareAsync(Stop);
        Easel easel = await Easel.SetAsync(
            room,
            "ohio-star",
            columns: 2,
            rows: 2,
            width: width,
            height: height,
            scheme: scheme
        );
        string name = string.Create(
            CultureInfo.InvariantCulture,
            $"draw-{width}-{scheme.ToString().ToLowerInvariant()}"
        );
        await ScreenCheck.Look(easel.Page, name + "-empty");
        await easel.Draw(easel.Trail(1));
        await easel.Page.Locator("input[type=checkbox]").CheckAsync();
        await easel.Page.Locator("figure svg").WaitForAsync();
        await Assertions.Expect(easel.Page.Locator("figure path[data-block]")).ToHaveCountAsync(4);
        await ScreenCheck.Look(easel.Page, name);
    }

    private static async Task Tab(IPage page, string name)
    {
        for (int i = 0; i < 60; i++)
        {
            string focused = await page.EvaluateAsync<string>("() => document.activeElement?.textContent ?? ''");
            if (focused.Trim() == name)
            {
                return;
            }

            await page.Keyboard.PressAsync("Tab");
        }

        Assert.Fail($"\"{name}\" can't be reached by the Tab key.");
    }

    /// <summary>A quilt of a library block with its draw page open.</summary>
    private sealed class Easel(IPage page, QuiltStore store, string quilt, QuiltMap map)
    {
        public IPage Page => page;

        public string Quilt => quilt;

        public static async Task<Easel> SetAsync(
            Workroom room,
            string block,
            int columns = 1,
            int rows = 1,
            int width = 1440,
            int height = 900,
            ColorScheme scheme = ColorScheme.Light,
            Func<IPage, Task>? before = null
        )
        {
            string file = Path.Combine(room.Folder, $"{block}-{Guid.NewGuid():N}.json");
            (_, QuiltMap map) = DraftBlocks.Run(
                block,
                Length.FromInches(12),
                columns,
                rows,
                Length.Zero,
                file,
                new OutputFiles(force: true),
                Stop
            );
            QuiltStore store = new(room.Folder);
            KeptQuilt quilt = store.Create(block);
            store.Save(quilt, (QuiltStore.MapFile, await File.ReadAllBytesAsync(file, Stop)));
            IPage page = await room.OpenAsync(width, height, scheme);
            if (before is not null)
            {
                await before(page);
            }

            await page.GotoAsync(new Uri(room.Address, $"/quilt/{quilt.Id}/draw?block={map.Blocks[0].Id}").ToString());
            await page.Locator(".board[data-ready]").WaitForAsync();
            return new(page, store, quilt.Id, map);
        }

        /// <summary>A trail over the first block's inner seams, never twice, as far as it goes.</summary>
        public string[] Trail(int seed)
        {
            Random die = new(seed);
            HashSet<string> own = [.. map.Blocks[0].Patches.SelectMany(p => map.PatchOf(p).Seams)];
            Seam[] inner = [.. map.Seams.Where(s => s.Role == SeamRole.Seam && own.Contains(s.Id))];
            HashSet<string> used = [];
            string at = inner[die.Next(inner.Length)].From;
            List<string> trail = [at];
            while (
                inner.Where(s => !used.Contains(s.Id) && (s.From == at || s.To == at)).ToArray() is { Length: > 0 } next
            )
            {
                Seam s = next[die.Next(next.Length)];
                used.Add(s.Id);
                at = s.From == at ? s.To : s.From;
                trail.Add(at);
            }

            return [.. trail];
        }

        /// <summary>Where points are on the page, pixels.</summary>
        public async Task<IReadOnlyList<(double X, double Y)>> OnPage(IReadOnlyList<string> points)
        {
            await page.Locator(".board").ScrollIntoViewIfNeededAsync();
            double[] m = await page.EvaluateAsync<double[]>(
                "() => { const m = document.querySelector('.board svg').getScreenCTM(); return [m.a, m.d, m.e, m.f]; }"
            );
            return
            [
                .. points.Select(p =>
                {
                    Point<ClothSpace> at = map.JunctionOf(p).Place;
                    return (m[0] * at.X + m[2], m[1] * at.Y + m[3]);
                }),
            ];
        }

        public async Task Draw(IReadOnlyList<string> trail) =>
            await PenLatency.PlayAsync(
                page,
                PenLatency.Shaken(await OnPage(trail), 3, 9, seed: 5),
                PenKind.Mouse,
                pointsPerSecond: 0
            );

        public Task Focus() => page.Locator(".board").FocusAsync();

        public async Task<string> MovesShown() =>
            await page.Locator(".moves li").CountAsync() == 0
                ? "none"
                : (await page.Locator(".moves li").First.TextContentAsync())!;

        public Task<string> Remark() => page.Locator("#draw-remark").InnerTextAsync();

        public Task Press(string name) =>
            page.GetByRole(AriaRole.Button, new() { Name = name, Exact = true }).ClickAsync();

        public async Task ExpectMoves(int count, string? what = null)
        {
            try
            {
                await Assertions.Expect(page.Locator(".moves li")).ToHaveCountAsync(count, new() { Timeout = 10_000 });
            }
            catch (PlaywrightException e)
            {
                await Workroom.Show(page, "draw-failed");
                Assert.Fail($"{what ?? "the path"}: {e.Message}");
            }
        }

        /// <summary>What is kept on the disk, once it holds so many moves.</summary>
        public async Task<IReadOnlyList<DrawnMove>> Saved(int? count)
        {
            for (int i = 0; ; i++)
            {
                DrawingBoard board = new(map, map.Blocks[0].Id);
                Assert.True(new KeptDrawing(store, store.Open(quilt)).Restore(board));
                if (board.Moves.Count == count || (count is null && board.Standing.IsWhole))
                {
                    return board.Moves;
                }

                Assert.True(i < 100, "The moves that are shown are not all kept.");
                await Task.Delay(100, Stop);
            }
        }
    }
}
