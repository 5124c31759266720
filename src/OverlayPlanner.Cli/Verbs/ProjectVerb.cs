using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

internal static class ProjectVerb
{
    public static Command Create(Terminal terminal) =>
        new("project", "A projector over the quilt: its profile, and a route as its picture.")
        {
            CreatePattern(terminal),
            CreateCalibrate(terminal),
            CreateCheck(terminal),
            CreateRender(terminal),
        };

    // Said wherever a lamp is about to shine on somebody's hands.
    private const string Care =
        "Never look into the lamp; keep its lens above head height, and cords out of the way of feet.";

    private static Option<string?> Points(string description) => new("--points") { Description = description };

    private static Option<string> Pixels() =>
        new("--pixels") { Required = true, Description = "The projector's picture: WxH in pixels." };

    private static Command CreatePattern(Terminal terminal)
    {
        Option<string?> pixels = new("--pixels") { Description = "The projector's picture: WxH in pixels." };
        Option<string?> points = Points(
            "Crosses instead, to be nudged onto tape-measured places: cloth inches = projector pixels, or a file with such a list."
        );
        Option<string?> projector = new("--projector")
        {
            Description = "The check picture of this profile instead: marks at simple inches of the cloth.",
        };
        Option<string> output = new("--out") { Required = true, Description = "The picture to write (PNG)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new("pattern", "The picture that a projector is calibrated or checked with. " + Care)
        {
            pixels,
            points,
            projector,
            output,
            force,
            json,
        };
        command.Validators.Add(r =>
        {
            if (r.GetResult(pixels) is null && r.GetResult(projector) is null)
            {
                r.AddError("Option '--pixels' is required.");
            }
        });
        terminal.Bind(
            command,
            json,
            (r, _, cancellation) =>
            {
                string target = r.GetRequiredValue(output);
                OutputFiles files = new(r.GetValue(force));
                if (r.GetValue(projector) is { } profile)
                {
                    return Cared(CalibrateProjector.CheckPicture(profile, target, files, cancellation));
                }

                (int width, int height) = Values.Counts(r.GetValue(pixels)!, "--pixels");
                return Cared(
                    r.GetValue(points) is { } typed
                        ? CalibrateProjector.Crosses(PairsOf(typed), width, height, target, files, cancellation)
                        : CalibrateProjector.Pattern(width, height, target, files, cancellation)
                );
            }
        );
        return command;
    }

    private static Command CreateCalibrate(Terminal terminal)
    {
        ProjectorPhotoOptions camera = new(
            "Photos of the projected pattern with printed cards round it; one from each side of the frame takes a sag of the cloth out.",
            ArgumentArity.ZeroOrMore
        );
        Option<string?> points = Points(
            "Without photos: four or more cloth inches = projector pixels, \"0,0=102,88 24,0=1820,95 …\", or a file with such a list."
        );
        Option<string> pixels = Pixels();
        Option<string?> quilt = new("--quilt")
        {
            Description =
                "The quilt map that was made with these cards where they lie, so that its inches are the profile's.",
        };
        Option<string?> at = new("--at")
        {
            Description = "Where two or more cards' middles lie on the quilt map, inches: \"3=0,0 7=40,0\".",
        };
        Option<string> output = new("--out") { Required = true, Description = "The profile to write (JSON)." };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(
            "calibrate",
            "A projector's profile, from photos of its pattern or from crosses nudged onto tape-measured points. "
                + Care
        )
        {
            camera.Photos,
            points,
            pixels,
            camera.Lens,
            camera.Tapes,
            camera.Printed,
            quilt,
            at,
            output,
            force,
            json,
        };
        command.Validators.Add(r =>
        {
            if (r.GetResult(camera.Photos)?.Tokens.Count is null or 0 && r.GetResult(points) is null)
            {
                r.AddError("Photos or '--points' are required.");
            }
        });
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                (int width, int height) = Values.Counts(r.GetRequiredValue(pixels), "--pixels");
                string target = r.GetRequiredValue(output);
                OutputFiles files = new(r.GetValue(force));
                JsonObject more = new() { ["width"] = width, ["height"] = height };
                string[] photos = r.GetValue(camera.Photos) ?? [];
                if (r.GetValue(points) is { } typed)
                {
                    if (photos.Length > 0)
                    {
                        throw new InputException(
                            "Photos and points are two ways to the same profile",
                            photos[0],
                            "Give the photos, or --points."
                        );
                    }

                    (Written byHand, double rms) = CalibrateProjector.Run(
                        PairsOf(typed),
                        width,
                        height,
                        target,
                        files,
                        cancellation
                    );
                    more["residualPx"] = rms;
                    return Cared(byHand, more);
                }

                (Written written, ProjectorReport report) = CalibrateProjector.FromPhotos(
                    camera.Read(r) with
                    {
                        Quilt = r.GetValue(quilt),
                        Places = r.GetValue(at) is { } places ? Values.CardPlaces(places, "--at") : [],
                    },
                    width,
                    height,
                    target,
                    files,
                    progress,
                    cancellation
                );
                more["residualPx"] = report.RmsPixels;
                more["residualInches"] = report.Rms.Inches;
                more["heldOutPx"] = report.HeldOutPixels;
                more["marks"] = report.Marks;
                more["marksLeftOut"] = report.LeftOut;
                more["bent"] = report.IsBent;
                more["within95Inches"] = report.Within95.Inches;
                return Cared(
                    written,
                    more,
                    console =>
                    {
                        console.WriteLine(
                            Text(
                                $"{report.Marks} marks used, {report.LeftOut} left out; {report.RmsPixels:0.00} projector pixels off, {report.Rms.Inches:0.000} in; {report.HeldOutPixels:0.00} px on marks held out{(report.IsBent ? ", with the lens's bend" : "")}"
                            )
                        );
                        console.WriteLine(
                            Text($"95 % of the light falls within {report.Within95.Inches:0.000} in of its place")
                        );
                    }
                );
            }
        );
        return command;
    }

    private static Command CreateCheck(Terminal terminal)
    {
        ProjectorPhotoOptions camera = new(
            "Photos of the profile's check picture with the cards.",
            ArgumentArity.OneOrMore
        );
        Option<string> projector = new("--projector")
        {
            Required = true,
            Description = "The projector's profile (JSON), whose check picture is thrown.",
        };
        Option<bool> json = Terminal.Json();
        Command command = new(
            "check",
            "How far the light falls from its place: the profile's check picture, photographed and measured. " + Care
        )
        {
            camera.Photos,
            projector,
            camera.Lens,
            camera.Tapes,
            camera.Printed,
            json,
        };
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                LightReport report = CalibrateProjector.Check(
                    camera.Read(r),
                    r.GetRequiredValue(projector),
                    progress,
                    cancellation
                );
                JsonObject document = new()
                {
                    ["marks"] = report.Marks,
                    ["within95Inches"] = report.Within95.Inches,
                    ["within95Px"] = report.Within95Pixels,
                    ["worstInches"] = report.Worst.Inches,
                    ["worstAt"] = new JsonArray(report.WorstAt.X, report.WorstAt.Y),
                    ["scalePercent"] = report.ScalePercent,
                    ["byCards"] = report.ByCards,
                };
                return new Answer(
                    document,
                    report.Findings,
                    console =>
                    {
                        console.WriteLine(
                            Text(
                                $"95 % of {report.Marks} marks fall within {report.Within95.Inches:0.000} in of their place ({report.Within95Pixels:0.0} projector pixels)"
                            )
                        );
                        console.WriteLine(
                            Text(
                                $"worst {report.Worst.Inches:0.000} in, at {report.WorstAt.X:0.#},{report.WorstAt.Y:0.#} in; scale {report.ScalePercent:+0.00;-0.00;0.00} %"
                            )
                        );
                        console.WriteLine(Care);
                    }
                );
            }
        );
        return command;
    }

    private static Answer Cared(Written written, JsonObject? more = null, Action<IAnsiConsole>? show = null) =>
        Terminal.Wrote(
            written,
            more,
            console =>
            {
                show?.Invoke(console);
                console.WriteLine(Care);
            }
        );

    private static IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> PairsOf(string typed) =>
        Values.Pairs(CalibrateProjector.PointsText(typed), "--points");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

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
