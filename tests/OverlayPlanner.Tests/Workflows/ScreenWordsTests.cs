using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Tests.Support;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows;

/// <summary>Nothing that the program can say shows the command line to someone at a screen.</summary>
public partial class ScreenWordsTests
{
    // Printed on paper for whoever works from the command line; no screen shows them.
    private static readonly string[] OnPaper = ["TargetSheets.cs"];

    [Fact]
    public void Every_option_that_a_message_names_has_words_for_the_screen()
    {
        List<string> unknown = [];
        int seen = 0;
        foreach ((string file, string text) in Literals().Where(l => Option().IsMatch(l.Text)))
        {
            seen++;
            string said = ScreenWords.Translated(text);
            if (said.Contains("--", StringComparison.Ordinal))
            {
                unknown.Add($"{file}: \"{text}\" becomes \"{said}\"");
            }
        }

        Assert.InRange(seen, 100, 1_000);
        Assert.Empty(unknown);
    }

    [Fact]
    public void No_message_says_an_inch_to_whoever_reads_millimetres()
    {
        LengthWords metric = new(LengthUnits.Millimeters);
        string[] said =
        [
            .. Literals()
                .Where(l => !l.File.StartsWith("LengthWords", StringComparison.Ordinal) && !l.Text.Contains('\\'))
                .Select(l => metric.Tell(ScreenWords.Translated(l.Text))),
        ];
        Assert.Contains(
            said,
            s => s.Contains("7 mm", StringComparison.Ordinal) || s.Contains("178 mm", StringComparison.Ordinal)
        );
        Assert.DoesNotContain(said, s => SaysInches().IsMatch(s));
    }

    [Fact]
    public void Every_named_finding_has_a_title()
    {
        string[] names =
        [
            .. Files()
                .Where(f => Path.GetFileName(f) != "Batting.cs")
                .SelectMany(f => Name().Matches(File.ReadAllText(f)).Select(m => m.Groups[1].Value))
                .Distinct(),
        ];
        Assert.Contains("rulers-assumed", names);
        Assert.InRange(names.Length, 60, 200);
        Assert.Empty(names.Except(ScreenWords.KnownFindings));
    }

    [Fact]
    public void A_finding_keeps_its_facts_and_loses_the_option()
    {
        Finding finding = new(
            "more-than-one-start",
            "3 starts",
            "With --thread one, 4 1/2 in of backtracking make it one thread with like patches alike."
        );
        Assert.Equal("More than one start", ScreenWords.TitleOf(finding));
        Assert.Equal(
            "3 starts. With “one thread, least backtrack”, 4 1/2 in of backtracking make it one thread with like patches alike.",
            ScreenWords.TextOf(finding)
        );
    }

    [Theory]
    [InlineData("--paper", "Choose a larger paper.", "It is too large. Choose a larger paper.")]
    [InlineData("/srv/quilts/a/route.json", "Plan it again.", "It is too large. Plan it again.")]
    [InlineData(
        "/srv/quilts",
        "Check the folder's rights.",
        "It is too large (/srv/quilts). Check the folder's rights."
    )]
    [InlineData("pin 1 to pin 2", "Type a length.", "It is too large (pin 1 to pin 2). Type a length.")]
    public void A_refusal_names_a_place_only_where_that_helps(string where, string remedy, string said) =>
        Assert.Equal(said, ScreenWords.Of(new InputException("It is too large", where, remedy)));

    [Fact]
    public void An_option_that_nobody_has_put_into_words_is_still_not_shown() =>
        Assert.Equal("Drop “never seen”.", ScreenWords.Plain("Drop --never-seen."));

    // Everything but the command line itself, whose words these are.
    private static IEnumerable<string> Files() =>
        Directory
            .EnumerateFiles(Repository.PathOf("src"), "*.cs", SearchOption.AllDirectories)
            .Where(f => !f.Split(Path.DirectorySeparatorChar).Any(p => p is "obj" or "bin" or "OverlayPlanner.Cli"))
            .Where(f => !OnPaper.Contains(Path.GetFileName(f)) && Path.GetFileName(f) != "ScreenWords.cs");

    private static IEnumerable<(string File, string Text)> Literals() =>
        from file in Files()
        from line in File.ReadLines(file)
        where !line.TrimStart().StartsWith("//", StringComparison.Ordinal)
        from Match m in Literal().Matches(Hole().Replace(line, "7"))
        select (Path.GetFileName(file), m.Groups[1].Value);

    [GeneratedRegex("\"((?:[^\"\\\\]|\\\\.)*)\"", RegexOptions.CultureInvariant)]
    private static partial Regex Literal();

    // What is filled in stands for a number here.
    [GeneratedRegex(@"\{(?:[^{}""]|""[^""]*"")*\}", RegexOptions.CultureInvariant)]
    private static partial Regex Hole();

    // A number before the unit; "2 in the list" is a place.
    [GeneratedRegex(
        @"\d ?(?:in|inch|inches)\b(?! (?:the|a|an|its|every|which|one|this|that|patch|block)\b)",
        RegexOptions.CultureInvariant
    )]
    private static partial Regex SaysInches();

    [GeneratedRegex(@"(?<![\w-])--[a-z]", RegexOptions.CultureInvariant)]
    private static partial Regex Option();

    [GeneratedRegex(@"(?:new(?: Finding)?\(|[?:])\s*""([a-z]+(?:-[a-z]+)+)"",", RegexOptions.CultureInvariant)]
    private static partial Regex Name();
}
