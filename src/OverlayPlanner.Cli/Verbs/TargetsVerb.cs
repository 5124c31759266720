using System.CommandLine;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class TargetsVerb
{
    public static Command Create(Terminal terminal)
    {
        Option<string> paper = new("--paper") { DefaultValueFactory = _ => "letter", Description = "letter or a4." };
        Option<string?> fit = new("--fit")
        {
            Description = "Also draw where to lay the cards round a top of this size: WxH.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The folder to write into." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "targets",
            "Printable marker cards (2, 3 and 4 in, and strips) and the lens board, as PDF."
        )
        {
            paper,
            fit,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
                Terminal.Wrote(
                    CardCommands.Targets(
                        r.GetRequiredValue(paper),
                        r.GetRequiredValue(output),
                        r.GetValue(fit) is { } size ? Values.Size(size, "--fit") : null,
                        new OutputFiles(r.GetValue(force)),
                        cancellation
                    ),
                    null,
                    console =>
                        console.WriteLine(
                            "Print at 100 %, measure the long rulers on the page, and give what they measure to map as --printed."
                        )
                )
        );
        return command;
    }
}
