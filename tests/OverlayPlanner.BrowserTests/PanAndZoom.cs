using System.Text.Json;
using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>What panning and zooming a quilt costs the browser.</summary>
/// <param name="Frames">Frames in which the page's own thread had work to do for the view.</param>
/// <param name="ScriptP95">Milliseconds of script on the page's own thread that 95 of 100 of these frames stay within: the frame's own callback and the events before it.</param>
/// <param name="LongestTask">Milliseconds of the longest task on the page's own thread over 50 ms, or 0 where there was none (W3C, Long Tasks API).</param>
/// <param name="Painted">Frames that the painting worker painted; 0 where the page paints itself.</param>
/// <param name="PaintP95">Milliseconds of script in the worker that 95 of 100 of them stay within.</param>
/// <param name="LongestPaint">Milliseconds of the longest.</param>
/// <param name="PaintsPerSecond">Frames painted to the second while the view moved.</param>
internal sealed record PanAndZoomTimes(
    int Frames,
    double ScriptP95,
    double LongestTask,
    int Painted,
    double PaintP95,
    double LongestPaint,
    double PaintsPerSecond
);

/// <summary>
/// Drags and zooms the view of a quilt as a hand does, and measures. <see cref="WatchAsync"/> must run before the page is opened.
/// </summary>
internal static class PanAndZoom
{
    private const string Watch = """
        (() => {
            const kept = { frames: [], tasks: [], events: 0, on: false };
            globalThis.panAndZoom = kept;
            const frame = globalThis.requestAnimationFrame.bind(globalThis);
            globalThis.requestAnimationFrame = (work) => frame((at) => {
                const from = performance.now();
                work(at);
                if (kept.on) {
                    kept.frames.push(performance.now() - from + kept.events);
                    kept.events = 0;
                }
            });
            const listen = EventTarget.prototype.addEventListener;
            EventTarget.prototype.addEventListener = function (name, work, more) {
                if (!["pointermove", "wheel"].includes(name) || typeof work !== "function") {
                    return listen.call(this, name, work, more);
                }
                return listen.call(this, name, function (event) {
                    const from = performance.now();
                    work.call(this, event);
                    kept.events += kept.on ? performance.now() - from : 0;
                }, more);
            };
            new PerformanceObserver((list) => {
                if (kept.on) {
                    kept.tasks.push(...list.getEntries().map((e) => e.duration));
                }
            }).observe({ type: "longtask" });
        })()
        """;

    private const string WatchWorker = """
        () => {
            const kept = { paints: [], from: performance.now() };
            globalThis.panAndZoom = kept;
            const frame = globalThis.requestAnimationFrame.bind(globalThis);
            globalThis.requestAnimationFrame = (work) => frame((at) => {
                const from = performance.now();
                work(at);
                kept.paints.push(performance.now() - from);
            });
        }
        """;

    /// <summary>Puts the clocks into every page of this context that is opened from now on.</summary>
    public static Task WatchAsync(IBrowserContext context) => context.AddInitScriptAsync(Watch);

    /// <summary>Pans and zooms the view that the page shows, for some seconds.</summary>
    /// <param name="page">A page that shows the view, opened after <see cref="WatchAsync"/>.</param>
    /// <param name="strokes">How many drags, each followed by a turn of the wheel.</param>
    public static async Task<PanAndZoomTimes> MeasureAsync(IPage page, int strokes = 8)
    {
        LocatorBoundingBoxResult box =
            await page.Locator(".quilt-view .cloth").BoundingBoxAsync()
            ?? throw new InvalidOperationException("The view is not seen.");
        IWorker? worker = page.Workers.Count > 0 ? page.Workers[0] : null;
        if (worker is not null)
        {
            await worker.EvaluateAsync<JsonElement?>(WatchWorker);
        }

        (float x, float y) = (box.X + box.Width / 2, box.Y + box.Height / 2);
        await page.EvaluateAsync("() => { panAndZoom.on = true; }");
        for (int i = 0; i < strokes; i++)
        {
            // In to the threads of the cloth, and out again.
            float turn = i < strokes / 2 ? -120 : 120;
            float way = (i % 2 == 0 ? 1 : -1) * box.Width / 3;
            await page.Mouse.MoveAsync(x, y);
            await page.Mouse.DownAsync();
            await page.Mouse.MoveAsync(x + way, y + way / 2, new() { Steps = 30 });
            await page.Mouse.UpAsync();
            await page.Mouse.MoveAsync(x, y);
            for (int j = 0; j < 8; j++)
            {
                await page.Mouse.WheelAsync(0, turn);
            }
        }

        await page.EvaluateAsync("() => new Promise(requestAnimationFrame)");
        JsonElement kept = await page.EvaluateAsync<JsonElement>("() => { panAndZoom.on = false; return panAndZoom; }");
        double[] frames = Sorted(kept.GetProperty("frames"));
        double[] tasks = Sorted(kept.GetProperty("tasks"));
        double[] paints = [];
        double seconds = 1;
        if (worker is not null)
        {
            JsonElement painted = await worker.EvaluateAsync<JsonElement>(
                "() => ({ paints: panAndZoom.paints, seconds: (performance.now() - panAndZoom.from) / 1000 })"
            );
            paints = Sorted(painted.GetProperty("paints"));
            seconds = painted.GetProperty("seconds").GetDouble();
        }

        return new(
            frames.Length,
            P95(frames),
            tasks.LastOrDefault(),
            paints.Length,
            P95(paints),
            paints.LastOrDefault(),
            paints.Length / seconds
        );
    }

    private static double[] Sorted(JsonElement values) =>
        [.. values.EnumerateArray().Select(v => v.GetDouble()).Order()];

    private static double P95(double[] sorted) =>
        sorted.Length == 0 ? 0 : sorted[(int)Math.Ceiling(0.95 * sorted.Length) - 1];
}
