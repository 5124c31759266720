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
        Option<string?> from = new("--from")
        {
            Description =
                "Finish what is stitched: a drawing (JSON strokes or SVG, inches) of the way so far; - for standard input.",
        };
        Option<string> needle = new("--needle")
        {
            DefaultValueFactory = _ => "whole",
            Description = "With --from, the thread in the needle: whole (go on from there) or broken (tie in anew).",
        };
        needle.AcceptOnlyFromAmong([.. PlanWishes.NeedleWords]);
        Option<bool> rows = new("--rows")
        {
            Description =
                "Plan the whole quilt row by row, half of each block on the way out and half on the way home.",
        };
        Option<string> sides = new("--sides")
        {
            DefaultValueFactory = _ => "first",
            Description =
                "With --rows, the blocks' sides: first in each pass, stitched already, or last (only where the quilt is basted).",
        };
        sides.AcceptOnlyFromAmong([.. PlanWishes.SideWords]);
        Option<string?> reach = new("--reach")
        {
            Description =
                "With --rows, the depth that the machine stitches before the quilt is advanced, in inches or mm.",
        };
        Option<string?> bobbin = new("--bobbin")
        {
            Description = "With --rows, the inches of line that one bobbin gives; threads stop 15 in 100 early.",
        };
        Option<string?> rawEnds = new("--raw-ends")
        {
            Description =
                "How far a thread may start or end off the top at a raw outer edge, where it needs no tail (1/2 in; 0 for never).",
        };
        Option<string?> clamps = new("--clamps")
        {
            Description =
                "No thread runs off the top nearer than this to the left or right side, where the clamps are (3 in; 0 for none).",
        };
        Option<string> threads = new("--threads")
        {
            DefaultValueFactory = _ => "same",
            Description =
                "same: one kind of thread for all; two: all seams first in one, then the added lines in another.",
        };
        threads.AcceptOnlyFromAmong([.. PlanWishes.ThreadsWords]);
        Option<string> designTravel = new("--design-travel")
        {
            DefaultValueFactory = _ => "own",
            Description = "With --threads two, where the second may backtrack: on its own lines, or in a ditch too.",
        };
        designTravel.AcceptOnlyFromAmong([.. PlanWishes.DesignTravelWords]);
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
        Option<string?> handReach = new("--hand-reach")
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
        Option<string> hand = new("--hand")
        {
            DefaultValueFactory = _ => "right",
            Description = "The hand that guides the machine: left or right.",
        };
        hand.AcceptOnlyFromAmong([.. PlanWishes.HandWords]);
        Option<string?> directions = new("--directions")
        {
            Description =
                "Your taste: what an inch costs going up, up right, right, down right, down, down left, left, up left; eight numbers with commas, 1 is usual.",
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
            from,
            needle,
            rows,
            sides,
            reach,
            bobbin,
            rawEnds,
            clamps,
            threads,
            designTravel,
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
            rulers,
            foot,
            standOff,
            handReach,
            match,
            fill,
            centers,
            open,
            picture,
            hand,
            directions,
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
                    Threads = r.GetRequiredValue(threads),
                    DesignTravel = r.GetRequiredValue(designTravel),
                    Sides = r.GetRequiredValue(sides),
                    Reach = r.GetValue(reach) is { } depth ? Values.Length(depth, "--reach") : null,
                    Bobbin = r.GetValue(bobbin) is { } line ? Values.Length(line, "--bobbin") : null,
                    RawEnds = r.GetValue(rawEnds) is { } beyond ? Values.Length(beyond, "--raw-ends") : null,
                    Clamps = r.GetValue(clamps) is { } grip ? Values.Length(grip, "--clamps") : null,
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
                    Rulers = r.GetValue(rulers),
                    Foot = r.GetValue(foot) is { } f ? Values.Length(f, "--foot") : null,
                    StandOff = r.GetValue(standOff) is { } so ? Values.Length(so, "--stand-off") : null,
                    HandReach = r.GetValue(handReach) is { } re ? Values.Length(re, "--hand-reach") : null,
                    Match = r.GetRequiredValue(match),
                    Fill = r.GetValue(fill),
                    Centers = r.GetValue(centers),
                    Open = r.GetValue(open),
                    Picture = r.GetValue(picture),
                    Hand = r.GetRequiredValue(hand),
                    Directions = r.GetValue(directions) is { } table
                        ? [.. table.Split(',').Select(x => Values.Number(x, "--directions", 0, 1e6))]
                        : null,
                };
                if (r.GetValue(rows) && r.GetValue(from) is not null)
                {
                    throw new InputException(
                        "--rows does not go together with --from",
                        "--rows",
                        "Finish what is begun first, or plan the rows of a fresh quilt."
                    );
                }

                if (r.GetValue(rows))
                {
                    (
                        Written rowsWritten,
                        Route whole,
                        IReadOnlyList<StitchedRow> stitched,
                        IReadOnlyList<BlockCall> calls
                    ) = PlanRoute.Rows(
                        r.GetRequiredValue(quilt),
                        wishes,
                        r.GetRequiredValue(output),
                        new OutputFiles(r.GetValue(force)),
                        progress,
                        cancellation
                    );
                    JsonObject inRows = new()
                    {
                        ["candidates"] = new JsonArray([.. whole.Candidates.Select(k => (JsonNode)Summary(whole, k))]),
                        ["rows"] = new JsonArray([.. stitched.Select(s => (JsonNode)SummaryOf(s))]),
                        ["calls"] = new JsonArray([
                            .. calls.Select(c =>
                                (JsonNode)
                                    new JsonObject
                                    {
                                        ["block"] = c.Block,
                                        ["blocks"] = c.Blocks,
                                        ["call"] = CallOf(c.Call),
                                    }
                            ),
                        ]),
                    };
                    return Terminal.Wrote(
                        rowsWritten,
                        inRows,
                        console =>
                        {
                            Show(console, whole);
                            ShowRows(console, stitched);
                            foreach (BlockCall c in calls)
                            {
                                console.WriteLine(
                                    Text(
                                        $"Out and home through {c.Block} and every block like it ({c.Blocks}), on one thread:"
                                    )
                                );
                                ShowVerses(console, OutAndHome(c.Call));
                            }
                        }
                    );
                }

                (Written written, Route route) = r.GetValue(from) is { } drawn
                    ? PlanRoute.Finish(
                        r.GetRequiredValue(quilt),
                        drawn,
                        r.GetRequiredValue(needle),
                        wishes,
                        r.GetRequiredValue(output),
                        new OutputFiles(r.GetValue(force)),
                        progress,
                        cancellation
                    )
                    : PlanRoute.Run(
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
                    : c.Finish is { IsLeast: true } ? "least from here"
                    : IsLeastInOrder(c) ? "least in this order"
                    : IsLeastOffTop(c) ? "least time, with ends off the raw edge"
                    : Text($"bound: {c.Proof.LeastStarts} starts, {c.Proof.LeastDoubled.Inches:0.0} in")
            );
        }

        console.Write(table);
        foreach (RouteCandidate c in route.Candidates)
        {
            if (c.Finish is { } finish)
            {
                console.WriteLine(Text($"{c.Name}: {WordsOf(finish)}"));
            }
        }

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
        ShowVerses(console, call);
    }

    // The two threads of such a call are one thread's way out and its way home.
    private static RouteCall OutAndHome(RouteCall call) =>
        call with
        {
            Verses =
            [
                .. call.Verses.Select(v =>
                    v.StartsWith("Start ", StringComparison.Ordinal)
                        ? "Out from" + v[v.IndexOf(" the", StringComparison.Ordinal)..]
                    : v.StartsWith("A new start ", StringComparison.Ordinal)
                        ? "Home from" + v[v.IndexOf(" the", StringComparison.Ordinal)..]
                    : v
                ),
            ],
        };

    private static void ShowVerses(IAnsiConsole console, RouteCall call)
    {
        for (int i = 0; i < call.Verses.Count; i++)
        {
            console.WriteLine(Text($"{i + 1}. {call.Verses[i]}"));
        }

        console.WriteLine(call.RuleInWords);
    }

    private static string WordsOf(RouteFinish finish)
    {
        List<string> parts = [];
        if (finish.Unpicked.Inches > 1e-6)
        {
            parts.Add($"unpick {finish.Unpicked.ToSixteenths()} in back to {finish.Point}");
        }

        parts.Add(
            finish.NewStarts == 0
                ? $"go on from {finish.Point} on this thread"
                : Text($"{finish.NewStarts} {(finish.NewStarts == 1 ? "start" : "starts")} to make")
        );
        if (finish.Overlap.Inches > 0)
        {
            parts.Add($"tie in with {finish.Overlap.ToSixteenths()} in over the old stitches");
        }

        if (finish.Backtracking.Inches > 1e-6)
        {
            parts.Add($"{finish.Backtracking.ToSixteenths()} in of backtracking");
        }

        parts.Add(Text($"about {Math.Max(1, Math.Round(finish.Seconds / 60)):0} min"));
        return string.Join(", ", parts) + ".";
    }

    private static JsonObject FinishOf(RouteFinish finish) =>
        new()
        {
            ["way"] = finish.Way == FinishWay.Unpick ? "unpick" : "go-on",
            ["point"] = finish.Point,
            ["newStarts"] = finish.NewStarts,
            ["backtrackInches"] = finish.Backtracking.Inches,
            ["unpickInches"] = finish.Unpicked.Inches,
            ["seconds"] = finish.Seconds,
            ["least"] = finish.IsLeast,
        };

    private static JsonObject SummaryOf(StitchedRow row) =>
        new()
        {
            ["row"] = row.Row,
            ["pass"] = row.Pass,
            ["blocks"] = row.Blocks,
            ["starts"] = row.Starts,
            ["leastStarts"] = row.LeastStarts,
            ["inHalves"] = row.InHalves,
            ["alike"] = row.Alike,
        };

    private static void ShowRows(IAnsiConsole console, IReadOnlyList<StitchedRow> rows)
    {
        Table table = new Table().Border(TableBorder.Simple).AddColumns("pass", "row", "blocks", "starts", "how");
        foreach (StitchedRow row in rows)
        {
            table.AddRow(
                Text($"{row.Pass}"),
                Text($"{row.Row}"),
                Text($"{row.Blocks}"),
                Text($"{row.Starts}"),
                row.InHalves ? "half of each block out, half home"
                    : row.Alike ? "block by block, all of a kind alike"
                    : "its lines together"
            );
        }

        console.Write(table);
    }

    private static bool IsLeastInOrder(RouteCandidate c) =>
        c.Unknown.In("proof").Values.TryGetValue("inOrder", out JsonElement order)
        && order.TryGetProperty("optimal", out JsonElement optimal)
        && optimal.ValueKind == JsonValueKind.True;

    // A mixed thread whose ends at the raw edge cost next to nothing.
    private static bool IsLeastOffTop(RouteCandidate c) =>
        c.Unknown.Values.TryGetValue("rawEnds", out JsonElement raw)
        && raw.TryGetProperty("leastSeconds", out _)
        && raw.GetProperty("optimal").GetBoolean();

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
            ["rawEnds"] = c.Unknown.Values.TryGetValue("rawEnds", out JsonElement raw)
                ? JsonNode.Parse(raw.GetRawText())
                : null,
            ["finish"] = c.Finish is { } finish ? FinishOf(finish) : null,
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
