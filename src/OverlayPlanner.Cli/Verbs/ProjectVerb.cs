using System.CommandLine;
using System.Text.Json.Nodes;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

internal static class ProjectVerb
{
    public static Command Create(Terminal terminal) =>
        new("project", "A projector over the quilt: its profile, and a route as its picture.")
        {
            CreateCalibrate(terminal),
            CreateRender(terminal),
        };

    private static Command CreateCalibrate(Terminal terminal)
    {
        Option<string> points = new("--points")
        {
            Required = true,
            Description = "Four or more cloth inches = projector pixels: \"0,0=102,88 24,0=1820,95 …\".",
        };
        Option<string> pixels = new("--pixels")
        {
            Required = true,
            Description = "The projector's picture: WxH in pixels.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The profile to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "calibrate",
            "A projector's profile from crosses nudged onto tape-measured points. Never look into the lamp; keep its lens above head height."
        )
        {
            points,
            pixels,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                (int width, int height) = Values.Counts(r.GetRequiredValue(pixels), "--pixels");
                (Written written, double rms) = CalibrateProjector.Run(
                    Values.Pairs(r.GetRequiredValue(points), "--points"),
                    width,
                    height,
                    r.GetRequiredValue(output),
                    new OutputFiles(r.GetValue(force)),
                    cancellation
                );
                JsonObject more = new()
                {
                    ["width"] = width,
                    ["height"] = height,
                    ["residualPx"] = rms,
                };
                return Terminal.Wrote(written, more);
            }
        );
        return command;
    }

    private static Command CreateRender(Terminal terminal)
    {
        Argument<string> route = new("ROUTE") { Description = "The route (JSON)." };
        Option<string> projector = new("--projector")
        {
            Required = true,
            Description = "The projector's profile (JSON).",
        };
        Option<string?> candidate = RouteOutput.Candidate();
        Option<string?> step = new("--step")
        {
            Description =
                "The step that is stitched next, by its number: bright, with what is done dim. Or each: a picture of every step, NAME-001 and so on.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The picture to write (PNG)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new("render", "A route through a profile as the projector's picture.")
        {
            route,
            projector,
            candidate,
            step,
            output,
            force,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
                Terminal.Wrote(
                    RenderRoute.Frame(
                        r.GetRequiredValue(route),
                        r.GetValue(candidate),
                        r.GetRequiredValue(projector),
                        r.GetValue(step),
                        r.GetRequiredValue(output),
                        new OutputFiles(r.GetValue(force)),
                        progress,
                        cancellation
                    )
                )
        );
        return command;
    }
}
