using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class LensVerb
{
    public static Command Create(Terminal terminal)
    {
        Argument<string[]> photos = new("PHOTO")
        {
            Arity = ArgumentArity.OneOrMore,
            Description = "Photos of the lens board, or of a chessboard, all by one camera at one setting.",
        };
        photos.Validators.Add(MapVerb.RefuseOptions);
        Option<string?> chessboard = new("--chessboard")
        {
            Description = "A plain chessboard instead: its inner corners, across x down, for example 9x6.",
        };
        Option<string?> square = new("--square")
        {
            Description = "Side of a square as measured, inches or mm; 1 in otherwise.",
        };
        Option<string?> picture = new("--picture")
        {
            Description = "A picture to write (PNG): which parts of the frame were covered, and the residuals.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The camera profile to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new("lens", "A camera profile from photos of the lens board or of a plain chessboard.")
        {
            photos,
            chessboard,
            square,
            picture,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                (Written written, LensReport report) = CardCommands.Lens(
                    r.GetRequiredValue(photos),
                    r.GetValue(chessboard) is { } inner ? Values.Counts(inner, "--chessboard") : null,
                    r.GetValue(square) is { } side ? Values.Length(side, "--square") : null,
                    r.GetRequiredValue(output),
                    r.GetValue(picture),
                    new OutputFiles(r.GetValue(force)),
                    progress,
                    cancellation
                );
                JsonObject more = new()
                {
                    ["model"] = report.Model,
                    ["rmsPx"] = report.RmsPixels,
                    ["heldOutRmsPx"] = report.HeldOutRmsPixels,
                    ["photosUsed"] = report.PhotosUsed,
                };
                return Terminal.Wrote(
                    written,
                    more,
                    console =>
                        console.WriteLine(
                            string.Create(
                                CultureInfo.InvariantCulture,
                                $"{report.PhotosUsed} of {report.PhotosGiven} photos used, distortion {report.Model}, {report.RmsPixels:0.00} px off, {report.HeldOutRmsPixels:0.00} px in photos held out"
                            )
                        )
                );
            }
        );
        return command;
    }
}
