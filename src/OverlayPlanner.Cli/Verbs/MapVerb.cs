using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class MapVerb
{
    public static Command Create(Terminal terminal)
    {
        Argument<string[]> photos = new("PHOTO")
        {
            Arity = ArgumentArity.OneOrMore,
            Description = "The photograph: JPEG, PNG, WebP or HEIC.",
        };
        photos.Validators.Add(result =>
        {
            // An argument that may repeat would swallow a mistyped option.
            foreach (System.CommandLine.Parsing.Token token in result.Tokens.Where(t => t.Value.StartsWith('-')))
            {
                result.AddError($"Unknown option '{token.Value}'.");
            }
        });
        Option<string?> corners = new("--corners")
        {
            Description =
                "Photo pixels of the corners of a rectangle of known size, clockwise from its top left: \"x,y x,y x,y x,y\".",
        };
        Option<string?> size = new("--size") { Description = "That rectangle's size on the cloth: WxH, inches or mm." };
        Option<string?> lens = new("--lens")
        {
            Description = "A camera profile (lens.json) that takes the lens's distortion out.",
        };
        Option<EdgeKind> edge = new("--edge")
        {
            DefaultValueFactory = _ => EdgeKind.Seam,
            Description = "What the rectangle's sides are: seam, the top's raw edge, or cut (only where the map ends).",
        };
        Option<string> output = new("--out") { Required = true, Description = "The quilt map to write (JSON)." };
        Option<string?> preview = new("--preview")
        {
            Description = "A picture to write (PNG): the cloth with the seams found drawn over it.",
        };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "map",
            "From a photograph to a quilt map in real inches: seams, points, patches and blocks."
        )
        {
            photos,
            corners,
            size,
            lens,
            edge,
            output,
            preview,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                string[] files = r.GetRequiredValue(photos);
                if (files.Length > 1)
                {
                    throw new InputException(
                        "With --corners one photograph is mapped at a time",
                        files[1],
                        "Give one photograph that shows the whole rectangle."
                    );
                }

                if (r.GetValue(corners) is not { } cornerText || r.GetValue(size) is not { } sizeText)
                {
                    throw new InputException(
                        "The photograph has no scale",
                        files[0],
                        "Give --corners and --size: the corners of a rectangle of known size, such as one block."
                    );
                }

                (Length width, Length height) = Values.Size(sizeText, "--size");
                MapWishes wishes = new()
                {
                    Photo = files[0],
                    Corners = Values.Points<PhotoSpace>(cornerText, "--corners"),
                    Width = width,
                    Height = height,
                    Lens = r.GetValue(lens),
                    Outline = r.GetValue(edge),
                };
                (Written written, QuiltMap map) = MapQuilt.Run(
                    wishes,
                    r.GetRequiredValue(output),
                    r.GetValue(preview),
                    new OutputFiles(r.GetValue(force)),
                    progress,
                    cancellation
                );
                return Terminal.Wrote(written, Summary(map), console => Show(console, map));
            }
        );
        return command;
    }

    internal static JsonObject Summary(QuiltMap map) =>
        new()
        {
            ["width"] = map.Width.Inches,
            ["height"] = map.Height.Inches,
            ["points"] = map.Junctions.Count,
            ["seams"] = map.Seams.Count,
            ["patches"] = map.Patches.Count,
            ["blocks"] = map.Blocks.Count,
        };

    internal static void Show(IAnsiConsole console, QuiltMap map)
    {
        Table table = new Table()
            .Border(TableBorder.Simple)
            .AddColumn("Mapped")
            .AddColumn(new TableColumn("").RightAligned());
        table.AddRow("size", $"{map.Width.ToSixteenths()} x {map.Height.ToSixteenths()} in");
        table.AddRow("points, seams, patches", Text($"{map.Junctions.Count}, {map.Seams.Count}, {map.Patches.Count}"));
        string patterns = string.Join(
            ", ",
            map.Blocks.GroupBy(b => b.Pattern ?? "unknown").Select(g => Text($"{g.Count()} {g.Key}"))
        );
        table.AddRow("blocks", map.Blocks.Count == 0 ? "none" : Markup.Escape(patterns));
        if (map.Junctions.Any(j => j.At.Sigma > Length.Zero))
        {
            table.AddRow(
                "a point is known to (1 sigma, worst)",
                Text($"{map.Junctions.Max(j => j.At.Sigma.Inches):0.000} in")
            );
        }

        int doubtful = map.Seams.Count(s => s.Confidence < 0.6);
        table.AddRow("doubtful seams", Text($"{doubtful}"));
        console.Write(table);
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
