using System.CommandLine;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

internal static class SheetsVerb
{
    public static Command Create(Terminal terminal) =>
        RouteOutput.Create(
            terminal,
            "sheets",
            "True-size trace sheets (PDF) to lay on the cloth. Print at 100 % and measure the check square before use.",
            "The PDF to write.",
            paper: true,
            marks: false,
            (q, files, progress, cancellation) =>
                RenderRoute.Sheets(q.Route, q.Candidate, q.Paper, q.Output, files, progress, cancellation)
        );
}

internal static class CardVerb
{
    public static Command Create(Terminal terminal) =>
        RouteOutput.Create(
            terminal,
            "card",
            "The numbered stitch card (PDF) to keep beside the machine.",
            "The PDF to write.",
            paper: true,
            marks: false,
            (q, files, progress, cancellation) =>
                RenderRoute.Card(q.Route, q.Candidate, q.Paper, q.Output, files, progress, cancellation)
        );
}

internal static class PlotVerb
{
    public static Command Create(Terminal terminal) =>
        RouteOutput.Create(
            terminal,
            "plot",
            "A file for a pen plotter; its ending says the format.",
            $"The file to write: {string.Join(", ", RenderRoute.PlotterEndings)}.",
            paper: false,
            marks: true,
            (q, files, progress, cancellation) =>
                RenderRoute.Plot(q.Route, q.Candidate, q.Marks, q.Output, files, progress, cancellation)
        );
}
