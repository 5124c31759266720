using System.CommandLine;
using System.Globalization;
using System.Text.Json;
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
        Option<string?> last = new("--last")
        {
            Description = "What comes after all else: ids of seams, the word outline, or both, with commas between.",
        };
        Option<bool> anchorFirst = new("--anchor-first")
        {
            Description = "Block, sashing and border ditches before the seams inside blocks and added lines.",
        };
        Option<bool> roundLast = new("--round-last") { Description = "The ditch round a block after its inside." };
        Option<bool> finishBlocks = new("--finish-blocks")
        {
            Description = "Finish each block before the next: row by row, there and back.",
        };
        Option<string?> skip = new("--skip") { Description = "Seams that are not stitched: ids with commas between." };
        Option<string?> only = new("--only")
        {
            Description =
                "The only seams to stitch: ids with commas between. Nothing is added; with --thread one or mixed the thread may stitch others on its way.",
        };
        Option<bool> midpoints = new("--midpoints") { Description = "The middle of every side becomes a point." };
        Option<string?> bulky = new("--bulky")
        {
            Description =
                "From how many seams on a point is bulky (8): no thread starts or ends there if it can be helped.",
        };
        Option<string?> clear = new("--clear")
        {
            Description = "Where lines pile up at a point, arcs meet the ditch this far before it (inches).",
        };
        Option<string?> drag = new("--drag")
        {
            Description =
                "A start no farther than this from the last end is a hop with the thread dragged, counted apart (inches).",
        };
        Option<string?> hopCost = new("--hop-cost")
        {
            Description = "Seconds that such a hop costs (for --thread mixed).",
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
            last,
            anchorFirst,
            roundLast,
            finishBlocks,
            skip,
            only,
            midpoints,
            bulky,
            clear,
            drag,
            hopCost,
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
                    Last = Values.Names(r.GetValue(last), "--last"),
                    AnchorFirst = r.GetValue(anchorFirst),
                    RoundLast = r.GetValue(roundLast),
                    FinishBlocks = r.GetValue(finishBlocks),
                    Skip = Values.Names(r.GetValue(skip), "--skip"),
                    Only = Values.Names(r.GetValue(only), "--only"),
                    Midpoints = r.GetValue(midpoints),
                    BulkyFrom = r.GetValue(bulky) is { } b ? Values.Count(b, "--bulky", 3, 64) : null,
                    Clear = r.GetValue(clear) is { } away ? Values.Length(away, "--clear") : null,
                    Drag = r.GetValue(drag) is { } d ? Values.Length(d, "--drag") : null,
                    HopCostSeconds = r.GetValue(hopCost) is { } h ? Values.Number(h, "--hop-cost", 0, 3600) : null,
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
                c.Proof.Optimal ? "least possible"
                    : IsLeastInOrder(c) ? "least in this order"
                    : Text($"bound: {c.Proof.LeastStarts} starts, {c.Proof.LeastDoubled.Inches:0.0} in")
            );
        }

        console.Write(table);
    }

    private static bool IsLeastInOrder(RouteCandidate c) =>
        c.Unknown.In("proof").Values.TryGetValue("inOrder", out JsonElement order)
        && order.TryGetProperty("optimal", out JsonElement optimal)
        && optimal.ValueKind == JsonValueKind.True;

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
