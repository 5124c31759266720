using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class RefitVerb
{
    private static readonly string[] Names =
    [
        "top",
        "right",
        "bottom",
        "left",
        "diagonal from top left",
        "diagonal from top right",
    ];

    public static Command Create(Terminal terminal)
    {
        Argument<string> file = new("FILE") { Description = "A quilt map, or a route of the block (JSON)." };
        Option<string> block = new("--block") { Required = true, Description = "The block's id." };
        TapeOptions tape = new("The block on the cloth now");
        Option<string?> corners = new("--corners")
        {
            Description =
                "Instead: its four corners as nudged onto the cloth, inches, clockwise from its top left: \"x,y x,y x,y x,y\".",
        };
        Option<string> output = new("--out")
        {
            Required = true,
            Description = "What to write: the map with both shapes of the block, or the route on the cloth now (JSON).",
        };
        Option<string?> alone = new("--alone")
        {
            Description = "A map to write of the block alone on the cloth now (JSON), to plan a route on.",
        };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "refit",
            "One block as it lies on the cloth now, after draw-up or with the roll grown: that block alone is stretched, its mapped shape is kept. Without measures, the shape that the map keeps."
        )
        {
            file,
            block,
            tape.Sides,
            tape.Diagonals,
            corners,
            output,
            alone,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                TapeWords? measured = tape.Read(r);
                string? nudged = r.GetValue(corners);
                if (measured is not null && nudged is not null)
                {
                    throw new InputException(
                        "The block is given twice, by the tape and by its corners",
                        "--corners",
                        "Give --sides and --diagonals, or --corners, not both."
                    );
                }

                (Written written, RefitReport report) = RefitBlock.Run(
                    new()
                    {
                        File = r.GetRequiredValue(file),
                        Block = r.GetRequiredValue(block).Trim(),
                        Tape = measured,
                        Corners = nudged is null ? null : Values.Points<ClothSpace>(nudged, "--corners"),
                    },
                    r.GetRequiredValue(output),
                    r.GetValue(alone),
                    new OutputFiles(r.GetValue(force)),
                    cancellation
                );
                return Terminal.Wrote(written, Say(report), console => Show(console, report));
            }
        );
        return command;
    }

    private static JsonObject Say(RefitReport report) =>
        new()
        {
            ["block"] = report.Block,
            ["mappedInches"] = new JsonArray([.. report.Mapped.Select(l => JsonValue.Create(l.Inches))]),
            ["nowInches"] = new JsonArray([.. report.Now.Select(l => JsonValue.Create(l.Inches))]),
            ["contradictionInches"] = report.Contradiction?.Inches,
            ["doubtful"] = report.Doubtful,
            ["within95Inches"] = report.Within95.Inches,
        };

    private static void Show(IAnsiConsole console, RefitReport report)
    {
        Table table = new Table()
            .Border(TableBorder.Simple)
            .AddColumn($"Block {Markup.Escape(report.Block)}, in")
            .AddColumn(new TableColumn("mapped").RightAligned())
            .AddColumn(new TableColumn("now").RightAligned())
            .AddColumn(new TableColumn("change").RightAligned());
        for (int i = 0; i < Names.Length; i++)
        {
            (Length was, Length now) = (report.Mapped[i], report.Now[i]);
            table.AddRow(
                Names[i],
                was.ToSixteenths(),
                now.ToSixteenths(),
                string.Create(CultureInfo.InvariantCulture, $"{100 * (now / was - 1):0.0} %")
            );
        }

        console.Write(table);
        if (report.Contradiction is { } off)
        {
            console.WriteLine(
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"The measures agree to {Math.Abs(off.Inches):0.000} in, the {report.Doubtful} against the other five"
                )
            );
        }

        console.WriteLine(
            string.Create(
                CultureInfo.InvariantCulture,
                $"95 % of the block's points are within {report.Within95.Inches:0.000} in, once its corners are laid on the cloth's"
            )
        );
    }
}
