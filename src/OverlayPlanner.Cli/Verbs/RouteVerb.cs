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
        Option<string?> rulers = new("--rulers")
        {
            Description =
                "Your rulers: a JSON list, each with name, edge (outside, inside, both, straight), chord, rise, length, measured at its edge in inches; or none, for straight lines only.",
        };
        Option<string?> foot = new("--foot") { Description = "The foot's diameter, inches; 1/2 where left out." };
        Option<string?> standOff = new("--stand-off")
        {
            Description = "How far added arcs stand off their seam in the middle; 1/4 in where left out.",
        };
        Option<string?> reach = new("--reach")
        {
            Description = "How far your hand guides a ruler before it moves; 8 in where left out.",
        };
        Option<string> match = new("--match")
        {
            DefaultValueFactory = _ => "seams",
            Description = "Which patches are alike: seams (shape, size and place), colors (colour too).",
        };
        match.AcceptOnlyFromAmong([.. PlanWishes.MatchWords]);
        Option<string?> fill = new("--fill")
        {
            Description =
                $"Fill evenly: the widest circle without a stitch, inches, or a batting: {string.Join(", ", PlanWishes.Battings.Select(b => b.Name))}.",
        };
        Option<bool> centers = new("--centers")
        {
            Description = "Make the centres of squares points, for straight lines from corner to corner through them.",
        };
        Option<string?> open = new("--open")
        {
            Description =
                "Seams pressed open, not to be ditched: ids with commas, unknown (seams without a low side), or all.",
        };
        Option<string?> picture = new("--picture")
        {
            Description = "A picture of all choices side by side to write too (PNG).",
        };
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
            rulers,
            foot,
            standOff,
            reach,
            match,
            fill,
            centers,
            open,
            picture,
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
                    Rulers = r.GetValue(rulers),
                    Foot = r.GetValue(foot) is { } f ? Values.Length(f, "--foot") : null,
                    StandOff = r.GetValue(standOff) is { } so ? Values.Length(so, "--stand-off") : null,
                    Reach = r.GetValue(reach) is { } re ? Values.Length(re, "--reach") : null,
                    Match = r.GetRequiredValue(match),
                    Fill = r.GetValue(fill),
                    Centers = r.GetValue(centers),
                    Open = r.GetValue(open),
                    Picture = r.GetValue(picture),
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
        };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
