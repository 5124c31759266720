using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class BlocksVerb
{
    public static Command Create(Terminal terminal) =>
        new("blocks", "The built-in traditional blocks: list them, or draft one to size as a quilt map.")
        {
            CreateList(terminal),
            CreateDraft(terminal),
        };

    private static Command CreateList(Terminal terminal)
    {
        Option<bool> json = Terminal.Json();
        Command command = new("list", "Lists the blocks.") { json };
        terminal.Bind(command, json, (r, _, cancellation) => ListAnswer());
        return command;
    }

    private static Answer ListAnswer()
    {
        JsonArray blocks =
        [
            .. BlockLibrary.All.Select(b =>
                (JsonNode)
                    new JsonObject
                    {
                        ["id"] = b.Id,
                        ["name"] = b.Name,
                        ["grid"] = b.Grid,
                        ["family"] = b.Family,
                    }
            ),
        ];
        return new(
            new JsonObject { ["blocks"] = blocks },
            [],
            console =>
            {
                Table table = new Table()
                    .Border(TableBorder.Simple)
                    .AddColumns("id", "name", "family", "patches", "remark");
                foreach (BlockDraft b in BlockLibrary.All)
                {
                    table.AddRow(
                        b.Id,
                        Markup.Escape(b.Name),
                        b.Family,
                        b.Patches.Count.ToString(CultureInfo.InvariantCulture),
                        Markup.Escape(b.Note ?? "")
                    );
                }

                console.Write(table);
            }
        );
    }

    private static Command CreateDraft(Terminal terminal)
    {
        Argument<string> name = new("NAME") { Description = "The block's id or name." };
        Option<string> size = new("--size")
        {
            DefaultValueFactory = _ => "12",
            Description = "Finished side of a block, inches or mm.",
        };
        Option<string> repeat = new("--repeat")
        {
            DefaultValueFactory = _ => "1x1",
            Description = "Blocks across x down.",
        };
        Option<string> sash = new("--sash")
        {
            DefaultValueFactory = _ => "0",
            Description = "Finished width of the strips between blocks.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The quilt map to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new("draft", "Drafts a block to size, repeated and sashed where asked.")
        {
            name,
            size,
            repeat,
            sash,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                (int columns, int rows) = Values.Counts(r.GetRequiredValue(repeat), "--repeat");
                (Written written, QuiltMap map) = DraftBlocks.Run(
                    r.GetRequiredValue(name),
                    Values.Length(r.GetRequiredValue(size), "--size"),
                    columns,
                    rows,
                    Values.Length(r.GetRequiredValue(sash), "--sash"),
                    r.GetRequiredValue(output),
                    new OutputFiles(r.GetValue(force)),
                    cancellation
                );
                return Terminal.Wrote(written, MapVerb.Summary(map), console => MapVerb.Show(console, map));
            }
        );
        return command;
    }
}
