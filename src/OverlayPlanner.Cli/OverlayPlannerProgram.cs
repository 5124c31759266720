using System.CommandLine;
using System.CommandLine.Parsing;
using OverlayPlanner.Cli.Verbs;

namespace OverlayPlanner.Cli;

/// <summary>The whole command line: verbs, usage errors, exit status.</summary>
public static class OverlayPlannerProgram
{
    /// <summary>Runs one command.</summary>
    /// <returns>0 done, 1 the input can't be used, 2 wrong usage.</returns>
    public static async Task<int> RunAsync(IReadOnlyList<string> arguments, TextWriter output, TextWriter error)
    {
        ArgumentNullException.ThrowIfNull(arguments);
        Terminal terminal = new(output, error);
        RootCommand root = new(
            "Plans what to stitch on a pieced quilt, and in which order, from a photograph to true-size sheets."
        )
        {
            TargetsVerb.Create(terminal),
            LensVerb.Create(terminal),
            MapVerb.Create(terminal),
            MendVerb.Create(terminal),
            RefitVerb.Create(terminal),
            ReportVerb.Create(terminal),
            LowSideVerb.Create(terminal),
            BlocksVerb.Create(terminal),
            RouteVerb.Create(terminal),
            CheckVerb.Create(terminal),
            SheetsVerb.Create(terminal),
            CardVerb.Create(terminal),
            PracticeVerb.Create(terminal),
            PictureVerb.Create(terminal),
            PlotVerb.Create(terminal),
            ProjectVerb.Create(terminal),
            WorkroomVerb.Create(terminal),
            DemoVerb.Create(terminal),
        };

        ParseResult parsed = root.Parse(arguments, new ParserConfiguration { ResponseFileTokenReplacer = null });
        if (parsed.Errors.Count > 0 && parsed.Action is not System.CommandLine.Help.HelpAction)
        {
            WriteUsageError(parsed, arguments, error);
            return 2;
        }

        if (arguments.Count == 0)
        {
            await root.Parse(["--help"]).InvokeAsync(new InvocationConfiguration { Output = error, Error = error });
            return 2;
        }

        return await parsed.InvokeAsync(
            new InvocationConfiguration
            {
                Output = output,
                Error = error,
                EnableDefaultExceptionHandler = false,
            }
        );
    }

    // Echoes what was typed with a caret under the token that does not fit.
    private static void WriteUsageError(ParseResult parsed, IReadOnlyList<string> arguments, TextWriter error)
    {
        ParseError first = parsed.Errors[0];
        string line = "overlayplanner";
        string? bad = parsed.UnmatchedTokens.Count > 0 ? parsed.UnmatchedTokens[0] : null;
        int caret = -1;
        foreach (string argument in arguments)
        {
            string shown =
                argument.Length == 0 || argument.Contains(' ', StringComparison.Ordinal) ? $"\"{argument}\"" : argument;
            if (caret < 0 && argument == bad)
            {
                caret = line.Length + 1;
            }

            line += " " + shown;
        }

        error.WriteLine(first.Message);
        error.WriteLine("  " + line);
        if (caret >= 0)
        {
            error.WriteLine("  " + new string(' ', caret) + "^");
        }

        string verb = parsed.CommandResult.Command is RootCommand ? "" : " " + parsed.CommandResult.Command.Name;
        error.WriteLine($"See: overlayplanner{verb} --help");
    }
}
