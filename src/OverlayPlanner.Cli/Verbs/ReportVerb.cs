using System.CommandLine;
using System.Text.Json.Nodes;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

internal static class ReportVerb
{
    public static Command Create(Terminal terminal)
    {
        Argument<string> quilt = new("QUILT") { Description = "The quilt map (JSON)." };
        Option<string?> drafted = new("--drafted")
        {
            Description = "The blocks' finished size, inches or mm; without it the median of their own sides.",
        };
        Option<string?> output = new("--out") { Description = "The report as a text file." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "report",
            "What was measured: every block's sides, diagonals and corners, points that do not meet, patches by colour."
        )
        {
            quilt,
            drafted,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                (Written written, QuiltReport report) = ReportQuilt.Run(
                    r.GetRequiredValue(quilt),
                    r.GetValue(drafted) is { } size ? Values.Length(size, "--drafted") : null,
                    r.GetValue(output),
                    new OutputFiles(r.GetValue(force)),
                    cancellation
                );
                return Terminal.Wrote(
                    written,
                    Document(report),
                    console =>
                    {
                        foreach (string line in ReportText.Full(report))
                        {
                            console.Profile.Out.Writer.WriteLine(line);
                        }
                    }
                );
            }
        );
        return command;
    }

    private static JsonObject Document(QuiltReport report) =>
        new()
        {
            ["drafted"] = report.Drafted is { } d ? Number(d) : null,
            ["draftedFrom"] = report.From == DraftedFrom.Told ? "told" : "median-side",
            ["blocks"] = new JsonArray([.. report.Blocks.Select(Block)]),
            ["missed"] = new JsonArray([
                .. report.Missed.Select(m =>
                    (JsonNode)
                        new JsonObject
                        {
                            ["points"] = new JsonArray(m.First, m.Second),
                            ["x"] = m.At.X,
                            ["y"] = m.At.Y,
                            ["gap"] = Number(m.Gap),
                            ["why"] = ReportText.Word(m.Reason),
                            ["sure"] = m.IsSure,
                        }
                ),
            ]),
            ["colors"] = new JsonArray([
                .. report.Colors.Select(c =>
                    (JsonNode)
                        new JsonObject
                        {
                            ["name"] = c.Name,
                            ["color"] = c.Color,
                            ["patches"] = new JsonArray([.. c.Patches.Select(p => (JsonNode)p)]),
                            ["squareInches"] = Number(c.Area),
                        }
                ),
            ]),
        };

    private static JsonNode Block(BlockReport b) =>
        new JsonObject
        {
            ["id"] = b.Id,
            ["pattern"] = b.Pattern,
            ["row"] = b.Row,
            ["column"] = b.Column,
            ["sides"] = List(b.Sides),
            ["diagonals"] = List(b.Diagonals),
            ["corners"] = List(b.Corners),
            ["diagonalDifference"] = Number(b.DiagonalDifference),
            ["offAtCorner"] = Number(b.OffAtCorner),
            ["toDrafted"] = List(b.Differences),
        };

    private static JsonArray List(IReadOnlyList<Measured> numbers) =>
        new([.. numbers.Select(n => (JsonNode)Number(n))]);

    private static JsonObject Number(Measured m) => new() { ["value"] = m.Value, ["sigma"] = m.Sigma };
}
