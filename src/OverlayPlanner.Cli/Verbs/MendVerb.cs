using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class MendVerb
{
    // Carried out in this order, so that ids are those of the map as it was read for as long as can be.
    private static readonly (string Name, string Description, Func<string, MapEdit> Read)[] Kinds =
    [
        (
            "--ditch",
            "The low side of a seam: s3=left, s3=right (of its way from point to point) or s3=open.",
            EditWords.Ditch
        ),
        ("--edge", "What the outline is at one of its seams: s1=seam, s1=raw or s1=cut.", EditWords.Edge),
        ("--leave", "A patch to leave alone: p4; p4=no takes the mark off.", EditWords.Leave),
        ("--name", "A block's pattern: b2=ohio-star, b2=ohio-star:1 turned once, b2=unknown.", EditWords.Name),
        (
            "--corners",
            "A block's corners, inches, clockwise from its top left: \"b2=0,0 12,0 12,12 0,12\".",
            EditWords.Corners
        ),
        ("--arc", "Bends a seam: s3=0.2 by its bulge (0 makes it straight), s3=4,2.5 through a place.", EditWords.Arc),
        ("--move", "Moves a point, inches: j5=12.1,8.0.", EditWords.Move),
        ("--remove", "Removes a seam: s7.", EditWords.Remove),
        (
            "--add",
            "Adds a seam between two places, inches: \"0,6 12,6\", an arc with its bulge: \"0,6 12,6 0.2\".",
            EditWords.Add
        ),
        ("--copy", "Lays the inner seams of a block into the others of its pattern: b1.", EditWords.Copy),
    ];

    public static Command Create(Terminal terminal)
    {
        Argument<string> quilt = new("QUILT") { Description = "The quilt map (JSON); - for standard input." };
        Option<string?> edits = new("--edits") { Description = "A file of edits (JSON), carried out first." };
        Option<string?> save = new("--save-edits")
        {
            Description =
                "A file of edits to which those given by hand are appended, to be carried over when the photograph is mapped again.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The mended map to write (JSON)." };
        Option<string?> preview = new("--preview")
        {
            Description = "A drawing to write (PNG): seams, points, patches and their names.",
        };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "mend",
            "Corrects a quilt map by hand: seams added, moved, removed, bent; blocks named; patches left alone."
        )
        {
            quilt,
            edits,
            save,
            output,
            preview,
            force,
            json,
        };
        (Option<string[]> Option, Func<string, MapEdit> Read)[] kinds =
        [
            .. Kinds.Select(k => (new Option<string[]>(k.Name) { Description = k.Description }, k.Read)),
        ];
        foreach ((Option<string[]> option, _) in kinds)
        {
            command.Options.Add(option);
        }

        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                List<MapEdit> byHand = [];
                foreach ((Option<string[]> option, Func<string, MapEdit> read) in kinds)
                {
                    string[] texts = r.GetValue(option) ?? [];
                    RefuseRepeats(option.Name, texts);
                    byHand.AddRange(texts.Select(read));
                }

                (Written written, QuiltMap map, int done) = MendQuilt.Run(
                    new()
                    {
                        Quilt = r.GetRequiredValue(quilt),
                        Edits = r.GetValue(edits),
                        ByHand = byHand,
                        SaveEdits = r.GetValue(save),
                    },
                    r.GetRequiredValue(output),
                    r.GetValue(preview),
                    force: r.GetValue(force),
                    cancellation
                );
                JsonObject more = MapVerb.Summary(map);
                more["edits"] = done;
                return Terminal.Wrote(
                    written,
                    more,
                    console =>
                    {
                        MapVerb.Show(console, map);
                        console.WriteLine(
                            done == 1 ? "1 edit" : string.Create(CultureInfo.InvariantCulture, $"{done} edits")
                        );
                    }
                );
            }
        );
        return command;
    }

    // Said twice of one thing, at most one can be meant.
    private static void RefuseRepeats(string option, string[] texts)
    {
        IGrouping<string, string>? twice = texts
            .GroupBy(t => option == "--add" ? t.Trim() : t.Split('=')[0].Trim(), StringComparer.Ordinal)
            .FirstOrDefault(g => g.Count() > 1);
        if (twice is not null)
        {
            throw new InputException(
                $"\"{twice.Key}\" is given twice",
                option,
                "Give it once; for one edit after another use a file of edits."
            );
        }
    }
}
