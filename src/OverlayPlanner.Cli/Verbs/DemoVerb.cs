using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class DemoVerb
{
    public static Command Create(Terminal terminal)
    {
        Option<string> output = new("--out")
        {
            DefaultValueFactory = _ => "demo-out",
            Description = "The folder to write into.",
        };
        Option<bool> json = Terminal.Json();
        Command command = new("demo", "The whole job on the bundled sample photograph, into a folder.")
        {
            output,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                DemoResult demo = RunDemo.Run(r.GetRequiredValue(output), progress, cancellation);
                JsonObject more = new()
                {
                    ["map"] = MapVerb.Summary(demo.Map),
                    ["choices"] = demo.Route.Candidates.Count,
                };
                Answer answer = Terminal.Wrote(demo.Written, more);
                return answer with { Show = console => Show(console, demo, r.GetRequiredValue(output)) };
            }
        );
        return command;
    }

    private static void Show(IAnsiConsole console, DemoResult demo, string folder)
    {
        RouteCandidate best = demo.Route.CandidateOf(null);
        RouteCandidate top = demo.WholeTop.CandidateOf(null);
        Table files = new Table()
            .Border(TableBorder.Simple)
            .AddColumns($"in {Markup.Escape(folder)}", "open it to see");
        foreach ((string file, string look) in demo.Guide)
        {
            files.AddRow(file, Markup.Escape(look));
        }

        console.Write(files);
        string pattern =
            demo.Map.Blocks.Count > 0 ? demo.Map.Blocks[0].Pattern ?? "a block of no known name" : "no block";
        Table proven = new Table().Border(TableBorder.Simple).AddColumns("found and proven", "");
        proven.AddRow(
            "found in the photograph",
            Markup.Escape(
                Text(
                    $"{demo.Map.Blocks.Count} blocks ({pattern}), {demo.Map.Patches.Count} patches, {demo.Map.Seams.Count} seams, each point within {2 * demo.Map.Junctions.Max(j => j.At.Sigma.Inches):0.00} in (2 sigma)"
                )
            )
        );
        AddRoute(proven, "one block", demo.Route, best);
        AddRoute(proven, "the whole top", demo.WholeTop, top);
        proven.AddRow(
            "other choices for the block",
            Markup.Escape(string.Join("; ", demo.Route.Candidates.Skip(1).Select(c => $"{c.Name}: {c.Design}")))
        );
        console.Write(proven);
        console.WriteLine(
            "Before anything is laid on a quilt: print one sheet at 100 % and measure its 1 in square, both ways."
        );
        console.WriteLine("Stop the needle before hands go near it; follow the machine's manual first.");
    }

    private static void AddRoute(Table table, string name, Route route, RouteCandidate c)
    {
        string least = c.Proof.Optimal ? "the least possible" : "not proven least";
        table.AddRow(
            name,
            Markup.Escape(
                Text(
                    $"{Count(c.Measures.Starts, "start")} and {c.Measures.Doubled.Inches:0.0} in stitched twice ({least}), {Count(c.Measures.Crossings, "crossing")}, {StitchStep.Of(route.Quilt, c).Count} steps, {c.Measures.Stitched.Inches:0} in of stitching"
                )
            )
        );
    }

    private static string Count(int n, string what) =>
        n == 0 ? $"no {what}s"
        : n == 1 ? $"one {what}"
        : Text($"{n} {what}s");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
