using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;

namespace OverlayPlanner.BrowserTests;

/// <summary>What every screen must stand: its picture is written, axe finds nothing, and nothing runs out of its window.</summary>
internal static class ScreenCheck
{
    // axe-core's rule sets for WCAG 2.2, levels A and AA (Deque, axe-core rule descriptions).
    private static readonly AxeRunOptions Wcag = new()
    {
        RunOnly = new RunOnlyOptions
        {
            Type = "tag",
            Values = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
        },
    };

    /// <summary>Writes the screen's picture and checks the screen.</summary>
    /// <param name="page">The screen, as it is to be seen.</param>
    /// <param name="name">Of its picture.</param>
    public static async Task Look(IPage page, string name)
    {
        await Workroom.Show(page, name);
        AxeResult result = await page.RunAxe(Wcag);
        Assert.True(
            result.Violations.Length == 0,
            name
                + ": "
                + string.Join(
                    "; ",
                    result.Violations.Select(v => $"{v.Id} at {string.Join(", ", v.Nodes.Select(n => n.Target))}")
                )
        );
        Assert.NotEmpty(result.Passes);

        // Nothing runs out to the right: WCAG 2.2, 1.4.10 Reflow.
        Assert.True(
            await page.EvaluateAsync<bool>(
                "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1"
            ),
            $"{name} is wider than its window"
        );
    }
}
