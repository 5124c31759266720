using System.CommandLine;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>What the verbs that draw one route have in common.</summary>
internal sealed record RouteQuestion(
    string Route,
    string? Candidate,
    string Paper,
    bool Marks,
    string Output,
    ParseResult Parsed
);

internal static class RouteOutput
{
    public static Command Create(
        Terminal terminal,
        string verb,
        string description,
        string outputDescription,
        bool paper,
        bool marks,
        Func<RouteQuestion, OutputFiles, IProgress<string>, CancellationToken, Written> render,
        params IReadOnlyList<Option> more
    )
    {
        Argument<string> route = new("ROUTE") { Description = "The route (JSON)." };
        Option<string?> candidate = Candidate();
        Option<string> paperName = new("--paper")
        {
            DefaultValueFactory = _ => "letter",
            Description = "letter, legal, tabloid, a4, a3, or WxH in inches or mm.",
        };
        Option<bool> withMarks = new("--marks")
        {
            Description = "Draw the corners of the mapped area too, and crosses where panels join.",
        };
        Option<string> output = new("--out") { Required = true, Description = outputDescription };
        Option<bool> force = Terminal.Force();
        Option<bool> json = Terminal.Json();
        Command command = new(verb, description) { route, candidate };
        if (paper)
        {
            command.Add(paperName);
        }

        if (marks)
        {
            command.Add(withMarks);
        }

        foreach (Option option in more)
        {
            command.Add(option);
        }

        command.Add(output);
        command.Add(force);
        command.Add(json);
        terminal.Bind(
            command,
            json,
            (r, progress, cancellation) =>
            {
                RouteQuestion question = new(
                    r.GetRequiredValue(route),
                    r.GetValue(candidate),
                    paper ? r.GetRequiredValue(paperName) : "",
                    marks && r.GetValue(withMarks),
                    r.GetRequiredValue(output),
                    r
                );
                return Terminal.Wrote(render(question, new OutputFiles(r.GetValue(force)), progress, cancellation));
            }
        );
        return command;
    }

    public static Option<string> Up() =>
        new("--up")
        {
            DefaultValueFactory = _ => "top",
            Description = "Which side of the quilt is away from you as it is loaded: top, bottom, left, right.",
        };

    public static Option<string?> Candidate() =>
        new("--candidate") { Description = "Which of the route's choices, by its letter; the first otherwise." };
}
