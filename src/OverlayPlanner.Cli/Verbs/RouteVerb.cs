using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class RouteVerb
{
    public static Command Create(Terminal terminal)
    {
        Argument<string> quilt = new("QUILT") { Description = "The quilt map (JSON)." };
        Option<string?> block = new("--block") { Description = "Plan one block, by its id; the whole map otherwise." };
        Option<string?> start = new("--start")
        {
            Description = "Where the needle starts: x,y in inches, a point or a place along a seam.",
        };
        Option<string?> end = new("--end") { Description = "Where it ends: x,y in inches." };
        Option<string> lines = new("--lines")
        {
            DefaultValueFactory = _ => "seams+arcs",
            Description =
                "seams: nothing is added; seams+arcs: lines are added inside patches where they help; curves: arcs along the seams, no ditch.",
        };
        lines.AcceptOnlyFromAmong([.. PlanWishes.LineWords]);
        Option<string> outline = new("--outline")
        {
            DefaultValueFactory = _ => "none",
            Description = "The map's own outline: none, any (in any order), last.",
        };
        outline.AcceptOnlyFromAmong([.. PlanWishes.OutlineWords]);
        Option<string> thread = new("--thread")
        {
            DefaultValueFactory = _ => "free",
            Description = "free: nothing doubled, fewest starts; one: one thread, least doubled; mixed: least time.",
        };
        thread.AcceptOnlyFromAmong([.. PlanWishes.ThreadWords]);
        Option<string> candidates = new("--candidates")
        {
            DefaultValueFactory = _ => "3",
            Description = "How many choices to offer, 1 to 12.",
        };
        Option<string?> startCost = new("--start-cost")
        {
            Description = "Seconds that a start and its end cost (for --thread mixed).",
        };
        Option<string?> inchCost = new("--inch-cost")
        {
            Description = "Seconds that an inch of backtracking costs (for --thread mixed).",
        };
        Option<bool> through = new("--through")
        {
            Description = "Long seams go straight through four-way points; crossings there are counted.",
        };
        Option<string> hand = new("--hand")
        {
            DefaultValueFactory = _ => "right",
            Description = "The hand that guides the machine: left or right.",
        };
        hand.AcceptOnlyFromAmong([.. PlanWishes.HandWords]);
        Option<string> output = new("--out") { Required = true, Description = "The route to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new("route", "From a quilt map to routes, each with its proof; the best one first.")
        {
            quilt,
            block,
            start,
            end,
            lines,
            outline,
            thread,
            candidates,
            startCost,
            inchCost,
            through,
            hand,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                PlanWishes wishes = new()
                {
                    Block = r.GetValue(block),
                    Start = r.GetValue(start) is { } s ? Values.Point<ClothSpace>(s, "--start") : null,
                    End = r.GetValue(end) is { } e ? Values.Point<ClothSpace>(e, "--end") : null,
                    Lines = r.GetRequiredValue(lines),
                    Outline = r.GetRequiredValue(outline),
                    Thread = r.GetRequiredValue(thread),
                    Choices = Values.Count(r.GetRequiredValue(candidates), "--candidates", 1, 12),
                    StartCostSeconds = r.GetValue(startCost) is { } c
                        ? Values.Number(c, "--start-cost", 0, 3600)
                        : null,
                    InchCostSeconds = r.GetValue(inchCost) is { } i ? Values.Number(i, "--inch-cost", 0, 3600) : null,
                    Through = r.GetValue(through),
                    Hand = r.GetRequiredValue(hand),
                };
                (Written written, Route route) = PlanRoute.Run(
                    r.GetRequiredValue(quilt),
                    wishes,
                    r.GetRequiredValue(output),
                    new OutputFiles(r.GetValue(force)),
                    progress,
                    cancellation
                );
                JsonObject more = new()
                {
                    ["candidates"] = new JsonArray([.. route.Candidates.Select(k => (JsonNode)Summary(route, k))]),
                };
                return Terminal.Wrote(written, more, console => Show(console, route));
            }
        );
        return command;
    }

    internal static void Show(IAnsiConsole console, Route route)
    {
        Table table = new Table()
            .Border(TableBorder.Simple)
            .AddColumns("choice", "what it does", "starts", "added in", "twice in", "crossings", "steps", "proven");
        foreach (RouteCandidate c in route.Candidates)
        {
            table.AddRow(
                c.Name,
                Markup.Escape(c.Design ?? ""),
                Text($"{c.Measures.Starts}"),
                Text($"{c.Measures.Added.Inches:0.0}"),
                Text($"{c.Measures.Doubled.Inches:0.0}"),
                Text($"{c.Measures.Crossings}"),
                Text($"{StitchStep.Of(route.Quilt, c).Count}"),
                c.Proof.Optimal
                    ? "least possible"
                    : Text($"not the least: {c.Proof.LeastStarts} starts, {c.Proof.LeastDoubled.Inches:0.0} in")
            );
        }

        console.Write(table);
        if (route.Candidates[0].Call is { } call)
        {
            ShowCall(console, route.Candidates[0].Name, call);
        }
    }

    private static void ShowCall(IAnsiConsole console, string choice, RouteCall call)
    {
        console.WriteLine(
            Text(
                $"How to stitch {choice}, in {call.DescriptionLength} {(call.DescriptionLength == 1 ? "part" : "parts")} for {call.PlainLength} {(call.PlainLength == 1 ? "piece" : "pieces")} of line:"
            )
        );
        for (int i = 0; i < call.Verses.Count; i++)
        {
            console.WriteLine(Text($"{i + 1}. {call.Verses[i]}"));
        }

        console.WriteLine(call.RuleInWords);
    }

    private static JsonObject Summary(Route route, RouteCandidate c) =>
        new()
        {
            ["name"] = c.Name,
            ["design"] = c.Design,
            ["starts"] = c.Measures.Starts,
            ["crossings"] = c.Measures.Crossings,
            ["doubledInches"] = c.Measures.Doubled.Inches,
            ["stitchedInches"] = c.Measures.Stitched.Inches,
            ["addedInches"] = c.Measures.Added.Inches,
            ["steps"] = StitchStep.Of(route.Quilt, c).Count,
            ["optimal"] = c.Proof.Optimal,
            ["call"] = c.Call is { } call ? CallOf(call) : null,
            ["ease"] = c.Ease is { } ease ? EaseOf(ease) : null,
        };

    private static JsonObject CallOf(RouteCall call) =>
        new()
        {
            ["verses"] = new JsonArray([.. call.Verses.Select(v => (JsonNode)v)]),
            ["descriptionLength"] = call.DescriptionLength,
            ["plainLength"] = call.PlainLength,
            ["decisionPoints"] = call.DecisionPoints,
            ["rule"] = call.RuleInWords,
        };

    private static JsonObject EaseOf(RouteEase ease) =>
        new()
        {
            ["turns"] = ease.Turns,
            ["sharpStops"] = ease.SharpStops,
            ["handMoves"] = ease.HandMoves,
            ["rulers"] = ease.Rulers,
            ["rulerChanges"] = ease.RulerChanges,
            ["stepsAcross"] = ease.StepsAcross,
        };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
