using System.CommandLine;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using Spectre.Console;

namespace OverlayPlanner.Cli;

/// <summary>What a verb answers: a JSON document, and the same for people.</summary>
internal sealed record Answer(JsonObject Document, IReadOnlyList<Finding> Findings, Action<IAnsiConsole> Show);

/// <summary>Where answers, warnings and errors go, and what exit status they give.</summary>
internal sealed class Terminal(TextWriter output, TextWriter error)
{
    private static readonly JsonSerializerOptions Indented = new()
    {
        WriteIndented = true,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>The option that every verb takes.</summary>
    public static Option<bool> Json() =>
        new("--json") { Description = "Answer with one JSON document on standard output." };

    /// <summary>The option of every verb that writes.</summary>
    public static Option<bool> Force() => new("--force") { Description = "Replace files that exist." };

    /// <summary>Gives a command its work; what comes of it becomes text, JSON and the exit status.</summary>
    public void Bind(
        Command command,
        Option<bool> json,
        Func<ParseResult, IProgress<string>, CancellationToken, Answer> work
    ) =>
        command.SetAction(
            (r, cancellation) =>
                Task.FromResult(Run(r.GetValue(json), (progress, stop) => work(r, progress, stop), cancellation))
        );

    /// <summary>
    /// Gives a command a service that runs until it is stopped: what it says on starting is the answer, and being stopped is its
    /// usual end.
    /// </summary>
    public void BindServer(
        Command command,
        Option<bool> json,
        Func<ParseResult, Action<JsonObject, string>, CancellationToken, Task> serve
    ) =>
        command.SetAction(
            (r, cancellation) =>
                Task.FromResult(
                    Run(
                        r.GetValue(json),
                        (_, stop) =>
                        {
                            void Say(JsonObject document, string line)
                            {
                                output.WriteLine(r.GetValue(json) ? document.ToJsonString(Indented) : line);
                                output.Flush();
                            }

                            try
                            {
                                serve(r, Say, stop).GetAwaiter().GetResult();
                            }
                            catch (OperationCanceledException) when (stop.IsCancellationRequested)
                            {
                                // Ctrl-C is how a service is ended.
                            }

                            return null;
                        },
                        cancellation
                    )
                )
        );

    private int Run(bool json, Func<IProgress<string>, CancellationToken, Answer?> work, CancellationToken cancellation)
    {
        using LateProgress progress = new(error);
        try
        {
            Answer? answer = work(progress, cancellation);
            progress.Finish();
            if (answer is null)
            {
                return 0;
            }

            foreach (Finding f in answer.Findings)
            {
                error.WriteLine($"note: {f.What}: {f.Where}. {f.Remedy}");
            }

            if (json)
            {
                answer.Document["findings"] = FindingsOf(answer.Findings);
                output.WriteLine(answer.Document.ToJsonString(Indented));
            }
            else
            {
                IAnsiConsole console = AnsiConsole.Create(
                    new AnsiConsoleSettings { Out = new AnsiConsoleOutput(output) }
                );
                console.Profile.Width = Math.Max(console.Profile.Width, 100);
                answer.Show(console);
            }

            return 0;
        }
        catch (InputException e)
        {
            return Refuse(json, e.What, e.Where, e.Remedy);
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            return Refuse(json, "Stopped before the end", "Ctrl-C", "Nothing was written; run it again when you like.");
        }
        catch (OutOfMemoryException)
        {
            return Refuse(
                json,
                "There is not enough memory for this",
                "the input",
                "Close other programs, or give a smaller picture."
            );
        }

        int Refuse(bool asJson, string what, string where, string remedy)
        {
            progress.Finish();
            error.WriteLine(what);
            error.WriteLine($"  where: {where}");
            error.WriteLine($"  remedy: {remedy}");
            if (asJson)
            {
                JsonObject document = new()
                {
                    ["error"] = new JsonObject
                    {
                        ["what"] = what,
                        ["where"] = where,
                        ["remedy"] = remedy,
                    },
                };
                output.WriteLine(document.ToJsonString(Indented));
            }

            return 1;
        }
    }

    /// <summary>The answer of a verb that wrote files and has nothing to add.</summary>
    public static Answer Wrote(Workflows.Written written, JsonObject? more = null, Action<IAnsiConsole>? show = null)
    {
        JsonObject document = new() { ["written"] = new JsonArray([.. written.Paths.Select(p => (JsonNode)p)]) };
        foreach ((string name, JsonNode? value) in more ?? [])
        {
            document[name] = value?.DeepClone();
        }

        return new(
            document,
            written.Findings,
            console =>
            {
                show?.Invoke(console);
                foreach (string path in written.Paths)
                {
                    console.WriteLine($"wrote {path}");
                }
            }
        );
    }

    private static JsonArray FindingsOf(IReadOnlyList<Finding> findings) =>
        [
            .. findings.Select(f =>
                (JsonNode)
                    new JsonObject
                    {
                        ["what"] = f.What,
                        ["where"] = f.Where,
                        ["remedy"] = f.Remedy,
                    }
            ),
        ];

    /// <summary>Says what is being done, but only where it takes long enough to wonder.</summary>
    private sealed class LateProgress : IProgress<string>, IDisposable
    {
        private static readonly TimeSpan Patience = TimeSpan.FromMilliseconds(700);
        private readonly Lock gate = new();
        private readonly TextWriter error;
        private readonly Timer timer;
        private string? waiting;
        private bool talking;
        private bool finished;

        public LateProgress(TextWriter error)
        {
            this.error = error;
            timer = new(_ => Talk(), null, Patience, Timeout.InfiniteTimeSpan);
        }

        public void Report(string value)
        {
            lock (gate)
            {
                if (finished)
                {
                    return;
                }

                if (talking)
                {
                    error.WriteLine(value + " …");
                }
                else
                {
                    waiting = value;
                }
            }
        }

        public void Finish()
        {
            lock (gate)
            {
                finished = true;
            }
        }

        public void Dispose() => timer.Dispose();

        private void Talk()
        {
            lock (gate)
            {
                talking = true;
                if (waiting is not null && !finished)
                {
                    error.WriteLine(waiting + " …");
                }
            }
        }
    }
}
