using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;
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
            Description = "The photograph, or several with cards: JPEG, PNG, WebP or HEIC.",
        };
        photos.Validators.Add(RefuseOptions);
        Option<string?> corners = new("--corners")
        {
            Description =
                "Photo pixels of the corners of a rectangle of known size, clockwise from its top left: \"x,y x,y x,y x,y\". Without it, marker cards in the photo give the scale.",
        };
        Option<string?> size = new("--size") { Description = "That rectangle's size on the cloth: WxH, inches or mm." };
        TapeOptions tape = new("With --corners of one block, instead of --size");
        Option<string?> lens = new("--lens")
        {
            Description = "A camera profile (lens.json) that takes the lens's distortion out.",
        };
        Option<string[]> tapes = new("--tape")
        {
            Description = "A distance between two cards' centres measured by tape: 3:7=40.25. May be given again.",
        };
        Option<string?> printed = new("--printed")
        {
            Description = "The two long rulers on the printed card page as measured, across x down: 6.98x8.97.",
        };
        Option<EdgeKind?> edge = new("--edge")
        {
            Description =
                "What all four sides of the mapped area are: seam, the top's raw edge, or cut, only where the map ends. Without it the picture tells, side by side.",
        };
        Option<string> lowSide = LowSideVerb.Order("light");
        Option<string?> lookHere = new("--look-here")
        {
            Description = "A picture to write (PNG): the least sure places, worst first, to compare with the cloth.",
        };
        Option<string?> errorPicture = new("--error-picture")
        {
            Description =
                "A picture to write (PNG): how far off a position may be anywhere on the cloth, as lines at the ruler's fractions.",
        };
        HintOptions hints = new();
        OntoOptions onto = new();
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
            tape.Sides,
            tape.Diagonals,
            lens,
            tapes,
            printed,
            edge,
            hints.Lattice,
            hints.Pattern,
            hints.Block,
            hints.Edits,
            onto.Known,
            onto.Row,
            onto.Touch,
            output,
            preview,
            lowSide,
            lookHere,
            errorPicture,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                string[] files = r.GetRequiredValue(photos);
                MapExtras extras = new()
                {
                    LowSide = r.GetRequiredValue(lowSide),
                    LookHere = r.GetValue(lookHere),
                    ErrorPicture = r.GetValue(errorPicture),
                    OutlineFromPicture = r.GetValue(edge) is null,
                };
                TapeWords? measured = tape.Read(r);
                OntoWishes? known = onto.Read(r, measured);
                OntoAnswer answer = new(
                    r.GetRequiredValue(output),
                    r.GetValue(preview),
                    new OutputFiles(r.GetValue(force)),
                    progress,
                    cancellation
                );
                if (r.GetValue(corners) is not { } cornerText)
                {
                    RefuseLooseTape(measured, known);
                    CardMapQuestion question = new()
                    {
                        Photos = files,
                        Lens = r.GetValue(lens),
                        Tapes = r.GetValue(tapes) ?? [],
                        Printed = r.GetValue(printed),
                        Outline = r.GetValue(edge) ?? EdgeKind.Cut,
                        Hints = hints.Read(r),
                        Extras = extras,
                    };
                    if (known is not null)
                    {
                        return answer.Of(question, known);
                    }

                    return FromCards(
                        question,
                        r.GetRequiredValue(output),
                        r.GetValue(preview),
                        new OutputFiles(r.GetValue(force)),
                        progress,
                        cancellation
                    );
                }

                if (files.Length > 1)
                {
                    throw new InputException(
                        "With --corners one photograph is mapped at a time",
                        files[1],
                        "Give one photograph that shows the whole rectangle, or lay marker cards and leave --corners out."
                    );
                }

                (Length width, Length height) = Scale(files[0], r.GetValue(size), measured, r.GetValue(edge));
                MapWishes wishes = new()
                {
                    Photo = files[0],
                    Corners = Values.Points<PhotoSpace>(cornerText, "--corners"),
                    Width = width,
                    Height = height,
                    Tape = measured,
                    Lens = r.GetValue(lens),
                    Outline = r.GetValue(edge) ?? (measured is null ? EdgeKind.Seam : EdgeKind.Cut),
                    Hints = hints.Read(r),
                    Extras = measured is null ? extras : extras with { OutlineFromPicture = false },
                };
                if (known is not null)
                {
                    return answer.Of(wishes, known);
                }

                (Written written, QuiltMap map) = MapQuilt.Run(
                    wishes,
                    r.GetRequiredValue(output),
                    r.GetValue(preview),
                    new OutputFiles(r.GetValue(force)),
                    progress,
                    cancellation
                );
                return Mapped(written, map, MapError.Within95(map));
            }
        );
        return command;
    }

    // A rectangle's size, or nothing where the corners are a block's with its tape measures.
    private static (Length Width, Length Height) Scale(string photo, string? size, TapeWords? measured, EdgeKind? edge)
    {
        if (measured is null)
        {
            return size is null
                ? throw new InputException(
                    "The photograph has corners but no scale",
                    photo,
                    "Give --size: what the tape says between the corners, width x height; for one block also --sides and --diagonals."
                )
                : Values.Size(size, "--size");
        }

        if (size is not null)
        {
            throw new InputException(
                "The corners are given two scales",
                "--size",
                "Give --size for a rectangle, or --sides and --diagonals for one block, not both."
            );
        }

        return edge is null or EdgeKind.Cut
            ? (Length.Zero, Length.Zero)
            : throw new InputException(
                "A map from one block ends where its inches do, not at an edge of the quilt",
                "--edge",
                "Leave it out, or give --corners of the whole rectangle with --size."
            );
    }

    // Six measures belong to four corners, wherever those are given.
    private static void RefuseLooseTape(TapeWords? measured, OntoWishes? known)
    {
        if (measured is not null && known?.Touched is not { HasCorners: true })
        {
            throw new InputException(
                "Sides and diagonals are given, but not where that block lies in the photograph",
                "--sides",
                "Give --corners, the block's four corners in photo pixels; with --onto give them to --touch."
            );
        }
    }

    // An argument that may repeat would swallow a mistyped option.
    internal static void RefuseOptions(System.CommandLine.Parsing.ArgumentResult result)
    {
        foreach (System.CommandLine.Parsing.Token token in result.Tokens.Where(t => t.Value.StartsWith('-')))
        {
            result.AddError($"Unknown option '{token.Value}'.");
        }
    }

    private static Answer FromCards(
        CardMapQuestion question,
        string output,
        string? preview,
        OutputFiles files,
        IProgress<string> progress,
        CancellationToken cancellation
    )
    {
        (Written written, QuiltMap map, Length within) = CardCommands.Map(
            question,
            output,
            preview,
            files,
            progress,
            cancellation
        );
        return Mapped(written, map, within);
    }

    private static Answer Mapped(Written written, QuiltMap map, Length within)
    {
        JsonObject more = Summary(map);
        if (double.IsFinite(within.Inches))
        {
            more["within95Inches"] = within.Inches;
        }

        return Terminal.Wrote(
            written,
            more,
            console =>
            {
                Show(console, map);
                if (double.IsFinite(within.Inches))
                {
                    console.WriteLine(Text($"95 % of the points are within {within.Inches:0.000} in"));
                }
            }
        );
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
            map.Blocks.GroupBy(b => b.Pattern ?? (b.Patches.Count == 1 ? "plain" : "unknown"))
                .Select(g => Text($"{g.Count()} {g.Key}"))
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
        foreach (string line in ReportText.Short(QuiltReport.Of(map)))
        {
            console.WriteLine(line);
        }
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
