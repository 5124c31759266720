using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class CheckVerb
{
    public static Command Create(Terminal terminal)
    {
        Argument<string> quilt = new("QUILT") { Description = "The quilt map (JSON)." };
        Argument<string> drawn = new("DRAWN")
        {
            Description =
                "The drawing: JSON [[[x,y],…],…], one list for each stroke, or SVG whose unit is an inch; - for standard input.",
        };
        Option<bool> json = Terminal.Json();
        Command command = new(
            "check",
            "A route drawn by hand against a quilt map: what is missed, doubled, crossed and broken."
        )
        {
            quilt,
            drawn,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                JudgedPath judged = CheckDrawing.Run(
                    r.GetRequiredValue(quilt),
                    r.GetRequiredValue(drawn),
                    cancellation
                );
                JsonObject document = new()
                {
                    ["missed"] = List(judged.Missed),
                    ["doubled"] = List(judged.Doubled),
                    ["crossed"] = List(judged.Crossed),
                    ["broken"] = List(judged.Broken),
                    ["score"] = judged.Score,
                    ["lost"] = judged.Loss is { } l
                        ? new JsonObject
                        {
                            ["point"] = l.Point,
                            ["x"] = l.At.X,
                            ["y"] = l.At.Y,
                            ["starts"] = l.MoreStarts,
                            ["backtrackInches"] = l.MoreBacktracking.Inches,
                            ["crossings"] = l.MoreCrossings,
                        }
                        : null,
                };
                return new(document, judged.Findings, console => Show(console, judged));
            }
        );
        return command;
    }

    private static JsonArray List(IReadOnlyList<PathFault> faults) =>
        [
            .. faults.Select(f =>
                (JsonNode)
                    new JsonObject
                    {
                        ["seam"] = f.Seam,
                        ["x"] = f.At.X,
                        ["y"] = f.At.Y,
                        ["inches"] = f.Length.Inches,
                    }
            ),
        ];

    private static void Show(IAnsiConsole console, JudgedPath judged)
    {
        Table table = new Table().Border(TableBorder.Simple).AddColumns("", "seam", "at", "in");
        Add("missed", judged.Missed);
        Add("doubled", judged.Doubled);
        Add("crossed", judged.Crossed);
        Add("broken", judged.Broken);
        if (table.Rows.Count > 0)
        {
            console.Write(table);
        }

        console.WriteLine(Text($"score {judged.Score:0.00} of 1"));
        if (judged.Loss is { } loss)
        {
            console.WriteLine(
                Text($"the best was lost at {loss.Point} ({loss.At.X:0.##}, {loss.At.Y:0.##}): {loss.Words}")
            );
        }

        void Add(string what, IReadOnlyList<PathFault> faults)
        {
            foreach (PathFault f in faults)
            {
                table.AddRow(
                    what,
                    Markup.Escape(f.Seam ?? ""),
                    Text($"{f.At.X:0.##}, {f.At.Y:0.##}"),
                    f.Length.ToSixteenths()
                );
            }
        }
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
