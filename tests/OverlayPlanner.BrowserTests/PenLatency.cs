using System.Diagnostics;
using System.Globalization;
using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>What kind of pointer draws.</summary>
internal enum PenKind
{
    Mouse,
    Touch,
    Pen,
}

/// <summary>How soon a pen point is on the screen as part of the snapped line.</summary>
/// <param name="P50">Half of the points are shown within this many milliseconds.</param>
/// <param name="P95">Nineteen of twenty are.</param>
/// <param name="Answered">Nineteen of twenty have their snapped line within this many milliseconds; the rest is the browser's frame.</param>
/// <param name="Sent">Points that the hand gave.</param>
/// <param name="Seen">Points that the browser handed to the page.</param>
/// <param name="Taken">Points that the snapped line covers at the end.</param>
internal sealed record PenLatencyResult(double P50, double P95, double Answered, int Sent, int Seen, int Taken)
{
    public override string ToString() =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"P50 {P50:0.0} ms, P95 {P95:0.0} ms, answered {Answered:0.0} ms, {Sent} sent, {Seen} seen, {Taken} taken"
        );
}

/// <summary>
/// Plays strokes of a shaky hand on the draw page through the browser's own input, 120 points a second, and measures from each
/// event's own time to the frame that shows a snapped line which covers it.
/// </summary>
internal sealed class PenLatency(IPage page)
{
    private const double PointsPerSecond = 120;
    private const int UnderWay = 12;

    // The page's own count of points: what is pressed, then every coalesced move, raw ones where the browser gives them.
    private const string Probe = """
        () => {
            const board = document.querySelector('.board');
            const snapped = board.querySelector('.snapped');
            const probe = window.penProbe = { times: [], shown: [] };
            const see = (event) => {
                const all = event.getCoalescedEvents ? event.getCoalescedEvents() : [];
                for (const e of all.length ? all : [event]) {
                    probe.times.push(e.timeStamp);
                }
            };
            let down = false;
            let raw = false;
            board.addEventListener('pointerdown', (e) => { down = true; raw = false; probe.times = []; probe.shown = []; see(e); }, true);
            board.addEventListener('pointerrawupdate', (e) => { if (down) { raw = true; see(e); } }, true);
            board.addEventListener('pointermove', (e) => { if (down && !raw) { see(e); } }, true);
            board.addEventListener('pointerup', () => { down = false; }, true);
            new MutationObserver(() => {
                const points = Number(snapped.dataset.points);
                const answered = performance.now();
                // Behind the frame's own callbacks: the frame is made then.
                requestAnimationFrame(() => setTimeout(() => probe.shown.push([performance.now(), points, answered])));
            }).observe(snapped, { attributes: true, attributeFilter: ['data-points'] });
        }
        """;

    private const string Read = """
        () => {
            const { times, shown } = window.penProbe;
            const late = times.flatMap((t, i) => {
                const frame = shown.find(([, points]) => points > i);
                return frame ? [frame[0] - t, frame[2] - t] : [-1, -1];
            });
            return [times.length, Number(document.querySelector('.snapped').dataset.points), ...late];
        }
        """;

    /// <summary>Draws one stroke and measures.</summary>
    /// <param name="way">Where it leads, page pixels.</param>
    /// <param name="kind">Mouse, finger or pen.</param>
    /// <param name="shake">How far the hand is off at most, page pixels.</param>
    /// <param name="speed">Page pixels a second.</param>
    public async Task<PenLatencyResult> MeasureAsync(
        IReadOnlyList<(double X, double Y)> way,
        PenKind kind = PenKind.Pen,
        double shake = 4,
        double speed = 300
    )
    {
        if (await page.EvaluateAsync<bool>("() => !window.penProbe"))
        {
            await page.EvaluateAsync(Probe);
        }

        int sent = await PlayAsync(page, Shaken(way, shake, speed / PointsPerSecond, seed: 1), kind);
        await page.WaitForTimeoutAsync(400);
        double[] read = await page.EvaluateAsync<double[]>(Read);
        (double Shown, double Answered)[] late =
        [
            .. read.Skip(2).Chunk(2).Select(l => (l[0], l[1])).Where(l => l.Item1 >= 0),
        ];
        double[] shown = [.. late.Select(l => l.Shown).Order()];
        double[] answered = [.. late.Select(l => l.Answered).Order()];
        return new(At(shown, 0.5), At(shown, 0.95), At(answered, 0.95), sent, (int)read[0], (int)read[1]);
    }

    /// <summary>Points of a hand that sways and shakes along a way, so many pixels apart.</summary>
    public static IReadOnlyList<(double X, double Y)> Shaken(
        IReadOnlyList<(double X, double Y)> way,
        double shake,
        double step,
        int seed
    )
    {
        Random die = new(seed);
        List<(double X, double Y)> points = [];
        for (int i = 1; i < way.Count; i++)
        {
            (double dx, double dy) = (way[i].X - way[i - 1].X, way[i].Y - way[i - 1].Y);
            int n = Math.Max(2, (int)(Math.Sqrt(dx * dx + dy * dy) / step));
            for (int k = i == 1 ? 0 : 1; k <= n; k++)
            {
                double sway = 0.6 * shake * Math.Sin(points.Count / 11.0);
                double f = (double)k / n;
                points.Add(
                    (
                        way[i - 1].X + f * dx + sway + 0.4 * shake * (2 * die.NextDouble() - 1),
                        way[i - 1].Y + f * dy - sway + 0.4 * shake * (2 * die.NextDouble() - 1)
                    )
                );
            }
        }

        return points;
    }

    /// <summary>Plays points as presses and moves of the browser's own input.</summary>
    /// <param name="pointsPerSecond">At what rate; 0 for as fast as it goes.</param>
    /// <returns>How many points were sent.</returns>
    public static async Task<int> PlayAsync(
        IPage page,
        IReadOnlyList<(double X, double Y)> points,
        PenKind kind,
        double pointsPerSecond = PointsPerSecond
    )
    {
        ICDPSession input = await page.Context.NewCDPSessionAsync(page);
        List<Task> sending = [];
        long start = Stopwatch.GetTimestamp();
        for (int i = 0; i < points.Count; i++)
        {
            double wait = pointsPerSecond <= 0 ? 0 : i / pointsPerSecond - Stopwatch.GetElapsedTime(start).TotalSeconds;
            if (wait > 0)
            {
                await Task.Delay(TimeSpan.FromSeconds(wait));
            }

            sending.Add(Send(input, kind, i == 0 ? "down" : "move", points[i]));
            // As fast as it goes is as fast as the browser takes them: their order is kept, and only so many are under way.
            if (pointsPerSecond <= 0 && i >= UnderWay)
            {
                await sending[i - UnderWay];
            }
        }

        await Task.WhenAll(sending);
        await Send(input, kind, "up", points[^1]);
        await input.DetachAsync();
        return points.Count;
    }

    private static Task Send(ICDPSession input, PenKind kind, string what, (double X, double Y) at)
    {
        if (kind == PenKind.Touch)
        {
            Dictionary<string, object> finger = new()
            {
                ["x"] = at.X,
                ["y"] = at.Y,
                ["id"] = 1,
            };
            return input.SendAsync(
                "Input.dispatchTouchEvent",
                new()
                {
                    ["type"] = what switch
                    {
                        "down" => "touchStart",
                        "move" => "touchMove",
                        _ => "touchEnd",
                    },
                    ["touchPoints"] = what == "up" ? Array.Empty<object>() : new object[] { finger },
                }
            );
        }

        return input.SendAsync(
            "Input.dispatchMouseEvent",
            new()
            {
                ["type"] = what switch
                {
                    "down" => "mousePressed",
                    "move" => "mouseMoved",
                    _ => "mouseReleased",
                },
                ["x"] = at.X,
                ["y"] = at.Y,
                ["button"] = "left",
                ["buttons"] = what == "up" ? 0 : 1,
                ["clickCount"] = 1,
                ["pointerType"] = kind == PenKind.Pen ? "pen" : "mouse",
            }
        );
    }

    private static double At(double[] sorted, double share) =>
        sorted.Length == 0
            ? double.NaN
            : sorted[(int)Math.Min(sorted.Length - 1, Math.Ceiling(share * sorted.Length) - 1)];
}
