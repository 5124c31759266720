using Microsoft.Playwright;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;
using SkiaSharp;

namespace OverlayPlanner.BrowserTests;

/// <summary>Trace sheets drawn by Chromium's own PDF reader (PDFium), which many people print from.</summary>
public class SheetInTheBrowserTests
{
    // CSS has 96 pixels to the inch, so that 312.5 % are 300 dots.
    private const string View = "#toolbar=0&navpanes=0&zoom=312.5";
    private const int Dark = 110;

    [Fact]
    public async Task The_check_square_measures_300_dots_both_ways()
    {
        string chromium = Chromium.Find() ?? "";
        Assert.SkipWhen(chromium.Length == 0, Chromium.Missing);
        Route route = RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find("shoofly"), Length.FromInches(6), 1, 1, Length.Zero),
                new RouteWishes { Candidates = 1 }
            )
            .Route;
        string folder = Directory.CreateTempSubdirectory("overlayplanner-sheet-").FullName;
        string pdf = Path.Combine(folder, "sheets.pdf");
        await File.WriteAllBytesAsync(
            pdf,
            TraceSheets.Render(route, route.Candidates[0], new SheetWishes()).Bytes,
            TestContext.Current.CancellationToken
        );
        using IPlaywright playwright = await Playwright.CreateAsync();

        // Only the browser that has a window shows PDF; this is it, its window not shown.
        await using IBrowser browser = await playwright.Chromium.LaunchAsync(
            new()
            {
                ExecutablePath = chromium,
                Headless = false,
                Args = ["--headless=new", "--no-sandbox"],
            }
        );
        IPage page = await browser.NewPageAsync(
            new()
            {
                ViewportSize = new() { Width = 2_700, Height = 3_500 },
            }
        );
        await page.GotoAsync(new Uri(pdf).AbsoluteUri + View);

        (int Width, int Height)? square = null;
        for (int tries = 0; square is null && tries < 20; tries++)
        {
            await page.WaitForTimeoutAsync(500);
            square = SquareIn(await page.ScreenshotAsync());
        }

        Directory.Delete(folder, recursive: true);
        Assert.NotNull(square);
        Assert.InRange(square.Value.Width, 299, 301);
        Assert.InRange(square.Value.Height, 299, 301);
    }

    // The square's sides are the two level lines of about an inch that lie about an inch apart at one place; measured from the
    // middle of one line to the middle of the other.
    private static (int Width, int Height)? SquareIn(byte[] png)
    {
        using SKBitmap picture = SKBitmap.Decode(png);
        SKColor[] pixels = picture.Pixels;
        List<(int Y, int From, int To)> lines = [];
        for (int y = 0; y < picture.Height; y++)
        {
            int from = -1;
            for (int x = 0; x <= picture.Width; x++)
            {
                bool dark =
                    x < picture.Width && pixels[y * picture.Width + x] is var c && c.Red + c.Green + c.Blue < 3 * Dark;
                if (dark && from < 0)
                {
                    from = x;
                }
                else if (!dark && from >= 0)
                {
                    if (x - from is > 280 and < 320)
                    {
                        lines.Add((y, from, x - 1));
                    }

                    from = -1;
                }
            }
        }

        foreach ((int top, int left, int right) in lines)
        {
            (int Y, int From, int To)[] below =
            [
                .. lines.Where(l => l.Y - top is > 280 and < 320 && Math.Abs(l.From - left) <= 1),
            ];
            if (below.Length > 0)
            {
                // Thickness of a side, from the rows of dark pixels that are one line.
                int thick = lines.Count(l => l.Y - top is >= 0 and < 12 && Math.Abs(l.From - left) <= 1);
                return (right - left + 1 - thick, below.Max(l => l.Y) - top + 1 - thick);
            }
        }

        return null;
    }
}
