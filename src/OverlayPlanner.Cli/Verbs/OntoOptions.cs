using System.CommandLine;
using System.Globalization;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Workflows;
using Spectre.Console;

namespace OverlayPlanner.Cli.Verbs;

/// <summary>The options of a photograph that is laid on a known quilt.</summary>
internal sealed class OntoOptions
{
    private const int MostRows = 200;

    public Option<string?> Known { get; } =
        new("--onto")
        {
            Description =
                "The quilt's map from before the advance: the photograph is laid on it, ids stay, and the map grows by what is new.",
        };

    public Option<string?> Row { get; } =
        new("--row")
        {
            Description =
                "With --onto: which row of the quilt, from 1 at its top, is the topmost whole row in the photograph.",
        };

    public Option<string?> Touch { get; } =
        new("--touch")
        {
            Description =
                "With --onto: a block of the quilt and a place inside it, in photo pixels: b7=1810,940. With its four corners, clockwise from its top left, it gives the scale too: \"b7=x,y x,y x,y x,y\".",
        };

    /// <summary>What was wished; null without --onto.</summary>
    public OntoWishes? Read(ParseResult r, TapeWords? tape)
    {
        if (r.GetValue(Known) is not { } known)
        {
            string? alone =
                r.GetValue(Row) is not null ? "--row"
                : r.GetValue(Touch) is not null ? "--touch"
                : null;
            return alone is null
                ? null
                : throw new InputException(
                    $"{alone} says where a photograph lies on a known quilt, and none is given",
                    alone,
                    "Add --onto quilt.json, or leave it out."
                );
        }

        return new()
        {
            Known = known,
            Row = r.GetValue(Row) is { } row ? Values.Count(row, "--row", 1, MostRows) : null,
            Touched = r.GetValue(Touch) is { } touch ? Touched(touch) : null,
            Tape = tape,
        };
    }

    private static TouchedBlock Touched(string text)
    {
        int sign = text.IndexOf('=', StringComparison.Ordinal);
        IReadOnlyList<Point<PhotoSpace>> at = sign > 0 ? Values.Points<PhotoSpace>(text[(sign + 1)..], "--touch") : [];
        return at.Count is 1 or 4
            ? new(text[..sign].Trim(), at)
            : throw new InputException(
                $"\"{text}\" is no touched block",
                "--touch",
                "Give the block's id and a place inside it, b7=1810,940, or its four corners: \"b7=x,y x,y x,y x,y\"."
            );
    }
}

/// <summary>Runs a map onto a known quilt and says what came of it.</summary>
internal sealed record OntoAnswer(
    string Output,
    string? Preview,
    OutputFiles Files,
    IProgress<string> Progress,
    CancellationToken Cancellation
)
{
    public Answer Of(CardMapQuestion question, OntoWishes onto) =>
        Say(MapOnto.Run(question, onto, Output, Preview, Files, Progress, Cancellation));

    public Answer Of(MapWishes wishes, OntoWishes onto) =>
        Say(MapOnto.Run(wishes, onto, Output, Preview, Files, Progress, Cancellation));

    private static Answer Say((Written Written, QuiltMap Map, OntoReport Report) done)
    {
        OntoReport report = done.Report;
        JsonObject more = MapVerb.Summary(done.Map);
        more["within95Inches"] = report.Within95.Inches;
        more["onto"] = new JsonObject
        {
            ["turnDegrees"] = report.TurnDegrees,
            ["acrossPercent"] = report.AcrossPercent,
            ["downPercent"] = report.DownPercent,
            ["leastAcrossPercent"] = report.LeastAcrossPercent,
            ["mostAcrossPercent"] = report.MostAcrossPercent,
            ["fromAcrossInches"] = report.TopLeft.X,
            ["fromDownInches"] = report.TopLeft.Y,
            ["stretch"] = report.Stretch,
            ["matched"] = report.Matched,
            ["shared"] = report.Shared,
            ["newPoints"] = report.NewPoints,
        };
        return Terminal.Wrote(
            done.Written,
            more,
            console =>
            {
                MapVerb.Show(console, done.Map);
                console.WriteLine(
                    Text(
                        $"The photograph begins {Length.FromInches(report.TopLeft.Y).ToSixteenths()} in down and {Length.FromInches(report.TopLeft.X).ToSixteenths()} in across the quilt, turned {report.TurnDegrees:0.0} degrees; {report.Matched} of {report.Shared} points fit, {report.NewPoints} are new"
                    )
                );
                console.WriteLine(
                    Text(
                        $"Since then the cloth changed by {report.AcrossPercent:0.0} % across (from {report.LeastAcrossPercent:0.0} to {report.MostAcrossPercent:0.0}) and {report.DownPercent:0.0} % down"
                    )
                );
                console.WriteLine(
                    Text($"95 % of the points in the photograph are within {report.Within95.Inches:0.000} in")
                );
            }
        );
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
