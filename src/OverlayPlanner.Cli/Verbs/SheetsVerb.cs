using System.CommandLine;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

internal static class SheetsVerb
{
    public static Command Create(Terminal terminal)
    {
        Option<string> each = new("--each")
        {
            DefaultValueFactory = _ => "top",
            Description =
                "top: all in one piece; blocks: each block by itself; kinds: each kind of block once, with the blocks that it fits within 1/16 in.",
        };
        Option<string> up = RouteOutput.Up();
        Option<bool> mirror = new("--mirror") { Description = "Mirrored, for tracing from the back." };
        Option<string?> dots = new("--dots")
        {
            Description = "The route as dots this far apart, to prick and pounce: 1/8.",
        };
        Option<string> use = new("--use")
        {
            DefaultValueFactory = _ => "trace",
            Description = "trace, light-table (grey), film or tear-away (each says what to mind).",
        };
        Option<string?> measured = new("--measured")
        {
            Description = "What the marks of a first print measure, across x down the page: the next one is corrected.",
        };
        Option<string> marked = new("--marked")
        {
            DefaultValueFactory = _ => "1x1",
            Description =
                "What those marks say; long rulers give the better figure: --measured \"5 13/16x9 1/8\" --marked 6x9.",
        };
        return RouteOutput.Create(
            terminal,
            "sheets",
            "True-size trace sheets (PDF) to lay on the cloth. Print at 100 % and measure the check square before use.",
            "The PDF to write.",
            paper: true,
            marks: false,
            (q, files, progress, cancellation) =>
                RenderRoute.Sheets(
                    q.Route,
                    q.Candidate,
                    new SheetWords
                    {
                        Paper = q.Paper,
                        Each = q.Parsed.GetRequiredValue(each),
                        Up = q.Parsed.GetRequiredValue(up),
                        Mirror = q.Parsed.GetValue(mirror),
                        Dots = q.Parsed.GetValue(dots) is { } pitch ? Values.Length(pitch, "--dots") : null,
                        Use = q.Parsed.GetRequiredValue(use),
                        Measured = q.Parsed.GetValue(measured) is { } m ? Values.Size(m, "--measured") : null,
                        Marked = Values.Size(q.Parsed.GetRequiredValue(marked), "--marked"),
                    },
                    q.Output,
                    files,
                    progress,
                    cancellation
                ),
            each,
            up,
            mirror,
            dots,
            use,
            measured,
            marked
        );
    }
}

internal static class CardVerb
{
    public static Command Create(Terminal terminal)
    {
        Option<string> up = RouteOutput.Up();
        return RouteOutput.Create(
            terminal,
            "card",
            "The numbered stitch card (PDF) to keep beside the machine.",
            "The PDF to write.",
            paper: true,
            marks: false,
            (q, files, progress, cancellation) =>
                RenderRoute.Card(
                    q.Route,
                    q.Candidate,
                    new CardWords(q.Paper, q.Parsed.GetRequiredValue(up)),
                    q.Output,
                    files,
                    progress,
                    cancellation
                ),
            up
        );
    }
}

internal static class PracticeVerb
{
    public static Command Create(Terminal terminal)
    {
        Option<string> kind = new("--kind")
        {
            DefaultValueFactory = _ => "sheet",
            Description =
                "sheet: one page, the path fading from full to blank; class: with three levels, answers and sandwich sizes; strip: the path growing picture by picture.",
        };
        Option<string?> block = new("--block") { Description = "The block, by its id; the route's first otherwise." };
        Option<string> hand = new("--hand")
        {
            DefaultValueFactory = _ => "right",
            Description = "right or left: the hand that holds the pencil.",
        };
        return RouteOutput.Create(
            terminal,
            "practice",
            "Pages to practise the path with a pencil (PDF), for one or for a class.",
            "The PDF to write.",
            paper: true,
            marks: false,
            (q, files, progress, cancellation) =>
                RenderRoute.Practice(
                    q.Route,
                    q.Candidate,
                    new PracticeWords(
                        q.Paper,
                        q.Parsed.GetRequiredValue(kind),
                        q.Parsed.GetValue(block),
                        q.Parsed.GetRequiredValue(hand)
                    ),
                    q.Output,
                    files,
                    progress,
                    cancellation
                ),
            kind,
            block,
            hand
        );
    }
}

internal static class PlotVerb
{
    public static Command Create(Terminal terminal)
    {
        Option<string?> device = new("--device")
        {
            Description = "A plotter's profile (JSON); its bed splits into panels.",
        };
        Option<string?> bed = new("--bed")
        {
            Description = "The bed, WxH: a larger quilt is plotted in panels, one file each, NAME-ROW-COLUMN.",
        };
        Option<string> order = new("--order")
        {
            DefaultValueFactory = _ => "way",
            Description =
                "stitched: threads as they are stitched; way: least pen-up travel, each thread drawn the way it is stitched; any: from either end.",
        };
        return RouteOutput.Create(
            terminal,
            "plot",
            "A file for a pen plotter; its ending says the format.",
            $"The file to write: {string.Join(", ", RenderRoute.PlotterEndings)}.",
            paper: false,
            marks: true,
            (q, files, progress, cancellation) =>
            {
                PlotWords words = new()
                {
                    Marks = q.Marks,
                    Device = q.Parsed.GetValue(device),
                    Bed = q.Parsed.GetValue(bed) is { } b ? Values.Size(b, "--bed") : null,
                    Order = q.Parsed.GetRequiredValue(order),
                };
                return RenderRoute.Plot(q.Route, q.Candidate, words, q.Output, files, progress, cancellation);
            },
            device,
            bed,
            order
        );
    }
}
