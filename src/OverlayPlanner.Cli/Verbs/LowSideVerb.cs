using System.CommandLine;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

internal static class LowSideVerb
{
    public static Option<string> Order(string usual) =>
        new("--low-side")
        {
            DefaultValueFactory = _ => usual,
            Description =
                "What tells the low side of a seam, in order of preference with commas between: light (as the picture shows it), dark (allowances under the darker cloth), sashing or block (under the sashing, under the block), alternate (row by row), open (pressed open), the id of a taught block whose copies follow; or none.",
        };

    public static Command Create(Terminal terminal)
    {
        Argument<string> quilt = new("QUILT") { Description = "The quilt map (JSON)." };
        Option<string> order = Order("dark");
        Option<string> output = new("--out") { Required = true, Description = "The quilt map to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "low-side",
            "Gives the seams of a map their low sides by rules of pressing; what is known already stays."
        )
        {
            quilt,
            order,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                (Written written, QuiltMap map) = LowSideOrder.Run(
                    r.GetRequiredValue(quilt),
                    r.GetRequiredValue(order),
                    r.GetRequiredValue(output),
                    new OutputFiles(r.GetValue(force)),
                    cancellation
                );
                return Terminal.Wrote(
                    written,
                    new()
                    {
                        ["seams"] = map.Seams.Count(s => s.Role != SeamRole.Edge),
                        ["lowSides"] = map.Seams.Count(s => s.Role != SeamRole.Edge && s.Ditch is not null),
                    }
                );
            }
        );
        return command;
    }
}
