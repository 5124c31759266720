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
        SettingOptions setting = new();
        Option<string> output = new("--out") { Required = true, Description = "The quilt map to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new("draft", "Drafts a block to size, or a whole top of it in a setting with borders.")
        {
            name,
            size,
            repeat,
            sash,
            output,
            force,
            json,
        };
        setting.AddTo(command);
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                (int columns, int rows) = Values.Counts(r.GetRequiredValue(repeat), "--repeat");
                string block = r.GetRequiredValue(name);
                Length side = Values.Length(r.GetRequiredValue(size), "--size");
                Length strip = Values.Length(r.GetRequiredValue(sash), "--sash");
                string path = r.GetRequiredValue(output);
                OutputFiles files = new(r.GetValue(force));
                (Written written, QuiltMap map) = setting.Read(r) is { } order
                    ? DraftSetting.Run(block, side, columns, rows, strip, order, path, files, cancellation)
                    : DraftBlocks.Run(block, side, columns, rows, strip, path, files, cancellation);
                bool onPoint = setting.IsOnPoint(r);
                JsonObject more = MapVerb.Summary(map);
                if (onPoint)
                {
                    more["cuts"] = SettingOptions.Cuts(side, rows, columns);
                }

                return Terminal.Wrote(
                    written,
                    more,
                    console =>
                    {
                        MapVerb.Show(console, map);
                        if (onPoint)
                        {
                            SettingOptions.ShowCuts(console, side, rows, columns);
                        }
                    }
                );
            }
        );
        return command;
    }
}
